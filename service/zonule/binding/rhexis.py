"""The capsulorhexis: its diameter without a unit, and whether it is complete."""

from collections.abc import Iterator, Sequence

from zonule.annotation.mentions import Mention
from zonule.assertion import Asserted
from zonule.binding.found import Found, found
from zonule.binding.reading import Reading
from zonule.vocabulary import Status

WHOLE = frozenset({"compl", "complete", "completed", "intact", "360", "whole"})
PARTIAL = frozenset({"incomplete", "discontinuous"})
DENIED = frozenset({"not", "isn't", "wasn't", "never"}) | PARTIAL
"""Words before "complete" that say it is not."""
ALONE = 3
"""Words of a sentence that says nothing else ("Complete.")."""
LATE = 70
"""Words behind the name of a rhexis within which its size is told."""
TOGETHER = 8
"""Words between its size and "complete"."""
SIZES = (3.5, 8.0)
"""Millimeters; common practice, no source."""
NEXT = frozenset({
    "parameter", "phase", "technique", "lens_field", "lens_type", "implant", "complication", "incision_kind",
    "suture_material",
})  # fmt: skip
SIZED_TOO = frozenset({"thing:wound", "thing:side_port", "thing:pupil", "thing:lens", "thing:iris", "thing:cortex"})
"""Behind these the size of a rhexis is told no more."""
CONDITIONAL = frozenset({"if", "not", "never", "once", "until", "unless", "before", "isn't", "wasn't", "when"})
ENDING = frozenset({",", ".", ";", "and", "then", "across", "wide", "so", "now", "but", "in"})
"""What may stand behind a number that counts nothing."""
ROUND = frozenset({"round", "around"})
ELSEWHERE = frozenset({Status.NOT_DONE, Status.OTHER_EYE, Status.HISTORICAL, Status.PLANNED})
"""A rhexis told so is not the one whose size comes later."""


def bind_complete(reading: Reading) -> Iterator[Found]:
    """A rhexis said to be complete."""
    for head in reading.of("step"):
        if head.mention.id != "capsulorhexis":
            continue
        word = _word_of(reading, head.mention) or _pronoun(reading, head)
        if word is not None:
            said = Mention(word, word + 1, "word", "complete")
            whole = DENIED.isdisjoint(reading.words[max(0, word - 3) : word + 1])
            yield found("capsulorhexis.complete", whole, head, Asserted(said, head.status, head.cue))
            return


def bind_told_late(reading: Reading, told: Sequence[Found]) -> Iterator[Found]:
    """The one size that is told of a rhexis some sentences on, before the next step, where none is beside its name.

    "Lena is doing the rhexis, come around, good, it didn't run out, its 5 millimeters and its complete".
    """
    if any(f.slot == "capsulorhexis.diameter_mm" and f.status is Status.DONE for f in told):
        return
    bound = {m.start for f in told for m in f.mentions}
    for head in reading.of("step"):
        if head.mention.id != "capsulorhexis" or head.status in ELSEWHERE:
            continue
        stop = _next_told(reading, head.mention)
        whole = [i for i in range(head.mention.end, stop) if reading.words[i] in WHOLE and _is_affirmed(reading, i)]
        sizes = [
            (a, amount)
            for a in reading.between(head.mention.end, stop)
            if a.status is Status.DONE and a.mention.start not in bound
            for amount in _sizes(reading, a.mention, whole)
        ]
        if len(sizes) == 1:
            size, amount = sizes[0]
            named = Asserted(head.mention, Status.DONE)
            yield found("capsulorhexis.diameter_mm", amount, size, named)
            yield found("steps", "capsulorhexis", size, named)
            near = [i for i in whole if abs(i - size.mention.start) <= TOGETHER]
            if near:
                said = Mention(near[0], near[0] + 1, "word", "complete")
                yield found("capsulorhexis.complete", True, Asserted(said, Status.DONE), named)
        return


def _next_told(reading: Reading, head: Mention) -> int:
    """Where something else is told than the rhexis."""
    near = reading.between(head.end, head.end + LATE)
    others = (
        a.mention.start
        for a in near
        if (a.mention.kind in NEXT and a.mention.id != "expiry_date")  # "if it runs out on you"
        or a.mention.key in SIZED_TOO
        or (a.mention.kind == "step" and a.mention.id != "capsulorhexis")
    )
    return next(others, min(head.end + LATE, len(reading.words)))


def _is_affirmed(reading: Reading, i: int) -> bool:
    """Whether "complete" tells how it is, and not how it is not or must be."""
    first = max(reading.sentence(i)[0], i - 5)
    start = max((at + 1 for at in range(first, i) if reading.words[at] in ("and", "but", ",")), default=first)
    return CONDITIONAL.isdisjoint(reading.words[start:i])


def _sizes(reading: Reading, value: Mention, whole: Sequence[int]) -> Iterator[float]:
    """A measure that can be the size of a rhexis; a bare number stands beside "complete" and counts nothing."""
    amount = value.quantity.value if value.quantity is not None else None
    if not isinstance(amount, float | int) or not SIZES[0] <= amount <= SIZES[1]:
        return
    closed = value.end == len(reading.words) or reading.words[value.end] in ENDING or value.end in whole
    closed = closed or any(a.mention.kind == "step" for a in reading.between(value.end, value.end + 1))
    beside = any(abs(i - value.start) <= TOGETHER for i in whole)
    if value.id == "length_mm" or (value.id == "number" and beside and closed and amount * 20 % 1 == 0):
        yield amount


def _word_of(reading: Reading, head: Mention) -> int | None:
    """Where the sentence of a rhexis says that it is whole."""
    first, last = reading.sentence(head.start)
    clause = reading.clause(head.start)
    ahead = [i for i in range(head.end, min(last, head.end + 24)) if i not in reading.dead_words]
    stop = next((a.mention.start for a in reading.between(head.end, last) if a.mention.kind == "step"), last)
    behind = range(max(first, clause.start, head.start - 5), head.start)
    near = [*behind, *(i for i in ahead[:14] if i < stop)]
    return next((i for i in near if reading.words[i] in WHOLE | PARTIAL or _all_round(reading, i)), None)


def _all_round(reading: Reading, i: int) -> bool:
    """ "All the way round", "came full circle", "round and closed"."""
    said = reading.words[max(0, i - 2) : i + 1]
    return said == ("all", "the", "way") or said[-2:] == ("full", "circle") or said == ("round", "and", "closed")


def _pronoun(reading: Reading, head: Asserted) -> int | None:
    """ "… the rhexis. It's round, it's complete": told in one of the next sentences by a pronoun, no step between."""
    reach = min(len(reading.words), head.mention.end + 45)
    stop = next(
        (
            a.mention.start
            for a in reading.between(head.mention.end, reach)
            if a.mention.kind == "step" and a.mention.id != "capsulorhexis"
        ),
        reach,
    )
    for i in range(head.mention.end, stop):
        if reading.words[i] in WHOLE - {"360", "intact"}:
            first, last = reading.sentence(i)
            around = set(reading.words[max(first, i - 14) : i])
            spoken = {"it", "it's", "'s"} & around or (last - first <= 8 and ROUND & around) or last - first <= ALONE
            denied = {"not", "never", "if", "once", "until", "when"} & set(reading.words[max(first, i - 5) : i])
            return i if spoken and not denied else None
    return None
