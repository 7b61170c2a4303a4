"""Machine settings: each number to its parameter, phase, foot position and memory; and the ultrasound totals."""

from collections.abc import Iterator
from dataclasses import replace

from zonule.annotation.mentions import Mention
from zonule.assertion import Asserted
from zonule.binding.found import Found, found
from zonule.binding.lens_models import is_signed
from zonule.binding.memories import carried_position, memory_of
from zonule.binding.pedal import foot_position, names_position
from zonule.binding.pedal_shared import shared_positions
from zonule.binding.reading import Reading
from zonule.binding.sections import Section
from zonule.binding.settings_marks import PHASE_OF
from zonule.binding.settings_order import read_order
from zonule.binding.settings_phases import Phases
from zonule.binding.settings_runs import TOTALS, Pair, pair_settings
from zonule.binding.settings_said_anew import corrected, left_unused, told_for_today
from zonule.record.operation_record import Setting
from zonule.vocabulary import Limit, Status

MOVE_REACH = 12
"""Words before "up to 110" within which it is said that it was put there."""
MAXIMUM = frozenset({"maximum", "max", "maxed", "maximal", "limit", "limited", "ceiling", "capped", "cap"})
"""Words before a parameter or between it and its number that make the number an upper limit."""
HIGHEST_INFUSION = 150
"""mmHg; common practice, no source."""
AVERAGE = frozenset({"average", "mean"})
UNIT_OF = {"rate_cpm": "cut_rate_cpm", "rate_pps": "pulse_rate_pps", "flow_ml_min": "aspiration_flow_ml_min"}
"""Units that only one parameter has."""
PHASED_UNITS = frozenset({"flow_ml_min"})
"""Those that say so only in a sentence that tells a phase."""
BOTTLES = "bottles"
"""More than one: the drops that a patient takes."""
EYE_PRESSURE = (("iop",), ("i", "o", "p"))
"""The pressure in the eye is one of the machine only in a list of settings."""
LIST_REACH = 5
TO_PHASE = frozenset({"at", "with", ":", ",", "about", "a", "max", "maximum", "of", "up", "to", "around"})
"""Words between a phase and the percentage of its power."""
CHANGES = frozenset(
    {
        "raised", "lowered", "dropped", "turned", "brought", "reduced", "increased", "decreased", "went", "changed",
        "up", "down", "raising", "lowering", "dropping", "turning", "bringing", "reducing", "increasing", "put",
    }
)  # fmt: skip
"""Words before "from 100 to 75" that make it a change of one value to another, not a range."""


def bind_settings(reading: Reading, sections: list[Section]) -> Iterator[Found]:
    """Settings and totals; a number that fits no parameter nearby binds to none."""
    del sections
    parameters = [_unnegated(reading, p) for p in reading.of("parameter") if _is_parameter(reading, p.mention)]
    values = [_unnegated(reading, v) for v in reading.of("quantity") if _is_value(reading, v.mention)]
    ordered = read_order(reading, parameters, values)
    values = [v for v in values if v.mention.start not in ordered.taken]
    paired = sorted([*pair_settings(reading, parameters, values), *ordered.pairs], key=lambda p: p.value.mention.start)
    paired += told_for_today(reading, paired, values)
    taken = {pair.value.mention.start for pair in paired}
    paired = [pair for pair in paired if not _torn_tail(reading, pair.value.mention)]
    paired = [_averaged(reading, pair) for pair in paired]
    paired = [_counted(pair) for pair in paired]
    paired += [pair for value in values if value.mention.start not in taken for pair in _by_unit(reading, value)]
    settings = [pair for pair in paired if pair.parameter.mention.id not in TOTALS]
    phases = Phases(reading, settings)
    positions = shared_positions(reading, phases, settings)
    for pair, replaced in corrected(reading, phases, settings):
        setting = found("settings", _setting(reading, pair, phases, positions), *_parts(pair))
        unused = replaced is not None or left_unused(reading, pair)
        yield replace(setting, status=Status.NOT_DONE, cue=replaced) if unused else setting
    for pair in paired:
        if pair.parameter.mention.id in TOTALS:
            quantity = pair.value.mention.quantity
            assert quantity is not None
            yield found(f"ultrasound.{pair.parameter.mention.id}", float(quantity.value), pair.value, pair.parameter)


