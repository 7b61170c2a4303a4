"""Who works with the service, for the administrator."""

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from zonule.errors import StoreError
from zonule.store import Role
from zonule.web.pages.posted import Posted, text_of, texts_of
from zonule.web.pages.rendering import page

router = APIRouter()
MAY = {
    Role.AUTHOR: "writes notes",
    Role.SIGNER: "writes and signs notes",
    Role.AUDITOR: "reads notes, sees the unit audit and the trail",
    Role.ADMINISTRATOR: "keeps users and the unit’s lexicon, sees no notes",
}


@router.get("/users")
def see_users(request: Request) -> HTMLResponse:
    """Everyone, and a form for somebody new."""
    return _show(request)


@router.post("/users")
def add_user(request: Request, form: Posted) -> Response:
    """Somebody new; without a password only single sign-on lets them in."""
    name, password = text_of(form, "name"), form.get("password")
    try:
        request.app.state.store.users.add(
            name,
            text_of(form, "full_name"),
            texts_of(form, "roles"),
            password if isinstance(password, str) and password else None,
            by=request.state.user.name,
        )
    except StoreError as fault:
        return _show(request, str(fault), 422)
    return RedirectResponse("/users", 303)


@router.post("/users/{name}")
def change_user(request: Request, name: str, form: Posted) -> Response:
    """Roles, password, or whether the user may log in: what the pressed button says."""
    users, by, action = request.app.state.store.users, request.state.user.name, text_of(form, "action")
    password = form.get("password")
    try:
        if action == "roles":
            users.set_roles(name, texts_of(form, "roles"), by=by)
        elif action == "password":
            users.set_password(name, password if isinstance(password, str) else "", by=by)
        elif action == "disable" and name == by:
            return _show(request, "You cannot disable yourself; ask another administrator.", 422)
        elif action == "disable":
            users.disable(name, by=by)
        elif action == "enable":
            users.enable(name, by=by)
    except StoreError as fault:
        return _show(request, str(fault), 422)
    return RedirectResponse("/users", 303)


def _show(request: Request, problem: str = "", status: int = 200) -> HTMLResponse:
    users = request.app.state.store.users.all()
    return page(request, "users.html", status, users=users, may=MAY, problem=problem)
