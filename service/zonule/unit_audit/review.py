"""The audit of a period as one value."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from zonule.requirements import DEFAULT, Requirements
from zonule.store import NoteState, RecordedNote
from zonule.unit_audit.coverage import ItemOverTime, cover_months
from zonule.unit_audit.rates import Rate, complication_rates, rates_by_surgeon
from zonule.unit_audit.surgeon_settings import SettingSpread, settings_by_surgeon

CAUTIONS = (
    "For the unit to learn from: it tells what the notes hold, not how well anybody operated.",
    "Rates are of the notes that state whether there were complications; silence is not counted as none.",
    "Numbers are small and cases differ: an interval that is wide or overlaps another proves no difference.",
)


@dataclass(frozen=True, slots=True)
class UnitAudit:
    """What the notes of a period add up to.

    `items` begin with all items together; `complications` begin with any complication at all. `unstated` notes say
    nothing of complications, `undated` ones no day; texts that are no operation note are left out.
    """

    standard: str
    notes: int
    states: tuple[tuple[NoteState, int], ...]
    undated: int
    unstated: int
    items: tuple[ItemOverTime, ...]
    complications: tuple[Rate, ...]
    surgeons: tuple[Rate, ...]
    settings: tuple[SettingSpread, ...]


def audit_unit(notes: Iterable[RecordedNote], requirements: Requirements, standard: str = DEFAULT) -> UnitAudit:
    """The audit of what `store.find.records` gives. Raises UnknownNameError for an unknown requirement set."""
    held = tuple(note for note in notes if note.record.is_operation_note)
    states = Counter(note.state for note in held)
    rates = complication_rates(held)
    return UnitAudit(
        standard=standard,
        notes=len(held),
        states=tuple((state, states[state]) for state in NoteState),
        undated=sum(note.date is None for note in held),
        unstated=len(held) - rates[0].of,
        items=cover_months(held, requirements, standard),
        complications=rates,
        surgeons=rates_by_surgeon(held),
        settings=settings_by_surgeon(held),
    )
