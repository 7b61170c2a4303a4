"""Tables worked out from the lexicon: text by key, taken apart when the key is met, so that a start costs little."""

import json
from collections.abc import Collection, Iterable, Mapping
from functools import lru_cache
from typing import Any

Table = dict[str, str]
Tables = dict[str, Table]
"""Tables by name."""

SHELF = 3
"""So many first letters name the shelf on which a word stands."""
GAP = "  "
"""Around the entries of a shelf, which may have single spaces inside. A shelf is searched as it is: taken apart, those
of a long dictation would fill the memory."""
MET = 16384
"""Words whose places are remembered."""


def shelve_words(words: Iterable[str]) -> Table:
    """The table of a `WordList`."""
    shelves: dict[str, list[str]] = {}
    for word in sorted(words):
        shelves.setdefault(word[:SHELF], []).append(word)
    return {shelf: GAP.join(["", *held, ""]) for shelf, held in shelves.items()}


def shelve_places(places: Mapping[str, int]) -> Table:
    """The table of a `WordPlaces`."""
    shelves: dict[str, list[str]] = {}
    for word, place in places.items():
        shelves.setdefault(word[:SHELF], []).append(f"{word} {place}")
    return {shelf: "\n".join(["", *held, ""]) for shelf, held in shelves.items()} | {"": str(len(places))}


class WordList:
    """A large set of words, or of phrases with spaces between the words."""

    def __init__(self, table: Table) -> None:
        self._table = table
        self._met: set[str] = set()

    def __contains__(self, word: str) -> bool:
        return word in self._met or self._meet(word)

    def _meet(self, word: str) -> bool:
        if not word or f"{GAP}{word}{GAP}" not in self._table.get(word[:SHELF], ""):
            return False
        self._met.add(word)
        return True

    def holds(self, words: frozenset[str]) -> bool:
        """Whether all of `words` stand in the list."""
        return all(map(self._meet, words - self._met))

    def lacking(self, words: frozenset[str]) -> set[str]:
        """Those of `words` that do not stand in the list."""
        return {word for word in words - self._met if not self._meet(word)}


class WordPlaces:
    """A large mapping of words to their places in an order."""

    def __init__(self, table: Table) -> None:
        self._table = table
        self._size = int(table[""])
        self._place = lru_cache(maxsize=MET)(self._find)

    def __len__(self) -> int:
        return self._size

    def __contains__(self, word: str) -> bool:
        return self._place(word) is not None

    def get(self, word: str, default: int) -> int:
        """The place of a word, `default` for one that has none."""
        place = self._place(word)
        return default if place is None else place

    def _find(self, word: str) -> int | None:
        shelf = self._table.get(word[:SHELF], "") if word else ""
        _, found, behind = shelf.partition(f"\n{word} ")
        return int(behind[: behind.index("\n")]) if found else None


def pack(value: Collection[Any]) -> str:
    """Lists of texts and numbers as text."""
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"))


def unpack(text: str) -> Any:
    """What `pack` was given, tuples as lists."""
    return json.loads(text)
