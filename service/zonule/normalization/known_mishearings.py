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


@dataclass(frozen=True, slots=True)
class _Entries:
    """The heard forms that are looked up by one word: how far before it they begin and end, and all by their words."""

    reaches: tuple[tuple[int, int], ...]
    by_words: dict[tuple[str, ...], tuple[KnownMishearing, ...]]


class KnownMishearings:
    """All heard forms by their least common word, so that most words of a text are no reason to look."""

    def __init__(self, table: Table) -> None:
        self._table = table
        self._read: dict[str, _Entries] = {}

    def _by_word(self, word: str) -> _Entries:
        held = self._read.get(word)
        if held is None:
            held = self._read[word] = _gather([_unpack(*entry) for entry in unpack(self._table[word])])
        return held

    def may_find(self, words: Sequence[str], held: frozenset[str]) -> bool:
        """Whether some known mishearing stands in `words`, breaks and `near` aside; `held` is the set of them."""
        keys = [word for word in held if word in self._table]
        possible = [heard for key in keys for heard in self._by_word(key).by_words if held.issuperset(heard)]
        said = f" {' '.join(words)} " if possible else ""
        return any(f" {' '.join(heard)} " in said for heard in possible)

    def find(self, words: Sequence[str], joined: Sequence[bool]) -> Iterator[tuple[int, int, KnownMishearing]]:
        """Where known mishearings stand (half-open ranges of words)."""
        table = self._table
        for at in [at for at, word in enumerate(words) if word in table]:
            entries = self._by_word(words[at])
            for before, length in entries.reaches:
                start, end = at - before, at - before + length
                said = entries.by_words.get(tuple(words[start:end])) if start >= 0 else None
                for known in said or ():
                    if known.key == before and all(joined[start : end - 1]) and _is_near(words, start, end, known):
                        yield start, end, known


def _gather(known: Sequence[KnownMishearing]) -> _Entries:
    by_words: dict[tuple[str, ...], tuple[KnownMishearing, ...]] = {}
    for entry in known:
        by_words[entry.words] = (*by_words.get(entry.words, ()), entry)
    return _Entries(tuple(dict.fromkeys((entry.key, len(entry.words)) for entry in known)), by_words)


def _is_near(words: Sequence[str], start: int, end: int, known: KnownMishearing) -> bool:
    return not known.near or not known.near.isdisjoint(_around(words, start, end))


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
    return KnownMishearing(tuple(words), key, read_as, frozenset(near))
