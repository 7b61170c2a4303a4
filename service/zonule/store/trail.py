"""The audit trail: append-only, every entry chained to the one before it by hash."""

import datetime
import hashlib
import json
import re
from collections.abc import Mapping
from contextlib import closing

from sqlalchemy import select
from sqlalchemy.orm import Session

from zonule.store.database import Database, take_turn
from zonule.store.faults import RefusedError
from zonule.store.kept import Page, TrailEntry
from zonule.store.tables import TrailEndRow, TrailRow

START = "0" * 64
"""What the first entry is chained to."""
WORDLESS = re.compile(r"[^\s\x00-\x1f\x7f]{0,200}")
"""Ids, slots, counts: a value with spaces could be a patient's words."""
AT_ONCE = 1000


class Trail:
    """Who did what to what. Entries hold ids, slots and counts, never words of a patient."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def append(self, actor: str, action: str, subject: str, detail: Mapping[str, object] | None = None) -> TrailEntry:
        """Adds an entry. Raises RefusedError for values that could be somebody's words."""
        with self._database.writing() as session:
            return enter(session, self._database.clock(), actor, action, subject, detail)

    def verify(self) -> TrailEntry | None:
        """The first entry that is not as it was written, or None when the whole trail is.

        A trail cut short at its end breaks at its last entry; an empty one that should not be has no entry to name
        and raises nothing: `verify_store` tells of it.
        """
        with self._database.reading() as session:
            return first_broken(session)

    def page(self, limit: int = 50, cursor: str | None = None, subject: str | None = None) -> Page[TrailEntry]:
        """Entries, the newest first; `subject` limits them to one note, user or other thing."""
        query = select(TrailRow).order_by(TrailRow.number.desc()).limit(limit + 1)
        if cursor is not None:
            query = query.where(TrailRow.number < _number(cursor))
        if subject is not None:
            query = query.where(TrailRow.subject == subject)
        with self._database.reading() as session:
            entries = [_entry(row) for row in session.scalars(query)]
        more = str(entries[limit - 1].number) if len(entries) > limit else None
        return Page(tuple(entries[:limit]), more)


def enter(
    session: Session,
    at: datetime.datetime,
    actor: str,
    action: str,
    subject: str,
    detail: Mapping[str, object] | None = None,
) -> TrailEntry:
    """Adds an entry within a transaction. Writers queue at the end of the trail, so do this last."""
    for value in (actor, action, subject, *(detail or {}).values()):
        _check_wordless(value)
    end = session.get(TrailEndRow, 1, with_for_update=True)
    if end is None:
        take_turn(session.connection(), "trail")
        end = session.get(TrailEndRow, 1, with_for_update=True)
    if end is None:
        end = TrailEndRow(id=1, number=0, hash=START)
        session.add(end)
    number, held = end.number + 1, canonical(detail or {})
    sealed = seal(end.hash, number, at, actor, action, subject, held)
    row = TrailRow(
        number=number, at=at, actor=actor, action=action, subject=subject, detail=held, previous=end.hash, hash=sealed
    )
    session.add(row)
    end.number, end.hash = number, sealed
    session.flush()
    return _entry(row)


def seal(previous: str, number: int, at: datetime.datetime, actor: str, action: str, subject: str, detail: str) -> str:
    """SHA-256 of the previous hash and the entry as canonical JSON."""
    moment = at.astimezone(datetime.UTC).isoformat(timespec="microseconds")
    entry = {"number": number, "at": moment, "actor": actor, "action": action, "subject": subject, "detail": detail}
    return hashlib.sha256((previous + canonical(entry)).encode()).hexdigest()


def canonical(held: Mapping[str, object]) -> str:
    """JSON with sorted keys and no spaces: the same content gives the same bytes."""
    return json.dumps(held, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)


def first_broken(session: Session) -> TrailEntry | None:
    """Walks the chain from its start; also the last entry is broken when the trail does not end where it should."""
    previous, number, last = START, 0, None
    query = select(TrailRow).order_by(TrailRow.number)
    with closing(session.scalars(query, execution_options={"yield_per": AT_ONCE})) as rows:
        for row in rows:
            number += 1
            sealed = seal(previous, number, row.at, row.actor, row.action, row.subject, row.detail)
            last = _entry(row)
            if (row.number, row.previous, row.hash) != (number, previous, sealed):
                return last
            previous = sealed
    end = session.get(TrailEndRow, 1)
    ends_well = (end.number, end.hash) == (number, previous) if end else number == 0
    return None if ends_well else last


def trail_end(session: Session) -> tuple[int, str]:
    """The number and hash of the last entry, as the end of the trail tells them."""
    end = session.get(TrailEndRow, 1)
    return (end.number, end.hash) if end else (0, START)


def _entry(row: TrailRow) -> TrailEntry:
    try:
        detail = json.loads(row.detail)
    except ValueError:
        detail = {}
    held = (row.number, row.at, row.actor, row.action, row.subject, detail, row.previous, row.hash)
    return TrailEntry(*held)


def _check_wordless(value: object) -> None:
    if isinstance(value, bool | int) or (isinstance(value, str) and WORDLESS.fullmatch(value)):
        return
    raise RefusedError(
        f"Audit trail: expected ids, slots and counts, got other {type(value).__name__}; leave words out."
    )


def _number(cursor: str) -> int:
    if not cursor.isdecimal() or len(cursor) > 15:
        raise RefusedError("Audit trail: expected the cursor of an earlier page, got another; begin at the first page.")
    return int(cursor)
