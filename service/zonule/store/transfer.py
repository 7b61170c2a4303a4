"""Everything out of one store and into another, between SQLite and PostgreSQL too: a zip of JSON lines."""

import datetime
import hashlib
import json
import os
import tempfile
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO, Any

from sqlalchemy import Date, Table, insert, select
from sqlalchemy.exc import SQLAlchemyError
from sqlalchemy.orm import Session

from zonule.errors import InputError, OutputError
from zonule.store.database import Database
from zonule.store.faults import DamagedError, RefusedError
from zonule.store.migrating import current_form
from zonule.store.tables import (
    AddendumRow,
    Base,
    CaseRow,
    CorrectionRow,
    DecisionRow,
    FoundImplantRow,
    FoundNoteRow,
    Moment,
    NoteRow,
    SignatureRow,
    TrailEndRow,
    TrailRow,
    UserRow,
    VersionRow,
)
from zonule.store.trail import canonical
from zonule.store.verifying import find_faults

EXPORTED: tuple[type[Base], ...] = (
    UserRow, CaseRow, NoteRow, VersionRow, AddendumRow, SignatureRow, FoundNoteRow, FoundImplantRow, TrailRow,
    TrailEndRow, CorrectionRow, DecisionRow,
)  # fmt: skip
"""In the order in which they can be read in. Logins and answers kept for a day stay behind."""
MANIFEST = "manifest.json"
EPOCH = (1980, 1, 1, 0, 0, 0)
"""Every member carries the same time: the same content gives the same bytes."""
AT_ONCE = 500
LONGEST_LINE = 100_000_000
"""Bytes of one row; a dictation has at most 1 MB, and its record a multiple of that."""