def _unnegated(reading: Reading, asserted: Asserted) -> Asserted:
    """ "No dramas phaco time 38 seconds": "no" denies the noun next to it and never how much of a thing there was."""
    cue = asserted.cue
    if asserted.status is Status.NOT_DONE and cue is not None and reading.words[cue.start : cue.end] == ("no",):
        beside = reading.words[max(0, asserted.mention.start - 1)] == "no"
        return asserted if beside else Asserted(asserted.mention, Status.DONE)
    return asserted


def _is_parameter(reading: Reading, parameter: Mention) -> bool:
    if _has_diopters(reading, parameter) or reading.words[parameter.end - 1] == BOTTLES:
        return False
    if reading.words[parameter.start : parameter.end] not in EYE_PRESSURE:
        return True
    first, last = reading.sentence(parameter.start)
    near = reading.between(max(first, parameter.start - LIST_REACH), min(last, parameter.end + LIST_REACH))
    return any(a.mention.kind == "parameter" and a.mention.start != parameter.start for a in near)


def _averaged(reading: Reading, pair: Pair) -> Pair:
    """ "Ultrasound power 12 percent on average" is what the machine counted, not what was set."""
    term = reading.lexicon.by_key.get(("parameter", "average_power_pct"))
    if pair.parameter.mention.id != "ultrasound_power_pct" or term is None:
        return pair
    if AVERAGE.isdisjoint(reading.words[pair.end : pair.end + 2]):
        return pair
    return Pair(pair.value, replace(pair.parameter, mention=replace(pair.parameter.mention, id=term.id, term=term)))


def _counted(pair: Pair) -> Pair:
    """ "Dissipated energy 4.2 he'll use prednisolone": what the machine counted is no plan told behind it."""
    cue = pair.value.cue
    ahead = cue is not None and cue.start >= pair.value.mention.end
    if pair.parameter.mention.id not in TOTALS or pair.value.status is not Status.PLANNED or not ahead:
        return pair
    value = Asserted(pair.value.mention, Status.DONE)
    return Pair(value, Asserted(pair.parameter.mention, Status.DONE))


def _parts(pair: Pair) -> list[Asserted]:
    same = pair.value.mention.start == pair.parameter.mention.start
    return [pair.value] if same else [pair.value, pair.parameter]


def _is_value(reading: Reading, value: Mention) -> bool:
    quantity = value.quantity
    if quantity is None or not isinstance(quantity.value, float | int):
        return False
    if (
        is_signed(reading, value)
        or names_position(reading, value)
        or _of_lens(reading, value)
        or _torn_head(reading, value)
    ):
        return False
    return not _is_change(reading, value)


def _is_change(reading: Reading, value: Mention) -> bool:
    """ "Raised by 10", and the 100 of "dropped from 100 to 75": how far, or from where, and not what it was then."""
    before = reading.words[max(0, value.start - 1) : value.start]
    if before == ("by",):
        return True
    said = before == ("from",) and reading.words[value.end : value.end + 1] == ("to",)
    return said and value.end + 1 < len(reading.words) and bool(reading.between(value.end + 1, value.end + 2))


def _torn_head(reading: Reading, value: Mention) -> bool:
    """ "Chop three eighty vacuum" left as 3 and 80: a digit right before a bare number is no value of its own."""
    behind = [a.mention for a in reading.between(value.end, value.end + 1) if a.mention.id == "number"]
    return bool(behind) and value.id == "number" and len(reading.words[value.end - 1]) == 1


def _torn_tail(reading: Reading, value: Mention) -> bool:
    """The number behind such a digit stands in the row but has no value that is sure."""
    if value.id != "number" or value.start == 0:
        return False
    before = [a.mention for a in reading.between(value.start - 1, value.start) if a.mention.id == "number"]
    return bool(before) and _torn_head(reading, before[0]) and not names_position(reading, before[0])


def _of_lens(reading: Reading, value: Mention) -> bool:
    """A number right behind a word of the lens ("lens power 21.5", "serial 4471")."""
    for asserted in reading.between(max(0, value.start - 4), value.start):
        mention = asserted.mention
        same = any(a.mention.kind == "parameter" for a in reading.between(mention.start, mention.start + 1))
        if mention.kind == "lens_field" and mention.end + 2 >= value.start and not same:
            return True
    return False


