"""Settings that held for the whole operation and so belong to no phase of it."""

from zonule.binding.reading import Reading
from zonule.binding.settings_marks import Phase
from zonule.binding.settings_runs import Pair

ALWAYS = frozenset({"throughout", "constant", "constantly"})
WHOLE = frozenset({"whole", "entire"})
OF_WHAT = frozenset(
    {
        "case", "procedure", "operation", "thing", "way", "time", "of", "lot", "phaco", "phacoemulsification",
        "surgery", "session", "job", "run", "duration", "course", ".", ";", ",", "\n", ")", "but", "and",
    }
)  # fmt: skip
"""Words behind "the whole" that make it the operation; "the whole nucleus" is no length of time."""
PHRASES = (
    ("t", "/", "o"),
    ("the", "way", "through"), ("all", "the", "way"), ("all", "the", "time"), ("all", "through"),
    ("start", "to", "finish"), ("for", "everything"), ("for", "all", "of", "it"), ("all", "phases"), ("all", "modes"),
    ("all", "stages"), ("every", "phase"), ("every", "mode"),
    ("start", "to", "end"), ("beginning", "to", "end"), ("from", "start", "to"), ("from", "the", "start", "to"),
    ("from", "the", "beginning", "to", "the", "end"), ("beginning", "to", "the", "end"), ("start", "to", "the", "end"),
    ("from", "beginning", "to"), ("for", "the", "duration"),
    ("at", "all", "times"), ("from", "first", "to", "last"),
)  # fmt: skip
BEGINNING = frozenset(phrase[0] for phrase in PHRASES)
TIES = frozenset({"of", "the", "my", "our"})
BEHIND = 5
BEFORE = 6
"""Words within which the wording stands behind a setting, or before it."""


def holds_throughout(reading: Reading, pair: Pair, phases: list[Phase]) -> bool:
    """ "Throughout", "the whole case", said of this setting; `phases` are those told near it."""
    first, last = reading.sentence(max(0, pair.end - 1))
    for i in range(pair.end, min(last, pair.end + BEHIND)):
        if any(a.mention.kind in ("parameter", "quantity") for a in reading.between(i, i + 1)):
            break
        if says_whole(reading, i):
            return not _of_phase(reading, i, phases)
    return _led(reading, pair, first, phases)


def _led(reading: Reading, pair: Pair, first: int, phases: list[Phase]) -> bool:
    """ "Throughout, the bottle was at 90", "for the whole case bottle 90 vacuum 250"."""
    start = _row_start(reading, pair.start, first)
    for i in range(start - 1, max(first, start - BEFORE) - 1, -1):
        if any(a.mention.kind in ("parameter", "quantity") for a in reading.between(i, i + 1)):
            return False
        if says_whole(reading, i):
            claimed = any(a.mention.kind == "quantity" for a in reading.between(max(first, i - 4), i))
            return not claimed and not any(i < p.start < pair.start for p in phases)
    return False


def _row_start(reading: Reading, start: int, first: int) -> int:
    """Where a row of settings begins that nothing else stands in."""
    at = start
    while at > first:
        ends = (
            a.mention.start
            for a in reading.between(max(first, at - BEFORE), at)
            if a.mention.kind in ("parameter", "quantity") and a.mention.end == at
        )
        at_before = next(ends, at)
        if at_before == at:
            return at
        at = at_before
    return at


def says_whole(reading: Reading, i: int) -> bool:
    """Whether the words from `i` on say that something held all the time."""
    words = reading.words
    if words[i] in ALWAYS:
        return True
    if words[i] in WHOLE:
        return i + 1 >= len(words) or words[i + 1] in OF_WHAT
    return words[i] in BEGINNING and any(words[i : i + len(phrase)] == phrase for phrase in PHRASES)


def _of_phase(reading: Reading, i: int, phases: list[Phase]) -> bool:
    """ "Throughout the chop": for the whole of one phase, where no further setting makes the phase its own."""
    words = reading.words
    if words[i] not in ALWAYS and words[i : i + 2] not in (("whole", "of"), ("entire", "of")):
        return False
    for phase in phases:
        if phase.start > i and phase.named and TIES.issuperset(words[i + 1 : phase.start]):
            after = reading.between(phase.end, phase.end + 4)
            closed = words[phase.end : phase.end + 1] in ((",",), (".",), (";",), ("\n",))
            return closed or not any(a.mention.kind in ("parameter", "quantity") for a in after)
    return False
