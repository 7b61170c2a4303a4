"""Mishearings known by their wording (lexicon/common/mishearings.toml)."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from zonule.lexicon import Mishearing
from zonule.lexicon.tables import Table, pack, unpack
from zonule.normalization.ordinary_words import load_frequency_order
from zonule.normalization.trade_forms import split_letters

REACH = 8
"""So many words away one of the `near` words may stand."""


@dataclass(frozen=True, slots=True)
class KnownMishearing:
    """One heard form: its words, which of them it is looked up by, and what it stands for."""

    words: tuple[str, ...]
    key: int
    read_as: str
    near: frozenset[str]
    all_words: frozenset[str]


class KnownMishearings:
    """All heard forms by their least common word, so that most words of a text are no reason to look."""

    def __init__(self, table: Table) -> None:
        self._table = table
        self._read: dict[str, tuple[KnownMishearing, ...]] = {}

    def _by_word(self, word: str) -> tuple[KnownMishearing, ...]:
        held = self._read.get(word)
        if held is None:
            held = self._read[word] = tuple(_unpack(*entry) for entry in unpack(self._table[word]))
        return held

    def may_find(self, words: Sequence[str], held: frozenset[str]) -> bool:
        """Whether some known mishearing stands in `words`, breaks and `near` aside; `held` is the set of them."""
        keys = [word for word in held if word in self._table]
        possible = [known for key in keys for known in self._by_word(key) if known.all_words <= held]
        said = f" {' '.join(words)} " if possible else ""
        return any(f" {' '.join(known.words)} " in said for known in possible)

    def find(self, words: Sequence[str], joined: Sequence[bool]) -> Iterator[tuple[int, int, KnownMishearing]]:
        """Where known mishearings stand (half-open ranges of words)."""
        table = self._table
        for at, word in enumerate(words):
            if word not in table:
                continue
            for known in self._by_word(word):
                start, end = at - known.key, at - known.key + len(known.words)
                said = start >= 0 and tuple(words[start:end]) == known.words and all(joined[start : end - 1])
                if said and (not known.near or not known.near.isdisjoint(_around(words, start, end))):
                    yield start, end, known


def _around(words: Sequence[str], start: int, end: int) -> Sequence[str]:
    return [*words[max(0, start - REACH) : start], *words[end : end + REACH]]


def compile_mishearings(mishearings: Iterable[Mishearing]) -> Table:
    """Heard forms by their least common word, the longest first."""
    order = load_frequency_order()
    by_word: defaultdict[str, list[tuple[tuple[str, ...], int, str, list[str]]]] = defaultdict(list)
    for mishearing in mishearings:
        near = sorted({word for text in mishearing.near for word in split_letters(text)})
        for words in filter(None, map(split_letters, mishearing.heard)):
            places = [order.get(word, len(order)) for word in words]
            key = places.index(max(places))
            by_word[words[key]].append((words, key, mishearing.read_as, near))
    return {word: pack(sorted(found, key=lambda k: -len(k[0]))) for word, found in by_word.items()}


def _unpack(words: list[str], key: int, read_as: str, near: list[str]) -> KnownMishearing:
    return KnownMishearing(tuple(words), key, read_as, frozenset(near), frozenset(words))
