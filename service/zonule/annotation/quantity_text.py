"""The text that quantities are read from: its lower case, the words before a place, and the vocabulary of units and dates."""

import re
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from zonule.normalization.number_tokens import fold
from zonule.normalization.number_words import NumberWords, load_number_words
from zonule.normalization.unit_forms import Unit

_BEFORE = re.compile(r"[^\W\d_]+(?:['’-][^\W\d_]+)*|[<>]=?|[≤≥@]|[.;!?\n]|\d+")
REACH = 64
"""Characters before a number in which its label and limit are looked for."""
SPACE = re.compile(r"[ \t]*[-\u2010\u2011]?[ \t]*\n?[ \t]*")


@dataclass(frozen=True)
class Units:
    """Units, limit words, months and labels, as loaded from the numeric lexicon."""

    words: NumberWords

    @cached_property
    def maximum_before(self) -> dict[str, tuple[tuple[str, ...], ...]]:
        """Phrases of an upper limit by their last word."""
        return _by_last(self.words.units.words.maximum)

    @cached_property
    def minimum_before(self) -> dict[str, tuple[tuple[str, ...], ...]]:
        """Phrases of a lower limit by their last word."""
        return _by_last(self.words.units.words.minimum)

    @cached_property
    def limit_after(self) -> re.Pattern[str]:
        """Limit words directly behind a quantity; group 1 is an upper limit, group 2 a lower one."""
        words = self.words.units.words
        above, below = (_alternatives(forms) for forms in (words.maximum_after, words.minimum_after))
        return re.compile(rf"\s+(?:({above})|({below}))(?![^\W_])")


def load_units(*folders: Path) -> Units:
    """The vocabulary of quantities from the numeric lexicon files in `folders`. Raises LexiconError."""
    return Units(load_number_words(*folders))


def _by_last(forms: tuple[str, ...]) -> dict[str, tuple[tuple[str, ...], ...]]:
    held: dict[str, list[tuple[str, ...]]] = {}
    for form in sorted(forms, key=lambda f: (-len(f.split()), f)):
        held.setdefault(form.split()[-1], []).append(tuple(form.split()))
    return {last: tuple(phrases) for last, phrases in held.items()}


def _alternatives(forms: tuple[str, ...]) -> str:
    return "|".join(re.escape(form).replace(r"\ ", r"\s+") for form in sorted(forms, key=lambda f: (-len(f), f)))


class Passage:
    """A text and its lower case, letter for letter."""

    __slots__ = ("lower", "text", "units")

    def __init__(self, text: str, units: Units) -> None:
        self.text = text
        self.lower = fold(text)
        self.units = units

    def words_before(self, at: int, floor: int = 0) -> list[tuple[str, int]]:
        """The words right before `at` with where each starts, the nearest last; none beyond the end of a sentence."""
        first = max(floor, at - REACH)
        while first > floor and self.lower[first - 1].isalnum():
            first += 1
            if first >= at:
                break
        found = [(m.group(), m.start()) for m in _BEFORE.finditer(self.lower, first, at)]
        for place in range(len(found) - 1, -1, -1):
            if found[place][0] in ".;!?\n":
                return found[place + 1 :]
        return found

    def last_word(self, at: int) -> str:
        """The word right before `at`, or ""."""
        before = self.words_before(at)
        return before[-1][0] if before else ""

    def unit_at(self, at: int, value: float) -> tuple[Unit, int] | None:
        """The unit behind a number that ends at `at`, and where the unit ends."""
        gap = SPACE.match(self.lower, at)
        start = gap.end() if gap else at
        found = self.units.words.units.match(self.lower, start, value)
        if found is None or (found[1] - start == 1 and start - at > 1 and self.lower[start].isalpha()):
            return None
        return found
