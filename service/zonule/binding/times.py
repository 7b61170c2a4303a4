"""Dates and times: of the operation and of birth."""

from collections.abc import Iterator
from datetime import date

from zonule.assertion import Asserted
from zonule.binding.found import Found, found
from zonule.binding.reading import Reading
from zonule.binding.sections import Section, section_at
from zonule.vocabulary import Status

DATED = {"operation.date", "patient.date_of_birth"}
TIMED = {"operation.start_time", "operation.end_time"}
OPENING = 60
"""Words at the head of a dictation in which a bare date is the date of the operation."""


SINCE = 2000
"""A bare date of an earlier year is no day of an operation that is dictated now."""
OPERATED = frozenset({"operated", "performed", "done", "carried", "surgery", "operation", "procedure"})
"""Before "on" and a date: the day of the operation."""
FORMER = frozenset({Status.HISTORICAL, Status.OTHER_EYE, Status.NOT_DONE})


def bind_times(reading: Reading, sections: list[Section]) -> Iterator[Found]:
    """Dates and times with their labels; a bare date at the head is the day of the operation."""
    yield from _bind_dates(reading, sections)
    for value in reading.of("quantity"):
        mention = value.mention
        if mention.quantity is None:
            continue
        section = _label_of(sections, value)
        if mention.id == "time_of_day" and section is not None and section.field in TIMED:
            yield found(section.field, str(mention.quantity.value), value)
            yield from _end_of_range(reading, value, section)


def _bind_dates(reading: Reading, sections: list[Section]) -> Iterator[Found]:
    """Labeled dates, else "operated on DATE", else a bare date at the head; a label holds one date."""
    told: list[Found] = []
    bare: list[Found] = []
    used: dict[int, str] = {}
    for value in reading.of("quantity"):
        mention = value.mention
        if mention.id != "date" or mention.quantity is None or _expires(reading, value):
            continue
        day = date.fromisoformat(str(mention.quantity.value))
        section = _label_of(sections, value)
        if _operated_on(reading, mention.start):
            told.append(found("operation.date", day, value))
        elif section is not None and section.field in DATED and section.label.start not in used:
            used[section.label.start] = section.field
            yield found(section.field, day, value if value.status in FORMER else Asserted(mention, Status.DONE))
        elif section is None and mention.start < OPENING and value.status is Status.DONE and day.year >= SINCE:
            bare.append(found("operation.date", day, value))
    if "operation.date" not in used.values():
        yield from told or bare[:1]


def _operated_on(reading: Reading, i: int) -> bool:
    """ "Performed on the DATE", "surgery on DATE"."""
    at = i - (reading.words[i - 1 : i] == ("the",))
    near = reading.words[max(0, at - 3) : at - 1]
    return reading.words[at - 1 : at] == ("on",) and bool(OPERATED & set(near))


def _label_of(sections: list[Section], value: Asserted) -> Section | None:
    section = section_at(sections, value.mention.start)
    if section is None or section.field not in DATED | TIMED:
        return section if section is not None and section.field in ("plan",) else None
    return section if value.mention.start - section.label.end <= 6 else None


def _expires(reading: Reading, value: Asserted) -> bool:
    near = reading.between(max(0, value.mention.start - 5), value.mention.start)
    return any(a.mention.key == "lens_field:expiry_date" for a in near)


def _end_of_range(reading: Reading, value: Asserted, section: Section) -> Iterator[Found]:
    """ "Started 9:10, to 9:32" gives both ends under one label."""
    if section.field != "operation.start_time":
        return
    for other in reading.between(value.mention.end, value.mention.end + 3):
        if (
            other.mention.id == "time_of_day"
            and other.mention.quantity is not None
            and set(reading.gap(value.mention.end, other.mention.start)) & {"to", "until", "till"}
        ):
            yield found("operation.end_time", str(other.mention.quantity.value), other)
