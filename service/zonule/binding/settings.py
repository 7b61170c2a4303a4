"""Machine settings: each number to its parameter, phase, foot position and memory; and the ultrasound totals."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from zonule.annotation.mentions import Mention
from zonule.assertion import Asserted
from zonule.binding.found import Found, found
from zonule.binding.reading import PUNCTUATION, Reading, around
from zonule.binding.sections import Section
from zonule.record.operation_record import Setting
from zonule.vocabulary import Limit

TOTALS = frozenset({"cumulative_dissipated_energy", "phaco_time_s", "average_power_pct", "effective_phaco_time_s"})
REACH = 9
"""Words between a parameter and its number."""
MAXIMUM = frozenset({"maximum", "max", "limit", "limited", "ceiling", "capped", "cap", "most"})
"""Words before a parameter or between it and its number that make the number an upper limit."""
PHASE_REACH = 40
"""Words over which a phase holds on when no other step intervenes."""
LONG_SENTENCE = 45
WHOLE = frozenset({"throughout", "whole", "entire", "constant", "constantly"})
GLOBAL = frozenset({"bottle_height_cm", "infusion_pressure_mmhg"})
"""Parameters usually set once for the whole operation: a phase told before does not hold on for them."""
INTRODUCES = frozenset({"for", "during", "in", "on", "through", "while", "the", "with", "when"})
UNIT_OF = {"rate_cpm": "cut_rate_cpm", "rate_pps": "pulse_rate_pps"}
FIT_UNIT = {"length_cm": "height_cm", "pressure_cmh2o": "height_cm"}
"""A bottle height may be given in centimeters or centimeters of water."""


def bind_settings(reading: Reading, sections: list[Section]) -> Iterator[Found]:
    """Settings and totals; a number that fits no parameter nearby binds to none."""
    del sections
    parameters = [p for p in reading.of("parameter") if not _has_diopters(reading, p.mention)]
    taken: set[int] = set()
    for value in reading.of("quantity"):
        quantity = value.mention.quantity
        if quantity is None or not isinstance(quantity.value, float | int) or _names_position(reading, value.mention):
            continue
        parameter = _parameter_of(reading, value, parameters)
        if parameter is None:
            yield from _by_unit(reading, value)
            continue
        taken.add(value.mention.start)
        if parameter.mention.id in TOTALS:
            yield found(f"ultrasound.{parameter.mention.id}", float(quantity.value), value, parameter)
        else:
            yield found("settings", _setting(reading, value.mention, parameter.mention), value, parameter)


def _by_unit(reading: Reading, value: Asserted) -> Iterator[Found]:
    """A unit that only one parameter has names it ("4000 cuts per minute")."""
    term = reading.lexicon.by_key.get(("parameter", UNIT_OF.get(value.mention.id, "")))
    if term is not None:
        named = replace(value.mention, kind="parameter", id=term.id, term=term)
        yield found("settings", _setting(reading, value.mention, named), value)


def _accepts(reading: Reading, parameter: Mention, value: Mention) -> bool:
    if parameter.id == "ultrasound_power_pct" and value.id == "number" and _lens_power(reading, parameter):
        return False
    classes = parameter.term.classes if parameter.term is not None else ()
    possible = parameter.term.possible if parameter.term is not None else None
    if value.id == "number" and possible is not None and _beyond(value, possible.high):
        return False
    return value.id in classes or (FIT_UNIT.get(value.id) in classes) or (value.id == "number" and bool(classes))


def _beyond(value: Mention, high: float) -> bool:
    """A bare number far beyond what a machine can do is a serial or a date, not a setting."""
    amount = value.quantity.value if value.quantity is not None else 0
    return isinstance(amount, float | int) and amount > 10 * high


def _lens_power(reading: Reading, power: Mention) -> bool:
    """Whether "power" speaks of a lens: one is named nearby, and no other machine setting."""
    around = reading.between(max(0, power.start - 9), power.end + 9)
    other = any(a.mention.kind in ("parameter", "phase") and a.mention.start != power.start for a in around)
    return not other and any(a.mention.id == "lens" or a.mention.kind in ("lens_type", "lens_location") for a in around)


def _parameter_of(reading: Reading, value: Asserted, parameters: Sequence[Asserted]) -> Asserted | None:
    mention = value.mention
    fitting = [p for p in around(parameters, mention.start) if _accepts(reading, p.mention, mention)]
    before = [p for p in fitting if p.mention.end <= mention.start and _joined(reading, p.mention, mention)]
    after = [p for p in fitting if p.mention.start >= mention.end and _joined(reading, mention, p.mention)]
    left = before[-1] if before else None
    right = after[0] if after else None
    if left is None or right is None:
        return left or right if left is not None or right is None or _close(mention, right.mention) else None
    if _number_first(reading, mention, right.mention) and not _claimed(reading, mention, left.mention):
        return right
    return right if _leads_with_number(reading, left.mention, mention, right.mention) else left


def _has_diopters(reading: Reading, parameter: Mention) -> bool:
    """ "Power 20 diopters" is a lens's."""
    if parameter.id != "ultrasound_power_pct":
        return False
    following = [a.mention for a in reading.between(parameter.end, parameter.end + 4) if a.mention.kind == "quantity"]
    return bool(following) and following[0].id == "diopter"


