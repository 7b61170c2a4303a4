"""Spoken visual acuities: "six over eighteen", "vision twenty forty"."""

from zonule.normalization.cardinals import read_small
from zonule.normalization.number_tokens import Reading, Tokens

LINES = {6: frozenset({4, 5, 6, 7, 9, 12, 15, 18, 24, 36, 60}), 20: frozenset(range(10, 81, 5)) | {16, 32, 63}}
"""Lines of the Snellen chart in meters and in feet that are said in two short numbers."""
REACH = 6
"""Words within which "vision" or "acuity" tells an acuity from other numbers."""


def read_acuity(t: Tokens, i: int) -> Reading | None:
    """The acuity that starts with the word at `i`."""
    first = t.value(i) if t.kinds[i] in ("D", "Y") else 0
    if first not in LINES:
        return None
    over = t.joined_word(i + 1, ("over",))
    if not over and not t.near_before(i, t.vocabulary.units.words.acuities, REACH):
        return None
    at = i + 1 + over
    second = read_small(t, at) if t.joined(at) else None
    if second is None or int(second.text) not in LINES[first]:
        return None
    return Reading(i, second.last, f"{first}/{int(second.text)}", "spoken_acuity")
