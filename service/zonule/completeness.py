"""What a note lacks: a record against the requirements. Three states: stated, stated none, not mentioned."""

from collections.abc import Iterable, Mapping
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


def find_missing(record: OperationRecord, requirements: Requirements) -> tuple[Gap, ...]:
    """One gap for each item that `requirements` ask for and the record does not mention, in the order of the files."""
    document = as_document(record, requirements.conditions)
    return tuple(gap for item in requirements.items for gap in _gaps_of(item, record, document))


def mention_of(item: Requirement, record: OperationRecord, document: Document) -> Mention:
    """Whether the record states an item, states that there was none, or keeps silent."""
    if _says_none(item, record):
        return Mention.STATED_NONE
    stated = _search(item.stated, document) if item.stated else _stated_slots(record) & set(item.slots)
    return Mention.STATED if stated else Mention.NOT_MENTIONED


def as_document(record: OperationRecord, conditions: Iterable[Condition]) -> Document:
    """The record as JMESPath expressions see it: facts of this operation only, `is.CONDITION` added."""
    document: dict[str, Any] = _done_only(record.model_dump(mode="json"))
    document["is"] = {}
    for condition in conditions:
        document["is"][condition.id] = bool(_search(condition.path, document))
    return document


def _gaps_of(item: Requirement, record: OperationRecord, document: Document) -> list[Gap]:
    if item.when and not _search(item.when, document):
        return []
    if item.lacking:
        return [_gap_of_fact(item, fact, document) for fact in _search(item.lacking, document) or ()]
    if mention_of(item, record, document) is Mention.NOT_MENTIONED:
        return [_gap(item, document)]
    return []


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


def _stated_slots(record: OperationRecord) -> set[str]:
    noted = {remark.slot for remark in record.remarks if remark.status is Status.DONE}
    return noted | {value.slot for value in slot_values(record)}


def _says_none(item: Requirement, record: OperationRecord) -> bool:
    if not item.may_be_none:
        return False
    none_said = any(v.slot in item.slots and v.text == "none" for v in slot_values(record))
    not_done = any(r.slot in item.slots and r.status is Status.NOT_DONE for r in record.remarks)
    return none_said or not_done


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