def _close(value: Mention, parameter: Mention) -> bool:
    return parameter.start - value.end <= 4


def _joined(reading: Reading, first: Mention, second: Mention) -> bool:
    """Whether two mentions stand close enough, with no end of sentence and no step between."""
    gap = reading.gap(first.end, second.start)
    if len(gap) > REACH + 6 or any(word in ".;\n" for word in gap):
        return False
    numbers = sum(
        a.mention.kind == "quantity" and a.mention.id != "clock_hour" for a in reading.between(first.end, second.start)
    )
    others = sum(a.mention.kind == "parameter" for a in reading.between(first.end, second.start))
    return others == 0 and len(gap) - numbers <= REACH


def _number_first(reading: Reading, value: Mention, right: Mention) -> bool:
    """ "350 vacuum", "30 of flow": the number directly in front."""
    gap = reading.gap(value.end, right.start)
    return gap in ((), ("of",), ("for", "the"), ("on", "the"))


def _claimed(reading: Reading, value: Mention, left: Mention) -> bool:
    """ "vacuum 350", "vacuum of 350", "vacuum at 350": the parameter directly before claims the number."""
    gap = reading.gap(left.end, value.start)
    return len(gap) <= 2 and not any(word in PUNCTUATION or word == "and" for word in gap)


def _leads_with_number(reading: Reading, left: Mention, value: Mention, right: Mention) -> bool:
    """In a run that began with a number ("350 vacuum 30 flow"), numbers stand before their parameters."""
    if _claimed(reading, value, left) and not _number_first(reading, value, right):
        return False
    inside = [
        a
        for a in reading.between(max(0, left.start - 4), left.start)
        if a.mention.kind == "quantity"
        and not _names_position(reading, a.mention)
        and _accepts(reading, left, a.mention)
    ]
    leading = bool(inside) and _number_first(reading, inside[-1].mention, left)
    if leading:
        before_that = [
            a
            for a in reading.between(max(0, inside[-1].mention.start - 4), inside[-1].mention.start)
            if a.mention.kind == "parameter"
        ]
        if before_that and _claimed(reading, inside[-1].mention, before_that[-1].mention):
            return False
    return leading and _number_first(reading, value, right)


def _setting(reading: Reading, value: Mention, parameter: Mention) -> Setting:
    quantity = value.quantity
    assert quantity is not None
    limit = {"maximum": Limit.MAXIMUM, "range": Limit.RANGE}.get(quantity.limit, Limit.FIXED)
    if limit is Limit.FIXED and _capped(reading, value, parameter):
        limit = Limit.MAXIMUM
    ranged = limit is Limit.RANGE
    return Setting(
        phase=_phase(reading, value, parameter),
        parameter=parameter.id,
        limit=limit,
        value=None if ranged else float(quantity.value),
        low=quantity.low if ranged else None,
        high=quantity.high if ranged else None,
        foot_position=_numbered(reading, value, parameter, "position"),
        memory=_numbered(reading, value, parameter, "memory"),
    )


