"""The lexicon's forms as targets of repair: how each is spelled, how it sounds, and the way to it."""

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache, cached_property, lru_cache

from zonule.lexicon.tables import Tables, WordList, WordPlaces
from zonule.normalization.likeness import sounds_of, weight_of_sounds
from zonule.normalization.sound_index import NearTexts
from zonule.normalization.sounds import CLASSES, key_of, sound_of

MOST_CHOICES = 2500
"""Forms that could stand where no word of a form was heard right."""
RARE, USUAL = "rare", "usual"
"""What stands before a form in its table."""
SPELLED = re.compile(r"[^\W\d_]+(?:['’][^\W\d_]+)*")


@dataclass(frozen=True, slots=True)
class TradeForm:
    """A surface form in lower case: as written, its words, its sounds one by one and their key.

    `rare` marks what is seldom dictated in this shape: a trade name, or a word that the lexicon has only inside longer
    forms. `weight` is what it would cost to hear nothing of it.
    """

    surface: str
    words: tuple[str, ...]
    letters: str
    sounds: str
    sound: str
    weight: float
    rare: bool = False


@dataclass(frozen=True, slots=True)
class NearForms:
    """Forms in order, and the keys of their sounds."""

    forms: tuple[TradeForm, ...]
    keys: tuple[str, ...]


@lru_cache(maxsize=16384)
def split_letters(form: str) -> tuple[str, ...]:
    """The words of letters in a form, lower case; remembered, as forms are met again."""
    return spell_words(form)


def spell_words(text: str) -> tuple[str, ...]:
    """The words of letters in `text`, lower case."""
    if text.isascii() and text.replace(" ", "").isalpha():
        return tuple(text.lower().split())
    return tuple(word.replace("’", "'") for word in SPELLED.findall(text.lower()))


@lru_cache(maxsize=4096)
def sound_of_words(words: tuple[str, ...]) -> str:
    """The sound of words spoken without a gap."""
    return "".join(map(sound_of, words))


def one_edit_away(consonants: str) -> Iterator[str]:
    """These consonants and all that differ from them in one class: by the place of the difference.

    At each place a class is put in first, then left out, then changed.
    """
    yield consonants
    for at in range(len(consonants) + 1):
        before, here, after = consonants[:at], consonants[at : at + 1], consonants[at + 1 :]
        last = before[-1:]
        for other in CLASSES:
            if other != last:
                yield f"{before}{other}{here}{after}"
        if here:
            if here != last:
                yield before + after
            for other in CLASSES:
                if other != here:
                    yield f"{before}{other}{after}"


def make_form(surface: str, words: tuple[str, ...], rare: bool, sounds: str = "") -> TradeForm:
    """A form; its `sounds` where they are known already."""
    sounds = sounds or sounds_of(words)
    return TradeForm(surface, words, "".join(words), sounds, key_of(sounds), weight_of_sounds(sounds), rare)


