"""Signing in and out: password, waiting time after failures, session, trail."""

import hashlib
from urllib.parse import urlsplit

from starlette.requests import Request
from starlette.responses import Response

from zonule.store import User
from zonule.web.problems import ProblemError
from zonule.web.security import cookies

REFUSED = "Name and password do not fit together; try again."
NOBODY = "visitor"
"""The actor of the trail where nobody is signed in."""


class SignInRefusedError(ProblemError):
    """Name and password do not fit, or the user is disabled: which of them is not told."""

    def __init__(self) -> None:
        super().__init__(401, REFUSED)


class SignInThrottledError(ProblemError):
    """Too many failures: nothing is tried before `seconds` have passed."""

    def __init__(self, seconds: float) -> None:
        self.seconds = max(1, round(seconds))
        sentence = f"Too many attempts: expected a pause of {self.seconds} seconds; wait and try again."
        super().__init__(429, sentence, {"retry-after": str(self.seconds)})


def sign_in(request: Request, response: Response, name: str, password: str) -> User:
    """Signs a user in by password and puts the session into the answer.

    Raises SignInRefusedError or SignInThrottledError.
    """
    store, metrics, address = request.app.state.store, request.app.state.metrics, address_of(request)
    name = name.strip()[:64]
    wait = store.attempts.wait_before(name, address)
    if wait > 0:
        metrics.count_login("throttled")
        raise SignInThrottledError(wait)
    store.attempts.record(name, address)  # before the check: attempts side by side count too
    user: User | None = store.users.check(name, password)
    if user is None:
        store.trail.append(NOBODY, "login.failed", fingerprint(name), {"way": "password"})
        metrics.count_login("refused")
        raise SignInRefusedError
    store.attempts.clear(name, address)
    begin_session(request, response, user, "password")
    return user


def begin_session(request: Request, response: Response, user: User, way: str) -> None:
    """Begins the session of a user whose identity was checked in this `way`; an earlier one of this browser ends."""
    store, settings = request.app.state.store, request.app.state.settings
    if earlier := cookies.session_token(request):
        store.sessions.end(earlier)
    token: str = store.sessions.begin(user.name, settings.session_lifetime, settings.session_idle)
    store.trail.append(user.name, "login", user.name, {"way": way})
    cookies.set_session(response, token, secure=settings.secure, lifetime_s=settings.session_lifetime_s)
    request.app.state.metrics.count_login("done")
    request.state.session, request.state.user, request.state.csrf_seed = store.sessions.find(token), user, token


def sign_out(request: Request, response: Response) -> None:
    """Ends the session here and in the browser."""
    store, token = request.app.state.store, cookies.session_token(request)
    if token:
        store.sessions.end(token)
    if request.state.user:
        store.trail.append(request.state.user.name, "logout", request.state.user.name, {})
    cookies.end_session(response, secure=request.app.state.settings.secure)


def safe_next(path: str | None) -> str:
    """A path of our own to go on with; anything else is the start page."""
    if not path or not path.startswith("/") or path.startswith(("//", "/\\")) or len(path) > 200:
        return "/"
    parts = urlsplit(path)
    return "/" if parts.scheme or parts.netloc or any(ord(c) < 33 or c == "\\" for c in path) else path


def address_of(request: Request) -> str:
    """Where the request comes from."""
    return request.client.host if request.client else "unknown"


def fingerprint(typed: str) -> str:
    """What stands in the trail for something typed: in the field of the name it may be a password."""
    return hashlib.sha256(typed.encode()).hexdigest()[:16]
