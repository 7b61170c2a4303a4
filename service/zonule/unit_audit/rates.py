"""How often complications happen, with the Wilson interval of each rate."""

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from scipy.stats import binomtest

from zonule.export.wording import capitalized, words
from zonule.store import RecordedNote
from zonule.unit_audit.range_plot import Range, ranges_svg
from zonule.vocabulary import ComplicationStatement, Status

ANY = "*"
"""The id of any complication at all."""
CONFIDENCE = 0.95
NOT_NAMED = "no surgeon stated"


@dataclass(frozen=True, slots=True)
class Rate:
    """`count` of `of` operations, in percent with its 95 % interval; without operations nothing is known (0-100)."""

    id: str
    name: str
    count: int
    of: int
    low_pct: float
    high_pct: float

    @property
    def pct(self) -> float | None:
        """The share itself; None without operations."""
        return 100 * self.count / self.of if self.of else None


def wilson_interval(count: int, of: int) -> tuple[float, float]:
    """The 95 % score interval of Wilson (1927) for `count` of `of`, as shares; without continuity correction."""
    if of == 0:
        return 0.0, 1.0
    interval = binomtest(count, of).proportion_ci(CONFIDENCE, method="wilson")
    return float(interval.low), float(interval.high)


def complication_rates(notes: Iterable[RecordedNote]) -> tuple[Rate, ...]:
    """Any complication first, then each by how often it happened, of the notes that state whether there were any."""
    stated = [note for note in notes if _states(note)]
    counts = Counter(event for note in stated for event in _events(note))
    some = _rate(ANY, "Any complication", sum(map(_is_complicated, stated)), len(stated))
    each = [_rate(event, capitalized(words(event)), count, len(stated)) for event, count in counts.items()]
    return (some, *sorted(each, key=lambda rate: (-rate.count, rate.id)))


def rates_by_surgeon(notes: Iterable[RecordedNote]) -> tuple[Rate, ...]:
    """Any complication by surgeon, by name."""
    held: dict[str, list[RecordedNote]] = defaultdict(list)
    names: dict[str, str] = {}
    for note in notes:
        name = note.surgeon or NOT_NAMED
        held[names.setdefault(" ".join(name.casefold().split()), name)] += [note] if _states(note) else []
    rates = [_rate(name, name, sum(map(_is_complicated, theirs)), len(theirs)) for name, theirs in held.items()]
    return tuple(sorted(rates, key=lambda rate: rate.name))


def rates_svg(rates: tuple[Rate, ...], title: str = "Complications") -> str:
    """A row for each rate: the share as a sign, its interval as a line."""
    rows = tuple(
        Range(f"{rate.name} ({rate.count} of {rate.of})", rate.low_pct, rate.pct, rate.high_pct) for rate in rates
    )
    return ranges_svg(title, rows, "percent of operations, with 95 % interval")


def _rate(name: str, wording: str, count: int, of: int) -> Rate:
    low, high = wilson_interval(count, of)
    return Rate(name, wording, count, of, 100 * low, 100 * high)


def _states(note: RecordedNote) -> bool:
    complications = note.record.complications
    return complications.statement is not ComplicationStatement.NOT_STATED or bool(_events(note))


def _events(note: RecordedNote) -> set[str]:
    return {fact.value for fact in note.record.complications.events if fact.status is Status.DONE}


def _is_complicated(note: RecordedNote) -> bool:
    return note.record.complications.statement is ComplicationStatement.PRESENT or bool(_events(note))
