"""Problem details (RFC 9457) for programs, an error page for people. No word that somebody typed stands in either."""

import re
from collections.abc import Iterable, Mapping
from http import HTTPStatus
from typing import Any

from fastapi.exceptions import RequestValidationError
from pydantic import BaseModel, ConfigDict
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from zonule.errors import StoreError, UnknownNameError, ZonuleError
from zonule.store import faults
from zonule.web.security.access import API

MEDIA_TYPE = "application/problem+json"
TITLES = {
    400: "The request cannot be understood",
    401: "Sign in first",
    403: "Not allowed",
    404: "Nothing there",
    405: "Not done this way",
    409: "Something changed meanwhile",
    413: "Too large",
    415: "Not that kind of file",
    422: "Cannot be used as it is",
    429: "Too many attempts",
    500: "Something went wrong here",
    503: "Not ready",
}
_QUOTED = re.compile(r"'(?:[^'\\]|\\.)*'|\"(?:[^\"\\]|\\.)*\"|“[^”]*”")


class Problem(BaseModel):
    """What went wrong, as problem details. `detail` is one sentence; `errors` name fields of the request."""

    model_config = ConfigDict(extra="allow")

    type: str = "about:blank"
    title: str
    status: int
    detail: str
    errors: list[dict[str, str]] | None = None


class ProblemError(Exception):
    """A request that ends in a problem; `more` are further members of its details."""

    def __init__(self, status: int, detail: str, headers: Mapping[str, str] | None = None, **more: Any) -> None:
        super().__init__(detail)
        self.status, self.detail, self.headers, self.more = status, detail, headers, more


def problem_response(status: int, detail: str, headers: Mapping[str, str] | None = None, **more: Any) -> JSONResponse:
    """The answer with problem details."""
    title = TITLES.get(status) or HTTPStatus(status).phrase
    body = Problem(title=title, status=status, detail=detail, **more).model_dump(mode="json", exclude_none=True)
    return JSONResponse(body, status, headers=dict(headers or {}), media_type=MEDIA_TYPE)


def answer_problem(
    request: Request, status: int, detail: str, headers: Mapping[str, str] | None = None, **more: Any
) -> Response:
    """Problem details for the programming interface, else the error page."""
    if request.url.path.startswith(f"{API}/"):
        return problem_response(status, detail, headers, **more)
    from zonule.web.pages.errors import error_page

    page = error_page(request, status, detail)
    page.headers.update(headers or {})
    return page


def without_words(sentence: str, known: Iterable[str] = ()) -> str:
    """The sentence with everything quoted in it taken out, but for `known` names of the program itself."""
    kept = frozenset(known)

    def shown(quoted: re.Match[str]) -> str:
        return quoted.group() if quoted.group()[1:-1] in kept else "“…”"

    return _QUOTED.sub(shown, sentence)


def problem_of(request: Request, fault: Exception) -> Response:
    """The answer to a fault that the program knows."""
    match fault:
        case ProblemError():
            return answer_problem(request, fault.status, fault.detail, fault.headers, **fault.more)
        case RequestValidationError():
            return answer_problem(request, 422, _invalid(fault, request.app.state.known_names))
        case HTTPException():
            detail = str(fault.detail or TITLES.get(fault.status_code, "The request failed"))
            return answer_problem(request, fault.status_code, _sentence(detail), fault.headers)
        case StoreError():
            return answer_problem(request, _status_of(fault), str(fault), None, **_beside(fault))
        case ZonuleError():
            status = 404 if isinstance(fault, UnknownNameError) and request.method == "GET" else 422
            return answer_problem(request, status, without_words(str(fault), request.app.state.known_names))
    raise fault


STORE_STATUS: tuple[tuple[type[StoreError], int], ...] = (
    (faults.NotFoundError, 404),
    (faults.ConflictError, 409),
    (faults.SignedError, 409),
    (faults.NotSignableError, 409),
    (faults.NotSignedError, 409),
    (faults.TakenError, 409),
    (faults.RefusedError, 422),
    (faults.KeyReusedError, 422),
)


def _status_of(fault: StoreError) -> int:
    return next((status for kind, status in STORE_STATUS if isinstance(fault, kind)), 503)


def _beside(fault: StoreError) -> dict[str, int | None]:
    """What a program needs to bring two versions together: the number that stands, and that of what was set aside."""
    if not isinstance(fault, faults.ConflictError | faults.SignedError):
        return {}
    aside = fault.set_aside.number if fault.set_aside else None
    return {"current_version": fault.current.number, "set_aside_version": aside}


def _invalid(fault: RequestValidationError, known: Iterable[str]) -> str:
    """One sentence that names the fields; the values are left out: they may be a patient's."""
    told = []
    for error in fault.errors()[:5]:
        place = ".".join(_field(part) for part in error["loc"]) or "body"
        told.append(f"{place}: {_sentence(without_words(str(error['msg']), known))}")
    return " ".join(told)


def _field(part: object) -> str:
    """A field's name as it is; a name that the sender made up may hold anything."""
    text = str(part)
    return text if re.fullmatch(r"[a-z_]{1,40}|\d{1,6}", text) else "…"


def _sentence(text: str) -> str:
    return text if text.endswith(".") else f"{text}."
