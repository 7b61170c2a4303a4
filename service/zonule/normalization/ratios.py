"""Spoken ratios and two factors: "one in ten thousand" is 1:10000, "fifty fifty" 50:50, "six by four" 6 x 4."""

from zonule.normalization.cardinals import read_integer, read_number, read_small
from zonule.normalization.number_tokens import Number, Reading, Tokens

WEAKEST = 1000
"""From here on "one to N" is a dilution; below it is a range."""


def read_ratio(t: Tokens, i: int) -> Reading | None:
    """A dilution or a mixture that starts with the word at `i`."""
    if t.words[i] in ("one", "1") and t.joined(i + 1):
        return _read_dilution(t, i) or _read_mixture(t, i)
    return _read_halves(t, i) or _read_mixture(t, i)


def _read_dilution(t: Tokens, i: int) -> Reading | None:
    """ "One in ten thousand", "one to a hundred thousand", "one is to ten thousand", "one in ten"."""
    at = (
        i + 1 + (t.words[i + 1] == "is" and t.joined(i + 2)) + (t.words[i + 1] in ("part", "parts") and t.joined(i + 2))
    )
    if t.words[at] not in ("in", "to") or not t.joined(at + 1):
        return None
    number = read_integer(t, at + 1 + (t.words[at + 1] in ("a", "an") and t.kinds[at + 2] == "S"))
    digits = number.text.replace(",", "") if number is not None else ""
    if number is None or not digits.isdigit() or (t.unit_at(number.last) is not None and int(digits) < WEAKEST):
        return None
    if int(digits) >= WEAKEST:
        return Reading(i, number.last, f"1:{int(digits)}", "spoken_ratio")
    if t.words[at] == "in" and int(digits) >= 10 and t.words[i - 1] not in t.vocabulary.lists.pronoun_before:
        return Reading(i, number.last, f"1 in {int(digits)}", "spoken_ratio")
    return None


def _read_halves(t: Tokens, i: int) -> Reading | None:
    """ "Fifty fifty", "a sixty forty mix"."""
    if t.kinds[i] not in ("Y", "T") or not t.joined_kind(i + 1, "YT") or t.value(i) + t.value(i + 1) != 100:
        return None
    if t.joined_kind(i + 2, "D") or (t.value(i) != 50 and not t.near_after(i + 2, t.vocabulary.lists.mixtures, 2)):
        return None
    return Reading(i, i + 2, f"{t.value(i)}:{t.value(i + 1)}", "spoken_ratio")


def _read_mixture(t: Tokens, i: int) -> Reading | None:
    """ "A one to one mixture", "a ratio of two to one"."""
    if t.kinds[i] not in ("D", "T") or not t.joined_word(i + 1, ("to",)) or not t.joined_kind(i + 2, "DT"):
        return None
    mixtures = t.vocabulary.lists.mixtures
    if not (t.joined_word(i + 3, mixtures) or (t.words[i - 1] == "of" and t.words[i - 2] in mixtures)):
        return None
    return Reading(i, i + 3, f"{t.value(i)}:{t.value(i + 2)}", "spoken_ratio")


def read_range_of_hundreds(t: Tokens, i: int) -> Reading | None:
    """ "Three to four hundred" is 300 to 400: the scale said once holds for both."""
    if t.kinds[i] not in ("D", "T", "Y") or not t.joined_word(i + 1, ("to", "or")) or not t.joined_kind(i + 2, "DTY"):
        return None
    first, second = read_small(t, i), read_small(t, i + 2)
    if first is None or second is None or first.last != i + 1 or int(first.text) >= int(second.text):
        return None
    if not t.joined_kind(second.last, "S") or (t.kinds[second.last + 1] and t.joined(second.last + 1)):
        return None
    scale = t.value(second.last)
    text = f"{int(first.text) * scale} {t.words[i + 1]} {int(second.text) * scale}"
    return Reading(i, second.last + 1, text, "spoken_number")


def read_factors(t: Tokens, i: int, first: Number) -> Reading | None:
    """ "Six by four", "five point five by six"; "one by one" is a way of going on."""
    at = first.last
    if not t.joined_word(at, ("by",)) or not t.joined(at + 1) or t.kinds[at + 1] == "":
        return None
    second = read_number(t, at + 1)
    if second is None or (t.words[at + 1] == "one" and second.last == at + 2 and t.unit_at(second.last) is None):
        return None
    return Reading(i, second.last, f"{first.text} x {second.text}", "spoken_size", first.score or second.score)
