"""What goes into a reading and what comes out."""

import datetime
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, StringConstraints

from zonule.case_data import CaseData
from zonule.record import GapReport, OperationRecord
from zonule.requirements import DEFAULT
from zonule.vocabulary import Origin, Severity

Words = Annotated[str, StringConstraints(max_length=1_000_000)]
Short = Annotated[str, StringConstraints(max_length=500)]
Name = Annotated[str, StringConstraints(min_length=1, max_length=100)]
Code = Annotated[str, StringConstraints(min_length=1, max_length=2000)]
MarkKind = Literal["value", "repair", "remark", "retracted", "unclear", "conflict"]
ItemState = Literal["stated", "stated_none", "open", "not_applicable"]


class Closed(BaseModel):
    """Base of everything that is sent in: unknown fields are refused."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Shown(BaseModel):
    """Base of everything that is sent out."""

    model_config = ConfigDict(from_attributes=True, frozen=True)


class NoteInput(Closed):
    """A dictation and what is given with it.

    `keep` are heard words that must not be repaired, `answers` a slot → value, `label` the code of the lens label as
    scanned, `case` what the operating list knows, `standard` the requirement set.
    """

    dictation: Words = Field(description="The words as received: text, SRT, VTT, or lines that start with [m:ss].")
    name: Name = "dictation"
    keep: tuple[Short, ...] = Field(default=(), max_length=500)
    answers: dict[Annotated[str, StringConstraints(max_length=100)], Short] = Field(default={}, max_length=200)
    label: Code | None = None
    case: CaseData | None = None
    standard: Annotated[str, StringConstraints(max_length=100)] = DEFAULT


class ReadingInput(NoteInput):
    """A note's input with dictations that add to or correct the first one."""

    addenda: tuple[Words, ...] = Field(default=(), max_length=20)


class SlotShown(Shown):
    """One slot value; `start` and `end` are characters of the dictation, none for what was not dictated."""

    slot: str
    value: str
    start: int | None
    end: int | None
    place: str
    origin: Origin
    time_s: float | None


class MarkShown(Shown):
    """What some words of the dictation became. Marks are sorted by `start`, longer ones first, and may overlap.

    `heard` and `reading` belong to repairs, `detail` to what is unclear or contradictory, `time_s` to timed sources.
    """

    start: int
    end: int
    kind: MarkKind
    slot: str | None = None
    value: str | None = None
    status: str | None = None
    heard: str | None = None
    reading: str | None = None
    detail: str | None = None
    time_s: float | None = None


class ItemShown(Shown):
    """One requirement of the set and how the note stands to it."""

    id: str
    label: str
    question: str
    why: str
    state: ItemState
    severity: Severity
    slots: tuple[str, ...]
    sources: tuple[str, ...]


class ReadingShown(Shown):
    """One reading: the record (record contract), its slots, gaps, marks and checklist."""

    is_operation_note: bool
    blocks_signature: bool
    record: OperationRecord
    slots: tuple[SlotShown, ...]
    gaps: GapReport
    marks: tuple[MarkShown, ...]
    checklist: tuple[ItemShown, ...]


class LabelInput(Closed):
    """The code of a lens label as scanned or printed, or typed fields as JSON."""

    code: Code


class ItemsShown(Shown):
    """The items of one requirement set."""

    standard: str
    sets: tuple[str, ...]
    items: tuple[ItemShown, ...]


Day = datetime.date
