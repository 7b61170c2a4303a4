"""Sounds → those that are like another one, by a share of one that is in its place in both."""

from collections import defaultdict

from rapidfuzz import process
from rapidfuzz.distance import Levenshtein

from zonule.lexicon.tables import Table

FEW = 1000
"""So many sounds of one length are compared one by one."""


class SoundIndex:
    """The sounds of all forms by their length.

    Two texts that differ in at most k characters share one of k + 1 pieces of the first, moved by k places at most:
    where there are many sounds, only those are compared that share one with the sound sought.
    """

    def __init__(self, sounds: Table) -> None:
        self._table = sounds
        self._by_length: dict[int, list[str]] = {}
        self._pieces: dict[tuple[int, int], dict[tuple[int, str], list[int]]] = {}

    def find(self, sound: str, likeness: float, count: int) -> list[str]:
        """At most `count` sounds whose likeness to `sound` (0 to 1) is at least `likeness`, the likest first."""
        low, high = int(len(sound) * likeness), int(len(sound) / likeness) + 1
        choices = [s for length in range(low, high + 1) for s in self._like_pieces(sound, length, likeness)]
        scorer = Levenshtein.normalized_similarity
        near = process.extract(sound, choices, scorer=scorer, score_cutoff=likeness, limit=count)
        return [found for found, _, _ in near]

    def _of_length(self, length: int) -> list[str]:
        held = self._by_length.get(length)
        if held is None:
            held = self._by_length[length] = self._table.get(str(length), "").split()
        return held

    def _like_pieces(self, sound: str, length: int, likeness: float) -> list[str]:
        """The sounds of a length that may be like `sound`, in their order."""
        sounds = self._of_length(length)
        edits = int((1 - likeness) * max(len(sound), length) + 1e-9)
        if len(sounds) <= FEW or length <= edits + 1:
            return sounds
        pieces = self._cut(length, edits)
        found: set[int] = set()
        for start, end in _bounds(length, edits + 1):
            for moved in range(max(0, start - edits), min(len(sound) - (end - start), start + edits) + 1):
                found.update(pieces.get((start, sound[moved : moved + end - start]), ()))
        return [sounds[place] for place in sorted(found)]

    def _cut(self, length: int, edits: int) -> dict[tuple[int, str], list[int]]:
        """Places of the sounds of a length by each of their pieces."""
        held = self._pieces.get((length, edits))
        if held is None:
            cut: defaultdict[tuple[int, str], list[int]] = defaultdict(list)
            for place, sound in enumerate(self._of_length(length)):
                for start, end in _bounds(length, edits + 1):
                    cut[start, sound[start:end]].append(place)
            held = self._pieces[length, edits] = dict(cut)
        return held


def _bounds(length: int, pieces: int) -> list[tuple[int, int]]:
    """Where the pieces of a text of this length begin and end."""
    return [(length * i // pieces, length * (i + 1) // pieces) for i in range(pieces)]
