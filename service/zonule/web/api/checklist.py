"""Each requirement of a set and how a note stands to it, in the order in which a surgeon tells the operation."""

from zonule.completeness import Mention
from zonule.export.wording import label
from zonule.record import OperationRecord
from zonule.requirements import Requirement, Requirements
from zonule.teaching.marking import Mark, mark
from zonule.web.api.reading_models import ItemShown, ItemState
from zonule.web.pages.running_order import stages

STATES: dict[Mention, ItemState] = {
    Mention.STATED: "stated",
    Mention.STATED_NONE: "stated_none",
    Mention.NOT_MENTIONED: "open",
}


def checklist_of(record: OperationRecord, requirements: Requirements, standard: str) -> tuple[ItemShown, ...]:
    """One line for each item of the set; an item that this operation does not ask for is not applicable."""
    marks = {held.item.id: held for held in mark(record, requirements, standard).marks}
    return tuple(_item(item, marks.get(item.id)) for item in in_order(requirements, standard))


def items_of(requirements: Requirements, standard: str) -> tuple[ItemShown, ...]:
    """The items of a set, held against nothing: all open."""
    return tuple(_shown(item, "open") for item in in_order(requirements, standard))


def in_order(requirements: Requirements, standard: str) -> tuple[Requirement, ...]:
    """The items of a set in the order of telling; those of a unit's own files that no stage names come last."""
    told = {name: place for place, name in enumerate(item for _, _, items in stages() for item in items)}
    chosen = requirements.of_set(standard).items
    return tuple(sorted(chosen, key=lambda item: told.get(item.id, len(told))))


def _item(item: Requirement, marked: Mark | None) -> ItemShown:
    if marked is None:
        return _shown(item, "not_applicable")
    shown = _shown(item, STATES[marked.mention])
    question = " ".join(marked.questions) or item.question
    return shown.model_copy(update={"severity": marked.severity, "question": question})


def _shown(item: Requirement, state: ItemState) -> ItemShown:
    return ItemShown(
        id=item.id,
        label=label(item.id),
        question=item.question,
        why=item.why,
        state=state,
        severity=item.severity,
        slots=item.slots,
        sources=item.sources,
    )