def _by_unit(reading: Reading, value: Asserted) -> Iterator[Pair]:
    """A unit that only one parameter has names it ("4000 cuts per minute"), as does a pressure no infusion has."""
    name = UNIT_OF.get(value.mention.id, "")
    if value.mention.id == "percent" and _power_of_phase(reading, value.mention):
        name = "ultrasound_power_pct"
    if value.mention.id in PHASED_UNITS and not _phased(reading, value.mention):
        name = ""
    if value.mention.id == "pressure_mmhg" and _only_vacuum(reading, value.mention):
        name = "vacuum_mmhg"
    term = reading.lexicon.by_key.get(("parameter", name))
    if term is not None:
        named = replace(value.mention, kind="parameter", id=term.id, term=term)
        yield Pair(value, Asserted(named, value.status, value.cue))


def _power_of_phase(reading: Reading, value: Mention) -> bool:
    """ "Sculpting at 70 percent" is the power, where no other parameter of the talk is given in percent."""
    before = [a.mention for a in reading.between(value.start - LIST_REACH, value.start) if a.mention.kind == "phase"]
    if not before or not TO_PHASE.issuperset(reading.gap(before[-1].end, value.start)):
        return False
    return not any(p.mention.term and "percent" in p.mention.term.classes[:1] for p in reading.of("parameter"))


def _only_vacuum(reading: Reading, value: Mention) -> bool:
    """Whether a pressure is beyond what an infusion gives, in a sentence that tells a phase."""
    amount = value.quantity.value if value.quantity is not None else 0
    return isinstance(amount, float | int) and amount > HIGHEST_INFUSION and _phased(reading, value)


def _phased(reading: Reading, value: Mention) -> bool:
    first, last = reading.sentence(value.start)
    near = reading.between(max(first, value.start - 15), min(last, value.end + 6))
    return any(a.mention.kind == "phase" or a.mention.key in PHASE_OF for a in near)


def _has_diopters(reading: Reading, parameter: Mention) -> bool:
    """ "Power 20 diopters" is a lens's."""
    if parameter.id != "ultrasound_power_pct":
        return False
    following = [a.mention for a in reading.between(parameter.end, parameter.end + 4) if a.mention.kind == "quantity"]
    return bool(following) and following[0].id == "diopter"


def _setting(reading: Reading, pair: Pair, phases: Phases, positions: dict[int, int]) -> Setting:
    value, parameter = pair.value.mention, pair.parameter.mention
    quantity = value.quantity
    assert quantity is not None
    limit = {"maximum": Limit.MAXIMUM, "range": Limit.RANGE}.get(quantity.limit, Limit.FIXED)
    if limit is Limit.FIXED and _capped(reading, value, parameter):
        limit = Limit.MAXIMUM
    if limit is Limit.MAXIMUM and _moved_up(reading, value):
        limit = Limit.FIXED
    changed = limit is Limit.RANGE and not CHANGES.isdisjoint(reading.words[max(0, value.start - 3) : value.start])
    limit = Limit.FIXED if changed else limit
    ranged = limit is Limit.RANGE
    amount = quantity.high if changed and quantity.high is not None else quantity.value
    return Setting(
        phase=phases.of(pair),
        parameter=parameter.id,
        limit=limit,
        value=None if ranged else float(amount),
        low=quantity.low if ranged else None,
        high=quantity.high if ranged else None,
        foot_position=positions.get(value.start)
        or foot_position(reading, pair)
        or carried_position(reading, phases, pair),
        memory=memory_of(reading, phases, pair),
    )


def _moved_up(reading: Reading, value: Mention) -> bool:
    """ "I put the bottle up to 110": where it was moved to, and no upper limit."""
    told = reading.words[value.start : value.end + 1]
    if told[:2] != ("up", "to") or not MAXIMUM.isdisjoint(told):
        return False
    clause = reading.clause(value.start)
    said = set(reading.words[max(clause.start, value.start - MOVE_REACH) : value.start])
    return not (CHANGES - {"up", "down"}).isdisjoint(said)


def _capped(reading: Reading, value: Mention, parameter: Mention) -> bool:
    first, second = (parameter, value) if parameter.start < value.start else (value, parameter)
    around = reading.words[max(0, first.start - 1) : first.start] + reading.gap(first.end, second.start)
    own = reading.words[parameter.start : parameter.end]
    behind = reading.words[second.end : second.end + 1]
    return bool(MAXIMUM & {*around, *own, *behind})
