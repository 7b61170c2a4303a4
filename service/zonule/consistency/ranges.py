"""Values outside what the trade would use, and slips of the decimal point."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from zonule.consistency.finding import Checked, Found, Rule, spoken_id, spoken_name
from zonule.filling import PLACES, facts_at
from zonule.lexicon import Range
from zonule.record import Fact, Setting
from zonule.record.slots import format_number
from zonule.vocabulary import Severity

UNIT_NAMES = {
    "_ml_min": "mL/min", "_mmhg": "mmHg", "_pct": "%", "_cm": "cm", "_mm": "mm", "_ml": "mL", "_pps": "pulses/s",
    "_cpm": "cuts/min", "_deg": "degrees", "_days": "days", "_d": "D", "_s": "s",
}  # fmt: skip
MERIDIANS = (0.0, 360.0)
"""A cylinder axis ends at 180 degrees, but a place on the limbus may be counted around."""


@dataclass(frozen=True, slots=True)
class Bounds:
    """The ranges of one slot, from the lexicon's term or from the requirement files."""

    name: str
    unit: str
    usual: Range | None
    possible: Range | None
    slips: tuple[float, ...] = ()
    shown: str | None = None


def bounds_of(checked: Checked, slot: str) -> Bounds | None:
    """The ranges of `slot`: those of the lexicon's term go before those of the requirement files."""
    own = checked.requirements.range_of.get(slot)
    term = _term(checked, slot)
    name = own.name if own else spoken_name(slot)
    unit = own.unit if own else next((u for end, u in UNIT_NAMES.items() if slot.endswith(end)), "")
    slips, shown = (own.slip, own.shown) if own else ((), None)
    if term is not None:
        return Bounds(name, unit, *term, slips, shown)
    return Bounds(name, unit, own.usual, own.possible, slips, shown) if own else None


def _term(checked: Checked, slot: str) -> tuple[Range | None, Range | None] | None:
    group, _, name = slot.partition(".")
    kinds = {"lens": "lens_field", "settings": "parameter", "ultrasound": "parameter"}
    if group not in kinds:
        return None
    by_key = checked.lexicon.by_key
    term = by_key.get((kinds[group], name)) or by_key.get((kinds[group], slot))
    return (term.usual, term.possible) if term and (term.usual or term.possible) else None


def find_impossible(checked: Checked) -> Iterator[Found]:
    """Values outside what can be."""
    yield from (
        _found(checked, *held, Severity.MUST) for held in _values(checked) if _is_impossible(checked, *held[:2])
    )


def find_unusual(checked: Checked) -> Iterator[Found]:
    """Values that can be, but outside what is usual."""
    for slot, value, fact in _values(checked):
        bounds = bounds_of(checked, slot)
        if bounds and bounds.usual and not _within(value, bounds.usual) and not _is_impossible(checked, slot, value):
            yield _found(checked, slot, value, fact, Severity.SHOULD)


def slip_of(value: float, usual: Range | None, slips: Sequence[float]) -> float | None:
    """What the value would be, divided or multiplied by one of `slips`, where that is usual; else None."""
    if usual is None:
        return None
    moved = [value / factor for factor in slips] + [value * factor for factor in slips]
    return next((round(other, 4) for other in moved if other and _within(other, usual)), None)


def find_sites(checked: Checked) -> Iterator[Found]:
    """A main incision at an hour that no clock has, or on a meridian that no circle has."""
    site = checked.record.main_incision.site
    if site is None:
        return
    hour = re.fullmatch(r"(\d+(?:\.\d+)?) o'clock", site.value)
    meridian = re.fullmatch(r"(-?\d+(?:\.\d+)?) deg", site.value)
    wrong_hour = hour is not None and not 0 < float(hour[1]) < 13
    wrong_meridian = meridian is not None and not MERIDIANS[0] <= float(meridian[1]) <= MERIDIANS[1]
    if wrong_hour or wrong_meridian:
        yield Found((site,), ("main_incision.site",), {"value": site.value})


