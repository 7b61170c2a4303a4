"""Ways from what was heard to the trade forms that could have been meant."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from rapidfuzz import process
from rapidfuzz.distance import Levenshtein

from zonule.normalization.ordinary_words import FILLERS
from zonule.normalization.sounds import skeleton
from zonule.normalization.trade_forms import NearForms, TradeForm, TradeForms, one_edit_away, sound_of_words

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
LEAST_KEY = 0.42
"""Least likeness of the keys of what was heard and of a form, which is quicker to find than that of their sounds."""
NOTHING_NEAR = NearForms((), ())


@dataclass(frozen=True, slots=True)
class Parts:
    """What stands beside a word in the forms: the parts with their sounds, and by their consonants."""

    parts: Sequence[Words]
    sounds: Sequence[str]
    by_consonants: dict[str, tuple[Words, ...]]


@dataclass(frozen=True, slots=True)
class Sounds:
    """The sounds of some forms, and their consonants."""

    sounds: Sequence[str]
    consonants: Sequence[str]


class FormSearch:
    """Forms by their consonants, and parts of forms by the word that stands beside them; built once."""

    def __init__(self, forms: TradeForms) -> None:
        self._forms = forms
        self.near_consonants = lru_cache(maxsize=8192)(self._near_consonants)
        self.like_consonants = lru_cache(maxsize=8192)(self._like_consonants)
        self.parts = lru_cache(maxsize=4096)(self._parts)
        self._keeping = lru_cache(maxsize=256)(self._sounds_keeping)

    def may_find(self, words: Words, consonants: str, kept: frozenset[str]) -> bool:
        """Whether one of the forms that hold just these of the kept words may be found: a quick look."""
        forms = self._keeping(kept)
        edits = max(1, len(consonants) // 3)
        scorer = Levenshtein.distance
        return (
            process.extractOne(consonants, forms.consonants, scorer=scorer, score_cutoff=edits) is not None
            or process.extractOne(
                sound_of_words(words), forms.sounds, scorer=Levenshtein.normalized_similarity, score_cutoff=LIKE_FORM
            )
            is not None
        )

    def _sounds_keeping(self, kept: frozenset[str]) -> Sounds:
        sounds = [form.sound for form in self._forms.keeping(kept)]
        return Sounds(sounds, [skeleton(sound) for sound in sounds])

    def like(self, words: Words) -> tuple[TradeForm, ...]:
        """Forms whose key is like that of the words."""
        return self._forms.like(sound_of_words(words), LIKE_FORM, NEAREST)

    def _near_consonants(self, consonants: str) -> NearForms:
        """Forms that have the same consonants but for one, in classes."""
        if len(consonants) < SHORTEST_SKELETON:
            return NOTHING_NEAR
        return self._forms.near_consonants(consonants)

    def near_in_key(self, words: Words, consonants: str) -> list[TradeForm]:
        """Those of the forms near in consonants whose key is at all like that of the words."""
        near = self.near_consonants(consonants)
        scorer = Levenshtein.normalized_similarity
        like = process.extract_iter(sound_of_words(words), near.keys, scorer=scorer, score_cutoff=LEAST_KEY)
        return [near.forms[at] for _, _, at in like]

    def _like_consonants(self, consonants: str) -> tuple[TradeForm, ...]:
        """Forms of several words that begin alike and have nearly the same consonants, in classes."""
        if len(consonants) < LONG_SKELETON:
            return ()
        found = self._forms.long_consonants(consonants, len(consonants) // 3, NEAREST)
        return tuple(form for other in found for form in self._forms.of_consonants(other))

    def _parts(self, word: str, after: bool) -> Parts | None:
        """What stands beside a word in the forms, `after` it or before it."""
        found: dict[str, dict[Words, None]] = defaultdict(dict)
        if not self.is_filler(word):
            for form in self._forms.holding(word):
                for part in _beside(form.words, word, after):
                    if self._says_enough(part, part[-1] if after else part[0]):
                        found[skeleton(sound_of_words(part))][part] = None
        if not found:
            return None
        every = [part for same in found.values() for part in same]
        by_consonants = {consonants: tuple(parts) for consonants, parts in found.items()}
        return Parts(every, [sound_of_words(part) for part in every], by_consonants)

    def _says_enough(self, part: Words, outer: str) -> bool:
        return sum(map(len, part)) >= PART_LETTERS and min(map(len, part)) > 1 and not self.is_filler(outer)

    def is_filler(self, word: str) -> bool:
        """Whether the word only holds a sentence together."""
        return self._forms.order.get(word, FILLERS) < FILLERS

    def near_parts(self, parts: Parts, consonants: str) -> Iterator[Words]:
        """Those of the parts that have the same consonants but for one, in classes."""
        if consonants:
            for other in one_edit_away(consonants):
                yield from parts.by_consonants.get(other, ())

    def like_parts(self, parts: Parts, heard: Words) -> list[Words]:
        """Those of the parts whose key is like that of the words heard."""
        scorer = Levenshtein.normalized_similarity
        sound = sound_of_words(heard)
        found = process.extract(sound, parts.sounds, scorer=scorer, score_cutoff=LIKE_PART, limit=NEAREST)
        return [parts.parts[at] for _, _, at in found]


def _beside(form: Words, word: str, after: bool) -> Iterator[Words]:
    for at, other in enumerate(form):
        if other == word:
            for size in range(1, PART + 1):
                part = form[at + 1 : at + 1 + size] if after else form[max(0, at - size) : at]
                if len(part) == size:
                    yield part
