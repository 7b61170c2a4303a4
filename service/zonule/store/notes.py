"""Notes: every save is a version, a signature ends them, addenda follow it."""

import re
import uuid

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from zonule.record import GapReport, OperationRecord
from zonule.store.database import Database, take_turn
from zonule.store.faults import (
    ConflictError,
    NotFoundError,
    NotSignableError,
    NotSignedError,
    RefusedError,
    SignedError,
    TakenError,
)
from zonule.store.finding import index_note, summary
from zonule.store.kept import Note, NoteDraft, NoteState, NoteSummary, NoteVersion, Page
from zonule.store.paging import open_cursor, page_of
from zonule.store.tables import AddendumRow, CaseRow, FoundNoteRow, NoteRow, SignatureRow, VersionRow
from zonule.store.texts import check_text
from zonule.store.trail import enter
from zonule.store.versions import addendum_digest, record_digest, to_note, to_version, version_row

ID = re.compile(r"[0-9a-f]{32}")


class Notes:
    """Each writing is one transaction, acknowledged when it is on the disk, with its entry in the trail."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def create(self, draft: NoteDraft, by: str, case_id: str | None = None, key: str | None = None) -> Note:
        """A new note, of a case of the list or of none.

        The same user with the same `key` gets the note of the first time. Raises TakenError for a case that has a note
        already and NotFoundError for one that is not on a list.
        """
        with self._database.writing() as session:
            if key is not None and (held := _by_key(session, by, key)) is not None:
                return to_note(session, held)
            if case_id is not None:
                _check_case(session, case_id)
            at, note_id = self._database.clock(), uuid.uuid4().hex
            row = NoteRow(
                id=note_id,
                case_id=case_id,
                key=key,
                created_by=by,
                created_at=at,
                version=1,
                state=draft.state.value,
            )
            version = version_row(note_id, 1, draft, by, at)
            session.add(row)
            session.flush()
            session.add(version)
            index_note(session, note_id, draft.record, draft)
            enter(session, at, by, "note.create", note_id, {"version": 1, "sha256": version.sha256})
            return to_note(session, row)

    def save(self, note_id: str, base_version: int, draft: NoteDraft, by: str) -> Note:
        """A change of version `base_version`.

        Raises ConflictError when that is not the newest and SignedError when the note is signed; either way what came
        is kept as a version set aside, so that nobody's words are lost.
        """
        with self._database.writing() as session:
            row = _lock(session, note_id)
            at, late = self._database.clock(), _is_late(row, base_version)
            version = version_row(note_id, _next_number(session, note_id), draft, by, at, base_version)
            version.set_aside = late
            session.add(version)
            if not late:
                row.version, row.state = version.number, draft.state.value
                index_note(session, note_id, draft.record, draft)
            action = "note.set_aside" if late else "note.save"
            enter(session, at, by, action, note_id, {"version": version.number, "sha256": version.sha256})
            note, kept = to_note(session, row), to_version(version)
        if late:
            raise SignedError(note, kept) if note.state is NoteState.SIGNED else ConflictError(note, kept)
        return note

    def sign(self, note_id: str, version: int, by: str, signed_name: str) -> Note:
        """The note, signed for good.

        Raises SignedError when it is signed already and NotSignableError when `version` is not the newest one, when
        something that must be stated is open, or when it is no operation note.
        """
        check_text("name under the note", signed_name, 200)
        with self._database.writing() as session:
            row = _lock(session, note_id)
            note, at = to_note(session, row), self._database.clock()
            _check_signable(note, version, signed_name)
            held = session.get_one(VersionRow, (note_id, version))
            sha256 = record_digest(held.record)
            row.state = NoteState.SIGNED.value
            session.flush()
            session.add(
                SignatureRow(
                    note_id=note_id,
                    version=version,
                    signer=by,
                    signed_name=signed_name.strip(),
                    signed_at=at,
                    sha256=sha256,
                )
            )
            enter(session, at, by, "note.sign", note_id, {"version": version, "sha256": sha256})
            return to_note(session, row)

    def add_addendum(self, note_id: str, dictation: str, record: OperationRecord, report: GapReport, by: str) -> Note:
        """The signed note with one more addendum; `record` and `report` are those of the note with all of them.

        Raises NotSignedError for a note that is not signed.
        """
        check_text("addendum", dictation)
        with self._database.writing() as session:
            row = _lock(session, note_id)
            if row.state != NoteState.SIGNED.value:
                raise NotSignedError(f"Note {note_id} is not signed: expected a signed note; change the note itself.")
            count = select(func.count()).select_from(AddendumRow).where(AddendumRow.note_id == note_id)
            number, at = session.scalars(count).one() + 1, self._database.clock()
            added = AddendumRow(
                note_id=note_id,
                number=number,
                dictation=dictation,
                record=record.model_dump_json(),
                report=report.model_dump_json(),
                author=by,
                added_at=at,
            )
            added.sha256 = addendum_digest(added)
            session.add(added)
            index_note(session, note_id, record, to_note(session, row).draft)
            enter(session, at, by, "note.addendum", note_id, {"addendum": number, "sha256": added.sha256})
            return to_note(session, row)

    def get(self, note_id: str) -> Note:
        """The note as it stands. Raises NotFoundError."""
        with self._database.reading() as session:
            return to_note(session, _find(session, note_id))

    def version(self, note_id: str, number: int) -> NoteVersion:
        """One save. Raises NotFoundError."""
        with self._database.reading() as session:
            row = session.get(VersionRow, (_find(session, note_id).id, number))
            if row is None:
                raise NotFoundError(f"Note {note_id}: expected the number of one of its versions, got {number}.")
            return to_version(row)

    def versions(self, note_id: str) -> tuple[NoteVersion, ...]:
        """Every save, the first one first, those set aside too. Raises NotFoundError."""
        with self._database.reading() as session:
            note = _find(session, note_id)
            query = select(VersionRow).where(VersionRow.note_id == note.id).order_by(VersionRow.number)
            return tuple(to_version(row) for row in session.scalars(query))

    def page(
        self,
        limit: int = 50,
        cursor: str | None = None,
        state: NoteState | None = None,
        author: str | None = None,
    ) -> Page[NoteSummary]:
        """Notes without their words, the newest first; `author` is who began them."""
        query = (
            select(NoteRow, VersionRow.author, VersionRow.saved_at, FoundNoteRow)
            .join(VersionRow, (VersionRow.note_id == NoteRow.id) & (VersionRow.number == NoteRow.version))
            .join(FoundNoteRow, FoundNoteRow.note_id == NoteRow.id)
            .order_by(NoteRow.created_at.desc(), NoteRow.id.desc())
            .limit(limit + 1)
        )
        query = query.where(NoteRow.state == state.value) if state else query
        query = query.where(NoteRow.created_by == author) if author else query
        with self._database.reading() as session:
            if cursor is not None:
                last = _find(session, *open_cursor(cursor, 1))
                query = query.where(
                    (NoteRow.created_at < last.created_at)
                    | ((NoteRow.created_at == last.created_at) & (NoteRow.id < last.id))
                )
            found = [summary(*row) for row in session.execute(query)]
        return page_of(found, limit, lambda note: (note.id,))


def _find(session: Session, note_id: str) -> NoteRow:
    row = session.get(NoteRow, note_id) if ID.fullmatch(note_id) else None
    if row is None:
        raise NotFoundError("Note: expected the id of a note in the store, got another.")
    return row


def _lock(session: Session, note_id: str) -> NoteRow:
    """The head of the note; whoever else wants to change it waits."""
    row = session.get(NoteRow, note_id, with_for_update=True) if ID.fullmatch(note_id) else None
    return row or _find(session, note_id)


def _by_key(session: Session, by: str, key: str) -> NoteRow | None:
    check_text("key", key, 200)
    take_turn(session.connection(), f"note {by} {key}")
    return session.scalars(select(NoteRow).where(NoteRow.created_by == by, NoteRow.key == key)).one_or_none()


def _check_case(session: Session, case_id: str) -> None:
    """Whoever else begins the note of this case waits."""
    if session.get(CaseRow, case_id, with_for_update=True) is None:
        raise NotFoundError("Case: expected the id of a case on a list, got another.")
    if session.scalars(select(NoteRow.id).where(NoteRow.case_id == case_id)).first() is not None:
        raise TakenError("Case: expected one without a note, got one that has its note; open that one.")


def _is_late(row: NoteRow, base_version: int) -> bool:
    if base_version > row.version or base_version < 1:
        raise RefusedError(f"Note {row.id}: expected the number of one of its versions, got {base_version}.")
    return row.state == NoteState.SIGNED.value or base_version != row.version


def _next_number(session: Session, note_id: str) -> int:
    query = select(func.max(VersionRow.number)).where(VersionRow.note_id == note_id)
    return (session.scalars(query).one() or 0) + 1


def _check_signable(note: Note, version: int, signed_name: str) -> None:
    if note.state is NoteState.SIGNED:
        raise SignedError(note)
    if version != note.number:
        raise NotSignableError(
            f"Note {note.id}: expected its newest version {note.number} to be signed, got {version}; read that one."
        )
    if not note.record.is_operation_note:
        raise NotSignableError(f"Note {note.id} does not read as an operation note: expected one; complete it.")
    if note.report.blocks_signature:
        raise NotSignableError(f"Note {note.id}: something that must be stated is open; answer it, then sign.")
    if not signed_name.strip():
        raise NotSignableError(f"Note {note.id}: expected the name of the one who signs, got none.")
