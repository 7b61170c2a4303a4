"""How far a value stands from what it could belong to: words between them, with a toll for what lies there."""

from bisect import bisect_left
from collections.abc import Callable, Iterable

from zonule.annotation.mentions import Mention
from zonule.assertion import Asserted
from zonule.binding.reading import Reading

TOLLS = {",": 2.5, ".": 9.0, ";": 6.0, ":": 1.0, "\n": 4.0, "and": 2.0, "then": 5.0, "but": 4.0, "(": 0.5, ")": 0.5}
ENDS = frozenset({".", ";", "!", "?"})
"""Marks over which a value does not reach forward to a later noun."""
CROSSING = 4.0
"""Toll for another candidate in between: a value belongs to its neighbor."""
BEFORE = 0.6
"""A value right before its noun ("2.2 mm incision") stands closer than one behind it."""
FAR = 16.0


def measure(reading: Reading, heads: Iterable[Asserted]) -> Callable[[Mention, Mention], float]:
    """A distance between a head and a value, with a toll for every other head between them."""
    starts = sorted({h.mention.start for h in heads})
    dead = reading.dead_words

    def distance(head: Mention, value: Mention) -> float:
        first, second = (head, value) if head.start < value.start else (value, head)
        if second.start < first.end:
            return 0.0
        if second.start - first.end > FAR * 2:
            return FAR * 3
        if value.start < head.start and set(reading.gap(first.end, second.start)) & ENDS:
            return FAR * 3
        gap = [reading.words[i] for i in range(first.end, second.start) if i not in dead]
        far = float(len(gap)) + sum(TOLLS.get(word, 0.0) for word in gap)
        far += CROSSING * (bisect_left(starts, second.start) - bisect_left(starts, first.end))
        if value.start < head.start:
            far = far * BEFORE if len(gap) <= 4 else far + 2.0
        elif reading.annotation.clause_of[first.start] != reading.annotation.clause_of[second.start]:
            far += 1.0
        return far

    return distance
