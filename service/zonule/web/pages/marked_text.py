"""The dictation cut into pieces, each with what its words became."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise

from zonule.export.wording import slot_label, words
from zonule.record import Evidence, Gap, GapReport, OperationRecord
from zonule.vocabulary import GapKind
from zonule.web.pages.shown_values import shown_values

ASIDE = {
    "habitual": "a habit",
    "hypothetical": "a possibility",
    "planned": "a plan",
    "historical": "earlier history",
    "other_eye": "the other eye",
    "not_done": "not done",
    "done": "noted",
}
"""What words are that were said and fill no slot, by their status."""


@dataclass(frozen=True, slots=True)
class Mark:
    """What some words became.

    `kind` is `value` (fills a slot), `aside` (said, but not of this operation), `back` (taken back by the speaker),
    `heard` (a misheard term, read as another) or `doubt` (asked about). `ref` is the id of the value, doubt or repair
    on the page; `slot` decides the stage, `text` says it in words. `own` marks the words of the value itself, not
    those around it that it hangs by.
    """

    kind: str
    ref: str
    slot: str
    text: str
    own: bool = False


@dataclass(frozen=True, slots=True)
class Piece:
    """Words that share their marks."""

    text: str
    start: int
    marks: tuple[Mark, ...] = ()

    @property
    def kinds(self) -> tuple[str, ...]:
        """The kinds of its marks, each once."""
        return tuple(dict.fromkeys(mark.kind for mark in self.marks))

    @property
    def slot(self) -> str:
        """The slot that decides its stage: a step is told by many words, so any other slot goes before it."""
        slots = [mark.slot for mark in self.marks if mark.slot]
        return next((slot for slot in slots if slot != "steps"), slots[0] if slots else "")

    @property
    def became(self) -> str:
        """What the words became, in words."""
        return "; ".join(dict.fromkeys(mark.text for mark in self.marks))


@dataclass(frozen=True, slots=True)
class Repaired:
    """A term that was heard as something else, with the place of its words."""

    id: str
    heard: str
    reading: str
    start: int
    end: int


def marked_text(dictation: str, record: OperationRecord, report: GapReport) -> tuple[Piece, ...]:
    """The dictation in pieces that join to exactly its text."""
    opened: dict[int, list[tuple[int, Mark]]] = defaultdict(list)
    for start, end, mark in _marks(record, report):
        opened[start].append((end, mark))
    bounds = sorted({0, len(dictation), *opened, *(end for held in opened.values() for end, _ in held)})
    return tuple(_pieces(dictation, bounds, opened))


def _pieces(dictation: str, bounds: list[int], opened: dict[int, list[tuple[int, Mark]]]) -> Iterator[Piece]:
    running: list[tuple[int, Mark]] = []
    for start, end in pairwise(bounds):
        running = [held for held in running if held[0] > start] + opened.get(start, [])
        yield Piece(dictation[start:end], start, tuple(dict.fromkeys(mark for _, mark in running)))


def repairs_of(record: OperationRecord) -> tuple[Repaired, ...]:
    """The misheard terms of the dictation, in the order of their words, each pair of heard and reading once."""
    found: dict[tuple[str, str], Repaired] = {}
    for repair in sorted(record.repairs, key=lambda repair: repair.evidence.start):
        key = (repair.evidence.text, repair.reading.read_as)
        place = repair.evidence
        found.setdefault(key, Repaired(f"h{len(found)}", *key, place.start, place.end))
    return tuple(found.values())


def doubts_of(record: OperationRecord, report: GapReport) -> tuple[tuple[str, Gap], ...]:
    """Everything to settle besides missing items and misheard terms, with its id on the page."""
    repaired = {repair.evidence for repair in record.repairs}
    held = [gap for gap in report.gaps if gap.kind is not GapKind.MISSING and not _is_repair(gap, repaired)]
    return tuple((f"d{number}", gap) for number, gap in enumerate(held))


def _is_repair(gap: Gap, repaired: set[Evidence]) -> bool:
    return gap.kind is GapKind.REVIEW and not gap.slots and bool(repaired.intersection(gap.evidence))


def _marks(record: OperationRecord, report: GapReport) -> Iterator[tuple[int, int, Mark]]:
    for value in shown_values(record):
        for number, (start, end) in enumerate(value.places):
            yield start, end, Mark("value", value.id, value.slot, f"{value.label}: {value.text}", own=number == 0)
    yield from _asides(record)
    names = {(repair.heard, repair.reading): repair.id for repair in repairs_of(record)}
    for repair in record.repairs:
        key = (repair.evidence.text, repair.reading.read_as)
        mark = Mark("heard", names[key], "", f"heard “{key[0]}”, read as “{key[1]}”")
        yield repair.evidence.start, repair.evidence.end, mark
    for name, gap in doubts_of(record, report):
        mark = Mark("doubt", name, next(iter(gap.slots), ""), f"asked: {gap.question}")
        yield from _of_each(gap.evidence, mark)


def _asides(record: OperationRecord) -> Iterator[tuple[int, int, Mark]]:
    for number, remark in enumerate(record.remarks):
        said = f"{slot_label(remark.slot)}: {words(remark.value)}; {ASIDE[remark.status.value]}, so not in the record"
        yield from _of_each(remark.evidence, Mark("aside", f"a{number}", remark.slot, said))
    for number, taken in enumerate(record.retracted):
        yield from _of_each((taken.evidence, taken.cue), Mark("back", f"b{number}", "", "taken back by the speaker"))


def _of_each(evidence: Iterable[Evidence], mark: Mark) -> Iterator[tuple[int, int, Mark]]:
    return ((e.start, e.end, mark) for e in evidence if e.end > e.start)
