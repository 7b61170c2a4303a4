"""How complete the notes are, item by item and month by month."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

from zonule.completeness import Mention
from zonule.export.wording import capitalized, label
from zonule.requirements import DEFAULT, Requirements
from zonule.store import RecordedNote
from zonule.teaching import mark
from zonule.teaching.coverage_plot import COLORS, Line, coverage_svg

Marks = tuple[tuple[str, bool], ...]
Seen = dict[tuple[str, int, int], Marks]
ALL = "*"
"""The id of all items together."""
MONTHS, BY_MONTH = "month of the operation", "month by month"


@dataclass(frozen=True, slots=True)
class MonthShare:
    """How many notes of a month (`2026-03`) state an item, of how many in which it applies."""

    month: str
    stated: int
    of: int

    @property
    def pct(self) -> float:
        """In percent; 100 where it applies to none."""
        return 100 * self.stated / self.of if self.of else 100.0


@dataclass(frozen=True, slots=True)
class ItemOverTime:
    """One item of a requirement set, in the months that have notes to which it applies."""

    id: str
    name: str
    months: tuple[MonthShare, ...]

    @property
    def whole(self) -> MonthShare:
        """All months together."""
        return MonthShare("", sum(m.stated for m in self.months), sum(m.of for m in self.months))


def cover_months(
    notes: Iterable[RecordedNote], requirements: Requirements, standard: str = DEFAULT
) -> tuple[ItemOverTime, ...]:
    """All items together first, then each item, what is stated least first; notes without a day are left out."""
    counts: dict[str, dict[str, list[int]]] = defaultdict(lambda: defaultdict(lambda: [0, 0]))
    requirements.of_set(standard)
    seen = _seen(requirements, standard)
    for note in notes:
        if note.date is None:
            continue
        month = note.date.isoformat()[:7]
        for item, stated in _marks(note, requirements, standard, seen):
            for name in (ALL, item):
                counts[name][month][0] += stated
                counts[name][month][1] += 1
    items = [_item(name, months) for name, months in counts.items()]
    return tuple(sorted(items, key=lambda item: (item.id != ALL, item.whole.pct, item.id)))


def coverage_over_time_svg(items: tuple[ItemOverTime, ...]) -> str:
    """The shares as lines: all items together, and those stated least of which every month has some."""
    months = tuple(share.month for share in items[0].months) if items else ()
    whole = [item for item in items if len(item.months) == len(months)]
    lines = tuple(Line(item.name, tuple(share.pct for share in item.months)) for item in whole[: len(COLORS)])
    return coverage_svg(lines, months, MONTHS, BY_MONTH)


def _marks(note: RecordedNote, requirements: Requirements, standard: str, seen: Seen) -> Marks:
    """The items that apply, and whether they are stated; a note that did not change is not marked again."""
    key = (note.note_id, note.version, note.addenda)
    if key not in seen:
        marks = mark(note.record, requirements, standard).marks
        seen[key] = tuple((m.item.id, m.mention is not Mention.NOT_MENTIONED) for m in marks)
    return seen[key]


@lru_cache(maxsize=8)
def _seen(requirements: Requirements, standard: str) -> Seen:
    """What was marked before against a set, by note, version and addenda."""
    del requirements, standard
    return {}


def _item(name: str, months: dict[str, list[int]]) -> ItemOverTime:
    shares = tuple(MonthShare(month, *months[month]) for month in sorted(months))
    return ItemOverTime(name, "All items" if name == ALL else capitalized(label(name)), shares)
