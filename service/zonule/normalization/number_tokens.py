"""A dictation as words with their places, and the questions the number grammar asks of them."""

import re
from collections.abc import Collection
from dataclasses import dataclass
from itertools import accumulate
from typing import NamedTuple

from zonule.normalization.number_words import NumberWords
from zonule.normalization.unit_forms import Unit

_LETTERS = "[a-zµ\u00c0-\u00d6\u00d8-\u00f6\u00f8-\u024f\u0370-\u1fff\u2c00-\ud7ff]+"
"""Letters as ranges, which match faster than the classes of the whole of Unicode."""
_TOKEN = re.compile(rf"({_LETTERS}(?:['’]{_LETTERS})?|[0-9]+(?:[.,][0-9]+)*)")
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
        "_gaps",
        "_offsets",
        "candidates",
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
        parts = _TOKEN.split(self.lower)
        self._offsets = list(accumulate(map(len, parts)))
        self._gaps = parts[0::2]
        words = parts[1::2]
        self.size = len(words)
        self.joints = [gap in _JOINTS or _joins(gap) for gap in self._gaps]
        self.joints[0] = self.joints[-1] = False
        self.joints += [False] * PADDING
        self.words = words + [""] * PADDING
        self.candidates = [i for i, word in enumerate(words) if word in vocabulary.starts or word[0] in DIGITS]
        self.kinds = self._find_kinds()
        self.small: dict[int, Number | None] = {}
        self.units: dict[tuple[int, float], Unit | None] = {}
        held = set(words)
        self.has_dates = not held.isdisjoint(vocabulary.date_heads)
        self.has_clocks = not held.isdisjoint(vocabulary.dates.clock)
        self.has_times = not held.isdisjoint(vocabulary.dates.times)

    def _find_kinds(self) -> list[str]:
        """The kind of each word; all words that have one may begin a number."""
        known = self.vocabulary.kinds
        kinds = [""] * len(self.words)
        for i in self.candidates:
            word = self.words[i]
            if word in known:
                kinds[i] = known[word][0]
            elif word[0] in DIGITS:
                kinds[i] = "N"
        return kinds

    def start(self, i: int) -> int:
        """Where the word at `i` starts; the end of the text behind the last one."""
        return self._offsets[2 * i] if i < self.size else len(self.lower)

    def end(self, i: int) -> int:
        """Where the word at `i` ends; 0 before the first."""
        return self._offsets[2 * i + 1] if i >= 0 else 0

    def value(self, i: int) -> int:
        """The value of a number word or of typed digits; -1 of anything typed that is no short whole number."""
        word = self.words[i]
        known = self.vocabulary.kinds.get(word)
        if known is not None:
            return known[1]
        return int(word) if word.isdigit() and len(word) <= LONGEST_INTEGER else -1

    def gap(self, i: int) -> str:
        """What stands between the words at `i - 1` and `i`."""
        return self._gaps[i] if i <= self.size else ""

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


def _joins(gap: str) -> bool:
    return len(gap) > 1 and _SPACE.fullmatch(gap) is not None


def fold(text: str) -> str:
    """`text` in lower case, letter for letter: the few characters whose lower case is longer stay as they are."""
    lower = text.lower()
    if len(lower) == len(text):
        return lower
    return "".join(c.lower() if len(c.lower()) == 1 else c for c in text)
