"""Doses: strength times volume, and the usual dose, strength and volume of each drug by its route.

Every finding asks to confirm and advises no treatment; doses defer to the local formulary.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from zonule.consistency.amounts import Amount, as_amount, as_volume, parse_strength
from zonule.consistency.finding import Checked, Found, Rule, spoken_id
from zonule.consistency.ranges import slip_of
from zonule.lexicon import Range
from zonule.record import DrugGiven, Fact
from zonule.record.slots import format_number
from zonule.requirements import DoseRange
from zonule.vocabulary import Severity

TOLERANCE = 0.1
"""A dose may differ by a tenth from strength times volume: spoken doses are rounded."""
SLIPS = (10.0, 100.0, 1000.0)
FOLDS = {10.0: "tenfold", 100.0: "a hundredfold", 1000.0: "a thousandfold"}
CLOSE = 0.15


@dataclass(frozen=True, slots=True)
class Given:
    """What was given, in common units; None where it was not said."""

    dose: Amount | None
    strength: Amount | None
    volume_ml: float | None

    @property
    def computed(self) -> Amount | None:
        """Strength times volume."""
        if self.strength is None or self.volume_ml is None:
            return None
        return Amount(self.strength.value * self.volume_ml, self.strength.measure)


def as_given(drug: DrugGiven) -> Given:
    """The drug's amounts in common units; a dose in milliliters is a volume."""
    strength = parse_strength(drug.strength) if drug.strength else None
    volume = drug.volume_ml
    dose = None
    if drug.dose is not None:
        dose = as_amount(drug.dose, drug.dose_unit)
        volume = volume if volume is not None else as_volume(drug.dose, drug.dose_unit)
    if volume is None and strength is not None:
        volume = strength.volume_ml
    return Given(dose, strength.per_ml if strength else None, volume)


def find_wrong_arithmetic(checked: Checked) -> Iterator[Found]:
    """A dose that does not follow from its strength and volume."""
    for fact, given in _given(checked):
        computed = given.computed
        if given.dose is None or computed is None or given.dose.measure != computed.measure:
            continue
        if abs(given.dose.value - computed.value) > TOLERANCE * max(given.dose.value, computed.value):
            words = {
                "drug": spoken_id(fact.value.drug),
                "dose": _shown(given.dose),
                "strength": str(fact.value.strength),
                "volume": f"{format_number(given.volume_ml or 0)} mL",
                "computed": _shown(computed),
                "slip": _fold(given.dose.value, computed.value),
            }
            yield Found((fact,), _slots(fact, "strength", "volume_ml"), words)


def find_unusual_doses(checked: Checked) -> Iterator[Found]:
    """A dose outside the usual range of its drug and route."""
    for fact, given, bounds in _bounded(checked):
        dose = given.dose or given.computed
        unit = as_amount(1, bounds.unit)
        if dose is None or unit is None or dose.measure != unit.measure:
            continue
        yield from _outside(fact, dose.value / unit.value, bounds.usual, bounds.possible, bounds.unit, "dose")


def find_unusual_strengths(checked: Checked) -> Iterator[Found]:
    """A strength outside the usual range of its drug and route."""
    for fact, given, bounds in _bounded(checked):
        unit = parse_strength(f"1 {bounds.strength_unit}")
        if given.strength is None or unit is None or given.strength.measure != unit.per_ml.measure:
            continue
        value = given.strength.value / unit.per_ml.value
        yield from _outside(fact, value, bounds.strength, bounds.possible_strength, bounds.strength_unit, "strength")


def find_unusual_volumes(checked: Checked) -> Iterator[Found]:
    """A volume outside the usual range of its drug and route."""
    for fact, given, bounds in _bounded(checked):
        if given.volume_ml is not None:
            yield from _outside(fact, given.volume_ml, bounds.volume_ml, bounds.possible_volume_ml, "mL", "volume")


