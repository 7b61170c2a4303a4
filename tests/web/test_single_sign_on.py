"""Signing in by the hospital's account, against a provider that runs on loopback and can be made to misbehave."""

from collections.abc import Iterator
from pathlib import Path
from urllib.parse import parse_qs, urlsplit

import httpx2
import pytest
from fastapi.testclient import TestClient
from identity_provider import CLIENT, SECRET, Provider, providing
from joserfc.jwk import RSAKey
from running_service import API, Service, running

from zonule.errors import InputError
from zonule.web.service_settings import SingleSignOn, single_sign_on_from_environment


@pytest.fixture(scope="module")
def providing_service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Provider, Service]]:
    with providing() as provider:
        settings = SingleSignOn(issuer=provider.issuer, client_id=CLIENT, client_secret=SECRET)
        with running(tmp_path_factory.mktemp("sign_on"), single_sign_on=settings) as service:
            service.store.users.set_subject("author", provider.issuer, "ada-fenwick")
            yield provider, service


@pytest.fixture
def provider(providing_service: tuple[Provider, Service]) -> Iterator[Provider]:
    """The provider; what a test made it believe is forgotten afterwards."""
    held = providing_service[0]
    yield held
    honest = Provider(issuer=held.issuer, key=held.key)
    held.__dict__.update(honest.__dict__)


@pytest.fixture
def service(providing_service: tuple[Provider, Service]) -> Service:
    return providing_service[1]


def go(client: TestClient, next_path: str = "/notes/new") -> httpx2.Response:
    """To the provider and back; the answer to the browser that comes back."""
    start = client.get("/sign-on", params={"next": next_path})
    assert start.status_code == 302, start.text
    back = httpx2.get(start.headers["location"]).headers["location"]
    answer: httpx2.Response = client.get(back.removeprefix("http://localhost"))
    return answer


def test_a_linked_account_is_signed_in(service: Service) -> None:
    client = service.visitor()
    answer = go(client)
    assert (answer.status_code, answer.headers["location"]) == (303, "/notes/new")
    assert client.get(f"{API}/session").json()["user"]["name"] == "author"
    entry = service.store.trail.page(1).items[0]
    assert (entry.actor, entry.action, entry.detail) == ("author", "login", {"way": "single_sign_on"})


def test_the_request_carries_state_nonce_and_challenge(service: Service) -> None:
    asked = parse_qs(urlsplit(service.visitor().get("/sign-on").headers["location"]).query)
    assert {name: asked[name] for name in ("response_type", "client_id", "scope", "code_challenge_method")} == {
        "response_type": ["code"],
        "client_id": [CLIENT],
        "scope": ["openid profile"],
        "code_challenge_method": ["S256"],
    }
    assert asked["redirect_uri"] == ["http://localhost/sign-on/return"]
    assert all(len(asked[name][0]) >= 20 for name in ("state", "nonce", "code_challenge"))


def test_where_to_go_on_stays_here(service: Service) -> None:
    assert go(service.visitor(), "https://elsewhere.example/").headers["location"] == "/"


def test_an_account_that_nobody_linked_gets_no_session(service: Service, provider: Provider) -> None:
    provider.subject = "somebody else"
    client = service.visitor()
    assert go(client).status_code == 403
    assert client.get(f"{API}/session").status_code == 401
    assert service.store.trail.page(1).items[0].action == "login.failed"


def test_a_disabled_user_gets_no_session(service: Service) -> None:
    service.store.users.disable("author")
    refused = go(service.visitor()).status_code
    service.store.users.enable("author")
    assert (refused, go(service.visitor()).status_code) == (403, 303)


@pytest.mark.parametrize("fault", ["another audience", "another nonce", "expired", "another key"])
def test_a_token_that_is_not_for_us_is_refused(service: Service, provider: Provider, fault: str) -> None:
    """OpenID Connect Core 1.0, section 3.1.3.7: audience, nonce, expiry and signature are checked."""
    match fault:
        case "another audience":
            provider.audience = "another service"
        case "another nonce":
            provider.nonce = "another"
        case "expired":
            provider.lifetime_s = -3600
        case _:
            provider.signing_key = RSAKey.generate_key(2048, parameters={"kid": "1", "use": "sig"})
    client = service.visitor()
    assert go(client).status_code == 403
    assert client.get(f"{API}/session").status_code == 401


def test_a_return_that_was_not_started_here_is_refused(service: Service) -> None:
    """Otherwise somebody could be signed in to another's account by a link."""
    begun = service.visitor().get("/sign-on")
    back = httpx2.get(begun.headers["location"]).headers["location"].removeprefix("http://localhost")
    assert service.visitor().get(back).status_code == 403
    assert service.visitor().get("/sign-on/return").status_code == 403


def test_a_provider_that_is_away_is_one_sentence(tmp_path: Path) -> None:
    settings = SingleSignOn(issuer="http://127.0.0.1:9", client_id=CLIENT, client_secret=SECRET)
    with running(tmp_path, single_sign_on=settings) as service:
        answer = service.visitor().get("/sign-on")
        assert (answer.status_code, "Traceback" in answer.text) == (403, False)


def test_without_a_provider_there_is_no_sign_on(tmp_path: Path) -> None:
    with running(tmp_path) as service:
        assert service.visitor().get("/sign-on").status_code == 404


def test_the_environment_names_the_provider_whole_or_not_at_all(monkeypatch: pytest.MonkeyPatch) -> None:
    assert single_sign_on_from_environment() is None
    monkeypatch.setenv("ZONULE_OIDC_ISSUER", "https://id.example/")
    with pytest.raises(InputError, match="expected ZONULE_OIDC_CLIENT and ZONULE_OIDC_SECRET beside it"):
        single_sign_on_from_environment()
    monkeypatch.setenv("ZONULE_OIDC_CLIENT", CLIENT)
    monkeypatch.setenv("ZONULE_OIDC_SECRET", SECRET)
    monkeypatch.setenv("ZONULE_OIDC_TITLE", "Harrowmere account")
    assert single_sign_on_from_environment() == SingleSignOn(
        issuer="https://id.example", client_id=CLIENT, client_secret=SECRET, title="Harrowmere account"
    )
