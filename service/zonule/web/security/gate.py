"""The gate: who comes with a session, whether the table lets them through, and whether they meant to."""

import secrets
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import MutableHeaders
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from zonule.store import Session
from zonule.web.problems import answer_problem
from zonule.web.security import cookies
from zonule.web.security.access import ACCESS, ANYONE, API, methods_of, template_of
from zonule.web.security.limits import SLACK, BodyLimit, declared_length, too_large
from zonule.web.service_settings import ServiceSettings

SAFE = frozenset(("GET", "HEAD", "OPTIONS"))
FORMS = ("application/x-www-form-urlencoded", "multipart/form-data")
METRICS = f"{API}/metrics"
PICTURES = (f"{API}/labels/image", "/notes/label")


class Gate:
    """Lets a request through when its session's roles stand in the table, its token fits and its body is not too big.

    What is not in the table nobody may use: a visitor is asked to sign in, a user told that there is nothing there.
    """

    def __init__(self, app: ASGIApp, settings: ServiceSettings) -> None:
        self.app, self.settings = app, settings

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        request = Request(scope, receive)
        template = template_of(scope["path"])
        session = await self._session(request) if template != "/static/{path:path}" else None
        visit = self._introduce(request, session)
        largest = self._largest(template)
        refusal = refuse(request, template, session) or _refuse_size(request, largest)
        if refusal is not None:
            await refusal(scope, receive, send)
            return
        limited = BodyLimit(receive, largest)
        await self.app(scope, limited, _with_visit(send, visit, self.settings) if visit else send)

    async def _session(self, request: Request) -> Session | None:
        token = cookies.session_token(request)
        return await run_in_threadpool(request.app.state.store.sessions.find, token) if token else None

    def _introduce(self, request: Request, session: Session | None) -> str | None:
        """Says on the request who is there; gives a new visit for a visitor without one."""
        held = request.cookies.get(cookies.VISIT)
        visit = None if session or held or not _is_page(request) else cookies.new_visit()
        seed = cookies.session_token(request) if session else held or visit
        request.state.session = session
        request.state.user = session.user if session else None
        request.state.csrf_seed = seed
        request.state.csrf_token = cookies.csrf_token(seed) if seed else ""
        return visit

    def _largest(self, template: str | None) -> int:
        return self.settings.largest_picture + SLACK if template in PICTURES else self.settings.largest_body


def refuse(request: Request, template: str | None, session: Session | None) -> Response | None:
    """The answer to a request that may not pass, or None."""
    method = "GET" if request.method == "HEAD" else request.method
    allowed = ACCESS.get((method, template or ""), frozenset())
    if allowed is not ANYONE and not _is_scraper(request, template):
        if session is None:
            return _ask_to_sign_in(request)
        if template is None:
            return answer_problem(request, 404, "There is nothing at this address.")
        if method not in methods_of(template):
            return _wrong_method(request, template)
        if not (allowed or frozenset()).intersection(session.user.roles):
            return answer_problem(request, 403, "Your roles do not allow this; ask who keeps the users.")
    return None if _is_meant(request, session) else forged(request)


def forged(request: Request) -> Response:
    """The answer to a request that its user may not have meant."""
    return answer_problem(
        request, 403, f"Expected the token of this session in {cookies.HEADER} or {cookies.FIELD}; load the page again."
    )


def _is_meant(request: Request, session: Session | None) -> bool:
    """Whether the request comes from our own page or program. Forms are left to `check_form`: their token is inside.

    Without a session only JSON passes: another site's page cannot send it unasked.
    """
    if request.method in SAFE:
        return True
    if request.headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
        return False
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if not _is_api(request) and kind in FORMS:
        return True
    if session is None:
        return kind == "application/json"
    return cookies.csrf_fits(request.state.csrf_seed, request.headers.get(cookies.HEADER))


def _is_scraper(request: Request, template: str | None) -> bool:
    """Whether it is the collector of metrics, by the token it was given."""
    token = request.app.state.settings.metrics_token
    given = request.headers.get("authorization", "")
    return bool(token) and template == METRICS and secrets.compare_digest(given.encode(), f"Bearer {token}".encode())


def _ask_to_sign_in(request: Request) -> Response:
    if _is_page(request):
        return RedirectResponse(f"/login?next={quote(request.url.path)}", 303)
    return answer_problem(request, 401, "There is no session, or it has ended: sign in first.")


def _wrong_method(request: Request, template: str) -> Response:
    taken = ", ".join(sorted(methods_of(template)))
    return answer_problem(request, 405, f"This address takes {taken}.", {"allow": taken})


def _refuse_size(request: Request, largest: int) -> Response | None:
    if declared_length(request.scope) > largest:
        return answer_problem(request, 413, too_large(largest))
    return None


def _is_api(request: Request) -> bool:
    return request.url.path.startswith(f"{API}/")


def _is_page(request: Request) -> bool:
    return request.method in ("GET", "HEAD") and not _is_api(request)


def _with_visit(send: Send, visit: str, settings: ServiceSettings) -> Send:
    """Sends the visit cookie along, so that a form of a visitor can carry its token."""

    async def send_visit(message: Message) -> None:
        if message["type"] == "http.response.start":
            carrier = Response()
            carrier.set_cookie(cookies.VISIT, visit, path="/", httponly=True, samesite="lax", secure=settings.secure)
            headers = MutableHeaders(raw=list(message["headers"]))
            headers.append("set-cookie", carrier.headers["set-cookie"])
            message = {**message, "headers": headers.raw}
        await send(message)

    return send_visit
