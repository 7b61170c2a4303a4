"""The words of spoken numbers, dates and identifiers: `numbers.toml`, `dates.toml` and the forms of `units.toml`."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from zonule.normalization.numeric_lexicon import Table, load_table
from zonule.normalization.unit_forms import UnitForms, load_unit_forms

Phrase = tuple[str, ...]
Labels = dict[str, tuple[Phrase, ...]]
"""Phrases by their last word."""


class _NumberLists(Table):
    spoken_zeros: frozenset[str]
    point: frozenset[str]
    plus: frozenset[str]
    weak_signs: frozenset[str]
    minus: frozenset[str]
    capital: frozenset[str]
    pronoun_before: frozenset[str]
    pronoun_after: frozenset[str]
    point_before: frozenset[str]
    counted: frozenset[str]
    kept_before: frozenset[str]
    numbered: frozenset[str]
    settings: frozenset[str]
    parameters: frozenset[str]
    sites: frozenset[str]
    position: frozenset[str]
    sutures: frozenset[str]
    mixtures: frozenset[str]
    blades: frozenset[str]


class _IdentifierLists(Table):
    labels: tuple[str, ...]
    spelled_labels: tuple[str, ...]
    skipped: frozenset[str]
    corrections: tuple[str, ...]
    not_after: frozenset[str]
    not_letters: frozenset[str]


class _NumbersFile(Table):
    source: str
    zeros: dict[str, int]
    digits: dict[str, int]
    teens: dict[str, int]
    tens: dict[str, int]
    scales: dict[str, int]
    sounds: dict[str, int]
    repeats: dict[str, int]
    denominators: dict[str, int]
    alphabet: dict[str, str]
    marks: dict[str, str]
    words: _NumberLists
    identifiers: _IdentifierLists


class _DateLists(Table):
    ordinary_months: frozenset[str]
    dates: tuple[str, ...]
    births: frozenset[str]
    expiries: tuple[str, ...]
    date_fillers: frozenset[str]
    times: frozenset[str]
    time_fillers: frozenset[str]
    past: frozenset[str]
    before: frozenset[str]
    half: frozenset[str]
    quarter: frozenset[str]
    hours: frozenset[str]
    clock: frozenset[str]
    mornings: frozenset[str]
    afternoons: frozenset[str]


class DatesFile(Table):
    """`dates.toml`."""

    source: str
    months: dict[str, int]
    ordinals: dict[str, int]
    words: _DateLists


@dataclass(frozen=True, slots=True)
class NumberWords:
    """All that number speech is made of.

    `kinds` gives each number word its kind (Z zero, D digit, T ten to nineteen, Y tens, S hundred and above) and its
    value; `starts` are the words with which a spoken number, date, time or identifier may begin; `labels` are label
    phrases by their first word, each with whether only plain spelling follows it, `label_ends` their last words;
    `corrections` is wording that takes an identifier back, by its first word; `said_between` is what else may stand
    between a label and the last part of its identifier; `continuing` are the words with which
    a number may go on behind its first word, `opening` those that are no number and yet may begin one ("half", "plus").
    """

    kinds: dict[str, tuple[str, int]]
    numbers: _NumbersFile
    lists: _NumberLists
    identifiers: _IdentifierLists
    months: dict[str, int]
    ordinals: dict[str, int]
    dates: _DateLists
    date_labels: Labels
    date_heads: frozenset[str]
    expiry_labels: Labels
    birth_labels: Labels
    labels: dict[str, tuple[tuple[Phrase, bool], ...]]
    label_ends: frozenset[str]
    corrections: Labels
    said_between: frozenset[str]
    starts: frozenset[str]
    continuing: frozenset[str]
    opening: frozenset[str]
    units: UnitForms


def load_number_words(*folders: Path) -> NumberWords:
    """The words of the `numbers.toml`, `dates.toml` and `units.toml` in `folders`, later ones laid over the first.

    Raises LexiconError(file, entry, expected, got).
    """
    numbers = load_table("numbers.toml", _NumbersFile, folders)
    dates = load_table("dates.toml", DatesFile, folders)
    kinds: dict[str, tuple[str, int]] = {}
    for kind, values in (
        ("Z", numbers.zeros),
        ("D", numbers.digits),
        ("T", numbers.teens),
        ("Y", numbers.tens),
        ("S", numbers.scales),
    ):
        kinds |= {word: (kind, value) for word, value in values.items()}
    lists, identifiers = numbers.words, numbers.identifiers
    labels = _labels(identifiers)
    starts = {*kinds, *lists.point, *lists.plus, *lists.minus, *lists.capital, *numbers.repeats, *numbers.alphabet}
    starts |= {
        "number",
        *numbers.denominators,
        *dates.months,
        *dates.ordinals,
        *labels,
        *dates.words.quarter,
        *dates.words.half,
    }
    return NumberWords(
        kinds=kinds,
        numbers=numbers,
        lists=lists,
        identifiers=identifiers,
        months=dates.months,
        ordinals=dates.ordinals,
        dates=dates.words,
        date_labels=_by_last((*dates.words.dates, *dates.words.expiries)),
        date_heads=frozenset(p[-1] for p in _phrases((*dates.words.dates, *dates.words.expiries, "slash", "stroke"))),
        expiry_labels=_by_last(dates.words.expiries),
        birth_labels=_by_last(dates.words.births),
        labels=labels,
        label_ends=frozenset(phrase[-1] for held in labels.values() for phrase, _ in held) | identifiers.skipped,
        corrections=_by_first(identifiers.corrections),
        said_between=frozenset(w for phrase in _phrases(identifiers.corrections) for w in phrase) | {"comma"},
        starts=frozenset(starts),
        continuing=_continuing(numbers, dates),
        opening=_opening(numbers, dates),
        units=load_unit_forms(*folders),
    )


def _opening(numbers: _NumbersFile, dates: DatesFile) -> frozenset[str]:
    lists = numbers.words
    opening = {*lists.point, *lists.plus, *lists.minus, *numbers.repeats, *numbers.denominators}
    return frozenset(opening | {*dates.months, *dates.ordinals, *dates.words.half, *dates.words.quarter})


def _continuing(numbers: _NumbersFile, dates: DatesFile) -> frozenset[str]:
    """The words with which a number, a date, a time or a ratio may go on behind its first word."""
    lists, times = numbers.words, dates.words
    continuing = {*numbers.zeros, *numbers.digits, *numbers.teens, *numbers.tens, *numbers.scales, *numbers.repeats}
    continuing |= {*numbers.denominators, *numbers.marks, *lists.point, *lists.plus, *dates.months, *dates.ordinals}
    continuing |= {*times.past, *times.before, *times.hours, *times.clock, *times.quarter, *times.half, *lists.position}
    return frozenset(continuing | _JOINING)


_JOINING = {
    "and",
    "over",
    "to",
    "or",
    "by",
    "in",
    "is",
    "part",
    "parts",
    "of",
    "day",
    "am",
    "pm",
    "a",
    "p",
    "st",
    "nd",
    "rd",
    "th",
    "minutes",
    "minute",
}
"""Words of the grammar itself."""


def _labels(lists: _IdentifierLists) -> dict[str, tuple[tuple[Phrase, bool], ...]]:
    """Label phrases by their first word, the longest first."""
    by_head: dict[str, list[tuple[Phrase, bool]]] = {}
    for forms, spelled in ((lists.labels, False), (lists.spelled_labels, True)):
        for phrase in _phrases(forms):
            by_head.setdefault(phrase[0], []).append((phrase, spelled))
    return {head: tuple(sorted(held, key=lambda p: (-len(p[0]), p))) for head, held in by_head.items()}


def _phrases(forms: Iterable[str]) -> frozenset[Phrase]:
    return frozenset(tuple(re.findall(r"[^\W_]+", form.lower())) for form in forms)


def _by_first(forms: Iterable[str]) -> Labels:
    """Phrases by their first word, the longest first."""
    by_first: dict[str, list[Phrase]] = {}
    for phrase in sorted(_phrases(forms), key=lambda p: (-len(p), p)):
        by_first.setdefault(phrase[0], []).append(phrase)
    return {first: tuple(phrases) for first, phrases in by_first.items()}


def _by_last(forms: Iterable[str]) -> Labels:
    by_last: dict[str, list[Phrase]] = {}
    for phrase in sorted(_phrases(forms)):
        by_last.setdefault(phrase[-1], []).append(phrase)
    return {last: tuple(phrases) for last, phrases in by_last.items()}
