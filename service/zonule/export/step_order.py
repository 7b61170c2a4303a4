"""The steps in the order in which the note tells them: as dictated, but for a step known from the operation's name."""

from zonule.export.wording import wording
from zonule.record import Evidence, OperationRecord
from zonule.record.operation_record import Text
from zonule.vocabulary import Status


def steps_in_order(record: OperationRecord) -> list[Text]:
    """What was done, in the order of speaking.

    A step that only the name of the operation tells ("phaco with a lens", said first) has no place of its own: it
    follows the other steps of its stage, or stands before the first step of a later stage.
    """
    done = [step for step in record.steps if step.status is Status.DONE]
    unplaced = named_before(record, done)
    placed = [step for step in done if step not in unplaced]
    for step in unplaced:
        placed.insert(_place(step, placed, done), step)
    return placed


def named_before(record: OperationRecord, done: list[Text]) -> list[Text]:
    """Steps told by words that name the operation, before any step was told by words of its own."""
    named = [evidence for procedure in record.operation.procedures for evidence in procedure.evidence]
    told = [step for step in done if step.evidence]
    own = [step.evidence[0].start for step in told if not _within_any(step.evidence[0], named)]
    first = min(own, default=0)
    return [step for step in told if _within_any(step.evidence[0], named) and step.evidence[0].start < first]


def stage_of(step: str) -> str:
    """The stage of the operation that a step belongs to; empty for a step that may come at any time."""
    return next((name for name, steps in wording()["stage"].items() if step in steps), "")


def _within_any(inner: Evidence, outers: list[Evidence]) -> bool:
    return any(outer.start <= inner.start and inner.end <= outer.end for outer in outers)


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
