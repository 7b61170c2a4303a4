"""What the service is told when it starts."""

import os
import secrets
from datetime import timedelta

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from zonule.errors import InputError

HANDED_OVER = "ZONULE_SERVICE"
"""Environment variable by which a starting service tells its worker processes what it was told. Not for people."""
LOOPBACK = ("127.0.0.1", "localhost", "[::1]")


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class SingleSignOn(_Frozen):
    """The OpenID Connect provider of the hospital; `title` is what the button on the login page says."""

    issuer: str
    client_id: str
    client_secret: str
    title: str = "Hospital account"


class ServiceSettings(_Frozen):
    """Settings of one service; times of sessions in seconds, sizes in bytes.

    `secure` says that browsers reach it by TLS, its own or a proxy's. `hosts` are the names in the Host header that it
    answers to; empty means any. `state_secret` signs the short-lived cookie of a single sign-on under way and must be
    the same in all worker processes.
    """

    store: str = "sqlite:///zonule.db"
    unit_name: str | None = None
    secure: bool = False
    hosts: tuple[str, ...] = LOOPBACK
    session_lifetime_s: int = Field(default=12 * 3600, ge=60)
    session_idle_s: int = Field(default=30 * 60, ge=60)
    single_sign_on: SingleSignOn | None = None
    metrics_token: str | None = None
    state_secret: str = Field(default_factory=lambda: secrets.token_urlsafe(32))
    largest_text: int = 1_000_000
    largest_body: int = 3_200_000
    largest_picture: int = 8_000_000

    @property
    def session_lifetime(self) -> timedelta:
        """How long a session lasts at most."""
        return timedelta(seconds=self.session_lifetime_s)

    @property
    def session_idle(self) -> timedelta:
        """How long a session lasts without a request."""
        return timedelta(seconds=self.session_idle_s)


def single_sign_on_from_environment() -> SingleSignOn | None:
    """The provider named by `ZONULE_OIDC_ISSUER`, or none.

    Raises InputError when the issuer stands there without client or secret.
    """
    issuer = os.environ.get("ZONULE_OIDC_ISSUER")
    if not issuer:
        return None
    client, secret = os.environ.get("ZONULE_OIDC_CLIENT"), os.environ.get("ZONULE_OIDC_SECRET")
    if not client or not secret:
        raise InputError(
            "ZONULE_OIDC_ISSUER: expected ZONULE_OIDC_CLIENT and ZONULE_OIDC_SECRET beside it, got only the issuer; "
            "set all three or none."
        )
    title = os.environ.get("ZONULE_OIDC_TITLE")
    named = {"title": title} if title else {}
    return SingleSignOn(issuer=issuer.rstrip("/"), client_id=client, client_secret=secret, **named)


def handed_over() -> ServiceSettings:
    """The settings that the starting process left for its workers."""
    try:
        return ServiceSettings.model_validate_json(os.environ.get(HANDED_OVER, ""))
    except ValidationError as fault:
        raise InputError("The service: expected to be started by 'zonule serve'; start it so.") from fault
