"""The words of a dictation and what became of them."""

from collections.abc import Iterator

from zonule.record import Evidence, OperationRecord, slot_values
from zonule.record.slots import SlotValue
from zonule.vocabulary import Status
from zonule.web.api.reading_models import MarkShown, SlotShown

KINDS = ("value", "repair", "remark", "retracted", "unclear", "conflict")


def slots_shown(record: OperationRecord) -> tuple[SlotShown, ...]:
    """The slot view with places."""
    return tuple(_slot(held) for held in slot_values(record))


def marks_of(record: OperationRecord) -> tuple[MarkShown, ...]:
    """Every evidence span, in order of the dictation; layers of the same words side by side."""
    distinct = dict.fromkeys((*_values(record), *_readings(record), *_remarks(record), *_doubts(record)))
    return tuple(sorted(distinct, key=_order))


def _order(mark: MarkShown) -> tuple[int, int, int, str, str]:
    return mark.start, -mark.end, KINDS.index(mark.kind), mark.slot or "", mark.value or ""


def _slot(held: SlotValue) -> SlotShown:
    spans = held.fact.evidence
    return SlotShown(
        slot=held.slot,
        value=held.text,
        start=spans[0].start if spans else None,
        end=spans[0].end if spans else None,
        place=held.place,
        origin=held.fact.origin,
        time_s=held.fact.time_s,
    )


def _values(record: OperationRecord) -> Iterator[MarkShown]:
    for held in slot_values(record):
        for span in held.fact.evidence:
            yield _mark(span, "value", slot=held.slot, value=held.text, time_s=held.fact.time_s)


def _readings(record: OperationRecord) -> Iterator[MarkShown]:
    for repair in record.repairs:
        yield _mark(repair.evidence, "repair", heard=repair.reading.heard, reading=repair.reading.read_as)


def _remarks(record: OperationRecord) -> Iterator[MarkShown]:
    for remark in record.remarks:
        for span in remark.evidence:
            if remark.status is not Status.DONE:
                status = remark.status.value
                yield _mark(span, "remark", slot=remark.slot, value=remark.value, status=status, time_s=remark.time_s)


def _doubts(record: OperationRecord) -> Iterator[MarkShown]:
    for taken in record.retracted:
        yield _mark(taken.evidence, "retracted", value=taken.value)
    for conflict in record.conflicts:
        for span in conflict.evidence:
            yield _mark(span, "conflict", slot=conflict.id, detail=conflict.detail)
    for unclear in record.unclear:
        for span in unclear.evidence:
            yield _mark(span, "unclear", slot=unclear.id, detail=unclear.detail)


def _mark(span: Evidence, kind: str, **known: object) -> MarkShown:
    return MarkShown.model_validate({"start": span.start, "end": span.end, "kind": kind, **known})
