"""What the store gives out: plain frozen values, never table rows. All times are timezone-aware UTC."""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Generic, TypeVar

from zonule.case_data import CaseData
from zonule.record import GapReport, OperationRecord
from zonule.requirements import DEFAULT

T = TypeVar("T")


class Role(StrEnum):
    """What a user may do; a user may have several."""

    AUTHOR = "author"
    SIGNER = "signer"
    AUDITOR = "auditor"
    ADMINISTRATOR = "administrator"


class NoteState(StrEnum):
    """A draft has something open that must be stated; a complete note waits for its signature."""

    DRAFT = "draft"
    COMPLETE = "complete"
    SIGNED = "signed"


class CaseState(StrEnum):
    """Where a case of the day's list stands."""

    NO_DICTATION = "no_dictation"
    GAPS_OPEN = "gaps_open"
    READY = "ready"
    SIGNED = "signed"


class CorrectionKind(StrEnum):
    """What a person did with a reading."""

    REPAIR_ACCEPTED = "repair_accepted"
    REPAIR_REFUSED = "repair_refused"
    ANSWER = "answer"


@dataclass(frozen=True, slots=True)
class Page(Generic[T]):
    """Some of what was found; `cursor` asks for what follows and is None at the end."""

    items: tuple[T, ...]
    cursor: str | None = None


@dataclass(frozen=True, slots=True)
class User:
    """Somebody who works with the service. `roles` in the order of `Role`."""

    name: str
    full_name: str
    roles: tuple[Role, ...]
    added_at: datetime.datetime
    disabled_at: datetime.datetime | None = None
    issuer: str | None = None
    subject: str | None = None

    @property
    def disabled(self) -> bool:
        """Whether the user may no longer log in."""
        return self.disabled_at is not None


@dataclass(frozen=True, slots=True)
class Session:
    """One login that has not expired."""

    user: User
    began_at: datetime.datetime
    seen_at: datetime.datetime
    expires_at: datetime.datetime


@dataclass(frozen=True, slots=True)
class NoteDraft:
    """What is saved of a note: the words as received, what was given with them, and what was read from them."""

    dictation: str
    record: OperationRecord
    report: GapReport
    name: str = "dictation"
    keep: tuple[str, ...] = ()
    answers: Mapping[str, str] = field(default_factory=dict)
    label: str | None = None
    case: CaseData | None = None
    standard: str = DEFAULT

    @property
    def state(self) -> NoteState:
        """Complete when it is an operation note and nothing that must be stated is open."""
        done = self.record.is_operation_note and not self.report.blocks_signature
        return NoteState.COMPLETE if done else NoteState.DRAFT


@dataclass(frozen=True, slots=True)
class NoteVersion:
    """One save. A version set aside came too late: it is kept, but never became the note."""

    note_id: str
    number: int
    base_version: int | None
    set_aside: bool
    draft: NoteDraft
    author: str
    saved_at: datetime.datetime
    sha256: str


@dataclass(frozen=True, slots=True)
class Signature:
    """Who signed which version, under which name, and the SHA-256 of the record's bytes as they were signed."""

    version: int
    signer: str
    signed_name: str
    signed_at: datetime.datetime
    sha256: str


@dataclass(frozen=True, slots=True)
class Addendum:
    """Words added after signing. `record` and `report` are those of the note with all addenda so far."""

    number: int
    dictation: str
    record: OperationRecord
    report: GapReport
    author: str
    added_at: datetime.datetime


@dataclass(frozen=True, slots=True)
class Note:
    """A note as it stands: its newest version, its signature, its addenda."""

    id: str
    state: NoteState
    version: NoteVersion
    case_id: str | None
    created_by: str
    created_at: datetime.datetime
    signature: Signature | None = None
    addenda: tuple[Addendum, ...] = ()

    @property
    def number(self) -> int:
        """The number of the newest version."""
        return self.version.number

    @property
    def draft(self) -> NoteDraft:
        """What the newest version holds."""
        return self.version.draft

    @property
    def record(self) -> OperationRecord:
        """The record with all addenda."""
        return self.addenda[-1].record if self.addenda else self.draft.record

    @property
    def report(self) -> GapReport:
        """The gaps of `record`."""
        return self.addenda[-1].report if self.addenda else self.draft.report


@dataclass(frozen=True, slots=True)
class NoteSummary:
    """A note in a list, without its words."""

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


@dataclass(frozen=True, slots=True)
class ListedCase:
    """A case of the day's list and where its note stands."""

    id: str
    day: datetime.date
    position: int
    case: CaseData
    note_id: str | None
    state: CaseState


@dataclass(frozen=True, slots=True)
class FoundNote:
    """A lens or other implant and the note that tells of it.

    `status` is what became of it: `implanted`, `opened_not_implanted`, `explanted`, or `label` for what the scanned
    label says and the record does not. `kind` is `lens` or the kind of implant. A note found by date without any
    implant has the fields of the implant empty.
    """

    note_id: str
    state: NoteState
    date: datetime.date | None
    surgeon: str | None
    hospital_number: str | None
    patient: str | None
    eye: str | None
    kind: str | None = None
    status: str | None = None
    manufacturer: str | None = None
    model: str | None = None
    power_d: float | None = None
    serial_number: str | None = None
    lot_number: str | None = None


@dataclass(frozen=True, slots=True)
class RecordedNote:
    """What a note says of its operation, addenda included; `date` and `surgeon` also from the list.

    `version` and `addenda` are the number of its newest version and how many addenda follow it.
    """

    note_id: str
    version: int
    addenda: int
    state: NoteState
    date: datetime.date | None
    surgeon: str | None
    record: OperationRecord


@dataclass(frozen=True, slots=True)
class TrailEntry:
    """Who did what to what. `hash` = SHA-256 of the `previous` hash and the entry as canonical JSON."""

    number: int
    at: datetime.datetime
    actor: str
    action: str
    subject: str
    detail: Mapping[str, object]
    previous: str
    hash: str


@dataclass(frozen=True, slots=True)
class Proposal:
    """Corrections of one kind that say the same: how often, by how many people, since when, and what was decided."""

    id: str
    kind: CorrectionKind
    heard: str
    reading: str
    count: int
    people: int
    first_at: datetime.datetime
    last_at: datetime.datetime
    accepted: bool | None = None
    decided_by: str | None = None
    decided_at: datetime.datetime | None = None


@dataclass(frozen=True, slots=True)
class KeptAnswer:
    """The answer that a write with an idempotency key got the first time."""

    status: int
    content_type: str
    body: bytes
