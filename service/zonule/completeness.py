"""What a note lacks: a record against the requirements. Three states: stated, stated none, not mentioned."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from typing import Any

from jmespath.parser import ParsedResult

from zonule.record import Evidence, Gap, OperationRecord, slot_values
from zonule.requirements import Condition, Requirement, Requirements, compile_path
from zonule.vocabulary import GapKind, Severity, Status

Document = Mapping[str, Any]
"""The record as JMESPath expressions see it, with the circumstances of the operation under `is`."""


class Mention(StrEnum):
    """Whether a note speaks of an item."""

    STATED = "stated"
    STATED_NONE = "stated_none"
    NOT_MENTIONED = "not_mentioned"


@dataclass(frozen=True, slots=True)
class Told:
    """What a record tells, seen once for all requirements: slots that hold a value, slots said to hold none."""

    document: Document
    stated: frozenset[str]
    none: frozenset[str]


def find_missing(record: OperationRecord, requirements: Requirements) -> tuple[Gap, ...]:
    """One gap for each item that `requirements` ask for and the record does not mention, in the order of the files."""
    told = told_by(record, requirements.conditions)
    return tuple(gap for item in requirements.items for gap in _gaps_of(item, told))


def told_by(record: OperationRecord, conditions: Iterable[Condition]) -> Told:
    """What the record tells, with the circumstances of the operation."""
    values, remarks = slot_values(record), record.remarks
    noted = {remark.slot for remark in remarks if remark.status is Status.DONE}
    not_done = {remark.slot for remark in remarks if remark.status is Status.NOT_DONE}
    return Told(
        document=_as_document(record, conditions),
        stated=frozenset(noted | {value.slot for value in values}),
        none=frozenset(not_done | {value.slot for value in values if value.text == "none"}),
    )


def mention_of(item: Requirement, told: Told) -> Mention:
    """Whether the record states an item, states that there was none, or keeps silent."""
    if item.may_be_none and told.none & set(item.slots):
        return Mention.STATED_NONE
    stated = _search(item.stated, told.document) if item.stated else told.stated & set(item.slots)
    return Mention.STATED if stated else Mention.NOT_MENTIONED


def _as_document(record: OperationRecord, conditions: Iterable[Condition]) -> Document:
    """The record as JMESPath expressions see it: facts of this operation only, `is.CONDITION` added."""
    document: dict[str, Any] = _done_only(record.model_dump(mode="json"))
    document["is"] = {}
    for condition in conditions:
        document["is"][condition.id] = bool(_search(condition.path, document))
    return document


def _gaps_of(item: Requirement, told: Told) -> list[Gap]:
    if item.when and not _search(item.when, told.document):
        return []
    if item.lacking:
        return [_gap_of_fact(item, fact, told.document) for fact in _search(item.lacking, told.document) or ()]
    return [_gap(item, told.document)] if mention_of(item, told) is Mention.NOT_MENTIONED else []


def _gap(item: Requirement, document: Document) -> Gap:
    raised = item.must_when is not None and _search(item.must_when, document)
    return Gap(
        kind=GapKind.MISSING,
        id=item.id,
        severity=Severity.MUST if raised else item.severity,
        question=item.question,
        why=item.why,
        slots=item.slots,
        sources=item.sources,
    )


def _gap_of_fact(item: Requirement, fact: Mapping[str, Any], document: Document) -> Gap:
    """The gap of one fact: braces in question and slots are filled from its value."""
    fields = _Spoken(fact["value"])
    return _gap(item, document).model_copy(
        update={
            "question": item.question.format_map(fields),
            "slots": tuple(slot.format_map(_Plain(fact["value"])) for slot in item.slots),
            "evidence": tuple(Evidence.model_validate(e) for e in fact["evidence"]),
        }
    )


class _Plain(dict[str, Any]):
    def __missing__(self, key: str) -> str:
        return key


class _Spoken(_Plain):
    """Ids in the words of a sentence: underscores become spaces."""

    def __getitem__(self, key: str) -> str:
        return str(super().__getitem__(key) or "").replace("_", " ")


def _done_only(held: Any) -> Any:
    """Without facts of another status than done; remarks keep theirs."""
    if isinstance(held, dict):
        return {key: value if key == "remarks" else _done_only(value) for key, value in held.items() if _is_done(value)}
    if isinstance(held, list):
        return [_done_only(value) for value in held if _is_done(value)]
    return held


def _is_done(held: Any) -> bool:
    return not (isinstance(held, dict) and "origin" in held and held.get("status") != Status.DONE.value)


@lru_cache(maxsize=1024)
def _compiled(path: str) -> ParsedResult:
    return compile_path(path)


def _search(path: str, document: Document) -> Any:
    return _compiled(path).search(document)
