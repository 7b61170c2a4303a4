"""The record and its checklist as one list, in the order in which a surgeon tells the operation."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import tomli as tomllib

from zonule.completeness import Mention
from zonule.export.wording import label, slot_label
from zonule.lexicon import Lexicon
from zonule.record import Gap, GapReport, OperationRecord
from zonule.requirements import Requirements
from zonule.teaching.marking import Mark, mark
from zonule.vocabulary import GapKind, Severity, Status
from zonule.web.pages.answer_fields import AnswerField, answer_fields, with_standing
from zonule.web.pages.marked_text import doubts_of
from zonule.web.pages.shown_values import ShownValue, shown_values

ORDER_FILE = Path(__file__).with_name("running_order.toml")
KINDS = {
    GapKind.MISSING: "not stated",
    GapKind.CONFLICT: "contradictory",
    GapKind.IMPLAUSIBLE: "implausible",
    GapKind.UNCLEAR: "unclear",
    GapKind.REVIEW: "please confirm",
}


@dataclass(frozen=True, slots=True)
class Question:
    """Something to answer or to settle. `ref` ties a doubt to its words; `needed` blocks a signature.

    `answered` is a doubt about which somebody has typed an answer: it stays to be seen and is asked no more.
    """

    ref: str
    kind: str
    text: str
    why: str
    needed: bool
    fields: tuple[AnswerField, ...]
    answered: bool = False

    @property
    def open(self) -> bool:
        """Whether it is still asked."""
        return not self.answered


@dataclass(frozen=True, slots=True)
class Item:
    """One line of the list: what it is, how it stands, its values, and what is to be asked.

    `state` is `stated`, `none` (said that there was none), `asked`, `needed` (asked, and blocks a signature) or
    `extra` (nobody asks for it, but it was said).
    """

    id: str
    label: str
    state: str
    values: tuple[ShownValue, ...] = ()
    notes: tuple[str, ...] = ()
    questions: tuple[Question, ...] = ()


@dataclass(frozen=True, slots=True)
class Stage:
    """A part of the telling."""

    id: str
    title: str
    items: tuple[Item, ...]

    @property
    def stated(self) -> int:
        """How many of the items that are asked for were stated."""
        return sum(item.state in ("stated", "none") for item in self.items)

    @property
    def asked(self) -> int:
        """How many items are asked for."""
        return sum(item.state != "extra" for item in self.items)


@dataclass(frozen=True, slots=True)
class Count:
    """How a note stands, in numbers: items stated, items asked, questions a signature waits for, doubts to settle."""

    stated: int
    asked: int
    needed: int
    doubts: int


@cache
def stages() -> tuple[tuple[str, str, tuple[str, ...]], ...]:
    """Id, title and items of every stage."""
    return tuple((stage["id"], stage["title"], tuple(stage["items"])) for stage in _held()["stage"])


@cache
def _held() -> Mapping[str, Any]:
    return tomllib.loads(ORDER_FILE.read_text("utf-8"))


@cache
def labels() -> Mapping[str, str]:
    """Items and slots whose own words would read badly here, and their words."""
    return dict(_held()["label"])


def word_before(slot: str, item: str) -> str:
    """What stands before a value of the slot in an item of another name; empty where the value speaks for itself."""
    group, _, name = slot.partition(".")
    told = f"lens.{name}" if group.startswith("lens_") else slot
    return str(_held()["before"].get(told, "")) if slot != item else ""


@cache
def known_items() -> frozenset[str]:
    """Every item that a stage names."""
    return frozenset(item for _, _, items in stages() for item in items)


def stage_of(slot: str) -> str:
    """The stage that a slot is shown in: the one whose item is the slot or the longest group before its points."""
    names = [slot.rsplit(".", cut)[0] for cut in range(slot.count(".") + 1)]
    known = _stage_by_item()
    return next((known[name] for name in names if name in known), stages()[-1][0])


@cache
def _stage_by_item() -> Mapping[str, str]:
    known = {item: name for name, _, items in stages() for item in items}
    return {**known, **{alias: known[item] for alias, item in ALIASES.items()}}


ALIASES = {
    "sutures": "closure", "lens": "lens.model", "team": "team.surgeon", "patient": "patient.name",
    "operation": "operation.eye", "complications": "complications.statement",
}  # fmt: skip
"""Groups of slots without an item of their own name → the item whose stage they belong to."""


def running_order(
    record: OperationRecord,
    report: GapReport,
    requirements: Requirements,
    lexicon: Lexicon,
    answered: Collection[str] = (),
) -> tuple[Stage, ...]:
    """All stages of one note. Every value and every gap but the misheard terms stands in exactly one of them.

    `answered` are the slots that somebody has typed an answer for.
    """
    return _Telling(record, report, requirements, lexicon, answered).stages()


def count_of(order: Iterable[Stage]) -> Count:
    """The numbers of a list."""
    items = [item for stage in order for item in stage.items]
    questions = [question for item in items for question in item.questions]
    return Count(
        stated=sum(item.state in ("stated", "none") for item in items),
        asked=sum(item.state == "asked" and any(not question.ref for question in item.questions) for item in items),
        needed=sum(question.needed for question in questions),
        doubts=sum(bool(question.ref) and question.open and not question.needed for question in questions),
    )


class _Telling:
    """One note on its way into stages: what has not been shown yet."""

    def __init__(
        self,
        record: OperationRecord,
        report: GapReport,
        requirements: Requirements,
        lexicon: Lexicon,
        answered: Collection[str],
    ) -> None:
        marks = mark(record, requirements, report.standard).marks
        self._marks = {held.item.id: held for held in marks}
        self._values = list(shown_values(record))
        self._standing: dict[str, str] = {}
        for value in self._values:
            before = self._standing.get(value.slot)
            self._standing[value.slot] = f"{before}; {value.typed}" if before else value.typed
        self._notes = [remark for remark in record.remarks if remark.status is Status.DONE]
        self._missing = list(report.of(GapKind.MISSING))
        self._doubts = list(doubts_of(record, report))
        self._lexicon = lexicon
        self._answered = frozenset(answered)

    def stages(self) -> tuple[Stage, ...]:
        told = [(name, title, [self._item(item) for item in items]) for name, title, items in stages()]
        told[-1][2].extend(self._left())
        return tuple(Stage(name, title, tuple(held for held in items if held)) for name, title, items in told)

    def _left(self) -> list[Item | None]:
        """What no stage names: requirements, slots and doubts of a unit's own files."""
        names = [*self._marks, *(value.slot for value in self._values)]
        names += [gap.id for _, gap in self._doubts]
        return [self._item(name) for name in dict.fromkeys(names) if name not in known_items()]

    def _item(self, name: str) -> Item | None:
        marked = self._marks.pop(name, None)
        asked_slots = marked.item.slots if marked else ()
        slots = {name, *(slot for slot in asked_slots if slot not in known_items())}
        values = self._take_values(slots)
        notes = tuple(remark.value for remark in self._notes if remark.slot == name and remark.value)
        questions = (*self._asked(name, marked), *self._doubted(name, slots))
        if not (marked or values or notes or questions):
            return None
        told = labels().get(name) or (label(name) if marked else slot_label(name))
        return Item(name, told, _state(marked, questions), values, notes, questions)

    def _take_values(self, slots: set[str]) -> tuple[ShownValue, ...]:
        """The values of these slots, and of their groups where the slot is no item of its own."""
        whole = {slot for slot in slots if "." not in slot}
        ours = [
            value
            for value in self._values
            if value.slot in slots or (_group(value.slot) in whole and value.slot not in known_items())
        ]
        self._values = [value for value in self._values if value not in ours]
        return tuple(ours)

    def _asked(self, name: str, marked: Mark | None) -> tuple[Question, ...]:
        ours = [gap for gap in self._missing if gap.id == name]
        self._missing = [gap for gap in self._missing if gap.id != name]
        return tuple(self._question("", gap, marked) for gap in ours)

    def _doubted(self, name: str, slots: set[str]) -> tuple[Question, ...]:
        """Doubts about one of the slots; each is shown once, at the first item that it fits."""
        ours = [held for held in self._doubts if _concerns(held[1], name, slots)]
        self._doubts = [held for held in self._doubts if held not in ours]
        return tuple(self._question(ref, gap, None) for ref, gap in ours)

    def _question(self, ref: str, gap: Gap, marked: Mark | None) -> Question:
        fields = answer_fields(gap, marked.item if marked else None, self._lexicon)
        fields = with_standing(fields, self._standing) if ref else fields
        needed = gap.severity is Severity.MUST
        answered = bool(ref) and not needed and bool(self._answered.intersection(gap.slots))
        return Question(ref, KINDS[gap.kind], gap.question, gap.why, needed, () if answered else fields, answered)


def _group(slot: str) -> str:
    return slot.partition(".")[0]


def _concerns(gap: Gap, name: str, slots: set[str]) -> bool:
    if gap.slots:
        return bool(slots.intersection(gap.slots)) or bool(slots.intersection(map(_group, gap.slots)))
    return gap.id == name or _group(gap.id) in slots


def _state(marked: Mark | None, questions: tuple[Question, ...]) -> str:
    if any(question.needed for question in questions):
        return "needed"
    if any(question.open for question in questions):
        return "asked"
    if marked is None:
        return "extra"
    if marked.mention is Mention.NOT_MENTIONED:  # no words yet, or none of an operation: nothing is asked so far
        return "needed" if marked.severity is Severity.MUST else "asked"
    return "none" if marked.mention is Mention.STATED_NONE else "stated"
