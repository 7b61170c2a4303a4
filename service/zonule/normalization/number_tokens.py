"""A dictation as words with their places, and the questions the number grammar asks of them."""

import re
from collections.abc import Collection
from dataclasses import dataclass
from typing import NamedTuple

from zonule.normalization.number_words import NumberWords
from zonule.normalization.unit_forms import Unit

_TOKEN = re.compile(r"[^\W\d_]+(?:['’][^\W\d_]+)?|[0-9]+(?:[.,][0-9]+)*")
_SPACE = re.compile(r"[ \t]*[-\u2010\u2011]?[ \t]*\n?[ \t]*")
_LINE_SPACE = re.compile(r"[ \t]*[-\u2010\u2011]?[ \t]*")
_JOINTS = frozenset({" ", "-", "\n", "\t"})
DIGITS = frozenset("0123456789")
PADDING = 24
"""Empty words behind the last one; as lists count backwards too, they stand before the first one as well."""
LONGEST_INTEGER = 9
"""Digits of the longest typed number that is one value."""
_BREAK = re.compile(r"[.;!?\n]")


@dataclass(frozen=True, slots=True)
class Reading:
    """Words `first` to `last` (one past) read as `text`."""

    first: int
    last: int
    text: str
    rule: str
    score: float | None = None


class Number(NamedTuple):
    """A number as digits, the word after it, and how sure the reading is (None: no guess)."""

    text: str
    last: int
    score: float | None = None


class Tokens:
    """The words of one text and their kinds: Z, D, T, Y or S of a number word, N of typed digits, else nothing.

    Both lists are padded with empty words, so that an index may run a few words past either end.
    """

    __slots__ = (
        "_ends",
        "_starts",
        "_values",
        "has_clocks",
        "has_dates",
        "has_times",
        "joints",
        "kinds",
        "lower",
        "size",
        "small",
        "text",
        "units",
        "vocabulary",
        "words",
    )

    def __init__(self, text: str, vocabulary: NumberWords) -> None:
        self.text = text
        self.lower = fold(text)
        self.vocabulary = vocabulary
        found = list(_TOKEN.finditer(self.lower))
        self._starts = [match.start() for match in found]
        self._ends = [match.end() for match in found]
        self.size = len(found)
        words = [match.group() for match in found]
        known = vocabulary.kinds
        self._values = [known.get(word) for word in words]
        self.kinds = [
            value[0] if value else "N" if word[0] in DIGITS else ""
            for value, word in zip(self._values, words, strict=True)
        ]
        self.words = words + [""] * PADDING
        self.kinds += self.words[self.size :]
        gaps = zip(self._ends, self._starts[1:], strict=False)
        self.joints = [
            False,
            *[self.lower[a:b] in _JOINTS or _joins(self.lower, a, b) for a, b in gaps],
            *[False] * PADDING,
        ]
        self.small: dict[int, Number | None] = {}
        self.units: dict[tuple[int, float], Unit | None] = {}
        held = set(words)
        self.has_dates = not held.isdisjoint(vocabulary.date_heads)
        self.has_clocks = not held.isdisjoint(vocabulary.dates.clock)
        self.has_times = not held.isdisjoint(vocabulary.dates.times)

    def candidates(self) -> list[int]:
        """The words with which something numeric may begin."""
        starts = self.vocabulary.starts
        return [i for i, word in enumerate(self.words[: self.size]) if word in starts or word[0] in DIGITS]

    def start(self, i: int) -> int:
        """Where the word at `i` starts."""
        return self._starts[i] if i < self.size else len(self.lower)

    def end(self, i: int) -> int:
        """Where the word at `i` ends; 0 before the first."""
        return self._ends[i] if i >= 0 else 0

    def value(self, i: int) -> int:
        """The value of a number word or of typed digits; -1 of anything typed that is no short whole number."""
        known = self._values[i]
        if known is not None:
            return known[1]
        word = self.words[i]
        return int(word) if word.isdigit() and len(word) <= LONGEST_INTEGER else -1

    def gap(self, i: int) -> str:
        """What stands between the words at `i - 1` and `i`."""
        return self.lower[self.end(i - 1) : self.start(i)]

    def joined(self, i: int) -> bool:
        """Whether only a space, a hyphen or a line's wrap parts the word at `i` from the one before."""
        return self.joints[i]

    def joined_kind(self, i: int, kinds: str) -> bool:
        """Whether the word at `i` is of one of `kinds` and joined to the one before."""
        kind = self.kinds[i]
        return kind != "" and kind in kinds and self.joints[i]

    def joined_word(self, i: int, words: Collection[str]) -> bool:
        """Whether the word at `i` is one of `words` and joined to the one before."""
        return self.words[i] in words and self.joints[i]

    def on_one_line(self, i: int) -> bool:
        """Whether only spaces or a hyphen on the same line part the word at `i` from the one before."""
        return 0 < i < self.size and _LINE_SPACE.fullmatch(self.gap(i)) is not None

    def unit_at(self, i: int, value: float = 10.0) -> Unit | None:
        """The unit that starts with the word at `i`, directly behind the word before."""
        key = (i, value)
        if key not in self.units:
            space = _SPACE.match(self.lower, self.end(i - 1))
            found = self.vocabulary.units.match(self.lower, space.end() if space else self.end(i - 1), value)
            self.units[key] = found[0] if found else None
        return self.units[key]

    def near_before(self, i: int, words: Collection[str], reach: int) -> bool:
        """Whether one of `words` stands among the `reach` words before `i`, no end of sentence between."""
        for j in range(i - 1, max(-1, i - 1 - reach), -1):
            if _BREAK.search(self.gap(j + 1)):
                return False
            if self.words[j] in words:
                return True
        return False

    def near_after(self, i: int, words: Collection[str], reach: int) -> bool:
        """Whether one of `words` stands among the `reach` words from `i` on, no end of sentence between."""
        for j in range(i, min(self.size, i + reach)):
            if j > 0 and (_BREAK.search(self.gap(j)) or "," in self.gap(j)):
                return False
            if self.words[j] in words:
                return True
        return False


def _joins(lower: str, start: int, end: int) -> bool:
    return end - start > 1 and _SPACE.fullmatch(lower, start, end) is not None


def fold(text: str) -> str:
    """`text` in lower case, letter for letter: the few characters whose lower case is longer stay as they are."""
    lower = text.lower()
    if len(lower) == len(text):
        return lower
    return "".join(c.lower() if len(c.lower()) == 1 else c for c in text)
