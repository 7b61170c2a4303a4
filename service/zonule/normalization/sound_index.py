"""Texts → those that may be near another one, found by the characters that they share.

Two texts of which the longer has n characters, and that differ in at most k, share at least n - k of them, wherever
they stand. Counting that takes a few instructions for each text; only those that pass are compared in earnest.
"""

from collections.abc import Iterable
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray
from rapidfuzz import process
from rapidfuzz.distance import Levenshtein

CODES = 128
"""Characters told apart; all others count as one, which only lets more through."""
BITS = 64
MOST_SHARED = 254
"""Characters that are counted in one byte."""


class NearTexts:
    """Texts in a fixed order, each with a bit for every character of it: "aab" has the bits a1, a2 and b1."""

    def __init__(self, texts: Iterable[str]) -> None:
        held = list(texts)
        self._texts = np.array(held, dtype=np.object_)
        self._lengths = np.array([len(text) for text in held], dtype=np.int32)
        counts = self._count("".join(held))
        most = counts.max(axis=0, initial=0)
        self._first_bit = np.concatenate(([0], np.cumsum(most))).tolist()
        self._most: list[int] = most.tolist()
        self._bits = np.zeros((self._first_bit[-1] // BITS + 1, len(held)), dtype=np.uint64)
        self._sums = np.uint8 if self._first_bit[-1] <= MOST_SHARED else np.uint16
        for code in np.flatnonzero(most).tolist():
            for level in range(self._most[code]):
                row, bit = divmod(self._first_bit[code] + level, BITS)
                self._bits[row] |= (counts[:, code] > level).astype(np.uint64) << np.uint64(bit)
        self._least_shared = lru_cache(maxsize=64)(self._find_least_shared)

    def _count(self, joined: str) -> NDArray[np.int64]:
        """How often each text has each character."""
        places = np.repeat(np.arange(len(self._texts)), self._lengths)
        codes = np.frombuffer(_ascii(joined), dtype=np.uint8)
        counted = np.bincount(places * CODES + codes, minlength=len(self._texts) * CODES)
        return counted.reshape(len(self._texts), CODES)

    def _find_least_shared(self, length: int, share: float, edits: int) -> NDArray[Any]:
        longer = np.maximum(self._lengths, length)
        least = np.ceil(longer * share - 1e-6) - edits
        counted: NDArray[Any] = np.clip(least, 0, np.iinfo(self._sums).max).astype(self._sums)
        return counted

    def _sharing(self, text: str, share: float, edits: int) -> list[str]:
        """The texts that share `share` of the characters of the longer one, or `edits` fewer."""
        bits = [0] * len(self._bits)
        met = [0] * CODES
        for code in _ascii(text):
            level = met[code]
            if level < self._most[code]:
                met[code] = level + 1
                row, bit = divmod(self._first_bit[code] + level, BITS)
                bits[row] |= 1 << bit
        shared = np.bitwise_count(self._bits[0] & np.uint64(bits[0])).astype(self._sums, copy=False)
        for row in range(1, len(bits)):
            shared += np.bitwise_count(self._bits[row] & np.uint64(bits[row]))
        passed: list[str] = self._texts[shared >= self._least_shared(len(text), share, edits)].tolist()
        return passed

    def like(self, text: str, likeness: float, count: int) -> list[str]:
        """At most `count` texts whose likeness to `text` (0 to 1) is at least `likeness`, the likest first."""
        choices = self._sharing(text, likeness, 0)
        scorer = Levenshtein.normalized_similarity
        near = process.extract(text, choices, scorer=scorer, score_cutoff=likeness, limit=count)
        return [found for found, _, _ in near]

    def within(self, text: str, edits: int, count: int | None) -> list[str]:
        """At most `count` texts that differ from `text` in at most so many characters, the nearest first."""
        choices = self._sharing(text, 1.0, edits)
        near = process.extract(text, choices, scorer=Levenshtein.distance, score_cutoff=edits, limit=count)
        return [found for found, _, _ in near]


def _ascii(text: str) -> bytes:
    return text.encode("ascii", "replace")
