"""The lexicon → the tables of repair: the words it uses, its forms with their sounds, and known mishearings."""

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator

from rapidfuzz.distance import Levenshtein

from zonule.lexicon import Lexicon
from zonule.lexicon.tables import Table, Tables, shelve_places, shelve_words
from zonule.normalization.known_mishearings import compile_mishearings
from zonule.normalization.ordinary_words import (
    COMMON,
    FILLERS,
    KEPT,
    load_frequency_order,
    load_note_words,
    with_endings,
)
from zonule.normalization.sounds import skeleton
from zonule.normalization.trade_forms import RARE, USUAL, TradeForm, make_form, split_letters

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
SAME_WORD = 0.8
"""Likeness of letters of two spellings of one word."""


def compile_repairs(lexicon: Lexicon) -> Tables:
    """All tables that `TradeForms` and `KnownMishearings` read."""
    surfaces = tuple(_surfaces(lexicon))
    every = (*surfaces, *_further_surfaces(lexicon))
    words, known = _trade_words(surfaces), _known_words(every)
    forms = _forms(lexicon, surfaces, words)
    return {
        "order": shelve_places(load_frequency_order()),
        "trade_words": shelve_words(words),
        "context": shelve_words(words | CONTEXT),
        "known": shelve_words(known),
        "note_words": shelve_words(load_note_words()),
        "at_home": shelve_words(known | load_note_words()),
        "whole": shelve_words({" ".join(split_letters(form)) for form in every}),
        "misheard": compile_mishearings(lexicon.mishearings),
        "often_misheard": shelve_words({" ".join(split_letters(m.read_as)) for m in lexicon.mishearings}),
        "rare": shelve_words({" ".join(form.words) for form in forms if form.rare}),
        "keeping": _keeping_table(forms),
        **_consonant_tables(forms),
        **_form_tables(forms, {mishearing.read_as.lower() for mishearing in lexicon.mishearings}),
    }


def _form_tables(forms: tuple[TradeForm, ...], listed: set[str]) -> Tables:
    """The forms by number, and their numbers by word and by sound; `listed` forms of several words have a sound too."""
    by_word: defaultdict[str, list[int]] = defaultdict(list)
    by_sound: defaultdict[str, list[int]] = defaultdict(list)
    for number, form in enumerate(forms):
        if len(form.words) > 1:
            for word in dict.fromkeys(form.words):
                if len(word) > 2:
                    by_word[word].append(number)
        if " " not in form.surface or form.surface in listed:
            by_sound[form.sound].append(number)
    by_length: defaultdict[str, list[str]] = defaultdict(list)
    for sound in by_sound:
        by_length[str(len(sound))].append(sound)
    return {
        "repairs": {str(n): f"{RARE if f.rare else USUAL} {f.sounds} {f.surface}" for n, f in enumerate(forms)},
        "by_word": {word: " ".join(map(str, numbers)) for word, numbers in by_word.items()},
        "by_sound": {sound: " ".join(map(str, numbers)) for sound, numbers in by_sound.items()},
        "sounds": {length: " ".join(sounds) for length, sounds in by_length.items()},
    }


def _keeping_table(forms: tuple[TradeForm, ...]) -> Table:
    """Numbers of the forms that hold words which no repair swallows, by these words."""
    found: defaultdict[str, list[str]] = defaultdict(list)
    for number, form in enumerate(forms):
        if not KEPT.isdisjoint(form.words):
            found[" ".join(sorted(KEPT.intersection(form.words)))].append(str(number))
    return {kept: " ".join(numbers) for kept, numbers in found.items()}


def _consonant_tables(forms: tuple[TradeForm, ...]) -> Tables:
    """Numbers of the forms by their consonants, and the consonants of those of several words by first and count.

    No form is sought that begins or ends with a word that only holds a sentence together.
    """
    by_consonants: defaultdict[str, list[int]] = defaultdict(list)
    long: defaultdict[str, dict[str, None]] = defaultdict(dict)
    order = load_frequency_order()
    for number, form in enumerate(forms):
        if min(order.get(form.words[0], FILLERS), order.get(form.words[-1], FILLERS)) >= FILLERS:
            consonants = skeleton(form.sound)
            by_consonants[consonants].append(number)
            if len(form.words) > 1:
                long[f"{consonants[:1]}{len(consonants)}"][consonants] = None
    return {
        "by_consonants": {consonants: " ".join(map(str, numbers)) for consonants, numbers in by_consonants.items()},
        "long_consonants": {start: " ".join(consonants) for start, consonants in long.items()},
    }


def _trade_words(surfaces: Iterable[str]) -> frozenset[str]:
    """Words of the trade: in a form of a repaired kind and not common English."""
    order = load_frequency_order()
    return frozenset(
        word
        for form in surfaces
        for word in split_letters(form)
        if len(word) >= SHORTEST - 1 and order.get(word, COMMON) >= COMMON
    )


def _known_words(surfaces: Iterable[str]) -> frozenset[str]:
    """Every word that the lexicon uses in its own right, with regular endings: never a mishearing by itself."""
    order = load_frequency_order()
    found: set[str] = set()
    for words in map(split_letters, surfaces):
        found.update(w for w in words if len(words) == 1 or order.get(w, 20000) >= 20000)
    return frozenset(with_endings(found))


def _forms(lexicon: Lexicon, surfaces: Iterable[str], trade_words: Iterable[str]) -> tuple[TradeForm, ...]:
    whole = ((form.lower(), split_letters(form)) for form in surfaces if not re.search(r"\d", form))
    single = ((word, (word,)) for word in sorted(trade_words))
    usual = {split_letters(form) for form in _usual_surfaces(lexicon)}
    variants = _variants(lexicon)
    seen: dict[tuple[str, ...], TradeForm] = {}
    for surface, words in (*whole, *single):
        fits = len(words) <= LONGEST and len("".join(words)) >= SHORTEST
        if fits and words not in seen and words not in variants:
            seen[words] = make_form(surface, words, words not in usual)
    return tuple(seen.values())


def _variants(lexicon: Lexicon) -> frozenset[tuple[str, ...]]:
    """Forms that only spell an earlier form of their term another way: nothing is repaired to them."""
    found: set[tuple[str, ...]] = set()
    for term in lexicon.terms:
        if term.kind in REPAIRED:
            found.update(_variants_of(term.forms))
    return frozenset(found)


def _usual_surfaces(lexicon: Lexicon) -> Iterator[str]:
    """The repaired forms without the names of drugs that are not like the generic one."""
    for mishearing in lexicon.mishearings:
        yield mishearing.read_as
    for term in lexicon.terms:
        if term.kind in REPAIRED:
            name = term.id.replace("_", "")
            yield from (f for f in term.forms if term.kind != "drug" or _is_like(f, name))


def _surfaces(lexicon: Lexicon) -> Iterator[str]:
    for mishearing in lexicon.mishearings:
        yield mishearing.read_as
    for term in lexicon.terms:
        if term.kind in REPAIRED:
            yield from term.forms


def _further_surfaces(lexicon: Lexicon) -> Iterator[str]:
    for term in lexicon.terms:
        yield from term.forms
    for action in lexicon.actions:
        yield from (*action.verbs, *action.nouns)
    for cue in lexicon.cues:
        yield from cue.forms
    for correction in lexicon.corrections:
        yield from correction.forms
    for mark in lexicon.marks:
        yield from mark.forms
    for past in lexicon.irregular.values():
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
