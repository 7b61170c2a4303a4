"""What the page of a note shows: the filled-in form, read."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from zonule.case_data import CaseData
from zonule.casework import Casework, Given
from zonule.dictation import LIMIT_BYTES, Dictation, read_text
from zonule.errors import InputError, LabelError
from zonule.export.blocks import Panel, Tone
from zonule.export.eye_diagram import describe_eye, eye_svg
from zonule.export.panels import eye_panel, lens_panels
from zonule.export.wording import name_shown, slot_label
from zonule.labels import LensLabel, parse_label
from zonule.lexicon import Lexicon
from zonule.record import GapReport, OperationRecord, slot_values
from zonule.requirements import DEFAULT, Requirements
from zonule.web.pages.answer_fields import usable_answers
from zonule.web.pages.marked_text import Piece, Repaired, marked_text, repairs_of
from zonule.web.pages.running_order import Count, Stage, count_of, running_order

Work = Callable[[Dictation, Given], Casework]
"""Reads one case: the reading room's way of it, or any other."""


@dataclass(frozen=True, slots=True)
class Filled:
    """What stands in the form of a note: words, answers by slot, what was decided about misheard terms, the label."""

    dictation: str = ""
    answers: Mapping[str, str] = field(default_factory=dict)
    keep: tuple[str, ...] = ()
    accepted: tuple[str, ...] = ()
    label: str = ""
    case: CaseData | None = None
    standard: str = DEFAULT
    name: str = "dictation"


@dataclass(frozen=True, slots=True)
class LensRow:
    """A line of a lens panel; `ref` is the id of the value behind it, `missing` says that nothing was stated."""

    label: str
    text: str
    ref: str
    missing: bool


@dataclass(frozen=True, slots=True)
class LensBox:
    """A lens panel."""

    title: str
    alert: bool
    rows: tuple[LensRow, ...]


@dataclass(frozen=True, slots=True)
class Head:
    """Whose note it is: empty where nothing says so."""

    eye: str
    eye_clear: bool
    patient: str
    hospital_number: str
    date: str


@dataclass(frozen=True, slots=True)
class NoteView:
    """Everything that the page shows of the reading. `refused` says for a slot why its answer was not taken."""

    filled: Filled
    record: OperationRecord
    report: GapReport
    pieces: tuple[Piece, ...]
    repairs: tuple[Repaired, ...]
    order: tuple[Stage, ...]
    count: Count
    head: Head
    drawing: str
    drawing_words: str
    lenses: tuple[LensBox, ...]
    answers: tuple[tuple[str, str, str], ...] = ()
    refused: Mapping[str, str] = field(default_factory=dict)
    label_fault: str = ""

    @property
    def open_repairs(self) -> tuple[Repaired, ...]:
        """The misheard terms that nobody has decided about."""
        return tuple(repair for repair in self.repairs if repair.heard not in self.filled.accepted)

    @property
    def silent(self) -> bool:
        """Whether there are no words yet."""
        return not self.filled.dictation.strip()


def read_filled(filled: Filled, work: Work, requirements: Requirements, lexicon: Lexicon) -> NoteView:
    """Reads what stands in the form. Answers and a label that cannot be taken are left out and said so.

    Raises InputError for more than 1 MB of words.
    """
    if len(filled.dictation.encode()) > LIMIT_BYTES:
        raise InputError("Dictation: expected at most 1 MB of text, got more; split it.")
    label, label_fault = _label(filled.label)
    given = Given(
        cases=(filled.case,) if filled.case else (),
        label=label,
        answers=filled.answers,
        keep=filled.keep,
        standard=filled.standard,
    )
    casework, refused = _work(work, read_text(filled.dictation, filled.name), given, lexicon)
    view = view_of(filled, casework.record, casework.report, requirements, lexicon)
    return replace(view, refused=refused, label_fault=label_fault)


def _work(work: Work, dictation: Dictation, given: Given, lexicon: Lexicon) -> tuple[Casework, dict[str, str]]:
    """The case with all answers, or else with those that can be taken."""
    try:
        return work(dictation, given), {}
    except InputError:
        bare = work(dictation, replace(given, answers={}))
        usable, refused = usable_answers(bare.record, given.answers, lexicon)
        return work(dictation, replace(given, answers=usable)), refused


def _label(code: str) -> tuple[LensLabel | None, str]:
    if not code.strip():
        return None, ""
    try:
        return parse_label(code), ""
    except LabelError as fault:
        return None, str(fault)


def view_of(
    filled: Filled, record: OperationRecord, report: GapReport, requirements: Requirements, lexicon: Lexicon
) -> NoteView:
    """The view of words that were read already."""
    order = running_order(record, report, requirements, lexicon, filled.answers)
    return NoteView(
        filled=filled,
        record=record,
        report=report,
        pieces=marked_text(filled.dictation, record, report),
        repairs=repairs_of(record),
        order=order,
        count=count_of(order),
        head=_head(record, filled.case),
        drawing=eye_svg(record),
        drawing_words=describe_eye(record),
        lenses=_lens_boxes(record),
        answers=tuple((slot, slot_label(slot), value) for slot, value in filled.answers.items()),
    )


def _head(record: OperationRecord, case: CaseData | None) -> Head:
    """From the record; before it has been read, from the operating list."""
    patient, operation = record.patient, record.operation
    panel = eye_panel(record)
    name = patient.name.value if patient.name else (case.patient if case else None)
    number = patient.hospital_number.value if patient.hospital_number else (case.hospital_number if case else None)
    day = operation.date.value if operation.date else (case.date if case else None)
    return Head(
        eye=panel.title,
        eye_clear=panel.tone is Tone.STRONG,
        patient=name_shown(name) if name else "",
        hospital_number=number or "",
        date=day.isoformat() if day else "",
    )


def _lens_boxes(record: OperationRecord) -> tuple[LensBox, ...]:
    refs = {id(held.fact): f"v{number}" for number, held in enumerate(slot_values(record))}
    return tuple(_lens_box(panel, refs) for panel in lens_panels(record))


def _lens_box(panel: Panel, refs: Mapping[int, str]) -> LensBox:
    rows = [
        LensRow(
            label=entry.label,
            text=", ".join(phrase.text for phrase in entry.phrases),
            ref=next((refs[id(fact)] for fact in _facts(entry.phrases) if id(fact) in refs), ""),
            missing=all(phrase.tone is Tone.MUTED for phrase in entry.phrases),
        )
        for entry in panel.entries
    ]
    return LensBox(panel.title, panel.tone is Tone.ALERT, tuple(rows))


def _facts(phrases: Sequence[object]) -> list[object]:
    return [fact for phrase in phrases for fact in getattr(phrase, "facts", ())]
