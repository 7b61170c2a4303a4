"""Whether the store is as it was written: the file, the trail, and what the trail says of every note."""

import json
from collections.abc import Iterator
from dataclasses import dataclass

from sqlalchemy import select, text
from sqlalchemy.orm import Session

from zonule.store.database import Database
from zonule.store.faults import UnavailableError
from zonule.store.kept import NoteState
from zonule.store.tables import AddendumRow, NoteRow, SignatureRow, TrailRow, VersionRow
from zonule.store.trail import START, first_broken, trail_end
from zonule.store.versions import addendum_digest, record_digest, version_digest

SLOWLY = {"yield_per": 200}
WRITTEN = {
    "note.create": ("version", "version"),
    "note.save": ("version", "version"),
    "note.set_aside": ("version", "version"),
    "note.sign": ("signature of version", "version"),
    "note.addendum": ("addendum", "addendum"),
}
"""By action: what was written, and where the detail of the entry has its number."""
LOST = "The audit trail has no entry with the hash that was written down: it was rewritten, or is another store's."
UNREADABLE = "The database is damaged: not all of it can be read. Restore the last backup beside it."
Mark = tuple[str, str, int]


@dataclass(frozen=True, slots=True)
class Verification:
    """How many entries the trail has, the hash of its last one, and what is wrong, one sentence each."""

    entries: int
    last_hash: str
    faults: tuple[str, ...]


def verify_store(database: Database, written_down: str | None = None) -> Verification:
    """Checks everything; holds no patient's words.

    A trail rewritten from some entry to its end, with all of its notes, is whole in itself. Who wants to notice that
    too writes the last hash down elsewhere and gives it as `written_down` later: an entry must have it.
    """
    try:
        with database.reading() as session:
            file = tuple(_file_faults(session)) if database.is_sqlite else ()
            entries, last_hash = trail_end(session)
            missing = (LOST,) if written_down and not _has_entry(session, written_down) else ()
            return Verification(entries, last_hash, file + missing + find_faults(session))
    except (UnavailableError, ValueError, TypeError) as fault:
        if isinstance(fault, UnavailableError) and not database.is_sqlite:
            raise
        return Verification(0, START, (UNREADABLE,))


def find_faults(session: Session) -> tuple[str, ...]:
    """What is wrong with the trail and the notes, one sentence each."""
    broken = first_broken(session)
    chain = (f"The audit trail is broken at entry {broken.number}.",) if broken else ()
    return (*chain, *_note_faults(session))


def _has_entry(session: Session, sealed: str) -> bool:
    return session.scalars(select(TrailRow.number).where(TrailRow.hash == sealed.strip().lower())).first() is not None


def _file_faults(session: Session) -> Iterator[str]:
    for (told,) in session.execute(text("PRAGMA integrity_check")):
        if told != "ok":
            yield f"The database file is damaged: {str(told).split(':')[0]}."
    if session.execute(text("PRAGMA foreign_key_check")).first() is not None:
        yield "The database file has rows whose note or user is gone."


def _note_faults(session: Session) -> Iterator[str]:
    """Every version, signature and addendum against its digest, and all of them against the trail."""
    told = _told(session)
    for kind, note_id, number, kept, is_sound in _kept(session):
        if not is_sound:
            yield f"Note {note_id}: {kind} {number} is not as it was written."
        elif told.pop((kind, note_id, number), None) != kept:
            yield f"Note {note_id}: {kind} {number} is not the one that the audit trail tells of."
        told.pop((kind, note_id, number), None)
    for kind, note_id, number in told:
        yield f"Note {note_id}: {kind} {number} is gone."
    signed = set(session.scalars(select(SignatureRow.note_id)))
    stated = set(session.scalars(select(NoteRow.id).where(NoteRow.state == NoteState.SIGNED.value)))
    for note_id in sorted(signed ^ stated):
        yield f"Note {note_id}: its state and its signature do not agree."


def _told(session: Session) -> dict[Mark, str]:
    """The digests that the trail tells of."""
    query = select(TrailRow).where(TrailRow.action.in_(WRITTEN)).order_by(TrailRow.number)
    told: dict[Mark, str] = {}
    for row in session.scalars(query, execution_options=SLOWLY):
        detail = json.loads(row.detail)
        kind, counted = WRITTEN[row.action]
        told[kind, row.subject, int(detail.get(counted, 0))] = str(detail.get("sha256"))
    return told


def _kept(session: Session) -> Iterator[tuple[str, str, int, str, bool]]:
    """Kind, note, number, digest, and whether the content has that digest."""
    for version in session.scalars(select(VersionRow), execution_options=SLOWLY):
        yield "version", version.note_id, version.number, version.sha256, version_digest(version) == version.sha256
    for added in session.scalars(select(AddendumRow), execution_options=SLOWLY):
        yield "addendum", added.note_id, added.number, added.sha256, addendum_digest(added) == added.sha256
    same = (VersionRow.note_id == SignatureRow.note_id) & (VersionRow.number == SignatureRow.version)
    signed = select(SignatureRow, VersionRow.record).outerjoin(VersionRow, same)
    for row, record in session.execute(signed, execution_options=SLOWLY):
        is_sound = record is not None and record_digest(record) == row.sha256
        yield "signature of version", row.note_id, row.version, row.sha256, is_sound