def _capped(reading: Reading, value: Mention, parameter: Mention) -> bool:
    first, second = (parameter, value) if parameter.start < value.start else (value, parameter)
    around = reading.words[max(0, first.start - 1) : first.start] + reading.gap(first.end, second.start)
    own = reading.words[parameter.start : parameter.end]
    behind = reading.words[second.end : second.end + 1]
    return bool(MAXIMUM & {*around, *own, *behind} - {"most"})


def _phase(reading: Reading, value: Mention, parameter: Mention) -> str | None:
    """The phase named right behind ("for the quadrants"), else the last one before in this stretch of talk."""
    end = max(value.end, parameter.end)
    if _throughout(reading, end):
        return None
    first, last = reading.sentence(value.start)
    short = last - first <= LONG_SENTENCE
    if short:
        named = {a.mention.id for a in reading.between(first, last) if a.mention.kind == "phase"}
        if len(named) == 1:
            return named.pop()
    for asserted in reading.between(end, end + 4):
        gap = reading.gap(end, asserted.mention.start)
        if asserted.mention.kind == "phase" and gap and set(gap) <= INTRODUCES and gap[0] != "the":
            if _heads_next(reading, asserted.mention):
                break
            return asserted.mention.id
        if asserted.mention.kind in ("parameter", "quantity"):
            break
    start = value.start if parameter.start < value.start else parameter.start
    reach = max(first, start - PHASE_REACH)
    if short and parameter.id not in GLOBAL and _goes_on(reading, first):
        reach = max(0, start - PHASE_REACH)
    for asserted in reversed(reading.between(reach, start)):
        mention = asserted.mention
        if mention.kind == "phase":
            return mention.id
        if mention.kind in ("step", "lens_location", "anesthesia") and not _has_phase_sense(reading, mention):
            return None
    return None


def _heads_next(reading: Reading, phase: Mention) -> bool:
    """Whether a phase opens the settings behind it ("for quadrant removal the vacuum was 350") in raw text."""
    first, last = reading.sentence(phase.start)
    if last - first <= LONG_SENTENCE:
        return False
    return any(a.mention.kind == "parameter" for a in reading.between(phase.end, phase.end + 3))


def _throughout(reading: Reading, end: int) -> bool:
    """ "Throughout", "the whole case": the setting belongs to no phase."""
    _, last = reading.sentence(max(0, end - 1))
    near = reading.words[end : min(last, end + 5)]
    for i, word in enumerate(near):
        if any(a.mention.kind in ("parameter", "quantity") for a in reading.between(end + i, end + i + 1)):
            return False
        if word in WHOLE:
            return True
    return False


def _goes_on(reading: Reading, first: int) -> bool:
    """Whether the sentence before told settings too, so that its phase holds on."""
    if first == 0:
        return False
    before, end = reading.sentence(first - 1)
    inside = reading.between(before, end)
    return any(a.mention.kind == "phase" for a in inside) and any(
        a.mention.kind == "parameter" and a.mention.id not in TOTALS for a in inside
    )


def _has_phase_sense(reading: Reading, mention: Mention) -> bool:
    return any(a.mention.kind == "phase" for a in reading.between(mention.start, mention.end))


def _names_position(reading: Reading, value: Mention) -> bool:
    """A number that counts a foot position or a memory is no setting."""
    before = reading.words[max(0, value.start - 1) : value.start]
    return bool(before) and (before[0] in ("position", "memory", "mem", "fp", "pedal") or _is_letter(before[0]))


def _is_letter(word: str) -> bool:
    return len(word) == 1 and word.isalpha() and word not in ("a", "i")


