"""A label laid over the record: it wins for the identity of the implanted lens; where words differ, both are kept."""

from typing import Any

from zonule.filling import fact_for, facts_at, put
from zonule.labels.lens_label import LensLabel
from zonule.record import Fact, OperationRecord, Unclear
from zonule.record.slots import format_value
from zonule.vocabulary import Origin

IDENTITY = ("manufacturer", "model", "serial_number", "lot_number", "expiry_date", "udi", "power_d", "cylinder_d")
"""Label fields that are also slots of the implanted lens."""
MEASURED = ("power_d", "cylinder_d")
"""Fields that are compared but, once dictated, not overwritten: the label is no witness of what was planned."""


def apply_label(record: OperationRecord, label: LensLabel) -> OperationRecord:
    """The record with the lens identity from its label; each difference from the words becomes a conflict."""
    conflicts = label_conflicts(record, label)
    for name in IDENTITY:
        value = getattr(label, name)
        slot = f"lens.{name}"
        held = facts_at(record, slot)
        if value is not None and not (name in MEASURED and held):
            record = put(record, slot, (_fact(slot, value, held),))
    return record.model_copy(update={"conflicts": record.conflicts + conflicts})


def label_conflicts(record: OperationRecord, label: LensLabel) -> tuple[Unclear, ...]:
    """Where the record says something else than the label, with the words concerned; ids end in `.label`."""
    found = [_conflict(record, f"lens.{name}", getattr(label, name)) for name in IDENTITY]
    found.append(_conflict(record, "operation.eye", label.eye))
    return tuple(conflict for conflict in found if conflict is not None)


def _conflict(record: OperationRecord, slot: str, printed: object) -> Unclear | None:
    facts = facts_at(record, slot)
    if printed is None or not facts or facts[0].origin is Origin.LABEL:
        return None
    if _agree(slot, facts[0].value, printed):
        return None
    said, on_label = format_value(facts[0].value), format_value(printed)
    return Unclear(
        id=f"{slot}.label", evidence=facts[0].evidence, detail=f"{said} in the note, {on_label} on the label"
    )


def _agree(slot: str, said: object, printed: object) -> bool:
    if not isinstance(said, str) or not isinstance(printed, str):
        return said == printed
    return same_identifier(said, printed) or (slot == "lens.expiry_date" and same_month(said, printed))


def same_identifier(one: str, other: str) -> bool:
    """Alike but for case, spaces, hyphens and points."""
    return _bare(one) == _bare(other)


def same_month(one: str, other: str) -> bool:
    """Whether a date given to the month fits one given to the day."""
    shorter, longer = sorted((one, other), key=len)
    return len(shorter) == len("2028-11") and longer.startswith(shorter)


def _bare(text: str) -> str:
    return "".join(c for c in text.casefold() if c.isalnum())


def _fact(slot: str, value: float | str, held: tuple[Fact[Any], ...]) -> Fact[Any]:
    """The label's value; it keeps the words of a dictated one that it agrees with."""
    evidence = held[0].evidence if held and _agree(slot, held[0].value, value) else ()
    return fact_for(slot, value, Origin.LABEL, evidence)
