"""The text quantities are read from, the words before a place in it, and the vocabulary of units and dates."""

import re
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from zonule.normalization.number_tokens import fold
from zonule.normalization.number_words import NumberWords, load_number_words
from zonule.normalization.unit_forms import Unit

REACH = 64
"""Characters before a number in which its label and limit are looked for."""
LONGEST_WORD = 24
"""Characters before a number in which the word directly before it is looked for."""
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
    def signals(self) -> frozenset[str]:
        """Words directly before a number that can change how it is read."""
        words = self.words.units.words
        signals = {
            *self.maximum_before,
            *self.minimum_before,
            *words.between,
            *words.axes,
            *words.changes,
        }
        return frozenset(signals | {"from", "between", "on", "x"})

    @cached_property
    def label_words(self) -> frozenset[str]:
        """Last words of the labels of identifiers."""
        return frozenset(phrase[-1] for held in self.words.labels.values() for phrase, _ in held)

    @cached_property
    def limit_letters(self) -> frozenset[str]:
        """First letters of the limit words behind a quantity, and a further space."""
        words = self.words.units.words
        return frozenset(form[0] for form in (*words.maximum_after, *words.minimum_after)) | {" "}

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

    __slots__ = ("_last", "_last_at", "lower", "text", "units")

    def __init__(self, text: str, units: Units) -> None:
        self.text = text
        self.lower = fold(text)
        self.units = units
        self._last_at = -1
        self._last = ""

    def words_before(self, at: int, floor: int = 0) -> list[str]:
        """The words right before `at`, the nearest last; none beyond the end of a sentence.

        Empty where the word directly before cannot change how a number is read.
        """
        return self.all_words_before(at, floor) if self.last_word(at) in self.units.signals else []

    def all_words_before(self, at: int, floor: int = 0) -> list[str]:
        """As `words_before`, whatever the word directly before."""
        words = self.lower[max(floor, at - REACH) : at].split()
        for place in range(len(words) - 1, -1, -1):
            if words[place][-1] in ".;!?":
                return words[place + 1 :]
            words[place] = words[place].strip("(:,=\"'")
        return words

    def behind_label(self, at: int) -> bool:
        """Whether the label of an identifier stands right before `at` ("serial number is")."""
        for word in reversed(self.all_words_before(at)):
            if word.rpartition("/")[2] in self.units.label_words:
                return True
            if word not in self.units.words.identifiers.skipped:
                return False
        return False

    def start_of(self, words: list[str], at: int) -> int:
        """Where `words`, the last ones before `at`, start."""
        for word in reversed(words):
            at = self.lower.rindex(word, 0, at) if word else at
        return at

    def last_word(self, at: int) -> str:
        """The word right before `at`, or "" where there is none or a sentence ends between."""
        if at != self._last_at:
            self._last_at = at
            pieces = self.lower[max(0, at - LONGEST_WORD) : at].rsplit(None, 1)
            self._last = pieces[-1].strip("(:,=\"'") if pieces else ""
        return self._last

    def unit_at(self, at: int, value: float) -> tuple[Unit, int] | None:
        """The unit behind a number that ends at `at`, and where the unit ends."""
        lower = self.lower
        start = at
        mark = lower[at : at + 1]
        if mark == " " and lower[at + 1 : at + 2].isalpha():
            start = at + 1
        elif mark in " -\t\n\u2010\u2011":
            gap = SPACE.match(lower, at)
            start = gap.end() if gap else at
        found = self.units.words.units.match(lower, start, value)
        if found is None or (found[1] - start == 1 and start - at > 1 and lower[start].isalpha()):
            return None
        return found
