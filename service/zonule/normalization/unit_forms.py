"""Units of measure: how they are said and written, and what they are worth. Shared by spoken numbers and quantities."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from zonule.errors import LexiconError
from zonule.normalization.numeric_lexicon import Table, load_table


class Unit(Table):
    """A unit of measure; `factor` turns one of it into the unit of its dimension.

    `smallest` and `largest` bound the numbers its forms may stand behind; `joins_up_to` is the largest number that
    short speech makes before it.
    """

    id: str
    dimension: str
    factor: float = 1.0
    forms: tuple[str, ...]
    smallest: float | None = None
    largest: float | None = None
    joins_up_to: float | None = None


class Rate(Table):
    """One unit per another: the forms are those of `of`, a joining word, and those of `per`."""

    id: str
    dimension: str
    factor: float = 1.0
    of: tuple[str, ...]
    per: tuple[str, ...]


class UnitWords(Table):
    """Words around a quantity: limits, ranges, changes, and labels that tell one kind of number from another."""

    maximum: tuple[str, ...]
    minimum: tuple[str, ...]
    maximum_after: tuple[str, ...]
    minimum_after: tuple[str, ...]
    between: frozenset[str]
    changes: frozenset[str]
    axes: frozenset[str]
    acuities: frozenset[str]
    durations_before: frozenset[str]


class UnitsFile(Table):
    """`units.toml`."""

    source: str
    unit: tuple[Unit, ...]
    rate: tuple[Rate, ...] = ()
    words: UnitWords


@dataclass(frozen=True, slots=True)
class UnitForm:
    """One form of a unit as written, its words, and the source of the pattern that finds it behind a number."""

    written: str
    words: tuple[str, ...]
    source: str
    unit: Unit


@dataclass(frozen=True, slots=True)
class UnitForms:
    """All forms by their first word, the longest first; `rates` by the ids of the two units they join, `rated` the
    units above the line."""

    by_head: dict[str, tuple[UnitForm, ...]]
    rates: dict[tuple[str, str], Unit]
    rated: frozenset[str]
    words: UnitWords

    def match(self, lower: str, at: int, value: float = 10.0) -> tuple[Unit, int] | None:
        """The longest unit that stands at `at` of the lower-cased text behind `value`, and where it ends."""
        found = self._match_one(lower, at, value)
        if found is None or found[0].id not in self.rated:
            return found
        joint = _JOINT.match(lower, found[1])
        below = self._match_one(lower, joint.end(), 1.0) if joint else None
        rate = self.rates.get((found[0].id, below[0].id)) if below else None
        return (rate, below[1]) if rate is not None and below is not None else found

    def _match_one(self, lower: str, at: int, value: float) -> tuple[Unit, int] | None:
        head = HEAD.match(lower, at)
        for form in self.by_head.get(head.group(), ()) if head else ():
            found = _pattern(form.source).match(lower, at)
            if found and fits(form.unit, value):
                return form.unit, found.end()
        return None


HEAD = re.compile(r"[^\W\d_]+|[%°º]")
_WORD = re.compile(r"[^\W\d_]+(?:['’][^\W\d_]+)?|\d+|[%°º]")
_JOINT = re.compile(r"\s*/\s*|\s+(?:per|an?|p|each|every|for each)\s+|\s+")
_pattern = cache(re.compile)


def fits(unit: Unit, value: float) -> bool:
    """Whether the forms of `unit` may stand behind `value`."""
    low = unit.smallest is None or value >= unit.smallest
    return low and (unit.largest is None or value <= unit.largest)


def load_unit_forms(*folders: Path) -> UnitForms:
    """The units of `units.toml` in `folders`. Raises LexiconError."""
    file = load_table("units.toml", UnitsFile, folders)
    forms = [_form(form, unit) for unit in file.unit for form in _said(unit)]
    heads: dict[str, list[UnitForm]] = {}
    for form in sorted(forms, key=lambda f: -sum(map(len, f.words))):
        heads.setdefault(_head_of(form.words[0]), []).append(form)
    rates = _rates(file)
    rated = frozenset(above for above, _ in rates)
    return UnitForms({head: tuple(held) for head, held in heads.items()}, rates, rated, file.words)


def _rates(file: UnitsFile) -> dict[tuple[str, str], Unit]:
    known = {unit.id for unit in file.unit}
    rates: dict[tuple[str, str], Unit] = {}
    for rate in file.rate:
        unknown = [name for name in (*rate.of, *rate.per) if name not in known]
        if unknown:
            raise LexiconError(f"units.toml, entry {rate.id!r}: expected a known unit, got {unknown[0]!r}.")
        unit = Unit(id=rate.id, dimension=rate.dimension, factor=rate.factor, forms=())
        rates |= {(above, below): unit for above in rate.of for below in rate.per}
    return rates


def _said(unit: Unit) -> Iterator[str]:
    for form in unit.forms:
        yield form
        if len(form) > 3 and form[-1].isalpha() and not form.endswith("s") and unit.smallest is None:
            yield form + "s"


def _form(form: str, unit: Unit) -> UnitForm:
    escaped = re.escape(form.lower()).replace(r"\ ", r"[\s-]+").replace("/", r"\s*/\s*")
    guard = r"(?![^\W_])" if form[-1].isalnum() else ""
    return UnitForm(form, tuple(_WORD.findall(form.lower())), escaped + guard, unit)


def _head_of(word: str) -> str:
    found = HEAD.match(word)
    return found.group() if found else word
