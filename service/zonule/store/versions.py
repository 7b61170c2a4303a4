"""Versions, signatures and addenda as rows, and back. Nothing here is ever changed once it is written."""

import datetime
import hashlib
import json
from collections.abc import Mapping

from sqlalchemy import select
from sqlalchemy.orm import Session

from zonule.case_data import CaseData
from zonule.record import GapReport, OperationRecord
from zonule.store.kept import Addendum, Note, NoteDraft, NoteState, NoteVersion, Signature
from zonule.store.tables import AddendumRow, NoteRow, SignatureRow, VersionRow
from zonule.store.texts import check_text
from zonule.store.trail import canonical

CONTENT = (
    "dictation", "name", "keep", "answers", "label", "case_data", "standard", "record", "report", "author",
)  # fmt: skip
"""The columns of a version that its digest covers."""
ADDED = ("dictation", "record", "report", "author")
"""The columns of an addendum that its digest covers."""


def version_row(
    note_id: str, number: int, draft: NoteDraft, author: str, at: datetime.datetime, base: int | None = None
) -> VersionRow:
    """A version as it will be kept. Raises RefusedError for text that cannot be kept as it is."""
    check_text("dictation", draft.dictation)
    check_text("name of the dictation", draft.name, 500)
    row = VersionRow(
        note_id=note_id,
        number=number,
        base_version=base,
        set_aside=False,
        dictation=draft.dictation,
        name=draft.name,
        keep=json.dumps(draft.keep, ensure_ascii=False),
        answers=canonical(draft.answers),
        label=draft.label,
        case_data=draft.case.model_dump_json() if draft.case else None,
        standard=draft.standard,
        record=draft.record.model_dump_json(),
        report=draft.report.model_dump_json(),
        author=author,
        saved_at=at,
    )
    for column in ("keep", "answers", "label", "case_data", "record", "report"):
        check_text(column, getattr(row, column) or "", 20_000_000)
    row.sha256 = digest({column: getattr(row, column) for column in CONTENT})
    return row


def digest(content: Mapping[str, object]) -> str:
    """SHA-256 of content as canonical JSON."""
    return hashlib.sha256(canonical(content).encode()).hexdigest()


def version_digest(row: VersionRow) -> str:
    """What the digest of a version should be."""
    return digest({column: getattr(row, column) for column in CONTENT})


def addendum_digest(row: AddendumRow) -> str:
    """What the digest of an addendum should be."""
    return digest({column: getattr(row, column) for column in ADDED})


def record_digest(record: str) -> str:
    """SHA-256 of a record's bytes, as signed."""
    return hashlib.sha256(record.encode()).hexdigest()


def to_version(row: VersionRow) -> NoteVersion:
    """As a plain value."""
    draft = NoteDraft(
        dictation=row.dictation,
        record=OperationRecord.model_validate_json(row.record),
        report=GapReport.model_validate_json(row.report),
        name=row.name,
        keep=tuple(json.loads(row.keep)),
        answers=json.loads(row.answers),
        label=row.label,
        case=CaseData.model_validate_json(row.case_data) if row.case_data else None,
        standard=row.standard,
    )
    return NoteVersion(
        row.note_id, row.number, row.base_version, row.set_aside, draft, row.author, row.saved_at, row.sha256
    )


def to_note(session: Session, row: NoteRow) -> Note:
    """The note as it stands."""
    version = session.get_one(VersionRow, (row.id, row.version))
    signature = session.get(SignatureRow, row.id)
    added = select(AddendumRow).where(AddendumRow.note_id == row.id).order_by(AddendumRow.number)
    return Note(
        id=row.id,
        state=NoteState(row.state),
        version=to_version(version),
        case_id=row.case_id,
        created_by=row.created_by,
        created_at=row.created_at,
        signature=_signature(signature) if signature else None,
        addenda=tuple(_addendum(row) for row in session.scalars(added)),
    )


def _signature(row: SignatureRow) -> Signature:
    return Signature(row.version, row.signer, row.signed_name, row.signed_at, row.sha256)


def _addendum(row: AddendumRow) -> Addendum:
    record = OperationRecord.model_validate_json(row.record)
    return Addendum(
        row.number, row.dictation, record, GapReport.model_validate_json(row.report), row.author, row.added_at
    )
