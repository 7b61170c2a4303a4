"""Mishearings that no list holds: words that are easier explained as a trade form misheard than as what they say."""

import math
from bisect import bisect_left
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from zonule.normalization.belief import Belief, load_weights
from zonule.normalization.candidates import CandidateSearch
from zonule.normalization.expectation import Expectation
from zonule.normalization.hope import Hope
from zonule.normalization.trade_forms import TradeForms

NEIGHBORHOOD = 10
"""So many words away another trade word makes sense of a repair."""
LEAST = (1.5, 0.5, 0.1)
"""Least belief with no other trade word nearby, with one, and with more."""

ONLY_GAPS = 3.0
"""How much more is believed where all letters were heard right."""
LONG_WORD = 8
"""Letters of a word of the trade that are not heard right by chance: only its gaps are wrong, whatever else speaks."""
CERTAIN = 0.2
"""How far that is believed at least: enough among words of the trade, and less than any longer reading."""
LOWEST = -math.inf
EXPLAINED = 1.5
"""What it counts for each word that a note has no use for when a repair explains it."""


@dataclass(frozen=True, slots=True)
class SoundRepair:
    """The words `start` to `end` of a text (half-open) read as `read_as`; `score` is how sure that is, 0 to 1."""

    start: int
    end: int
    read_as: tuple[str, ...]
    score: float
    gain: float


class SoundSearch:
    """Finds repairs by sound; built once."""

    def __init__(self, forms: TradeForms, expectation: Expectation) -> None:
        self._forms = forms
        self._candidates = CandidateSearch(forms, Hope(forms, expectation, load_weights(), min(LEAST)))
        self._belief = Belief(forms, expectation)
        self._weighed = lru_cache(maxsize=8192)(self._weigh)

    def find(self, words: Sequence[str], joined: Sequence[bool], barred: Collection[int]) -> list[SoundRepair]:
        """The repairs of `words` that are believed most, without overlap; `barred` words are not touched."""
        context: list[int] | None = None
        found: list[SoundRepair] = []
        for start, end, odd in self._candidates.windows(words, joined, barred):
            left, right = words[start - 1] if start else "", words[end] if end < len(words) else ""
            sides = (start > 0 and joined[start - 1], joined[end - 1])
            believed = self._weighed(tuple(words[start:end]), left, right, sides, odd)
            if not believed:
                continue
            if context is None:
                context = [i for i, word in enumerate(words) if word in self._forms.context]
            least = LEAST[min(2, _around(context, start, end))]
            found.extend(
                SoundRepair(start, end, read_as, _score(belief), belief - least + EXPLAINED * odd)
                for read_as, belief in believed
                if belief > least
            )
        return _best(found, len(words)) if found else []

    def _weigh(
        self, heard: tuple[str, ...], left: str, right: str, sides: tuple[bool, bool], odd: int
    ) -> tuple[tuple[tuple[str, ...], float], ...]:
        """What the words may have been heard for, with how far each is believed: the logarithm of its odds."""
        found = []
        readings = list(self._candidates.read(heard, left, right, sides, odd))
        letters = "".join(heard)
        apart = [candidate for candidate in readings if "".join(candidate.read_as) == letters]
        for candidate in apart or readings:
            belief = self._belief.weigh(candidate)
            if apart:
                long = len(candidate.read_as) == 1 and len(candidate.read_as[0]) >= LONG_WORD
                belief = max(belief + ONLY_GAPS, CERTAIN if long else LOWEST)
            found.append((candidate.read_as, belief))
        return tuple((read_as, belief) for read_as, belief in found if belief > min(LEAST))


def _score(belief: float) -> float:
    """How sure that is, from 0 to 1."""
    return round(1 / (1 + math.exp(-belief)), 2)


def _around(context: Sequence[int], start: int, end: int) -> int:
    """How many places of `context` are near the words `start` to `end` without being among them."""
    around = bisect_left(context, end + NEIGHBORHOOD) - bisect_left(context, start - NEIGHBORHOOD)
    return around - (bisect_left(context, end) - bisect_left(context, start))


def _best(repairs: Sequence[SoundRepair], length: int) -> list[SoundRepair]:
    """Of overlapping repairs those that are believed most together."""
    by_end: dict[int, list[SoundRepair]] = {}
    for repair in repairs:
        by_end.setdefault(repair.end, []).append(repair)
    gained = [0.0] * (length + 1)
    chosen: list[SoundRepair | None] = [None] * (length + 1)
    for end in range(1, length + 1):
        gained[end] = gained[end - 1]
        for repair in by_end.get(end, ()):
            if gained[repair.start] + repair.gain > gained[end] + 1e-9:
                gained[end], chosen[end] = gained[repair.start] + repair.gain, repair
    return list(_walk_back(chosen))[::-1]


def _walk_back(chosen: Sequence[SoundRepair | None]) -> Iterator[SoundRepair]:
    end = len(chosen) - 1
    while end > 0:
        repair = chosen[end]
        if repair is None:
            end -= 1
        else:
            yield repair
            end = repair.start
