"""Times and dates: order, length, future, age."""

import re
from collections.abc import Iterator
from datetime import date

from zonule.consistency.finding import Checked, Found, Rule, first_of, present

CLOCK = re.compile(r"([01]\d|2[0-3]):([0-5]\d)")
ADULT = 18
"""Years from which a congenital cataract is questioned."""


def find_end_before_start(checked: Checked) -> Iterator[Found]:
    """An end that lies before the start, or at the same minute."""
    operation = checked.record.operation
    start, end = minutes(operation.start_time), minutes(operation.end_time)
    if start is not None and end is not None and end <= start and operation.start_time and operation.end_time:
        words = {"start": operation.start_time.value, "end": operation.end_time.value}
        yield Found((operation.start_time, operation.end_time), ("operation.start_time", "operation.end_time"), words)


def find_odd_durations(checked: Checked) -> Iterator[Found]:
    """An operation shorter or longer than the trade would expect."""
    operation = checked.record.operation
    start, end = minutes(operation.start_time), minutes(operation.end_time)
    bounds = checked.requirements.range_of.get("operation.duration")
    if bounds is None or start is None or end is None or end <= start:
        return
    if not bounds.usual.low <= end - start <= bounds.usual.high:
        words = {"minutes": str(end - start), "range": f"{bounds.usual.low:g} to {bounds.usual.high:g}"}
        facts = present([operation.start_time, operation.end_time])
        yield Found(facts, ("operation.start_time", "operation.end_time"), words)


def find_unread_times(checked: Checked) -> Iterator[Found]:
    """A time that no clock shows."""
    for name in ("start_time", "end_time"):
        fact = getattr(checked.record.operation, name)
        if fact is not None and minutes(fact) is None:
            yield Found((fact,), (f"operation.{name}",), {"value": fact.value})


def find_future_operations(checked: Checked) -> Iterator[Found]:
    """An operation on a day that is still to come."""
    fact = checked.record.operation.date
    if fact and checked.today and fact.value > checked.today:
        words = {"day": fact.value.isoformat(), "today": checked.today.isoformat()}
        yield Found((fact,), ("operation.date",), words)


def find_odd_ages(checked: Checked) -> Iterator[Found]:
    """A patient not yet born, or older than people become."""
    bounds = checked.requirements.range_of.get("patient.age")
    born, years = checked.record.patient.date_of_birth, age(checked)
    if bounds is None or years is None or born is None:
        return
    if not bounds.possible.low <= years <= bounds.possible.high:
        facts = present([born, checked.record.operation.date])
        yield Found(facts, ("patient.date_of_birth", "operation.date"), {"years": str(years)})


def find_late_congenital(checked: Checked) -> Iterator[Found]:
    """A congenital cataract in an adult."""
    operation, years = checked.record.operation, age(checked)
    diagnoses = (*operation.preoperative_diagnosis, *operation.postoperative_diagnosis)
    congenital = first_of(diagnoses, "congenital_cataract")
    if congenital and years is not None and years >= ADULT:
        facts = present([congenital, checked.record.patient.date_of_birth])
        yield Found(facts, ("operation.preoperative_diagnosis", "patient.date_of_birth"), {"years": str(years)})


def minutes(fact: object) -> int | None:
    """Minutes since midnight of a fact `HH:MM`; None where there is none."""
    found = CLOCK.fullmatch(str(getattr(fact, "value", "")))
    return 60 * int(found[1]) + int(found[2]) if found else None


def age(checked: Checked) -> int | None:
    """Completed years on the day of the operation; negative before birth, None when a date is unknown."""
    born, day = checked.record.patient.date_of_birth, checked.operation_date or checked.today
    if born is None or day is None:
        return None
    return day.year - born.value.year - (_in_year(day) < _in_year(born.value))


def _in_year(day: date) -> tuple[int, int]:
    return day.month, day.day


RULES: dict[str, Rule] = {
    "operation.end_before_start": find_end_before_start,
    "operation.duration": find_odd_durations,
    "operation.time_unread": find_unread_times,
    "operation.in_future": find_future_operations,
    "patient.age": find_odd_ages,
    "patient.congenital": find_late_congenital,
}
