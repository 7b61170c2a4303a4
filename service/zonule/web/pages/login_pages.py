"""Signing in and out."""

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from zonule.web.pages.posted import Posted, text_of
from zonule.web.pages.rendering import page
from zonule.web.problems import ProblemError
from zonule.web.security.signing_in import safe_next, sign_in, sign_out

router = APIRouter()


@router.get("/login")
def see_login(request: Request, next: str | None = None) -> Response:
    """The form to sign in with; who is signed in already goes on."""
    if request.state.user:
        return RedirectResponse(safe_next(next), 303)
    return _form(request, safe_next(next))


@router.post("/login")
def log_in(request: Request, form: Posted) -> Response:
    """Signs in and goes on to where the visitor wanted to go."""
    onward, password = safe_next(text_of(form, "next")), form.get("password")
    answer = RedirectResponse(onward, 303)
    try:
        sign_in(request, answer, text_of(form, "name"), password if isinstance(password, str) else "")
    except ProblemError as fault:
        shown = _form(request, onward, fault.detail, text_of(form, "name"), fault.status)
        shown.headers.update(fault.headers or {})
        return shown
    return answer


@router.post("/logout")
def log_out(request: Request) -> Response:
    """Ends the session."""
    answer = RedirectResponse("/login", 303)
    sign_out(request, answer)
    return answer


def _form(request: Request, onward: str, problem: str = "", name: str = "", status: int = 200) -> HTMLResponse:
    provider = request.app.state.settings.single_sign_on
    title = provider.title if provider else ""
    return page(
        request, "login.html", status, next=onward, problem=problem, name=name, sign_on_title=title,
    )  # fmt: skip
