"""The foot pedal and the memories of the machine: the numbers that count them, and which hold for a setting."""

from collections.abc import Iterator

from zonule.annotation.mentions import Mention
from zonule.annotation.quantities import Quantity
from zonule.binding.reading import Reading
from zonule.binding.settings_runs import Pair

LONG_SENTENCE = 45
REACH = 45
"""Words before a setting within which a position at the head of its phrase is looked for."""
BORDERS = frozenset({",", ".", ";", "and", "then"})
"""Words behind which a foot position speaks of what follows."""
ENDING = frozenset({"viscoelastic", "drug", "complication", "suture_material", "lens_location", "implant"})
"""Kinds that tell of something else than settings, behind which a position no longer heads a phrase."""
POSITION = frozenset({"position", "fp", "pedal"})
COUNTING = frozenset({"in", "at", "number", "no"})
MEMORY = frozenset({"memory", "mem", "program", "programme"})


def numbered(reading: Reading, start: int, end: int, names: frozenset[str]) -> Iterator[Mention]:
    """The numbers between two words that count a foot position or a memory, "FP3" and "pedal in three" too."""
    for i in range(max(0, start), min(end, len(reading.words))):
        if not reading.words[i].isdigit() or not _named_before(reading, i, names):
            continue
        held = [a.mention for a in reading.between(i, i + 1) if a.mention.kind == "quantity"]
        count = Quantity(0, 0, "number", float(reading.words[i]))
        yield held[0] if held else Mention(i, i + 1, "quantity", "number", quantity=count)


def _named_before(reading: Reading, start: int, names: frozenset[str]) -> bool:
    """Whether a name stands right before a word, or before "in", "at", "number" and it."""
    before = reading.words[max(0, start - 2) : start]
    return bool(before) and (before[-1] in names or (len(before) > 1 and before[-1] in COUNTING and before[0] in names))


def names_position(reading: Reading, value: Mention) -> bool:
    """A number that counts a foot position or a memory is no setting; nor is one behind a spelled letter."""
    before = reading.words[max(0, value.start - 1) : value.start]
    if not before or not (_named_before(reading, value.start, POSITION | MEMORY) or _is_letter(before[0])):
        return False
    spelled = reading.between(value.start - 4, value.start)
    return not any(a.mention.kind == "parameter" and a.mention.end == value.start for a in spelled)


def _is_letter(word: str) -> bool:
    return len(word) == 1 and word.isalpha() and word not in ("a", "i")


def count_of(mention: Mention) -> int | None:
    """The number that a quantity counts with."""
    quantity = mention.quantity
    return int(quantity.value) if quantity is not None and isinstance(quantity.value, float | int) else None


def foot_position(reading: Reading, pair: Pair) -> int | None:
    """The foot position said with this number or at the head of its phrase."""
    value = pair.value.mention
    behind = _position_behind(reading, value, pair.end)
    if behind is not None:
        return behind
    headed = _head_position(reading, pair.start)
    if headed is not None:
        return headed
    before = list(numbered(reading, max(0, pair.start - 4), pair.start, POSITION))
    if not before or set(reading.gap(before[-1].end, pair.start)) & set(".;"):
        return None
    earlier = [
        a.mention for a in reading.between(before[-1].start - 7, before[-1].start) if a.mention.kind == "quantity"
    ]
    claimed = bool(earlier) and not BORDERS & set(reading.gap(earlier[-1].end, before[-1].start))
    return None if claimed else count_of(before[-1])


def _position_behind(reading: Reading, value: Mention, end: int) -> int | None:
    """ "380 in foot position 2", "400 and 32, both in foot position 2"."""
    ahead = list(numbered(reading, value.end, end + 6, POSITION))
    later = [a.mention for a in reading.between(value.end, end + 6) if a.mention.kind == "quantity"]
    if (
        ahead
        and (not later or later[0].start >= ahead[0].start)
        and not BORDERS & set(reading.gap(value.end, ahead[0].start))
    ):
        return count_of(ahead[0])
    if "both" in reading.gap(value.end, value.end + 7):
        both = list(numbered(reading, value.end, value.end + 12, POSITION))
        return count_of(both[0]) if both else None
    return None


def _head_position(reading: Reading, start: int) -> int | None:
    """The position at the head of a phrase holds for all settings of it.

    "Chop, foot position 3: vacuum 320, flow 30"; or before its phase, where no other phase could claim it ("foot
    position 3, memory 1, sculpt: vacuum 40").
    """
    first, last = reading.sentence(start)
    reach = first if last - first <= 2 * LONG_SENTENCE else max(first, start - REACH)
    positions = list(numbered(reading, reach, start, POSITION))
    if not positions:
        return None
    last_told = positions[-1]
    earlier = reading.between(max(reach, last_told.start - 8), last_told.start)
    if any(a.mention.kind == "quantity" and not names_position(reading, a.mention) for a in earlier):
        return None
    led = sorted({a.mention.start for a in reading.between(last_told.end, start) if a.mention.kind == "phase"})
    if led and (len(led) > 1 or any(a.mention.kind == "phase" for a in earlier)):
        return None
    if any(a.mention.kind in ENDING for a in reading.between(last_told.end, start)):
        return None
    return None if led and _sets_between(reading, last_told.end, led[0]) else count_of(last_told)


def _sets_between(reading: Reading, start: int, end: int) -> bool:
    """Whether a number that is a setting's stands between two words."""
    inside = [a.mention for a in reading.between(start, end) if a.mention.kind == "quantity"]
    return any(not names_position(reading, m) for m in inside)
