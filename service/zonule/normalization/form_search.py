"""Ways from what was heard to the trade forms that could have been meant."""

from collections import defaultdict
from collections.abc import Iterator
from functools import lru_cache

from rapidfuzz import process
from rapidfuzz.distance import Levenshtein

from zonule.normalization.ordinary_words import FILLERS
from zonule.normalization.sounds import CLASSES, skeleton
from zonule.normalization.trade_forms import TradeForms, sound_of_words

Words = tuple[str, ...]

SHORTEST_SKELETON = 3
"""Consonants of the shortest form that is found by them alone."""
LONG_SKELETON = 6
"""Consonants of the shortest words heard that are compared with forms of several words."""
PART = 3
"""Words of the longest part of a form that is missing beside what was heard right."""
PART_LETTERS = 3
"""Letters of the shortest."""
LIKE_FORM = 0.55
LIKE_PART = 0.5
"""Least likeness of the keys of what was heard, and of a form or of a part of one."""
NEAREST = 6
"""So many sounds are looked at closely."""


class FormSearch:
    """Forms by their consonants, and parts of forms by the word that stands beside them; built once."""

    def __init__(self, forms: TradeForms) -> None:
        self._forms = forms
        self.near_consonants = lru_cache(maxsize=8192)(self._near_consonants)
        self.like_consonants = lru_cache(maxsize=8192)(self._like_consonants)
        self.parts = lru_cache(maxsize=4096)(self._parts)

    def like(self, words: Words) -> Iterator[Words]:
        """Forms whose key is like that of the words."""
        return (form.words for form in self._forms.like(sound_of_words(words), LIKE_FORM, NEAREST))

    def _near_consonants(self, consonants: str) -> tuple[Words, ...]:
        """Forms that have the same consonants but for one, in classes."""
        if len(consonants) < SHORTEST_SKELETON:
            return ()
        near = self._forms.with_consonants(_within_one(consonants))
        return tuple(form.words for other in near for form in self._forms.of_consonants(other))

    def _like_consonants(self, consonants: str) -> tuple[Words, ...]:
        """Forms of several words that begin alike and have nearly the same consonants, in classes."""
        if len(consonants) < LONG_SKELETON:
            return ()
        most = len(consonants) // 3
        lengths = range(len(consonants) - most, len(consonants) + most + 1)
        choices = [other for length in lengths for other in self._forms.long_consonants(consonants[0], length)]
        found = process.extract(consonants, choices, scorer=Levenshtein.distance, score_cutoff=most, limit=NEAREST)
        return tuple(form.words for other, _, _ in found for form in self._forms.of_consonants(other))

    def _parts(self, word: str, after: bool) -> dict[str, tuple[Words, ...]]:
        """What stands beside a word in the forms, `after` it or before it: by the consonants of that part."""
        found: dict[str, dict[Words, None]] = defaultdict(dict)
        if not self.is_filler(word):
            for form in self._forms.holding(word):
                for part in _beside(form.words, word, after):
                    if self._says_enough(part, part[-1] if after else part[0]):
                        found[skeleton(sound_of_words(part))][part] = None
        return {consonants: tuple(parts) for consonants, parts in found.items()}

    def _says_enough(self, part: Words, outer: str) -> bool:
        return sum(map(len, part)) >= PART_LETTERS and min(map(len, part)) > 1 and not self.is_filler(outer)

    def is_filler(self, word: str) -> bool:
        """Whether the word only holds a sentence together."""
        return self._forms.order.get(word, FILLERS) < FILLERS

    def near_parts(self, word: str, after: bool, consonants: str) -> Iterator[Words]:
        """Parts beside `word` that have the same consonants but for one, in classes."""
        parts = self.parts(word, after)
        if parts and consonants:
            for other in [other for other in _within_one(consonants) if other in parts]:
                yield from parts[other]

    def like_parts(self, word: str, after: bool, heard: Words) -> list[Words]:
        """Parts beside `word` whose key is like that of the words heard."""
        parts = [part for same in self.parts(word, after).values() for part in same]
        choices = [sound_of_words(part) for part in parts]
        scorer = Levenshtein.normalized_similarity
        found = process.extract(sound_of_words(heard), choices, scorer=scorer, score_cutoff=LIKE_PART, limit=NEAREST)
        return [parts[at] for _, _, at in found]


def _beside(form: Words, word: str, after: bool) -> Iterator[Words]:
    for at, other in enumerate(form):
        if other == word:
            for size in range(1, PART + 1):
                part = form[at + 1 : at + 1 + size] if after else form[max(0, at - size) : at]
                if len(part) == size:
                    yield part


@lru_cache(maxsize=512)
def _within_one(consonants: str) -> tuple[str, ...]:
    """The string and all that differ from it by one class put in, left out or changed."""
    found = {consonants: None}
    for at in range(len(consonants) + 1):
        head, tail = consonants[:at], consonants[at:]
        found.update(dict.fromkeys(head + other + tail for other in CLASSES))
        if tail:
            found[head + tail[1:]] = None
            found.update(dict.fromkeys(head + other + tail[1:] for other in CLASSES))
    return tuple(found)
