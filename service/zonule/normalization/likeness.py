"""How like what was heard is to a trade form, by sound and by letters."""

from collections.abc import Sequence
from dataclasses import dataclass

from rapidfuzz.distance import Levenshtein

from zonule.normalization.trade_forms import TradeForm, sound_of_words

SOUND_SHARE = 0.6
"""What the sound counts in the score of a likeness; the letters count the rest."""


@dataclass(frozen=True, slots=True)
class Likeness:
    """The words `start` to `end` of a window (half-open) against the part of a form that they would stand for.

    Words heard right at either end are left out of both; `anchored` counts them. `sound` and `letters` are likenesses
    from 0 to 1, `size` is the length of the sound of that part.
    """

    start: int
    end: int
    read_as: tuple[str, ...]
    form: TradeForm
    sound: float
    letters: float
    size: int
    anchored: int

    @property
    def score(self) -> float:
        """Both likenesses in one, 0 to 1."""
        return SOUND_SHARE * self.sound + (1 - SOUND_SHARE) * self.letters


def compare(heard: Sequence[str], form: TradeForm) -> Likeness | None:
    """The likeness of the words heard to a form; None where one of them is a part of the other."""
    meant = form.words
    shorter = min(len(heard), len(meant))
    before = next((i for i in range(shorter) if heard[i] != meant[i]), shorter)
    after = next((i for i in range(shorter - before) if heard[-1 - i] != meant[-1 - i]), shorter - before)
    odd, read_as = tuple(heard[before : len(heard) - after]), meant[before : len(meant) - after]
    if not odd or not read_as:
        return None
    sound = sound_of_words(read_as)
    return Likeness(
        before,
        len(heard) - after,
        read_as,
        form,
        Levenshtein.normalized_similarity(sound_of_words(odd), sound),
        Levenshtein.normalized_similarity("".join(odd), "".join(read_as)),
        len(sound),
        before + after,
    )
