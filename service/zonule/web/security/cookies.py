"""The cookies of a browser: of the session, of the visit before it, and the tokens that go with them."""

import hashlib
import hmac
import secrets

from starlette.requests import HTTPConnection
from starlette.responses import Response

SESSION = "zonule_session"
VISIT = "zonule_visit"
FIELD = "csrf_token"
HEADER = "X-CSRF-Token"


def session_token(connection: HTTPConnection) -> str | None:
    """The token in the session cookie, if any."""
    return connection.cookies.get(SESSION) or None


def new_visit() -> str:
    """A fresh value for the visit cookie."""
    return secrets.token_urlsafe(24)


def set_session(response: Response, token: str, *, secure: bool, lifetime_s: int) -> None:
    """Puts the session into the browser: not for scripts, not from other sites."""
    response.set_cookie(SESSION, token, max_age=lifetime_s, path="/", httponly=True, samesite="lax", secure=secure)


def end_session(response: Response, *, secure: bool) -> None:
    """Takes the session out of the browser."""
    response.delete_cookie(SESSION, path="/", httponly=True, samesite="lax", secure=secure)


def csrf_token(seed: str) -> str:
    """The token that goes with a session or a visit; who does not hold the cookie cannot make it."""
    return hmac.new(seed.encode(), b"zonule form token", hashlib.sha256).hexdigest()


def csrf_fits(seed: str | None, given: str | None) -> bool:
    """Whether the token given belongs to the session or visit; compared in constant time."""
    return bool(seed and given) and hmac.compare_digest(csrf_token(str(seed)), str(given))
