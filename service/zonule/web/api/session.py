"""The session: signing in, who is signed in, signing out."""

from fastapi import APIRouter, Request
from starlette.responses import Response

from zonule.store import Session, User
from zonule.web.api.responses import problems
from zonule.web.api.unit_models import Credentials, SessionShown, UserShown
from zonule.web.security import cookies
from zonule.web.security.signing_in import sign_in, sign_out

router = APIRouter(prefix="/session", tags=["session"])


@router.post("", responses=problems(429))
def begin(request: Request, response: Response, given: Credentials) -> SessionShown:
    """Signs in by name and password; the session comes as a cookie."""
    sign_in(request, response, given.name, given.password)
    return show(request)


@router.get("", responses=problems())
def show(request: Request) -> SessionShown:
    """Who is signed in, until when, and the token for writes."""
    session: Session = request.state.session
    token = cookies.csrf_token(request.state.csrf_seed)
    return SessionShown(user=user_shown(session.user), expires_at=session.expires_at, csrf_token=token)


@router.delete("", responses=problems(), status_code=204)
def end(request: Request, response: Response) -> None:
    """Signs out."""
    sign_out(request, response)


def user_shown(user: User) -> UserShown:
    """A user as it goes out."""
    return UserShown.model_validate(user)
