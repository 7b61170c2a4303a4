"""Whether words may be believed to be some form misheard: found quicker than by weighing each form.

Nearly all words that a note has no use for were heard right, and no form comes near them. The belief in a form (see
belief.py) is bounded by its signs, those that are not known yet at their best; how good it must sound at least tells
how many mistakes need be counted. No form is passed over that `Belief.weigh` would put above `least`.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from rapidfuzz import process
from rapidfuzz.distance import Levenshtein

from zonule.normalization.expectation import Expectation
from zonule.normalization.form_search import LEAST_KEY, Words
from zonule.normalization.likeness import FARTHER, distance, sounds_of
from zonule.normalization.ordinary_words import FILLERS
from zonule.normalization.trade_forms import TradeForm, TradeForms, sound_of_words

LEAST_SOUND = 0.45
"""Least likeness in sound worth weighing."""
SLACK = 1e-6
"""For sums in another order."""
OTHER_TERM = 0.7
"""Likeness of letters of what is only another spelling or ending of a term."""
LEADING = 3
"""So many of the likest readings are compared first: most forms are worse than they and not compared at all."""
RIVALS = 12
"""So many other readings are looked at."""
UNKNOWN = 90_000
"""Place by frequency of what is no English word."""


@dataclass(frozen=True, slots=True)
class _Heard:
    """What the words heard tell by themselves: `least` is the belief that a form must add."""

    letters: str
    sounds: str
    key: str
    single: bool
    unknown: int
    least: float


class Hope:
    """Built once, from the weights of the signs and the least belief that counts."""

    def __init__(self, forms: TradeForms, expectation: Expectation, weights: Mapping[str, float], least: float) -> None:
        self._forms = forms
        self._cost = expectation.cost
        self._weights = weights
        self._least = least - SLACK
        self._bounded = weights["margin"] >= 0 < weights["sound squared"]

    def is_left(self, heard: Words, forms: Sequence[TradeForm], allowed: Callable[[Words, Words], bool]) -> bool:
        """Whether one of `forms`, none of which goes on beside the words heard, could be believed.

        `allowed` says whether the words heard may be read as a form at all.
        """
        words = self._look_at(heard)
        rivals = [rival for rival in _nearest(words, forms) if allowed(heard, rival.words)]
        leading = [(rival, _sound(words, rival)) for rival in rivals[:LEADING]]
        for form in forms:
            if form.letters == words.letters or not self._bounded:
                return True
            beaten = max(
                [s for rival, s in leading if is_other_term(form.words, form.letters, rival.words)], default=0.0
            )
            best = self._best_rival(words, form, beaten)
            if best < 0 or not allowed(heard, form.words):
                continue
            better = (rival for rival in rivals if _sounds_better(words, rival, best))
            if not any(is_other_term(form.words, form.letters, rival.words) for rival in better):
                return True
        return False

    def _look_at(self, heard: Words) -> _Heard:
        weights, order = self._weights, self._forms.order
        unknown = sum(word not in order for word in heard)
        single = len(heard) == 1 and not unknown
        place = min(order.get(word, UNKNOWN) for word in heard)
        odd = weights["odd words"]
        told = (
            weights["always"]
            + weights["words heard"] * len(heard)
            + weights["unknown words"] * unknown
            + weights["place by frequency"] * math.log2(1 + place)
            + weights["one English word"] * single
            + weights["filler first"] * (order.get(heard[0], UNKNOWN) < FILLERS)
            + weights["filler last"] * (order.get(heard[-1], UNKNOWN) < FILLERS)
            + max(0.0, weights["bits"]) * sum(map(self._cost, heard))
            + (odd if odd < 0 else odd * len(heard))
            + sum(max(0.0, weights[name]) for name in ("rare", "asked for before", "asked for after"))
        )
        return _Heard("".join(heard), sounds_of(heard), sound_of_words(heard), single, unknown, self._least - told)

    def _best_rival(self, heard: _Heard, form: TradeForm, beaten: float) -> float:
        """How good another reading may sound at most if this one is to be believed; below 0 if it never is.

        The belief is bounded by a convex function of the sound s: the mistakes are (1 - s) of the form's weight, and
        the margin is at most s without how good another reading sounds (`beaten`).
        """
        letters = Levenshtein.normalized_similarity(heard.letters, form.letters)
        often = self._weights["often misheard"]
        square, slope, rest = self._bound(heard, form, letters)
        rest -= self._weights["margin"] * beaten
        sound = _least_sound(square, slope, rest + max(0.0, often))
        if sound <= 1 and not (often > 0 and self._forms.is_often_misheard(form.words)):
            often = 0.0
            sound = _least_sound(square, slope, rest)
        if sound > 1:
            return -1.0
        size = max(1.0, form.weight)
        mistakes = distance(heard.sounds, form.sounds, (1 - sound) * size)
        if mistakes == FARTHER:
            return -1.0
        sound = 1 - mistakes / size
        return ((square * sound + slope) * sound + rest + often) / self._weights["margin"] + beaten

    def _bound(self, heard: _Heard, form: TradeForm, letters: float) -> tuple[float, float, float]:
        """What the square of the sound counts, the sound, and all else but for how often the form is misheard."""
        weights = self._weights
        size = math.log2(1 + form.weight)
        mistakes = weights["mistakes"] + weights["mistakes by size"] / size
        by_size = weights["size"]
        if heard.single:
            mistakes += weights["one English word, mistakes"]
            by_size += weights["one English word, size"]
        mistakes *= max(1.0, form.weight)
        slope = (
            weights["sound"]
            + weights["letters and sound"] * letters
            + weights["margin"]
            + weights["unknown words, sound"] * heard.unknown
            - mistakes
        )
        rest = (
            weights["letters"] * letters
            + by_size * size
            + weights["words meant"] * len(form.words)
            + mistakes
            - heard.least
        )
        return weights["sound squared"], slope, rest


def _least_sound(square: float, slope: float, rest: float) -> float:
    """From where on the function is above 0, and `LEAST_SOUND` if it is there."""
    if (square * LEAST_SOUND + slope) * LEAST_SOUND + rest > 0:
        return LEAST_SOUND
    return (math.sqrt(slope * slope - 4 * square * rest) - slope) / (2 * square)


def _nearest(heard: _Heard, forms: Sequence[TradeForm]) -> list[TradeForm]:
    """The forms whose keys are likest to that of what was heard: most often one of them leaves another no hope."""
    keys = [form.sound for form in forms]
    scorer = Levenshtein.normalized_similarity
    found = process.extract(heard.key, keys, scorer=scorer, score_cutoff=LEAST_KEY, limit=RIVALS)
    return [forms[at] for _, _, at in found]


def _sound(heard: _Heard, form: TradeForm) -> float:
    """How good a form sounds, 0 where that is too little to be worth counting."""
    size = max(1.0, form.weight)
    return max(0.0, 1 - distance(heard.sounds, form.sounds, (1 - LEAST_SOUND) * size) / size)


def _sounds_better(heard: _Heard, rival: TradeForm, sound: float) -> bool:
    most = (1 - sound) * max(1.0, rival.weight) - SLACK
    return distance(heard.sounds, rival.sounds, most) <= most


def is_other_term(read_as: Words, letters: str, other: Words) -> bool:
    """Whether two readings are two terms: spellings of one begin alike, "ropivacaine" and "bupivacaine" do not.

    `letters` are those of `read_as`.
    """
    if other == read_as:
        return False
    others = "".join(other)
    if letters[0] != others[0] and letters not in others and others not in letters:
        return True
    return Levenshtein.normalized_similarity(letters, others) < OTHER_TERM
