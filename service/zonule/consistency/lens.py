"""The lens: its dates, its place, and what else was opened or taken out."""

import calendar
import re
from collections.abc import Iterator
from datetime import date
from typing import Any

from zonule.consistency.finding import Checked, Found, Rule, first_of, present, spoken_id
from zonule.labels import same_identifier
from zonule.record import Fact, Lens
from zonule.vocabulary import LensStatus

IDENTITY = ("model", "power_d", "serial_number", "lot_number", "location")
"""Fields by whose words a lens is shown."""


def find_expired_lenses(checked: Checked) -> Iterator[Found]:
    """An implanted lens whose expiry lies before the operation; a month counts to its last day."""
    day = checked.operation_date or checked.today
    for lens in _lenses(checked, LensStatus.IMPLANTED):
        last = _last_day(lens.expiry_date.value) if lens.expiry_date else None
        if day and last and last < day and lens.expiry_date:
            words = {"expiry": lens.expiry_date.value, "day": day.isoformat()}
            yield Found((lens.expiry_date,), ("lens.expiry_date", "operation.date"), words)


def find_unread_expiries(checked: Checked) -> Iterator[Found]:
    """An expiry that is neither a day nor a month."""
    for lens in checked.record.lenses:
        if lens.expiry_date and _last_day(lens.expiry_date.value) is None:
            yield Found((lens.expiry_date,), ("lens.expiry_date",), {"expiry": lens.expiry_date.value})


def find_unmade_lenses(checked: Checked) -> Iterator[Found]:
    """A lens whose label says that it was made after the operation, or after it expires."""
    label = checked.label
    if label is None or label.manufacture_date is None:
        return
    day, made = checked.operation_date, label.manufacture_date
    last = _last_day(label.expiry_date) if label.expiry_date else None
    if (day and made > day) or (last and made > last):
        words = {"made": made.isoformat(), "day": day.isoformat() if day else str(label.expiry_date)}
        yield Found(slots=("operation.date",), words=words, facts=present([checked.record.operation.date]))


def find_bag_in_broken_capsule(checked: Checked) -> Iterator[Found]:
    """A lens in the bag although the posterior capsule broke."""
    broken = first_of(checked.record.complications.events, "posterior_capsule_rupture")
    for lens in _lenses(checked, LensStatus.IMPLANTED):
        if broken and lens.location and lens.location.value == "capsular_bag":
            yield Found((lens.location, broken), ("lens.location",))


def find_two_lenses(checked: Checked) -> Iterator[Found]:
    """Two lenses implanted in one eye."""
    lenses = _lenses(checked, LensStatus.IMPLANTED)
    if len(lenses) > 1:
        facts = tuple(fact for lens in lenses for fact in _shown(lens))
        yield Found(facts, ("lens.model", "lens.power_d", "lens.serial_number"), {"count": str(len(lenses))})


def find_unused_lenses(checked: Checked) -> Iterator[Found]:
    """A lens opened and not implanted."""
    for lens in _lenses(checked, LensStatus.OPENED_NOT_IMPLANTED):
        facts = _shown(lens)
        words = {"lens": ", ".join(str(fact.value) for fact in facts) or "no identity given"}
        yield Found(facts, ("lens.serial_number", "lens_not_implanted.serial_number"), words)


def find_same_serials(checked: Checked) -> Iterator[Found]:
    """One serial number on the lens in the eye and on another."""
    others = [lens for lens in checked.record.lenses if lens.status is not LensStatus.IMPLANTED]
    for lens in _lenses(checked, LensStatus.IMPLANTED):
        for other in others:
            one, two = lens.serial_number, other.serial_number
            if one and two and same_identifier(one.value, two.value):
                words = {"serial": one.value, "other": spoken_id(other.status.value)}
                yield Found((one, two), ("lens.serial_number",), words)


def find_label_of_another_lens(checked: Checked) -> Iterator[Found]:
    """A label with the serial number of a lens that is not in the eye."""
    printed = checked.label.serial_number if checked.label else None
    for lens in checked.record.lenses:
        said = lens.serial_number
        if lens.status is not LensStatus.IMPLANTED and said and printed and same_identifier(said.value, printed):
            words = {"serial": printed, "other": spoken_id(lens.status.value)}
            yield Found((said,), ("lens.serial_number",), words)


def find_label_notes(checked: Checked) -> Iterator[Found]:
    """What is odd about the code of the label, though it can be read."""
    for note in checked.label.notes if checked.label else ():
        yield Found(slots=("lens.expiry_date",), words={"note": note})


def find_axis_without_cylinder(checked: Checked) -> Iterator[Found]:
    """An axis of a lens whose cylinder was said to be zero."""
    for lens in _lenses(checked, LensStatus.IMPLANTED):
        if lens.axis_deg and lens.cylinder_d and lens.cylinder_d.value == 0:
            yield Found((lens.axis_deg, lens.cylinder_d), ("lens.cylinder_d", "lens.axis_deg"))


def find_aphakia_with_lens(checked: Checked) -> Iterator[Found]:
    """An eye called aphakic after the operation although a lens was implanted."""
    aphakia = first_of(checked.record.operation.postoperative_diagnosis, "aphakia")
    for lens in _lenses(checked, LensStatus.IMPLANTED):
        if aphakia:
            yield Found((aphakia, *_shown(lens)), ("operation.postoperative_diagnosis", "lens.model"))


def _lenses(checked: Checked, status: LensStatus) -> list[Lens]:
    return [lens for lens in checked.record.lenses if lens.status is status]


def _shown(lens: Lens) -> tuple[Fact[Any], ...]:
    return present(getattr(lens, name) for name in IDENTITY)


def _last_day(text: str) -> date | None:
    """The last day meant: of a month, its last; None for anything else."""
    if not re.fullmatch(r"\d{4}-\d{2}(-\d{2})?", text):
        return None
    year, month, *day = (int(part) for part in text.split("-"))
    if not 1 <= month <= 12 or year < 1:
        return None
    last = calendar.monthrange(year, month)[1]
    return date(year, month, day[0] if day else last) if not day or 1 <= day[0] <= last else None


RULES: dict[str, Rule] = {
    "lens.expired": find_expired_lenses,
    "lens.expiry_unread": find_unread_expiries,
    "lens.not_yet_made": find_unmade_lenses,
    "lens.bag_in_broken_capsule": find_bag_in_broken_capsule,
    "lens.two_implanted": find_two_lenses,
    "lens.opened_not_implanted": find_unused_lenses,
    "lens.same_serial": find_same_serials,
    "lens.label_of_another": find_label_of_another_lens,
    "lens.label_note": find_label_notes,
    "lens.axis_without_cylinder": find_axis_without_cylinder,
    "lens.aphakia": find_aphakia_with_lens,
}
