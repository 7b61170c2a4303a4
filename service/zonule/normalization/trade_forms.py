"""The lexicon's forms as targets of repair: how each is spelled, how it sounds, and the way to it."""

import math
import re
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property, lru_cache

from rapidfuzz import process
from rapidfuzz.distance import Levenshtein

from zonule.lexicon import Lexicon
from zonule.normalization.ordinary_words import COMMON, load_frequency_order, with_endings
from zonule.normalization.sounds import sound_of

REPAIRED = frozenset(
    {
        "anatomy", "anesthesia", "complication", "device", "diagnosis", "drug", "drug_class", "finding", "implant",
        "incision_kind", "instrument", "lens_field", "lens_location", "lens_material", "lens_type", "parameter",
        "phase", "procedure", "route", "step", "suture_material", "technique", "thing", "viscoelastic",
    }
)  # fmt: skip
"""Kinds whose forms a mishearing is repaired to."""
SHORTEST = 5
"""Letters of the shortest form that a mishearing is repaired to by its sound."""
LONGEST = 4
"""Words of the longest."""
CONTEXT = frozenset(
    {
        "eye", "eyes", "patient", "patients", "operation", "surgery", "surgeon", "theatre", "theater", "nurse", "wound",
        "wounds", "needle", "blade", "drops", "percent", "millimeters", "millimetres", "millimeter", "millimetre",
        "milligram", "milligrams", "incision", "injection", "chamber", "lens", "implant", "bag", "hook", "pupil", "tip",
        "pump", "block", "tablet", "stitch", "bottle", "anesthesia",
    }
)  # fmt: skip
"""Common words that tell an operation as trade words do."""
MOST_CHOICES = 2500
"""Forms that could stand where no word of a form was heard right."""
SAME_WORD = 0.8
"""Likeness of letters of two spellings of one word."""
SPELLED = re.compile(r"[^\W\d_]+(?:['’][^\W\d_]+)*")


@dataclass(frozen=True, slots=True)
class TradeForm:
    """A surface form in lower case: as written, its words, and its sound.

    `rare` marks what is seldom dictated in this shape: a trade name, or a word that the lexicon has only inside longer
    forms.
    """

    surface: str
    words: tuple[str, ...]
    sound: str
    rare: bool = False


@lru_cache(maxsize=65536)
def split_letters(text: str) -> tuple[str, ...]:
    """The words of letters in `text`, lower case."""
    if text.isascii() and text.replace(" ", "").isalpha():
        return tuple(text.lower().split())
    return tuple(word.replace("’", "'") for word in SPELLED.findall(text.lower()))


def sound_of_words(words: tuple[str, ...]) -> str:
    """The sound of words spoken without a gap."""
    return "".join(map(sound_of, words))


