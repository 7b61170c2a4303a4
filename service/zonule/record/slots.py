"""The slot view: the record as flat lines (record contract, section 5)."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from enum import Enum
from typing import Any

from zonule.record.facts import Fact, Frozen
from zonule.record.operation_record import DrugGiven, Implant, Lens, OperationRecord, Setting, SutureUse
from zonule.vocabulary import ComplicationStatement, LensStatus, Limit, Status

LENS_PREFIX = {
    LensStatus.IMPLANTED: "lens",
    LensStatus.OPENED_NOT_IMPLANTED: "lens_not_implanted",
    LensStatus.EXPLANTED: "lens_explanted",
}
GROUPS = (
    "operation", "patient", "team", "main_incision", "paracentesis", "capsulorhexis", "nucleus", "ultrasound", "plan",
)  # fmt: skip
LISTS = (
    "anesthesia", "steps", "settings", "other_implants", "drugs", "sutures", "findings", "specimens", "blood_loss",
    "counts", "antibiotic_prophylaxis",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class SlotValue:
    """One slot value, its text in the slot view, and the fact behind it."""

    slot: str
    text: str
    fact: Fact[Any]

    @property
    def start(self) -> int:
        """Where its first evidence begins in the dictation; -1 when it was not dictated."""
        return self.fact.evidence[0].start if self.fact.evidence else -1

    @property
    def place(self) -> str:
        """`start-end` of the first evidence, or `-`."""
        return f"{self.start}-{self.fact.evidence[0].end}" if self.fact.evidence else "-"


def format_number(value: float) -> str:
    """Without trailing zeros: `19`, `2.65`, `-0.75`."""
    return f"{round(value, 4):.4f}".rstrip("0").rstrip(".") if value else "0"


def format_value(value: object) -> str:
    """A value in the grammar of the slot view; raises TypeError for a type without one."""
    match value:
        case bool():
            return "true" if value else "false"
        case Enum():
            return str(value.value)
        case int() | float():
            return format_number(value)
        case date():
            return value.isoformat()
        case str():
            return value
        case Setting():
            return _format_setting(value)
        case DrugGiven():
            return _join(value.drug, value.route, value.dose, value.dose_unit)
        case SutureUse():
            return _join(value.size, value.material, value.count)
        case Implant():
            return _join(value.kind, value.identifier)
    raise TypeError(f"no slot grammar for {type(value).__name__}")


def _join(*parts: object) -> str:
    return " ".join(format_value(part) for part in parts if part is not None)


def _format_setting(setting: Setting) -> str:
    if setting.limit is Limit.RANGE:
        amount = f"range {_number(setting.low)}-{_number(setting.high)}"
    elif setting.limit is Limit.MAXIMUM:
        amount = f"max {_number(setting.value)}"
    else:
        amount = _number(setting.value)
    foot = f"fp{setting.foot_position}" if setting.foot_position is not None else None
    memory = f"mem{setting.memory}" if setting.memory is not None else None
    return _join(setting.phase or "*", setting.parameter, amount, foot, memory)


def _number(value: float | None) -> str:
    return format_number(value if value is not None else 0.0)


def slot_values(record: OperationRecord) -> list[SlotValue]:
    """All slot values of the record, sorted by slot, position and text."""
    return sorted(_walk(record), key=lambda v: (v.slot, v.start, v.text))


def slot_lines(record: OperationRecord) -> str:
    """The slot view: tab-separated slot, value and `start-end`, one value a line."""
    return "".join(f"{v.slot}\t{v.text}\t{v.place}\n" for v in slot_values(record))


def _walk(record: OperationRecord) -> Iterator[SlotValue]:
    for group in GROUPS:
        yield from _walk_model(group, getattr(record, group))
    for name in LISTS:
        yield from _walk_field(name, getattr(record, name))
    for lens in record.lenses:
        yield from _walk_lens(lens)
    yield from _walk_field("viscoelastic", record.viscoelastic.kinds)
    yield from _walk_field("viscoelastic.removed", record.viscoelastic.removed)
    yield from _walk_complications(record)


def _walk_model(prefix: str, model: Frozen) -> Iterator[SlotValue]:
    for name in type(model).model_fields:
        yield from _walk_field(f"{prefix}.{name}", getattr(model, name))


def _walk_lens(lens: Lens) -> Iterator[SlotValue]:
    for name in type(lens).model_fields:
        if name != "status":
            yield from _walk_field(f"{LENS_PREFIX[lens.status]}.{name}", getattr(lens, name))


def _walk_complications(record: OperationRecord) -> Iterator[SlotValue]:
    complications = record.complications
    fact: Fact[Any] | None = complications.statement_fact
    if fact is None and complications.events:
        fact = complications.events[0]
    if fact is not None and complications.statement is not ComplicationStatement.NOT_STATED:
        yield SlotValue("complications.statement", complications.statement.value, fact)
    yield from _walk_field("complications.events", complications.events)


def _walk_field(slot: str, held: object) -> Iterator[SlotValue]:
    for fact in held if isinstance(held, tuple) else (held,):
        if isinstance(fact, Fact) and fact.status is Status.DONE:
            yield SlotValue(slot, format_value(fact.value), fact)
