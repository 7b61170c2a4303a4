"""Single sign-on by OpenID Connect: the hospital says who it is, the store says which user that is.

Authorization code flow with PKCE, state and nonce (OpenID Connect Core 1.0, section 3.1; RFC 7636), all by Authlib.
"""

import logging
from typing import Any

from authlib.common.errors import AuthlibBaseError
from authlib.integrations.starlette_client import OAuth
from fastapi import APIRouter, Request
from httpx2 import HTTPError
from joserfc.errors import JoseError
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from zonule.store import User
from zonule.web.problems import ProblemError
from zonule.web.security.signing_in import NOBODY, begin_session, fingerprint, safe_next
from zonule.web.service_settings import SingleSignOn

log = logging.getLogger("zonule.service")
NAME = "hospital"
COOKIE = "zonule_sign_on"
GO_ON = "go_on"
router = APIRouter(include_in_schema=False)


def provider_of(settings: SingleSignOn) -> Any:
    """Authlib's client of the provider; it fetches the provider's description at the first sign-on."""
    registry = OAuth()
    registry.register(
        NAME,
        server_metadata_url=f"{settings.issuer}/.well-known/openid-configuration",
        client_id=settings.client_id,
        client_secret=settings.client_secret,
        client_kwargs={"scope": "openid profile", "code_challenge_method": "S256", "timeout": 10},
    )
    return getattr(registry, NAME)


@router.get("/sign-on")
async def start_sign_on(request: Request, next: str = "/") -> Response:
    """Sends the browser to the provider."""
    provider = _provider(request)
    request.session[GO_ON] = safe_next(next)
    try:
        answer: Response = await provider.authorize_redirect(request, str(request.url_for("end_sign_on")))
    except (AuthlibBaseError, HTTPError) as fault:
        raise _failed(fault) from None
    return answer


@router.get("/sign-on/return")
async def end_sign_on(request: Request) -> Response:
    """The browser comes back: the identity is verified, its user looked up, the session begun."""
    provider = _provider(request)
    try:
        claims = (await provider.authorize_access_token(request))["userinfo"]
        issuer, subject = str(claims["iss"]), str(claims["sub"])
    except (AuthlibBaseError, JoseError, HTTPError, KeyError, ValueError) as fault:
        raise _failed(fault) from None
    go_on = safe_next(request.session.pop(GO_ON, "/"))
    answer = RedirectResponse(go_on, 303)
    await run_in_threadpool(_begin, request, answer, issuer, subject)
    return answer


def _begin(request: Request, answer: Response, issuer: str, subject: str) -> None:
    store = request.app.state.store
    user: User | None = store.users.link_subject(issuer, subject)
    if user is None or user.disabled:
        store.trail.append(NOBODY, "login.failed", fingerprint(subject), {"way": "single_sign_on"})
        request.app.state.metrics.count_login("refused")
        raise ProblemError(403, "This account is not linked to a user of the unit; ask who keeps the users.")
    begin_session(request, answer, user, "single_sign_on")


def _provider(request: Request) -> Any:
    provider = request.app.state.provider
    if provider is None:
        raise ProblemError(404, "No single sign-on is set up here; sign in with name and password.")
    return provider


def _failed(fault: Exception) -> ProblemError:
    log.warning("single sign-on failed: %s", type(fault).__name__)
    return ProblemError(403, "The sign-on did not come to its end; start it again from the login page.")