def find_missing_routes(checked: Checked) -> Iterator[Found]:
    """A drug that harms by the wrong route, given without its route."""
    needed = {b.drug: b for b in checked.requirements.doses if b.route_needed}
    for fact in checked.record.drugs:
        bounds = needed.get(fact.value.drug)
        amounts = (fact.value.dose, fact.value.volume_ml)
        if bounds and fact.value.route is None and any(a is not None for a in amounts):
            yield Found((fact,), _slots(fact, "route"), {"drug": spoken_id(fact.value.drug)})


def find_cautioned_drugs(checked: Checked) -> Iterator[Found]:
    """A drug given by a route that a published warning names."""
    for fact, _, bounds in _bounded(checked):
        if bounds.caution:
            words = {"drug": spoken_id(fact.value.drug), "route": spoken_id(fact.value.route or "")}
            yield Found((fact,), ("drugs",), {**words, "caution": bounds.caution, "source": bounds.source})


def find_unread_strengths(checked: Checked) -> Iterator[Found]:
    """A strength that is no strength."""
    for fact in checked.record.drugs:
        if fact.value.strength and parse_strength(fact.value.strength) is None:
            words = {"drug": spoken_id(fact.value.drug), "strength": fact.value.strength}
            yield Found((fact,), _slots(fact, "strength"), words)


def _given(checked: Checked) -> Iterator[tuple[Fact[DrugGiven], Given]]:
    yield from ((fact, as_given(fact.value)) for fact in checked.record.drugs)


def _bounded(checked: Checked) -> Iterator[tuple[Fact[DrugGiven], Given, DoseRange]]:
    """Each drug with the range of its route, or with the range for any route."""
    ranges = {(b.drug, b.route): b for b in checked.requirements.doses}
    for fact, given in _given(checked):
        bounds = ranges.get((fact.value.drug, fact.value.route)) or ranges.get((fact.value.drug, None))
        if bounds is not None:
            yield fact, given, bounds


def _outside(
    fact: Fact[DrugGiven], value: float, usual: Range | None, possible: Range | None, unit: str, what: str
) -> Iterator[Found]:
    wrong = [bounds for bounds in (possible, usual) if bounds and not bounds.low <= value <= bounds.high]
    if not wrong:
        return
    shown = usual or wrong[0]
    slip = slip_of(value, usual, SLIPS)
    words = {
        "drug": spoken_id(fact.value.drug),
        "route": f" by the {spoken_id(fact.value.route)} route" if fact.value.route else "",
        "value": _quantity(value, unit),
        "range": f"{format_number(shown.low)} to {_quantity(shown.high, unit)}",
        "slip": f" Is it {_quantity(slip, unit)}, {_fold(value, slip).strip()}?" if slip is not None else "",
        "source": shown.source,
    }
    field = {"dose": "dose", "strength": "strength", "volume": "volume_ml"}[what]
    severity = Severity.MUST if wrong[0] is possible else Severity.SHOULD
    yield Found((fact,), _slots(fact, field), words, severity=severity)


def _fold(one: float, other: float) -> str:
    """By which power of ten two values differ, in words; nothing when it is none."""
    low, high = sorted((one, other))
    ratio = high / low if low else 0.0
    fold = next((word for factor, word in FOLDS.items() if abs(ratio / factor - 1) <= CLOSE), None)
    return f" {fold} apart" if fold else ""


def _slots(fact: Fact[Any], *fields: str) -> tuple[str, ...]:
    return tuple(f"drugs.{fact.value.drug}.{name}" for name in fields)


def _shown(amount: Amount) -> str:
    return _quantity(amount.value, amount.measure)


def _quantity(value: float, unit: str) -> str:
    return f"{format_number(value)} {unit}"


RULES: dict[str, Rule] = {
    "drugs.dose_arithmetic": find_wrong_arithmetic,
    "drugs.dose": find_unusual_doses,
    "drugs.strength": find_unusual_strengths,
    "drugs.volume_ml": find_unusual_volumes,
    "drugs.route": find_missing_routes,
    "drugs.caution": find_cautioned_drugs,
    "drugs.strength_unread": find_unread_strengths,
}