def find_reversed_ranges(checked: Checked) -> Iterator[Found]:
    """Settings whose range ends below its beginning."""
    for fact in checked.record.settings:
        low, high = fact.value.low, fact.value.high
        if low is not None and high is not None and high < low:
            words = {"name": spoken_name(fact.value.parameter), "low": format_number(low), "high": format_number(high)}
            yield Found((fact,), ("settings",), words)


def find_foot_positions(checked: Checked) -> Iterator[Found]:
    """Foot positions other than 1, 2 and 3."""
    for fact in checked.record.settings:
        position = fact.value.foot_position
        if position is not None and not 1 <= position <= 3:
            yield Found((fact,), ("settings",), {"value": str(position)})


def find_odd_power_steps(checked: Checked) -> Iterator[Found]:
    """Lens powers between the steps in which lenses are made."""
    for fact in facts_at(checked.record, "lens.power_d"):
        if fact.value % 0.25:
            yield Found((fact,), ("lens.power_d",), {"value": format_number(fact.value)})


def _values(checked: Checked) -> Iterator[tuple[str, float, Fact[Any]]]:
    """Every number of the record with its slot; a range of a setting counts by both ends."""
    record = checked.record
    numeric = [s for s, place in PLACES.items() if place.value is float and not s.startswith(("lens_not", "lens_expl"))]
    for slot in numeric:
        yield from ((slot, fact.value, fact) for fact in facts_at(record, slot) if not _is_zero_cylinder(slot, fact))
    for fact in record.settings:
        yield from _setting_values(checked, fact)
    if record.blood_loss and (amount := re.match(r"\d+(?:\.\d+)?", record.blood_loss.value)):
        yield "blood_loss", float(amount[0]), record.blood_loss


def _setting_values(checked: Checked, fact: Fact[Setting]) -> Iterator[tuple[str, float, Fact[Any]]]:
    """The first number of a setting that is out of range; a range may begin at nothing, below what is usual."""
    held, slot = fact.value, f"settings.{fact.value.parameter}"
    bounds = bounds_of(checked, slot)
    if bounds is None:
        return
    begins_low = held.low is not None and bounds.usual is not None and held.low < bounds.usual.low
    low = held.low if not begins_low or _is_impossible(checked, slot, held.low or 0) else None
    numbers = [n for n in (held.value, low, held.high) if n is not None]
    outside = [n for n in numbers if any(not _within(n, r) for r in (bounds.usual, bounds.possible) if r)]
    yield from ((slot, number, fact) for number in outside[:1])


def _is_zero_cylinder(slot: str, fact: Fact[Any]) -> bool:
    return slot == "lens.cylinder_d" and fact.value == 0


def _within(value: float, bounds: Range) -> bool:
    return bounds.low <= value <= bounds.high


def _is_impossible(checked: Checked, slot: str, value: float) -> bool:
    bounds = bounds_of(checked, slot)
    return bool(bounds and bounds.possible and not _within(value, bounds.possible))


def _found(checked: Checked, slot: str, value: float, fact: Fact[Any], severity: Severity) -> Found:
    bounds = bounds_of(checked, slot)
    assert bounds is not None
    shown = bounds.usual if bounds.usual and not _within(value, bounds.usual) else bounds.possible
    assert shown is not None
    slip = slip_of(value, bounds.usual, bounds.slips)
    decimal = "with its decimal point lost" if slip and abs(slip) < abs(value) else "with its decimal point misplaced"
    words = {
        "name": spoken_id(bounds.name),
        "value": _amount(value, bounds.unit),
        "range": bounds.shown or f"{format_number(shown.low)} to {_amount(shown.high, bounds.unit)}",
        "slip": f" Is it {_amount(slip, bounds.unit)}, {decimal}?" if slip is not None else "",
        "source": shown.source,
    }
    answered = "settings" if slot.startswith("settings.") else slot
    return Found((fact,), (answered,), words, id=slot, severity=severity)


def _amount(value: float, unit: str) -> str:
    return f"{format_number(value)} {unit}".strip()


RULES: dict[str, Rule] = {
    "impossible": find_impossible,
    "unusual": find_unusual,
    "main_incision.site": find_sites,
    "settings.reversed": find_reversed_ranges,
    "settings.foot_position": find_foot_positions,
    "lens.power_step": find_odd_power_steps,
}
