"""Backup and restore with the means of the database itself."""

import os
import shutil
import sqlite3
import subprocess
import tempfile
from contextlib import closing
from pathlib import Path

from sqlalchemy import inspect
from sqlalchemy.engine import URL

from zonule.errors import InputError, OutputError, StoreError
from zonule.store.database import Database, parse_url, sqlite_file
from zonule.store.faults import DamagedError, RefusedError


def back_up(url: str, path: Path) -> None:
    """Writes a backup to `path`, whole or not at all, while others work on: they are neither stopped nor missed.

    Of SQLite it is a database file, of PostgreSQL what `pg_dump` writes. Raises OutputError and StoreError.
    """
    parsed = parse_url(url)
    file, beside = sqlite_file(parsed), _beside(path)
    try:
        if file is None:
            _run(parsed, "pg_dump", "--format=custom", "--no-owner", "--no-privileges", f"--file={beside}")
        else:
            _copy(file, beside)
        beside.chmod(0o600)
        _sync(beside)
        beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)


def restore(url: str, path: Path, *, replace: bool = False) -> Path | None:
    """Makes the store at `url` from a backup.

    A SQLite store that is there is refused, or with `replace` put aside; where is given back. A PostgreSQL
    database must be empty. Raises InputError, DamagedError for a file that is no whole backup, RefusedError for a place
    that is taken or in use.
    """
    if not path.is_file():
        raise InputError(f"{path.name}: expected a backup to read, got no file; check the name.")
    parsed = parse_url(url)
    file = sqlite_file(parsed)
    if file is None:
        _restore_postgresql(url, parsed, path)
        return None
    _check_backup(path)
    file.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    beside = _beside(file)
    try:
        shutil.copyfile(path, beside)
        beside.chmod(0o600)
        _sync(beside)
        aside = _put_aside(file, replace) if file.exists() else None
        _drop_logs(file)
        beside.replace(file)
    finally:
        beside.unlink(missing_ok=True)
    return aside


def _copy(source: Path, target: Path) -> None:
    if not source.is_file():
        raise StoreError(f"Store {source}: expected a store to back up, got no file; check the URL.")
    try:
        with closing(sqlite3.connect(source)) as held, closing(sqlite3.connect(target)) as copy:
            held.backup(copy)
            copy.execute("PRAGMA journal_mode=DELETE")
    except sqlite3.DatabaseError:
        raise DamagedError(f"Store {source}: expected a store to back up, got a damaged or other file.") from None
    _check_backup(target)


def _check_backup(path: Path) -> None:
    try:
        with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro&immutable=1", uri=True)) as held:
            whole = held.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
            held.execute("SELECT version_num FROM alembic_version").fetchall()
    except sqlite3.DatabaseError:
        whole = False
    if not whole:
        raise DamagedError(f"{path.name}: expected a whole backup of a zonule store, got a damaged or other file.")


def _put_aside(file: Path, replace: bool) -> Path:
    """Takes the store that is there out of the way; leaving WAL mode fails while anybody has it open."""
    if not replace:
        raise RefusedError(f"Store {file}: expected a free place, got a store; name another or replace it.")
    try:
        with closing(sqlite3.connect(file, timeout=1)) as held:
            held.execute("PRAGMA journal_mode=DELETE")
    except sqlite3.OperationalError:
        raise RefusedError(f"Store {file}: expected one that nobody uses, got one in use; stop the service.") from None
    except sqlite3.DatabaseError:
        pass  # A damaged store is what a restore is for.
    aside = next(place for n in range(1, 1000) if not (place := file.with_name(f"{file.name}.replaced-{n}")).exists())
    file.replace(aside)
    return aside


def _drop_logs(file: Path) -> None:
    """What is left of a write-ahead log of another file must not be taken for this one's."""
    for left in ("-wal", "-shm"):
        file.with_name(file.name + left).unlink(missing_ok=True)


def _restore_postgresql(url: str, parsed: URL, path: Path) -> None:
    database = Database(url)
    try:
        with database.connected() as connection:
            if inspect(connection).get_table_names():
                raise RefusedError("Restore: expected an empty database, got one with tables; create a new one.")
    finally:
        database.close()
    _run(parsed, "pg_restore", "--single-transaction", "--exit-on-error", "--no-owner", "--no-privileges", str(path))


def _run(url: URL, program: str, *arguments: str) -> None:
    """Runs a client of PostgreSQL; the password goes by the environment, and what it prints may hold rows: dropped."""
    target = url.set(drivername="postgresql", password=None).render_as_string(hide_password=False)
    found = shutil.which(program)
    if found is None:
        raise StoreError(f"Backup: expected {program}, got none on this machine; install the client of PostgreSQL.")
    secret = {"PGPASSWORD": str(url.password)} if url.password else {}
    command = [found, "--no-password", f"--dbname={target}", *arguments]
    done = subprocess.run(command, env={**os.environ, **secret}, capture_output=True, check=False)
    if done.returncode:
        raise DamagedError(
            f"{program} ended with status {done.returncode}: expected a store that can be reached and a whole backup; "
            "check the URL and the file."
        )


def _beside(path: Path) -> Path:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    except OSError as fault:
        raise OutputError(f"{path}: cannot be written ({fault.strerror}); expected a place to write to.") from fault
    os.close(handle)
    return Path(name)


def _sync(path: Path) -> None:
    with path.open("rb") as file:
        os.fsync(file.fileno())
