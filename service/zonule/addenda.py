"""A second dictation about the same operation, laid over the first; what it replaces is kept as remark."""

from collections.abc import Mapping
from typing import Any

from zonule.filling import PLACES, facts_at, put
from zonule.record import Fact, OperationRecord, Remark
from zonule.record.slots import format_value
from zonule.vocabulary import LensStatus, Status

KEPT = ("remarks", "retracted", "repairs", "conflicts", "unclear")
"""Lists of the record that hold no slots: the addendum's are added."""


def merge_addendum(record: OperationRecord, addendum: OperationRecord, offset: int = 0) -> OperationRecord:
    """The record with what the addendum states: a single value replaces the earlier one, members of lists are added.

    `offset` is where the addendum's dictation begins in the text that holds both, so that every evidence span still
    spans its words. Facts keep their origin; a replaced value is kept among the remarks with its words.
    """
    later = shift_evidence(addendum, offset) if offset else addendum
    merged = record
    for slot, place in PLACES.items():
        stated = facts_at(later, slot)
        if stated:
            merged = _lay_over(merged, slot, stated, place.many)
    lists = {name: getattr(merged, name) + getattr(later, name) for name in KEPT}
    lists["conflicts"] = tuple(c for c in merged.conflicts if not _is_restated(later, c.id)) + later.conflicts
    return merged.model_copy(update={**lists, "is_operation_note": record.is_operation_note or later.is_operation_note})


def shift_evidence(record: OperationRecord, offset: int) -> OperationRecord:
    """The record with every evidence span moved by `offset` characters."""
    moved: OperationRecord = OperationRecord.model_validate(_shift(record.model_dump(), offset))
    return moved


def _shift(held: Any, offset: int) -> Any:
    if isinstance(held, Mapping):
        if set(held) == {"start", "end", "text"}:
            return {**held, "start": held["start"] + offset, "end": held["end"] + offset}
        return {key: _shift(value, offset) for key, value in held.items()}
    if isinstance(held, tuple | list):
        return tuple(_shift(value, offset) for value in held)
    return held


def _lay_over(record: OperationRecord, slot: str, stated: tuple[Fact[Any], ...], many: bool) -> OperationRecord:
    held = facts_at(record, slot)
    if many:
        known = {format_value(fact.value) for fact in held}
        return put(record, slot, (*held, *(f for f in stated if format_value(f.value) not in known)))
    replaced = [fact for fact in held if format_value(fact.value) != format_value(stated[0].value)]
    if held and not replaced:
        return record
    remarks = (*record.remarks, *(_earlier(slot, fact) for fact in replaced))
    return put(record, slot, stated[:1]).model_copy(update={"remarks": remarks})


def _earlier(slot: str, fact: Fact[Any]) -> Remark:
    return Remark(
        slot=slot,
        value=format_value(fact.value),
        status=Status.HISTORICAL,
        evidence=fact.evidence,
        cue=fact.cue,
        time_s=fact.time_s,
    )


def _is_restated(later: OperationRecord, slot: str) -> bool:
    """Whether the addendum settles a conflict of the first dictation by stating the slot."""
    return slot in PLACES and bool(facts_at(later, slot)) and PLACES[slot].lens in (None, LensStatus.IMPLANTED)
