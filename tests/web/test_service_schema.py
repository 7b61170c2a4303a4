"""The description of the interface is true: generated requests never meet a fault, nor an answer it does not name.

Deterministic and bounded: every run sends the same requests to the app in this process. Each is sent as generated, and
again about a note that is there.
"""

import datetime
from collections.abc import Iterator
from typing import Any

import pytest
import schemathesis
from fastapi.testclient import TestClient
from hypothesis import HealthCheck, settings
from running_service import API, PASSWORD, ROLES, Service, kept, running, signed
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from zonule.web.app import create_app
from zonule.web.security.cookies import SESSION, csrf_token
from zonule.web.service_settings import ServiceSettings

SCHEMA = schemathesis.openapi.from_dict(create_app(ServiceSettings()).openapi())
CHECKS = [
    schemathesis.checks.not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_schema_conformance,
]
DAY = datetime.timedelta(days=1)


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    with running(tmp_path_factory.mktemp("schema")) as service:
        service.store.users.add("everybody", "Enid Marrow", ROLES, PASSWORD)
        yield service


@pytest.fixture(scope="module")
def notes(service: Service) -> tuple[str, ...]:
    client = service.client("signer")
    return kept(client)["id"], signed(client)["id"]


def everybody(service: Service) -> TestClient:
    """A client of a user with all roles: nothing is refused for its role."""
    client, token = service.visitor(), service.store.sessions.begin("everybody", DAY, DAY)
    client.cookies.set(SESSION, token)
    client.headers["X-CSRF-Token"] = csrf_token(token)
    return client


@pytest.fixture(scope="module")
def client(service: Service) -> TestClient:
    return everybody(service)


@SCHEMA.parametrize()
@settings(max_examples=6, derandomize=True, deadline=None, database=None, suppress_health_check=list(HealthCheck))
def test_every_answer_is_described(
    case: schemathesis.Case[Any], service: Service, client: TestClient, notes: tuple[str, ...]
) -> None:
    send(case, everybody(service) if case.path.endswith("/session") else client)
    if "note_id" in case.path_parameters:
        case.path_parameters["note_id"] = notes[len(str(case.body)) % len(notes)]
        send(case, client)


def send(case: schemathesis.Case[Any], client: TestClient) -> None:
    """Sends a generated request through the app in this process and checks the answer."""
    sent: dict[str, Any] = case.as_transport_kwargs(base_url="http://localhost")
    sent.pop("cookies", None)
    sent["headers"] = {**sent.get("headers", {}), "X-CSRF-Token": client.headers["X-CSRF-Token"]}
    if not isinstance(sent.get("data"), dict):
        sent["content"] = sent.pop("data", None)
    answer = client.request(**sent)
    answer.request.read()
    case.validate_response(answer, checks=CHECKS)


def test_the_description_names_every_route_and_the_problems() -> None:
    held = create_app(ServiceSettings()).openapi()
    assert all(path.startswith(API) for path in held["paths"])
    for path, methods in held["paths"].items():
        for method, operation in methods.items():
            problems = {
                status
                for status, answer in operation["responses"].items()
                if "application/problem+json" in answer.get("content", {})
            }
            assert problems or path == f"{API}/health", (method, path)
            assert operation["description"], (method, path)


def test_the_requests_were_sent_by_somebody_who_was_let_in(client: TestClient) -> None:
    """Were the session lost on the way, everything above would only have been refused."""
    assert client.get(f"{API}/session").json()["user"]["name"] == "everybody"