class TradeForms:
    """All targets of repair, found by sound or by a word that was heard right; read from `compile_repairs`."""

    def __init__(self, tables: Tables) -> None:
        self.order = WordPlaces(tables["order"])
        """English words by how many are more frequent."""
        self.words = WordList(tables["trade_words"])
        """Words of the trade: in a form of a repaired kind and not common English."""
        self.context = WordList(tables["context"])
        """Words that make sense of a repair nearby."""
        self.known = WordList(tables["known"])
        """Every word that the lexicon uses in its own right, with regular endings: never a mishearing by itself."""
        self.note_words = WordList(tables["note_words"])
        """Words that a note has a use for."""
        self.at_home = WordList(tables["at_home"])
        """`known` and `note_words` together."""
        self._whole = WordList(tables["whole"])
        self._forms = tables["repairs"]
        self._by_word = tables["by_word"]
        self._by_sound = tables["by_sound"]
        self._by_consonants = tables["by_consonants"]
        self._long_consonants = tables["long_consonants"]
        self._often_misheard = WordList(tables["often_misheard"])
        self._rare = WordList(tables["rare"])
        self._keeping = tables["keeping"]
        self._sounds = tables["sounds"]
        self._form = cache(self._read_form)
        self._with_consonants = cache(self._read_consonants)
        self.like = lru_cache(maxsize=4096)(self._like)

    def _read_form(self, number: str) -> TradeForm:
        rare, sounds, surface = self._forms[number].split(" ", 2)
        return make_form(surface, spell_words(surface), rare == RARE, sounds)

    def is_whole(self, words: Sequence[str]) -> bool:
        """Whether the words are a form of the lexicon."""
        return " ".join(words) in self._whole

    def holding(self, word: str) -> tuple[TradeForm, ...]:
        """The forms of more than one word that hold this one."""
        return tuple(map(self._form, self._by_word.get(word, "").split()))

    def of_consonants(self, consonants: str) -> tuple[TradeForm, ...]:
        """The forms that have these consonants, in classes."""
        return self._with_consonants(consonants).forms if consonants in self._by_consonants else ()

    def _read_consonants(self, consonants: str) -> NearForms:
        forms = tuple(map(self._form, self._by_consonants[consonants].split()))
        return NearForms(forms, tuple([form.sound for form in forms]))

    def near_consonants(self, consonants: str) -> NearForms:
        """The forms whose consonants differ from these in one class at most, in the order of `one_edit_away`."""
        near = [self._with_consonants(other) for other in one_edit_away(consonants) if other in self._by_consonants]
        if len(near) == 1:
            return near[0]
        return NearForms(
            tuple([form for each in near for form in each.forms]), tuple([key for each in near for key in each.keys])
        )

    def long_consonants(self, consonants: str, edits: int, count: int) -> list[str]:
        """At most `count` consonants of forms of several words, the nearest first.

        They begin alike and differ in at most so many classes.
        """
        index = self._long_consonant_index.get(consonants[0])
        return index.within(consonants, edits, count) if index is not None else []

    def keeping(self, kept: frozenset[str]) -> Iterator[TradeForm]:
        """The forms that hold just these of the words that no repair swallows."""
        return map(self._form, self._keeping.get(" ".join(sorted(kept)), "").split())

    @cached_property
    def _long_consonant_index(self) -> dict[str, NearTexts]:
        """By the first class, the shorter ones first."""
        starts = sorted((s for s in self._long_consonants if len(s) > 1), key=lambda start: int(start[1:]))
        firsts = {start[0] for start in starts}
        return {
            first: NearTexts(c for s in starts if s[0] == first for c in self._long_consonants[s].split())
            for first in firsts
        }

    @cached_property
    def _sound_index(self) -> NearTexts:
        """The shorter ones first."""
        return NearTexts(sound for length in sorted(self._sounds, key=int) for sound in self._sounds[length].split())

    def is_often_misheard(self, words: Sequence[str]) -> bool:
        """Whether mishearings of these words are known."""
        return " ".join(words) in self._often_misheard

    def is_rare(self, words: Sequence[str]) -> bool:
        """Whether the words are a form that is seldom dictated in this shape."""
        return " ".join(words) in self._rare

    def _like(self, sound: str, likeness: float, count: int) -> tuple[TradeForm, ...]:
        """At most `count` sounds whose likeness to `sound` (0 to 1) is at least `likeness`; all forms of each."""
        near = self._sound_index.like(sound, likeness, count)
        return tuple(self._form(number) for found in near for number in self._by_sound[found].split())

    def choices(self, form: TradeForm, part: tuple[str, ...]) -> float:
        """How many forms share the words of `form` outside `part`, as a power of two."""
        rest = [word for word in form.words if word not in part]
        shared = (self._by_word[word].count(" ") + 1 if word in self._by_word else MOST_CHOICES for word in rest)
        return math.log2(1 + min(shared, default=MOST_CHOICES))