class TradeForms:
    """All targets of repair, found by sound or by a word that was heard right."""

    def __init__(self, lexicon: Lexicon) -> None:
        self._lexicon = lexicon
        self.like = lru_cache(maxsize=16384)(self._like)

    @cached_property
    def words(self) -> frozenset[str]:
        """Words of the trade: in a form of a repaired kind and not common English."""
        order = load_frequency_order()
        return frozenset(
            word
            for form in self._surfaces()
            for word in split_letters(form)
            if len(word) >= SHORTEST - 1 and order.get(word, COMMON) >= COMMON
        )

    @cached_property
    def context(self) -> frozenset[str]:
        """Words that make sense of a repair nearby."""
        return self.words | CONTEXT

    @cached_property
    def known(self) -> frozenset[str]:
        """Every word that the lexicon uses in its own right, with regular endings: never a mishearing by itself."""
        order = load_frequency_order()
        found: set[str] = set()
        for words in map(split_letters, self._all_surfaces()):
            found.update(w for w in words if len(words) == 1 or order.get(w, 20000) >= 20000)
        return frozenset(with_endings(found))

    @cached_property
    def whole(self) -> frozenset[tuple[str, ...]]:
        """The forms as word sequences."""
        return frozenset(map(split_letters, self._all_surfaces()))

    @cached_property
    def by_letters(self) -> dict[str, TradeForm]:
        """Letters without a gap → the form."""
        return {"".join(form.words): form for form in self._forms}

    @cached_property
    def by_word(self) -> dict[str, tuple[TradeForm, ...]]:
        """Word → the forms of more than one word that hold it."""
        found: dict[str, list[TradeForm]] = defaultdict(list)
        for form in self._forms:
            if len(form.words) > 1:
                for word in dict.fromkeys(form.words):
                    if len(word) > 2:
                        found[word].append(form)
        return {word: tuple(forms) for word, forms in found.items()}

    @cached_property
    def _by_sound(self) -> dict[str, tuple[TradeForm, ...]]:
        found: dict[str, list[TradeForm]] = defaultdict(list)
        listed = {mishearing.read_as.lower() for mishearing in self._lexicon.mishearings}
        for form in self._forms:
            if " " not in form.surface or form.surface in listed:
                found[form.sound].append(form)
        return {sound: tuple(forms) for sound, forms in found.items()}

    @cached_property
    def _by_length(self) -> dict[int, list[str]]:
        found: dict[int, list[str]] = defaultdict(list)
        for sound in self._by_sound:
            found[len(sound)].append(sound)
        return dict(found)

    def _like(self, sound: str, likeness: float, count: int) -> tuple[TradeForm, ...]:
        """At most `count` sounds whose likeness to `sound` (0 to 1) is at least `likeness`; all forms of each."""
        low, high = int(len(sound) * likeness), int(len(sound) / likeness) + 1
        choices = [s for length in range(low, high + 1) for s in self._by_length.get(length, ())]
        near = process.extract(
            sound, choices, scorer=Levenshtein.normalized_similarity, score_cutoff=likeness, limit=count
        )
        return tuple(form for found, _, _ in near for form in self._by_sound[found])

    @cached_property
    def _forms(self) -> tuple[TradeForm, ...]:
        whole = ((form.lower(), split_letters(form)) for form in self._surfaces() if not re.search(r"\d", form))
        single = ((word, (word,)) for word in sorted(self.words))
        usual = {split_letters(form) for form in self._usual_surfaces()}
        seen: dict[tuple[str, ...], TradeForm] = {}
        for surface, words in (*whole, *single):
            fits = len(words) <= LONGEST and len("".join(words)) >= SHORTEST
            if fits and words not in seen and words not in self._variants:
                seen[words] = TradeForm(surface, words, sound_of_words(words), words not in usual)
        return tuple(seen.values())

    @cached_property
    def _variants(self) -> frozenset[tuple[str, ...]]:
        """Forms that only spell an earlier form of their term another way: nothing is repaired to them."""
        found: set[tuple[str, ...]] = set()
        for term in self._lexicon.terms:
            if term.kind in REPAIRED:
                found.update(_variants_of(term.forms))
        return frozenset(found)

    def _usual_surfaces(self) -> Iterator[str]:
        """The repaired forms without the names of drugs that are not like the generic one."""
        for mishearing in self._lexicon.mishearings:
            yield mishearing.read_as
        for term in self._lexicon.terms:
            if term.kind in REPAIRED:
                name = term.id.replace("_", "")
                yield from (f for f in term.forms if term.kind != "drug" or _is_like(f, name))

    def choices(self, form: TradeForm, part: tuple[str, ...]) -> float:
        """How many forms share the words of `form` outside `part`, as a power of two."""
        rest = [word for word in form.words if word not in part]
        shared = (len(self.by_word.get(word, ())) or MOST_CHOICES for word in rest)
        return math.log2(1 + min(shared, default=MOST_CHOICES))

    def _surfaces(self) -> Iterator[str]:
        for mishearing in self._lexicon.mishearings:
            yield mishearing.read_as
        for term in self._lexicon.terms:
            if term.kind in REPAIRED:
                yield from term.forms

    def _all_surfaces(self) -> Iterator[str]:
        yield from self._surfaces()
        for term in self._lexicon.terms:
            yield from term.forms
        for action in self._lexicon.actions:
            yield from (*action.verbs, *action.nouns)
        for cue in self._lexicon.cues:
            yield from cue.forms
        for correction in self._lexicon.corrections:
            yield from correction.forms
        for mark in self._lexicon.marks:
            yield from mark.forms
        for past in self._lexicon.irregular.values():
            yield from past


def _variants_of(forms: Iterable[str]) -> Iterator[tuple[str, ...]]:
    """Forms that spell an earlier one another way; only forms that begin alike are compared."""
    earlier: dict[str, list[tuple[str, int]]] = defaultdict(list)
    for words in map(split_letters, forms):
        letters = "".join(words)
        alike = earlier[letters[:2]]
        if any(_is_variant(letters, len(words), other, count) for other, count in alike):
            yield words
        alike.append((letters, len(words)))


def _is_variant(letters: str, count: int, other: str, other_count: int) -> bool:
    """Whether a form of `count` words differs from another in spelling or gaps, not in its ending or beginning."""
    if letters == other:
        return count > other_count
    if letters.rstrip("s") == other.rstrip("s") or letters.endswith(("ed", "ing")):
        return False
    return Levenshtein.normalized_similarity(letters, other, score_cutoff=SAME_WORD) >= SAME_WORD


def _is_like(form: str, name: str) -> bool:
    return Levenshtein.normalized_similarity("".join(split_letters(form)), name) > 0.65