def _numbered(reading: Reading, value: Mention, parameter: Mention, what: str) -> int | None:
    """The foot position said with this number or at the head of its phrase; the memory that holds for this stretch."""
    names = ("position", "fp") if what == "position" else ("memory", "mem")
    if what == "memory" and _throughout(reading, max(value.end, parameter.end)):
        return None
    if what == "position":
        end = max(value.end, parameter.end)
        start = min(value.start, parameter.start)
        ahead = [a.mention for a in reading.between(value.end, end + 6) if _is_numbered(reading, a.mention, names)]
        later = [a.mention for a in reading.between(value.end, end + 6) if a.mention.kind == "quantity"]
        if ahead and later and later[0] is ahead[0] and not set(reading.gap(value.end, ahead[0].start)) & set(",.;"):
            return _count(ahead[0])
        if "both" in reading.gap(value.end, value.end + 7):
            both = [
                a.mention for a in reading.between(value.end, value.end + 12) if _is_numbered(reading, a.mention, names)
            ]
            if both:
                return _count(both[0])
        headed = _head_position(reading, start, names)
        if headed is not None:
            return headed
        before = [
            a.mention for a in reading.between(max(0, start - 4), start) if _is_numbered(reading, a.mention, names)
        ]
        gap = reading.gap(before[-1].end, start) if before else ()
        claimed = bool(before) and any(
            a.mention.kind == "quantity" for a in reading.between(before[-1].start - 7, before[-1].start)
        )
        return _count(before[-1]) if before and not set(gap) & set(".;") and not claimed else None
    first, last = reading.sentence(value.start)
    reach = first if last - first <= 2 * LONG_SENTENCE else max(first, value.start - PHASE_REACH)
    for asserted in reversed(reading.between(reach, value.start)):
        if what == "memory" and asserted.mention.kind == "phase" and _new_phase(reading, asserted.mention, value):
            return _memory_before(reading, asserted.mention, names)
        if _is_numbered(reading, asserted.mention, names):
            return _count(asserted.mention)
    end = max(value.end, parameter.end)
    for asserted in reading.between(end, end + 4):
        if _is_numbered(reading, asserted.mention, names):
            return _count(asserted.mention)
    return None


def _memory_before(reading: Reading, phase: Mention, names: tuple[str, ...]) -> int | None:
    """ "Memory 1, sculpt: …": the memory said right before its phase."""
    for asserted in reading.between(max(0, phase.start - 4), phase.start):
        if _is_numbered(reading, asserted.mention, names):
            return _count(asserted.mention)
    return None


def _head_position(reading: Reading, start: int, names: tuple[str, ...]) -> int | None:
    """ "Chop, foot position 3: vacuum 320, flow 30": a position before the first setting holds for all."""
    first, last = reading.sentence(start)
    reach = first if last - first <= 2 * LONG_SENTENCE else max(first, start - PHASE_REACH)
    for asserted in reversed(reading.between(reach, start)):
        mention = asserted.mention
        if _is_numbered(reading, mention, names):
            earlier = reading.between(max(reach, mention.start - 8), mention.start)
            told = any(a.mention.kind == "quantity" and not _names_position(reading, a.mention) for a in earlier)
            return None if told else _count(mention)
        if mention.kind == "phase":
            return None
    return None


def _new_phase(reading: Reading, phase: Mention, value: Mention) -> bool:
    """Whether a phase opens behind the memory, so that the memory no longer holds."""
    return not any(
        _is_numbered(reading, a.mention, ("memory", "mem"))
        for a in reading.between(phase.end, min(value.start, phase.end + 8))
    )


def _is_numbered(reading: Reading, mention: Mention, names: tuple[str, ...]) -> bool:
    before = reading.words[max(0, mention.start - 1) : mention.start]
    return mention.kind == "quantity" and bool(before) and before[0] in names


def _count(mention: Mention) -> int | None:
    quantity = mention.quantity
    return int(quantity.value) if quantity is not None and isinstance(quantity.value, float | int) else None
