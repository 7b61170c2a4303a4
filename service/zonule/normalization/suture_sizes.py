"""Sizes of suture material as spoken: "ten oh nylon", "nine zero", "10 o".

Sizes are those of the United States Pharmacopeia: a number and a zero, 11-0 the finest.
"""

from zonule.normalization.number_tokens import Reading, Tokens

FINEST = 12
REACH = 5
"""Words within which a material or "suture" tells a size from other numbers."""


def is_suture_size(t: Tokens, i: int) -> bool:
    """Whether a suture size starts with the word at `i`."""
    return _is_typed(t, i) or (t.kinds[i] in ("D", "T", "N") and t.joined(i + 1) and _end(t, i) > 0)


def _is_typed(t: Tokens, i: int) -> bool:
    """ "10/0"."""
    return t.kinds[i] == "N" and t.gap(i + 1) == "/" and t.words[i + 1] == "0" and 1 <= t.value(i) <= FINEST


def _end(t: Tokens, i: int) -> int:
    """The word behind the size that starts at `i`, 0 if none does; a dash or slash between may be spoken."""
    if (t.kinds[i] == "N" and not t.words[i].isdigit()) or not 1 <= t.value(i) <= FINEST:
        return 0
    marked = t.words[i + 1] in t.vocabulary.numbers.marks and t.joined(i + 2)
    zero = i + 1 + marked
    if (
        not (t.kinds[zero] == "Z" or t.words[zero] == "0")
        or t.joined_kind(zero + 1, "ZDTYSN")
        or t.words[zero] == "nil"
    ):
        return 0
    if t.words[zero + 1] in t.vocabulary.lists.point or t.words[zero + 1] in t.vocabulary.dates.clock:
        return 0
    if t.kinds[i] == "T" and t.kinds[zero] == "Z" and not marked and t.unit_at(zero + 1) is None:
        return zero + 1
    words = t.vocabulary.lists.sutures
    named = t.near_after(zero + 1, words, REACH) or (
        not marked and t.near_before(i, words, 3) and t.unit_at(zero + 1) is None
    )
    return zero + 1 if named else 0


def read_suture_size(t: Tokens, i: int) -> Reading | None:
    """The suture size that starts with the word at `i`: "ten oh" is 10-0, and so are "ten dash oh" and "10/0"."""
    if _is_typed(t, i):
        return Reading(i, i + 2, f"{t.value(i)}-0", "spoken_suture_size")
    if not is_suture_size(t, i):
        return None
    return Reading(i, _end(t, i), f"{t.value(i)}-0", "spoken_suture_size")
