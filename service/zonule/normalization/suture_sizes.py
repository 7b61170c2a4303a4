"""Sizes of suture material as spoken: "ten oh nylon", "nine zero", "10 o".

Sizes are those of the United States Pharmacopeia: a number and a zero, 11-0 the finest.
"""

from zonule.normalization.number_tokens import Reading, Tokens

FINEST = 12
REACH = 5
"""Words within which a material or "suture" tells a size from other numbers."""


def is_suture_size(t: Tokens, i: int) -> bool:
    """Whether the words at `i` and `i + 1` are a suture size."""
    if t.kinds[i] not in ("D", "T", "N") or not t.joined(i + 1):
        return False
    if (
        not (t.kinds[i + 1] == "Z" or t.words[i + 1] == "0")
        or t.joined_kind(i + 2, "ZDTYSN")
        or t.words[i + 1] == "nil"
    ):
        return False
    if (t.kinds[i] == "N" and not t.words[i].isdigit()) or not 1 <= t.value(i) <= FINEST:
        return False
    if t.words[i + 2] in t.vocabulary.lists.point or t.words[i + 2] in t.vocabulary.dates.clock:
        return False
    if t.kinds[i] == "T" and t.kinds[i + 1] == "Z" and t.unit_at(i + 2) is None:
        return True
    words = t.vocabulary.lists.sutures
    return t.near_after(i + 2, words, REACH) or (t.near_before(i, words, 3) and t.unit_at(i + 2) is None)


def read_suture_size(t: Tokens, i: int) -> Reading | None:
    """The suture size that starts with the word at `i`: "ten oh" is 10-0."""
    if not is_suture_size(t, i):
        return None
    return Reading(i, i + 2, f"{t.value(i)}-0", "spoken_suture_size")
