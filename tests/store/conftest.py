"""Every test of the store runs on SQLite and on PostgreSQL."""

import shutil
from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path

import pytest
from postgresql_server import PostgresqlServer
from store_samples import QUICK, Ticking

from zonule.store import Store, open_store


@pytest.fixture(scope="session")
def postgresql() -> Iterator[PostgresqlServer]:
    """A server for the whole run, started when the first test asks for it and stopped at the end."""
    server = PostgresqlServer()
    try:
        server.start()
        yield server
    finally:
        server.stop()


@pytest.fixture(params=["sqlite", "postgresql"])
def kind(request: pytest.FixtureRequest) -> str:
    """Which database."""
    return str(request.param)


@pytest.fixture
def new_url(kind: str, request: pytest.FixtureRequest, tmp_path: Path) -> Callable[[], str]:
    """Gives URLs of stores that are not there yet."""
    if kind == "sqlite":
        numbers = count(1)
        return lambda: f"sqlite:///{tmp_path / f'zonule-{next(numbers)}.db'}"
    server: PostgresqlServer = request.getfixturevalue("postgresql")
    return server.create_database


@pytest.fixture(scope="session")
def made_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An empty SQLite store to copy: making its tables anew for every test takes long."""
    path = tmp_path_factory.mktemp("made") / "zonule.db"
    open_store(f"sqlite:///{path}", hasher=QUICK).close()
    return path


@pytest.fixture(scope="session")
def made_database(postgresql: PostgresqlServer) -> str:
    """The same of PostgreSQL."""
    url = postgresql.create_database()
    open_store(url, hasher=QUICK).close()
    return url


@pytest.fixture
def url(kind: str, request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The URL of an empty store."""
    if kind == "sqlite":
        shutil.copyfile(request.getfixturevalue("made_file"), tmp_path / "zonule.db")
        return f"sqlite:///{tmp_path / 'zonule.db'}"
    server: PostgresqlServer = request.getfixturevalue("postgresql")
    return server.create_database(like=request.getfixturevalue("made_database"))


@pytest.fixture
def clock() -> Ticking:
    """A clock of the test's own."""
    return Ticking()


@pytest.fixture
def store(url: str, clock: Ticking) -> Iterator[Store]:
    """An empty store."""
    with open_store(url, clock=clock, hasher=QUICK) as opened:
        yield opened