class Transfer:
    """Export and import of everything."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def export_all(self, path: Path) -> None:
        """Writes everything to `path`, whole or not at all, for its owner alone. Raises OutputError."""
        with _written_whole(path) as file, zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
            with self._database.reading() as session:
                files = {_file(row): _export(session, row, archive) for row in EXPORTED}
                form = current_form(session.connection())
            manifest = {"zonule_export": 1, "form": form, "files": files}
            archive.writestr(_member(MANIFEST), json.dumps(manifest, indent=1, sort_keys=True) + "\n")

    def import_all(self, path: Path) -> None:
        """Reads everything from `path` in one transaction.

        Raises InputError for a file that cannot be read, RefusedError for a store that is not empty, and DamagedError
        for an export that is not whole, was changed, or comes from another form of the tables.
        """
        with _opened(path) as archive:
            files = _checked_manifest(archive, self._form(), path.name)
            for name, told in files.items():
                _check_member(archive, name, told, path.name)
            with self._database.writing() as session:
                _check_empty(session)
                try:
                    for row in EXPORTED:
                        _import(session, row, archive)
                    faults = find_faults(session)
                except (SQLAlchemyError, ValueError, KeyError, TypeError, AttributeError):
                    raise _damaged(path.name, "rows that do not belong together") from None
                if faults:
                    raise _damaged(path.name, "notes or a trail that are not as they were written")

    def _form(self) -> str | None:
        with self._database.connected() as connection:
            return current_form(connection)


def _export(session: Session, row: type[Base], archive: zipfile.ZipFile) -> dict[str, object]:
    table, digest, count = _table(row), hashlib.sha256(), 0
    query = select(table).order_by(*table.primary_key.columns).execution_options(yield_per=AT_ONCE)
    with archive.open(_member(_file(row)), "w", force_zip64=True) as file:
        for held in session.execute(query).mappings():
            line = f"{canonical({name: _plain(value) for name, value in held.items()})}\n".encode()
            file.write(line)
            digest.update(line)
            count += 1
    return {"rows": count, "sha256": digest.hexdigest()}


def _plain(value: object) -> object:
    if isinstance(value, datetime.datetime):
        return value.astimezone(datetime.UTC).isoformat(timespec="microseconds")
    return value.isoformat() if isinstance(value, datetime.date) else value


def _import(session: Session, row: type[Base], archive: zipfile.ZipFile) -> None:
    table, held = _table(row), []
    with archive.open(_file(row)) as file:
        for line in file:
            held.append(_typed(table, json.loads(line)))
            if len(held) == AT_ONCE:
                session.execute(insert(table), held)
                held = []
    if held:
        session.execute(insert(table), held)


def _typed(table: Table, row: dict[str, Any]) -> dict[str, Any]:
    """The values of a row in the types of their columns. Raises ValueError for a row that has others."""
    if set(row) != set(table.columns.keys()):
        raise ValueError("other columns")
    for name, column in table.columns.items():
        if row[name] is not None and isinstance(column.type, Moment):
            row[name] = datetime.datetime.fromisoformat(row[name])
        elif row[name] is not None and isinstance(column.type, Date):
            row[name] = datetime.date.fromisoformat(row[name])
    return row


def _check_member(archive: zipfile.ZipFile, name: str, told: dict[str, object], export: str) -> None:
    digest, count = hashlib.sha256(), 0
    try:
        with archive.open(name) as file:
            while line := file.readline(LONGEST_LINE):
                digest.update(line)
                count += 1
    except (zipfile.BadZipFile, OSError, EOFError, KeyError, ValueError, NotImplementedError, RuntimeError):
        raise _damaged(export, f"no whole {name}") from None
    if told != {"rows": count, "sha256": digest.hexdigest()}:
        raise _damaged(export, f"another {name} than its manifest tells")


def _checked_manifest(archive: zipfile.ZipFile, form: str | None, export: str) -> dict[str, dict[str, object]]:
    try:
        manifest = json.loads(archive.read(MANIFEST))
        made, files = (manifest["form"], manifest["files"]) if manifest["zonule_export"] == 1 else (None, None)
    except (zipfile.BadZipFile, OSError, EOFError, KeyError, ValueError, TypeError, RuntimeError):
        made, files = None, None
    wanted = {_file(row) for row in EXPORTED}
    if not isinstance(files, dict) or set(files) != wanted or set(archive.namelist()) != {MANIFEST, *wanted}:
        raise _damaged(export, "no manifest of one")
    if made != form:
        raise DamagedError(f"{export}: expected an export of form {form}, got {made}; export it with this Zonule.")
    return files


def _check_empty(session: Session) -> None:
    for table in Base.metadata.sorted_tables:
        if session.execute(select(table).limit(1)).first() is not None:
            raise RefusedError("Import: expected an empty store, got one with something in it; name a new one.")


@contextmanager
def _opened(path: Path) -> Iterator[zipfile.ZipFile]:
    try:
        archive = zipfile.ZipFile(path)
    except zipfile.BadZipFile:
        raise _damaged(path.name, "no zip file") from None
    except OSError as fault:
        raise InputError(f"{path.name}: expected an export to read, got {fault.strerror or fault}.") from fault
    with archive:
        yield archive


@contextmanager
def _written_whole(path: Path) -> Iterator[IO[bytes]]:
    """A file beside `path` that takes its place when the block ends well; only its owner may read it."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    except OSError as fault:
        raise OutputError(f"{path}: cannot be written ({fault.strerror}); expected a place to write to.") from fault
    try:
        with os.fdopen(handle, "w+b") as file:
            yield file
            file.flush()
            os.fsync(file.fileno())
        Path(name).replace(path)
    except OSError as fault:
        raise OutputError(f"{path}: cannot be written ({fault.strerror}); expected a place to write to.") from fault
    finally:
        Path(name).unlink(missing_ok=True)


def _table(row: type[Base]) -> Table:
    table = row.__table__
    assert isinstance(table, Table)
    return table


def _file(row: type[Base]) -> str:
    return f"{row.__tablename__}.jsonl"


def _member(name: str) -> zipfile.ZipInfo:
    member = zipfile.ZipInfo(name, EPOCH)
    member.compress_type = zipfile.ZIP_DEFLATED
    member.external_attr = 0o600 << 16
    return member


def _damaged(export: str, got: str) -> DamagedError:
    return DamagedError(f"{export}: expected a whole export, got {got}; nothing was read in. Export it again.")
