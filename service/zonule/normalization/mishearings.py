"""Misheard trade words: known ones by their wording, others by their sound and the company they keep."""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass

from zonule.lexicon import Lexicon
from zonule.lexicon.tables import Tables
from zonule.normalization.expectation import Expectation
from zonule.normalization.known_mishearings import KnownMishearings
from zonule.normalization.sound_repair import SoundRepair, SoundSearch
from zonule.normalization.spoken_words import SpokenWords, find_names, name_labels, read_words
from zonule.normalization.trade_forms import TradeForms, spell_words
from zonule.text import Edit, Span

KNOWN_SCORE = 0.95
"""How sure a known mishearing is."""
SPLIT_SCORE = 0.98
"""How sure a repair is that only moves the gaps between words."""


@dataclass(frozen=True, slots=True)
class _Repair:
    """Words of a text (half-open) and what they stand for."""

    start: int
    end: int
    read_as: str
    rule: str
    score: float


class MishearingRepair:
    """Finds misheard trade words; built once from the lexicon and its tables."""

    def __init__(self, lexicon: Lexicon, tables: Tables) -> None:
        self._forms = TradeForms(tables)
        self._expectation = Expectation(self._forms)
        self._known = KnownMishearings(tables["misheard"])
        self._sounds = SoundSearch(self._forms, self._expectation)
        self._labels = name_labels(lexicon)

    def find_edits(self, text: str, keep: Collection[str] = ()) -> list[Edit]:
        """The repairs of `text`, in order; `keep` are heard words (casefolded) that must not be repaired."""
        words = spell_words(text)
        held = frozenset(words)
        if self._forms.at_home.holds(held) and not self._known.may_find(words, held):
            return []
        spoken = read_words(text)
        names = find_names(spoken, self._labels, self._forms.at_home)
        barred = names | {i for i, word in enumerate(spoken.words) if word in keep}
        known = list(self._find_known(spoken, barred))
        sound = self._find_by_sound(spoken, barred, known)
        edits = (_edit(text, spoken, repair) for repair in sorted([*known, *sound], key=lambda r: r.start))
        return [edit for edit in edits if edit.span.of(text).casefold() not in keep]

    def _find_known(self, spoken: SpokenWords, barred: Collection[int]) -> Iterator[_Repair]:
        taken = set(barred)
        found = sorted(self._known.find(spoken.words, spoken.joined), key=lambda k: (k[0] - k[1], k[0]))
        for start, end, known in found:
            if taken.isdisjoint(range(start, end)):
                taken.update(range(start, end))
                yield _Repair(start, end, known.read_as, "mishearing:known", KNOWN_SCORE)

    def _find_by_sound(self, spoken: SpokenWords, barred: set[int], known: Sequence[_Repair]) -> Iterator[_Repair]:
        taken = barred | {i for repair in known for i in range(repair.start, repair.end)}
        for found in self._sounds.find(spoken.words, spoken.joined, taken):
            yield self._name(spoken, found)

    def _name(self, spoken: SpokenWords, found: SoundRepair) -> _Repair:
        read_as = " ".join(found.read_as)
        if "".join(spoken.words[found.start : found.end]) == "".join(found.read_as):
            return _Repair(found.start, found.end, read_as, "mishearing:split", SPLIT_SCORE)
        return _Repair(found.start, found.end, read_as, "mishearing:sound", found.score)


def _edit(text: str, spoken: SpokenWords, repair: _Repair) -> Edit:
    span = Span(spoken.starts[repair.start], spoken.ends[repair.end - 1])
    replacement = repair.read_as.lower()
    if text[span.start].isupper():
        replacement = replacement[0].upper() + replacement[1:]
    return Edit(span, replacement, repair.rule, repair.score)
