"""Notes, their versions, signatures and addenda as they go in and out."""

import datetime
from typing import Annotated

from pydantic import Field, StringConstraints

from zonule.case_data import CaseData
from zonule.record import GapReport, OperationRecord
from zonule.store import Note, NoteVersion
from zonule.store.kept import NoteState
from zonule.web.api.reading_models import Closed, NoteInput, Shown, Words

NoteId = Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{32}$")]
Number = Annotated[int, Field(ge=1, le=1_000_000)]


class NewNote(NoteInput):
    """A new note; `case_id` names its case on the day's list."""

    case_id: Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{32}$")] | None = None


class ChangedNote(NoteInput):
    """The next version of a note; `base_version` is the one it was changed from."""

    base_version: Number


class ToSign(Closed):
    """The version that was read and is to be signed."""

    version: Number


class NewAddendum(Closed):
    """A dictation that adds to or corrects a signed note."""

    dictation: Words


class SignatureShown(Shown):
    """Who signed which version, when, and the SHA-256 of the record as signed."""

    version: int
    signer: str
    signed_name: str
    signed_at: datetime.datetime
    sha256: str


class AddendumShown(Shown):
    """Words added after signing."""

    number: int
    dictation: str
    author: str
    added_at: datetime.datetime


class VersionShown(Shown):
    """One save. A version set aside came too late: it is kept, but never became the note."""

    note_id: str
    number: int
    base_version: int | None
    set_aside: bool
    author: str
    saved_at: datetime.datetime
    sha256: str


class DraftShown(Shown):
    """What was given for a version."""

    dictation: str
    name: str
    keep: tuple[str, ...]
    answers: dict[str, str]
    label: str | None
    case: CaseData | None
    standard: str


class WholeVersion(VersionShown):
    """One save with its words and what was read from them."""

    draft: DraftShown
    record: OperationRecord
    report: GapReport


class NoteShown(Shown):
    """A note as it stands; `record` and `report` hold the addenda too."""

    id: str
    version: int
    state: NoteState
    case_id: str | None
    created_by: str
    created_at: datetime.datetime
    saved_by: str
    saved_at: datetime.datetime
    draft: DraftShown
    record: OperationRecord
    report: GapReport
    signature: SignatureShown | None
    addenda: tuple[AddendumShown, ...]


class SummaryShown(Shown):
    """A note in a list."""

    id: str
    number: int
    state: NoteState
    case_id: str | None
    author: str
    saved_at: datetime.datetime
    date: datetime.date | None
    surgeon: str | None
    hospital_number: str | None
    patient: str | None
    eye: str | None


class SummaryPage(Shown):
    """Some notes; `cursor` asks for what follows, none at the end."""

    items: tuple[SummaryShown, ...]
    cursor: str | None


def note_shown(note: Note) -> NoteShown:
    """The note as it goes out."""
    return NoteShown(
        id=note.id,
        version=note.number,
        state=note.state,
        case_id=note.case_id,
        created_by=note.created_by,
        created_at=note.created_at,
        saved_by=note.version.author,
        saved_at=note.version.saved_at,
        draft=_draft(note.version),
        record=note.record,
        report=note.report,
        signature=SignatureShown.model_validate(note.signature) if note.signature else None,
        addenda=tuple(AddendumShown.model_validate(held) for held in note.addenda),
    )


def version_shown(version: NoteVersion) -> WholeVersion:
    """The version as it goes out, with its words."""
    head = VersionShown.model_validate(version).model_dump()
    draft = version.draft
    return WholeVersion(**head, draft=_draft(version), record=draft.record, report=draft.report)


def _draft(version: NoteVersion) -> DraftShown:
    held = version.draft
    return DraftShown(
        dictation=held.dictation,
        name=held.name,
        keep=held.keep,
        answers=dict(held.answers),
        label=held.label,
        case=held.case,
        standard=held.standard,
    )
