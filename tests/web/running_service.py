"""A service for tests: one app over a fresh store, and clients signed in as users of each role."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from fastapi import FastAPI
from fastapi.testclient import TestClient

from zonule.store import Store
from zonule.web.app import create_app
from zonule.web.metrics import Metrics
from zonule.web.reading_room import ReadingRoom
from zonule.web.service_settings import ServiceSettings

ROOT = Path(__file__).parents[2]
PASSWORD = "a long enough passphrase"
ROLES = ("author", "signer", "auditor", "administrator")
ROUTINE = (ROOT / "samples/01-routine-punctuated.txt").read_text("utf-8")
"""A whole operation note: nothing that must be stated is open."""
OPEN = (ROOT / "samples/02-raw-recognizer.txt").read_text("utf-8")
"""An operation note that does not name the model of its lens."""
API = "/api/v1"


@dataclass(frozen=True)
class Service:
    """One running app."""

    app: FastAPI

    @property
    def store(self) -> Store:
        store: Store = self.app.state.store
        return store

    def visitor(self) -> TestClient:
        """A client without a session."""
        return TestClient(self.app, base_url="http://localhost", follow_redirects=False)

    def client(self, name: str) -> TestClient:
        """A client signed in as a user, its token for writes in the headers. Users are named like their role."""
        client = self.visitor()
        begun = client.post(f"{API}/session", json={"name": name, "password": PASSWORD})
        assert begun.status_code == 200, begun.text
        client.headers["X-CSRF-Token"] = begun.json()["csrf_token"]
        return client


@contextmanager
def running(folder: Path, **settings: Any) -> Iterator[Service]:
    """A service with one user of each role."""
    app = create_app(ServiceSettings(store=f"sqlite:///{folder}/zonule.db", **settings))
    app.state.reading_room = reading_room()
    with TestClient(app, base_url="http://localhost"):
        service = Service(app)
        for role in ROLES:
            service.store.users.add(role, f"{role.capitalize()} Harrow", (role,), PASSWORD)
        yield service


@cache
def reading_room() -> ReadingRoom:
    """One for all services of a test run: it takes the longest to build."""
    return ReadingRoom(Metrics())


def kept(client: TestClient, dictation: str = ROUTINE, **given: Any) -> dict[str, Any]:
    """A new note."""
    made = client.post(f"{API}/notes", json={"dictation": dictation, **given})
    assert made.status_code == 201, made.text
    note: dict[str, Any] = made.json()
    return note


def signed(client: TestClient) -> dict[str, Any]:
    """A new note, signed."""
    note = kept(client)
    done = client.post(f"{API}/notes/{note['id']}/signature", json={"version": note["version"]})
    assert done.status_code == 200, done.text
    held: dict[str, Any] = done.json()
    return held
