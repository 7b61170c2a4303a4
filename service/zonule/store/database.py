"""The database behind the store: how it is opened, and how a transaction begins and ends."""

import datetime
import os
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from sqlite3 import SQLITE_BUSY, OperationalError
from sqlite3 import Connection as SqliteConnection
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, text
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, IntegrityError, NoSuchModuleError
from sqlalchemy.exc import TimeoutError as PoolTimeoutError
from sqlalchemy.orm import Session

from zonule.errors import StoreError
from zonule.store.faults import ClashError, UnavailableError

BUSY_S = 30
"""Seconds that a writer of SQLite waits for the one before it."""
ASKS_AGAIN_S = 0.01
PRIMARY_CODE = 0xFF
"""SQLite keeps the kind of a fault in the low byte of its code."""
POOL: Mapping[str, int] = {"pool_size": 16, "max_overflow": 48}
"""As many connections as a server has threads."""
WRITES = {"zonule_writes": True}
PRAGMAS = (
    f"busy_timeout={BUSY_S * 1000}",
    "synchronous=FULL",
    "foreign_keys=ON",
    "recursive_triggers=ON",
)
"""FULL acknowledges a commit only when it is on the disk; recursive triggers also fire for rows that REPLACE would
throw out."""
Clock = Callable[[], datetime.datetime]


def now() -> datetime.datetime:
    """The time, in UTC."""
    return datetime.datetime.now(datetime.UTC)


class Database:
    """An engine and its transactions; safe to share between threads, and the file or server between processes."""

    def __init__(self, url: str, clock: Clock = now) -> None:
        self.url = parse_url(url)
        self.clock = clock
        self.engine = _engine(self.url)

    @property
    def is_sqlite(self) -> bool:
        """Whether it is one file on this machine."""
        return self.engine.dialect.name == "sqlite"

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """A transaction that only reads, and sees one state of the store throughout."""
        level = {} if self.is_sqlite else {"isolation_level": "REPEATABLE READ"}
        with self.connected() as connection:
            connection.execution_options(**level)
            with connection.begin(), Session(connection) as session:
                yield session

    @contextmanager
    def writing(self) -> Iterator[Session]:
        """A transaction that writes; it is over, and on the disk, when the block ends without an error."""
        with self.connected() as connection:
            connection.execution_options(**WRITES)
            with connection.begin(), Session(connection, expire_on_commit=False) as session:
                yield session
                session.flush()

    @contextmanager
    def connected(self) -> Iterator[Connection]:
        """A connection without a transaction.

        Faults of the database become StoreError here: its own messages can hold whole rows, and so patients' words.
        """
        try:
            connection = self.engine.connect()
        except (DBAPIError, PoolTimeoutError) as fault:
            raise _unreachable(self.url, fault) from None
        try:
            with connection:
                yield connection
        except IntegrityError:
            raise ClashError("Store: somebody else wrote the same at the same moment; look and try again.") from None
        except DBAPIError as fault:
            raise _failed(fault) from None

    def close(self) -> None:
        """Lets go of all connections."""
        self.engine.dispose()


def parse_url(url: str) -> URL:
    """The URL of a store; raises StoreError for one that is neither SQLite nor PostgreSQL. Shows no password."""
    try:
        parsed = make_url(url)
    except ArgumentError:
        parsed = None
    if parsed is None or parsed.get_backend_name() not in ("sqlite", "postgresql"):
        got = parsed.render_as_string() if parsed else "something that is no URL"
        raise StoreError(
            f"Store: expected a URL such as sqlite:///zonule.db or postgresql+psycopg://user@host/database, got {got}."
        )
    return parsed.set(drivername="postgresql+psycopg") if parsed.get_backend_name() == "postgresql" else parsed


def sqlite_file(url: URL) -> Path | None:
    """The file of a SQLite store; None for PostgreSQL."""
    return Path(url.database) if url.get_backend_name() == "sqlite" and url.database else None


def _engine(url: URL) -> Engine:
    if url.get_backend_name() == "sqlite":
        _make_file(url)
        engine = create_engine(url, connect_args={"timeout": BUSY_S}, hide_parameters=True, **POOL)
        event.listen(engine, "connect", _prepare_sqlite)
        event.listen(engine, "begin", _begin_sqlite)
        return engine
    try:
        return create_engine(url, pool_pre_ping=True, hide_parameters=True, **POOL)
    except (NoSuchModuleError, ModuleNotFoundError):
        raise StoreError("Store: PostgreSQL needs its driver; install zonule[postgresql].") from None


def _make_file(url: URL) -> None:
    """The file holds patient data: only its owner may read it."""
    path = sqlite_file(url)
    if path is None or str(path) == ":memory:":
        raise StoreError("Store: expected a file behind sqlite:///, got none; in memory all notes would be lost.")
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        os.close(os.open(path, os.O_CREAT | os.O_RDWR, 0o600))
    except OSError as fault:
        raise StoreError(f"Store {path}: cannot be opened ({fault.strerror}); expected a file to write to.") from fault


def _prepare_sqlite(connection: SqliteConnection, record: Any) -> None:
    """Transactions begin where we say so, not where the driver guesses."""
    del record
    connection.isolation_level = None
    for pragma in PRAGMAS:
        connection.execute(f"PRAGMA {pragma}")
    _write_ahead(connection)


def _write_ahead(connection: SqliteConnection) -> None:
    """With its log written ahead (WAL), readers read while one writes.

    A new file is turned over by whoever opens it first. Whoever comes at that very moment is refused at once, because
    the busy timeout does not hold for this one statement, and has to ask again.
    """
    last = time.monotonic() + BUSY_S
    while True:
        try:
            connection.execute("PRAGMA journal_mode=WAL")
            return
        except OperationalError as fault:
            busy = fault.sqlite_errorcode & PRIMARY_CODE == SQLITE_BUSY
            if not busy or time.monotonic() > last:
                raise
            time.sleep(ASKS_AGAIN_S)


def _begin_sqlite(connection: Connection) -> None:
    """A writer takes the one write lock at once: a lock taken halfway would fail instead of waiting."""
    writes = connection.get_execution_options().get("zonule_writes")
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _failed(fault: DBAPIError) -> UnavailableError:
    return UnavailableError(
        f"Store: expected a database that answers, got {_kind(fault)} (busy too long, full, damaged, or gone); "
        "nothing was written. Look after the disk or the server, then try again."
    )


def _kind(fault: Exception) -> str:
    return type(getattr(fault, "orig", None) or fault).__name__


def _unreachable(url: URL, fault: Exception) -> UnavailableError:
    return UnavailableError(
        f"Store {url.render_as_string()}: cannot be opened ({_kind(fault)}); expected a zonule store that can be "
        "reached. Check the URL, the server and the password."
    )


def take_turn(connection: Connection, what: str) -> None:
    """Waits until no other transaction works on the same; writers of SQLite stand in one queue anyway."""
    if connection.dialect.name == "postgresql":
        connection.execute(text("SELECT pg_advisory_xact_lock(hashtextextended(:what, 0))"), {"what": what})
