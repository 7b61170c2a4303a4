"""Words → sentences, by punctuation and lines."""

from collections.abc import Sequence
from itertools import pairwise

SHORT_LINE = 55
"""Characters; a line that is shorter ends its sentence, a longer one may be wrapped."""
ITEMS = frozenset({":", "\n", ".", ";"})
"""Marks before the number of an item of a list."""
LONGEST = 800
"""Words; a longer stretch without punctuation is cut, wherever that falls."""
ABBREVIATED = {"dr", "mr", "mrs", "ms", "prof", "no", "vs", "approx", "st"}


def split_sentences(text: str, words: Sequence[str], starts: Sequence[int], labels: frozenset[int]) -> list[int]:
    """The first word of every sentence. `labels` are words that open a line of their own ("Surgeon: …")."""
    firsts = [0]
    line_start = 0
    for i, word in enumerate(words):
        if word == "\n":
            length = starts[i] - line_start
            blank = i + 1 < len(words) and text[starts[i] : starts[i + 1]].count("\n") > 1
            before = words[i - 1] if i else "."
            if before == "," and not blank:
                line_start = starts[i] + 1
                continue
            if blank or length < SHORT_LINE or before in ".:;!?" or i + 1 in labels:
                firsts.append(i + 1)
            line_start = starts[i] + 1
        elif word in ".!?;" and _ends_sentence(text, words, starts, i):
            firsts.append(i + 1)
    return _broken(sorted({f for f in firsts if f < len(words)}), len(words))


def _broken(firsts: list[int], end: int) -> list[int]:
    """No stretch is longer than LONGEST words, so that the time for a text grows with its length and no faster."""
    bounds = [*firsts, end]
    return [at for first, last in pairwise(bounds) for at in range(first, last, LONGEST)]


def _ends_sentence(text: str, words: Sequence[str], starts: Sequence[int], i: int) -> bool:
    if words[i] == ";" and words[i + 1 : i + 2] in (["then"], ["and"], ["or"], ["otherwise"]):
        return False
    if words[i] != ".":
        return True
    if words[i + 1 : i + 2] == ["."] or (words[max(0, i - 1)] == "." and _goes_on(text, starts[i] + 1)):
        return False
    before = words[i - 1] if i else ""
    if before.isdigit() and len(before) <= 2 and (i < 2 or words[i - 2] in ITEMS):
        return False  # "Diagnoses: 1. Cataract. 2. Glaucoma"
    glued = i + 1 < len(words) and starts[i + 1] == starts[i] + 1 and text[starts[i] + 1].isalnum()
    sided = before in ("r", "l") and i > 1 and words[i - 2].isalpha() and text[starts[i - 2]].islower()
    if sided and words[i - 2] not in ABBREVIATED and not glued:
        return True  # "Nuclear cataract R. L phaco 3/12 ago."
    initial = len(before) == 1 and before.isalpha() and text[starts[i] - 1].isupper()
    return not (glued or initial or before in ABBREVIATED)


def _goes_on(text: str, start: int) -> bool:
    """Whether a small letter follows: three dots were a pause ("at 11... wait, at 10")."""
    following = text[start : start + 3].lstrip()
    return bool(following) and following[0].islower()
