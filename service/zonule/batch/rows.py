"""The tables of a batch: their columns, and the rows of one note."""

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import pyarrow as pa

from zonule.casework import Casework
from zonule.record import slot_values

Row = dict[str, Any]

_TEXT = pa.string()
_SPAN = [("start", pa.int32()), ("end", pa.int32())]
_KEY = [("place", pa.int64()), ("key", _TEXT)]
SCHEMAS: dict[str, pa.Schema] = {
    "slots": pa.schema([*_KEY, ("slot", _TEXT), ("value", _TEXT), *_SPAN]),
    "gaps": pa.schema([*_KEY, ("kind", _TEXT), ("id", _TEXT), ("severity", _TEXT), *_SPAN, ("question", _TEXT)]),
    "repairs": pa.schema(
        [*_KEY, ("heard", _TEXT), ("reading", _TEXT), ("score", pa.float64()), ("rule", _TEXT), *_SPAN]
    ),
    "records": pa.schema(
        [*_KEY, ("sha256", _TEXT), ("is_operation_note", pa.bool_()), ("fault", _TEXT), ("record", _TEXT)]
    ),
}
"""Columns of each table; `start` and `end` are characters into the dictation, null where no words stand behind a row.
`records` comes last: where it stands, the other tables of the same notes stand too."""


@dataclass(frozen=True)
class NoteRows:
    """What one note gives: rows for each table, and its document where one was asked for."""

    place: int
    key: str
    tables: dict[str, list[Row]] = field(default_factory=dict)
    document: bytes | None = None


def fault_rows(place: int, key: str, data: bytes, fault: str) -> NoteRows:
    """A note that could not be read is a row with its reason."""
    row = {"place": place, "key": key, "sha256": _digest(data), "is_operation_note": False, "fault": fault}
    return NoteRows(place, key, {"records": [{**row, "record": None}]})


def note_rows(place: int, key: str, data: bytes, work: Casework, document: bytes | None) -> NoteRows:
    """The rows of one note that was read."""
    base = {"place": place, "key": key}
    record = {
        **base,
        "sha256": _digest(data),
        "is_operation_note": work.record.is_operation_note,
        "fault": None,
        "record": work.record.model_dump_json(),
    }
    tables = {
        "slots": [{**base, **row} for row in _slots(work)],
        "gaps": [{**base, **row} for row in _gaps(work)],
        "repairs": [{**base, **row} for row in _repairs(work)],
        "records": [record],
    }
    return NoteRows(place, key, tables, document)


def _slots(work: Casework) -> Iterator[Row]:
    for value in slot_values(work.record):
        first = value.fact.evidence[0] if value.fact.evidence else None
        yield {"slot": value.slot, "value": value.text, **_span(first)}


def _gaps(work: Casework) -> Iterator[Row]:
    for gap in work.report.gaps:
        first = gap.evidence[0] if gap.evidence else None
        yield {
            "kind": gap.kind.value,
            "id": gap.id,
            "severity": gap.severity.value,
            **_span(first),
            "question": gap.question,
        }


def _repairs(work: Casework) -> Iterator[Row]:
    for repair in work.record.repairs:
        read = repair.reading
        yield {
            "heard": read.heard,
            "reading": read.read_as,
            "score": read.score,
            "rule": read.rule,
            **_span(repair.evidence),
        }


def _span(evidence: Any) -> Row:
    return {"start": evidence.start if evidence else None, "end": evidence.end if evidence else None}


def _digest(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()
