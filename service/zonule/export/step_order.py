"""The steps in the order in which the note tells them: as dictated, but for a step known from the operation's name."""

from zonule.export.wording import wording
from zonule.record import OperationRecord
from zonule.record.operation_record import Text
from zonule.vocabulary import Status


def steps_in_order(record: OperationRecord) -> list[Text]:
    """What was done, in the order of speaking.

    A step that only the name of the operation tells ("phaco with a lens", said first) has no place of its own: it
    follows the other steps of its stage, or stands before the first step of a later stage.
    """
    done = [step for step in record.steps if step.status is Status.DONE]
    placed = [step for step in done if not named_by_operation(record, step)]
    for step in done:
        if step not in placed:
            placed.insert(_place(step, placed, done), step)
    return placed


def named_by_operation(record: OperationRecord, step: Text) -> bool:
    """Whether all words of a step are words that name the operation."""
    named = {evidence for procedure in record.operation.procedures for evidence in procedure.evidence}
    return bool(step.evidence) and set(step.evidence) <= named


def stage_of(step: str) -> str:
    """The stage of the operation that a step belongs to; empty for a step that may come at any time."""
    return next((name for name, steps in wording()["stage"].items() if step in steps), "")


def _place(step: Text, placed: list[Text], done: list[Text]) -> int:
    """Where to insert a step among those that have a place; without a stage, where it was said."""
    stages = list(wording()["stage"])
    stage = stage_of(step.value)
    if not stage:
        return sum(other in placed for other in done[: done.index(step)])
    found = [stage_of(other.value) for other in placed]
    if stage in found:
        return len(found) - found[::-1].index(stage)
    later = stages[stages.index(stage) + 1 :]
    return next((at for at, other in enumerate(found) if other in later), len(found))
