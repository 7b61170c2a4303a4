"""Does a record read as an operation note at all? A letter or a recipe must yield no operation facts."""

from zonule.record import OperationRecord

ENOUGH = 3
"""Points from which a text counts as an operation note; common practice, no source."""


def reads_as_operation(record: OperationRecord) -> bool:
    """Whether enough of an operation was told as done: steps weigh most, other facts of an operation add."""
    operative = len({fact.value for fact in record.steps})
    points = operative
    points += bool(record.anesthesia) + bool(record.operation.procedures) + bool(record.operation.eye)
    points += bool(record.settings) + bool(record.main_incision.width_mm or record.main_incision.kind)
    points += bool(record.lenses and (record.lenses[0].power_d or record.lenses[0].location))
    told = operative >= 1 or bool(record.operation.procedures) or bool(record.settings)
    return told and points >= ENOUGH
