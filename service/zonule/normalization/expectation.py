"""How much it takes to believe that a word of a dictation was said as it is written.

The unit is the bit: a word that stands once in 2**10 words of ordinary English takes about 10. What is at home in a
note takes less, what is no English word takes most. The constants were fitted to the cases in
tests/cases/mishearings marked "tune" and to ordinary and clinical text without mishearings.
"""

import math

from zonule.normalization.trade_forms import TradeForms

AT_HOME = (-1.37, 0.85)
"""Cost of a word at home in a note: constant, and share of the logarithm of its place by frequency."""
AT_HOME_RANGE = (0.5, 4.7)
ORDINARY = (2.0, 0.58)
"""The same for an ordinary English word that a note has no use for."""
UNKNOWN = 12.8
"""Cost of a word that is neither English nor in the lexicon."""
TRADE = 1.0
"""Cost of a word of the trade."""
LEXICON = 1.6
"""Cost of another word of the lexicon."""


class Expectation:
    """Costs of words as heard; built once."""

    def __init__(self, forms: TradeForms) -> None:
        self._forms = forms
        self._order = forms.order
        self._costs: dict[str, float] = {}

    def cost(self, word: str) -> float:
        """Bits it takes to leave the word as heard."""
        found = self._costs.get(word)
        if found is None:
            found = self._costs[word] = self._cost(word)
        return found

    def _cost(self, word: str) -> float:
        place = math.log2(self._order.get(word, len(self._order)) + 2)
        if word in self._forms.words:
            return TRADE
        if word in self._forms.note_words:
            low, high = AT_HOME_RANGE
            return min(high, max(low, AT_HOME[0] + AT_HOME[1] * place))
        if word in self._forms.known:
            return LEXICON
        return ORDINARY[0] + ORDINARY[1] * place if word in self._order else UNKNOWN
