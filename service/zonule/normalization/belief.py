"""How believable it is that words were heard for a trade form: a weighing of what is known of a candidate.

The weights (belief.toml) are a logistic regression, fitted to the cases of tests/cases/mishearings marked "tune" and to
the known mishearings put into dictations, against everything else in dictations and in ordinary English.
"""

import math
from pathlib import Path

import tomli as tomllib

from zonule.normalization.candidates import Candidate
from zonule.normalization.expectation import Expectation
from zonule.normalization.likeness import weight
from zonule.normalization.ordinary_words import FILLERS
from zonule.normalization.trade_forms import TradeForms

UNKNOWN = 90_000
"""Place by frequency of what is no English word."""
ASKS_BEFORE = frozenset(
    {
        "the", "a", "an", "of", "some", "this", "that", "his", "her", "any", "more", "under", "using", "by", "for",
        "to", "through", "in", "into", "on", "performed", "did", "used", "no", "with",
    }
)  # fmt: skip
"""Words after which a noun is asked for."""
ASKS_AFTER = frozenset(
    {
        "was", "were", "is", "are", "performed", "done", "used", "given", "with", "has", "had", "and", "to", "in",
        "for", "at", "of",
    }
)  # fmt: skip
"""Words before which a noun is asked for."""


def load_weights() -> dict[str, float]:
    """What each sign counts, by its name."""
    weights: dict[str, float] = tomllib.loads(Path(__file__).with_name("belief.toml").read_text("utf-8"))
    return weights


class Belief:
    """Weighs candidates; built once."""

    def __init__(self, forms: TradeForms, expectation: Expectation) -> None:
        self._forms = forms
        self._cost = expectation.cost
        self._order = forms.order
        self._weights = load_weights()

    def weigh(self, candidate: Candidate) -> float:
        """The logarithm of the odds that the candidate is right, as far as its words and those beside it tell."""
        weights = self._weights
        return sum([weights[name] * value for name, value in self.signs(candidate).items()])

    def signs(self, candidate: Candidate) -> dict[str, float]:
        """Everything that speaks for or against the candidate, as numbers by name."""
        heard, like = candidate.heard, candidate.like
        size = math.log2(1 + weight(candidate.read_as))
        single = len(heard) == 1 and heard[0] in self._order
        beside = candidate.before or candidate.after
        unknown = sum(word not in self._order for word in heard)
        return {
            "always": 1.0,
            "sound": like.sound,
            "sound squared": like.sound**2,
            "mistakes": like.mistakes,
            "mistakes by size": like.mistakes / size,
            "letters": like.letters,
            "letters and sound": like.letters * like.sound,
            "margin": candidate.margin,
            "size": size,
            "words heard": len(heard),
            "words meant": len(candidate.read_as),
            "odd words": candidate.odd,
            "unknown words": unknown,
            "unknown words, sound": unknown * like.sound,
            "bits": sum(self._cost(word) for word in heard if word not in candidate.read_as),
            "place by frequency": math.log2(1 + min(self._order.get(word, UNKNOWN) for word in heard)),
            "one English word": single,
            "one English word, mistakes": single * like.mistakes,
            "one English word, size": single * size,
            "beside": beside,
            "beside on both sides": candidate.before and candidate.after,
            "beside, mistakes": beside * like.mistakes,
            "beside, one English word": beside and single,
            "rare": self._forms.is_rare(candidate.read_as),
            "often misheard": self._forms.is_often_misheard(candidate.read_as),
            "only gaps": "".join(heard) == "".join(candidate.read_as),
            "asked for before": not candidate.left or candidate.left in ASKS_BEFORE,
            "asked for after": not candidate.right or candidate.right in ASKS_AFTER,
            "filler first": self._order.get(heard[0], UNKNOWN) < FILLERS,
            "filler last": self._order.get(heard[-1], UNKNOWN) < FILLERS,
        }
