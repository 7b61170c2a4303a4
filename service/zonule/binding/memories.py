"""The memory of the machine that was on for a setting."""

from zonule.annotation.mentions import Mention
from zonule.binding.pedal import MEMORY, POSITION, count_of, numbered
from zonule.binding.pedal_shared import WHOLE
from zonule.binding.reading import Reading
from zonule.binding.settings_phases import GLOBAL, PHASE_REACH, Phases
from zonule.binding.settings_runs import Pair

BESIDE = 5
WITH = frozenset({",", "foot", "position", "fp", "pedal", "in", "on", "and", "memory", "mem"})
"""Words between a memory and the foot position that was told with it."""
NEAR_LIST = 6
BEHIND = 16
BEHIND_ALL = 28
"""Words behind a setting within which its memory is told, and the one that is said to hold for all of a list."""
FAR_ALL = 11
"""Words between a list and the memory that is said to hold for all of it."""
NEAR = 3
"""Words between a memory and the phase that it is told for."""


def memory_of(reading: Reading, phases: Phases, pair: Pair) -> int | None:
    """The machine memory that holds for a setting: said in this stretch of talk, or right behind its list."""
    if phases.throughout(pair):
        return None
    behind = _memory_behind(reading, phases, pair)
    if behind is not None:
        return behind
    memory = _memory_before(reading, phases, pair)
    return count_of(memory) if memory is not None else None


def carried_position(reading: Reading, phases: Phases, pair: Pair) -> int | None:
    """The foot position that was told with a memory of an earlier sentence, and goes on with it."""
    memory = None if phases.throughout(pair) else _memory_before(reading, phases, pair)
    if memory is None or memory.start >= reading.sentence(pair.start)[0]:
        return None
    beside = [
        m
        for m in numbered(reading, memory.start - BESIDE, memory.end + BESIDE, POSITION)
        if WITH.issuperset(reading.gap(min(m.end, memory.end), max(m.start, memory.start)))
    ]
    return count_of(beside[0]) if beside else None


def _memory_before(reading: Reading, phases: Phases, pair: Pair) -> Mention | None:
    first, _ = reading.sentence(pair.start)
    for mention in reversed(_memories(reading, max(0, pair.start - PHASE_REACH), pair.start)):
        if mention.start < first and not _same_talk(reading, phases, mention, first, pair):
            return None
        return None if _ends(reading, phases, mention, pair) else mention
    return None


def _same_talk(reading: Reading, phases: Phases, memory: Mention, first: int, pair: Pair) -> bool:
    """Whether the talk of settings went on from the sentence that told the memory, with no phase told here."""
    start, _ = reading.sentence(first - 1)
    while start > memory.start:
        if not phases.within(start, first) or pair.parameter.mention.id in GLOBAL - phases.varied:
            return False
        start, first = reading.sentence(start - 1)[0], start
    return not phases.between(reading.sentence(pair.start)[0], pair.start)


def _ends(reading: Reading, phases: Phases, memory: Mention, pair: Pair) -> bool:
    """Whether a memory holds no longer: a further phase was told behind it, or it closed the list before it."""
    told = phases.between(memory.end, pair.start)
    if not told:
        return False
    near = memory.end + NEAR
    for position in numbered(reading, memory.end, told[0].start, POSITION):
        near = max(near, position.end + NEAR)
    return not (near >= told[0].start and len(told) == 1 and not _closes(reading, phases, memory))


def _closes(reading: Reading, phases: Phases, memory: Mention) -> bool:
    """Whether a memory stands behind the settings it holds for ("vacuum 400 flow 32 memory 3")."""
    told = phases.within(max(0, memory.start - 16), memory.start)
    if not told:
        return False
    gap = reading.gap(told[-1].end, memory.start)
    if _leads(reading, phases, memory, told[0].start):
        return False
    if reading.words[memory.end : memory.end + 1] in ((";",), (".",)) and gap[:1] == (",",):
        gap = gap[1:]
    if not WHOLE.isdisjoint(gap):
        return len(gap) <= FAR_ALL and not {".", ";", ":", "then", "\n"} & set(gap)
    return len(gap) <= 7 and not {".", ";", ":", "then", "\n", ","} & set(gap)


def _leads(reading: Reading, phases: Phases, memory: Mention, first: int) -> bool:
    """Whether a memory opens what comes: the list before has one in front, and a phase follows this one at once."""
    earlier = [m for m in _memories(reading, max(0, first - NEAR_LIST), memory.start) if m.start < memory.start]
    return bool(earlier) and earlier[0].start < first + 1 and bool(phases.between(memory.end, memory.end + NEAR))


def _memory_behind(reading: Reading, phases: Phases, pair: Pair) -> int | None:
    _, last = reading.sentence(pair.start)
    own = [m for m in _memories(reading, pair.end, min(last, pair.end + BEHIND_ALL)) if _closes(reading, phases, m)]
    own = [m for m in own if m.start < pair.end + BEHIND or not WHOLE.isdisjoint(reading.gap(pair.end, m.start))]
    if not own or phases.between(pair.end, own[0].start):
        return None
    others = phases.within(pair.end, own[0].start)
    gap = reading.gap(pair.end, own[0].start)
    both = "both" in gap and len(others) == 1
    return count_of(own[0]) if not others or both or not WHOLE.isdisjoint(gap) else None


def _memories(reading: Reading, start: int, end: int) -> list[Mention]:
    return list(numbered(reading, start, end, MEMORY))
