"""Users: added, given roles, disabled, linked to single sign-on. The store enters every change in the trail."""

from typing import Annotated

from fastapi import APIRouter, Path, Request

from zonule.store import User
from zonule.web.api.responses import KEYED, problems
from zonule.web.api.session import user_shown
from zonule.web.api.unit_models import NewUser, UserChange, UserName, UserShown
from zonule.web.keeping import user_name
from zonule.web.problems import ProblemError

router = APIRouter(prefix="/users", tags=["users"])


@router.get("", responses=problems())
def list_users(request: Request) -> tuple[UserShown, ...]:
    """Every user, disabled ones too."""
    return tuple(user_shown(user) for user in request.app.state.store.users.all())


@router.post("", status_code=201, responses=problems(409), dependencies=KEYED)
def add_user(request: Request, given: NewUser) -> UserShown:
    """Adds a user."""
    users = request.app.state.store.users
    return user_shown(users.add(given.name, given.full_name, given.roles, given.password, by=user_name(request)))


@router.patch("/{name}", responses=problems(404, 409), dependencies=KEYED)
def change(request: Request, name: Annotated[UserName, Path()], given: UserChange) -> UserShown:
    """Changes roles, password, whether the user may sign in, or the linked account."""
    return user_shown(change_user(request, name, given))


def change_user(request: Request, name: str, given: UserChange) -> User:
    """The changed user. What a user may do ends at once: roles, password and disabling end the open sessions."""
    store, by = request.app.state.store, user_name(request)
    user: User = store.users.get(name)
    _keep_one_administrator(request, user, given)
    if given.roles is not None:
        store.users.set_roles(name, given.roles, by)
    if given.password is not None:
        store.users.set_password(name, given.password, by)
    if given.issuer is not None and given.subject is not None:
        store.users.set_subject(name, given.issuer, given.subject, by)
    if given.disabled is not None:
        (store.users.disable if given.disabled else store.users.enable)(name, by)
    if name != by and (given.password is not None or given.roles is not None or given.disabled):
        store.sessions.end_all(name)
    changed: User = store.users.get(name)
    return changed


def _keep_one_administrator(request: Request, user: User, given: UserChange) -> None:
    """Nobody locks themselves out: your own administrator's role and account stay."""
    loses = given.disabled or (given.roles is not None and "administrator" not in given.roles)
    if user.name == user_name(request) and loses:
        raise ProblemError(409, "This is your own account: expected another administrator to do this; ask one.")
