"""Quantities that are no plain number: dates, times, ratios, suture sizes, fractions, acuities, "2/52"."""

import re
from collections.abc import Collection

from zonule.annotation.quantity import Quantity
from zonule.annotation.quantity_text import Passage
from zonule.normalization.calendar_days import full_year, iso_date, resolve_numeric
from zonule.normalization.clock_times import names_time
from zonule.normalization.date_orders import MONTHS

_ISO = re.compile(r"((?:19|20)\d{2})-(\d{1,2})-(\d{1,2})(?![\d-])")
_SLASHED = re.compile(r"(\d{1,2})([/.-])(\d{1,2})\2((?:19|20)\d{2}|\d{2})(?![\d/-]|\.\d)")
_ISO_MONTH = re.compile(r"((?:19|20)\d{2})[-/](0[1-9]|1[0-2])(?![\d/-])")
_MONTH_YEAR = re.compile(r"(0?[1-9]|1[0-2])[/-](20\d{2})(?![\d/-])")
_SHORT_MONTH_YEAR = re.compile(r"(0?[1-9]|1[0-2])[/-](\d{2})(?![\d/-])")
_CLOCK = re.compile(r"(\d{1,2}):(\d{2})(?::\d{2})?(?![\d:,]\d)(?!\d)")
_RATIO = re.compile(r"(\d{1,3})\s?:\s?(\d{1,3}(?:,\d{3})+|\d+)(?![\d:])")
_ONE_IN = re.compile(r"1\s+(?:in|:)\s+(\d{1,3}(?:,\d{3})+|\d+)(?![\d:.,]\d)")
_SUTURE = re.compile(r"(\d{1,2})\s?[-/\u2010-\u2013]\s?[0o](?![\w%/]|[.:]\d)")
_SLASH = re.compile(r"(\d{1,3})/(\d{1,3})(?:\.5)?(?![\d/])")
_HALF = re.compile(r"\s*(?:([ap])\.?\s?m\b\.?)|\s+in the (morning|afternoon|evening)\b")
_HOURS = re.compile(r"\s*(?:hours|hrs|h)\b")
_DIAL = re.compile(r"\s*(?:o['’]?\s?clock\b(?:\s+position\b)?|position\b|meridian\b)")
_DAY_NAME = re.compile(
    r"(\d{1,2})(st|nd|rd|th)?[\s-]*(?:day\s+)?(of\s+)?([a-z]{3,9})\b\.?"
    r"(?:(?:,?[\s-]*(?:of\s+)?((?:19|20)\d{2})|[\s-]*['’]?(\d{2}))(?![\d:.,/-]\d|\d))?"
)
_NAME_DAY = re.compile(r"(\d{1,2})(st|nd|rd|th)?(?:\s*,\s*|\s+)((?:19|20)\d{2})(?!\d)")
_NAME_YEAR = re.compile(r"((?:19|20)\d{2})(?![\d-])")
_DAY_ALONE = re.compile(r"(\d{1,2})(st|nd|rd|th)\b")
_MONTH_BEFORE = re.compile(r"([a-z]{3,9})\.?(?:[\s-]*|\s+of\s+)\Z")
_DIGITS = re.compile(r"[0-9]+")
_WORD_BEHIND = re.compile(r"([0-9]+)[ \t-]*([a-z:]*)")
_DAY_WORDS = frozenset({"st", "nd", "rd", "th", "of", "day"})
_HALF_WORDS = frozenset({"am", "pm", "a", "p", ":"})
_POINT_TIME = re.compile(r"(\d{1,2})\.([0-5]\d)(?![\d.])")
_POINT_HOURS = re.compile(r"\s*(?:hours|hrs)\b")
_MILITARY = re.compile(r"([01]\d|2[0-3])([0-5]\d)(?![\d.,]*\d)")
_HOUR_ALONE = re.compile(r"(\d{1,2})(?=\s?[ap]\.?\s?m\b|\s+in the (?:morning|afternoon|evening)\b)")
_SHORT_YEAR = re.compile(r"\d{2}(?![\d:.,/]|\w)")
SITE_REACH = 6
"""Words before "@ 5:00" within which a wound or port makes it an hour of the dial."""
_WEEKS = {7: 1, 52: 7, 12: 28}
"""Days in one part of "n/7", "n/52" and "n/12", as prescriptions write them; a month is 28 days."""
_ACUITIES = {6: {4, 5, 6, 7, 9, 12, 15, 18, 24, 36, 60}, 3: {60}, 20: set(range(10, 801, 5))}
"""Lines of the Snellen chart in meters and in feet."""


def read_shape(p: Passage, at: int, *, day_first: bool | None) -> Quantity | None:
    """The date, time, ratio, size or fraction whose first digit is at `at`."""
    behind = _DIGITS.match(p.lower, at)
    mark = p.lower[behind.end() : behind.end() + 1] if behind else ""
    if mark == ":":
        return _read_clock(p, at) or _read_ratio(p, at)
    if mark == ".":
        return _read_numeric_date(p, at, day_first=day_first) or _read_point_time(p, at) or _read_words(p, at)
    if mark and mark in "/-\u2010\u2011\u2012\u2013":
        marked = _read_numeric_date(p, at, day_first=day_first) or _read_month(p, at)
        return marked or _read_suture(p, at) or _read_slash(p, at) or _read_day_name(p, at)
    return _read_words(p, at)


def _read_words(p: Passage, at: int) -> Quantity | None:
    """Digits with a space or a letter behind: a date with the month's name, "1 in 10,000", "10 0", "0845", "9 am"."""
    last = p.last_word(at)
    if last.rstrip(".-") in p.units.words.months:
        return _read_name_day(p, at) or _read_name_year(p, at, last)
    if last == "of" and _NAME_YEAR.match(p.lower, at):
        return _read_name_day(p, at)
    behind = _WORD_BEHIND.match(p.lower, at)
    if behind is None:
        return None
    word = behind[2]
    if word in _DAY_WORDS or word in p.units.words.months:
        return _read_day_name(p, at)
    if word == "in" or word in _HALF_WORDS:
        return _read_one_in(p, at) or _read_bare_time(p, at)
    return _read_bare_time(p, at) if len(behind[1]) == 4 else None


def _read_numeric_date(p: Passage, at: int, *, day_first: bool | None) -> Quantity | None:
    found = _ISO.match(p.lower, at)
    if found:
        iso = iso_date(int(found[1]), int(found[2]), int(found[3]))
        return _date(p, at, found.end(), iso)
    found = _SLASHED.match(p.lower, at)
    if not found:
        return None
    first, second = int(found[1]), int(found[3])
    if day_first is None and first != second and 0 < first <= MONTHS and 0 < second <= MONTHS:
        return _date(p, at, found.end(), None)
    birth = is_labelled(p, at, p.units.words.birth_labels)
    return _date(
        p, at, found.end(), resolve_numeric(first, second, found[4], day_first=day_first is not False, birth=birth)
    )


def _date(p: Passage, start: int, end: int, iso: str | None) -> Quantity:
    if iso is None:
        return Quantity(start, end, "unreadable_date", p.text[start:end])
    return Quantity(start, end, "date", iso)


def _read_month(p: Passage, at: int) -> Quantity | None:
    found = _ISO_MONTH.match(p.lower, at)
    if found:
        return Quantity(at, found.end(), "month", f"{found[1]}-{found[2]}")
    found = _MONTH_YEAR.match(p.lower, at)
    if found:
        return Quantity(at, found.end(), "month", f"{found[2]}-{int(found[1]):02d}")
    found = _SHORT_MONTH_YEAR.match(p.lower, at)
    if found and is_labelled(p, at, p.units.words.expiry_labels):
        return Quantity(at, found.end(), "month", f"{full_year(found[2], birth=False)}-{int(found[1]):02d}")
    return None


def _read_day_name(p: Passage, at: int) -> Quantity | None:
    """ "14th of March 2026", "14-Mar-26", "3rd of April"."""
    found = _DAY_NAME.match(p.lower, at)
    month = p.units.words.months.get(found[4]) if found else None
    if found is None or month is None:
        return None
    year = found[5] or (found[6] if found[6] and p.unit_at(found.end(), 10.0) is None else None)
    if year is None:
        return _day_month(
            p, at, found.end(4), int(found[1]), month, sure=bool(found[2] or found[3]) or _is_name(p, found.start(4))
        )
    birth = is_labelled(p, at, p.units.words.birth_labels)
    whole = full_year(year, birth=birth)
    iso = iso_date(whole, month, int(found[1])) if whole is not None else None
    return _date(p, at, found.end(), iso)


def _read_name_year(p: Passage, at: int, last: str) -> Quantity | None:
    """ "May 2028": a month with its year and no day, as expiries are printed."""
    digits = _DIGITS.match(p.lower, at)
    if digits is None or len(digits[0]) != 4 or digits[0][:2] not in ("19", "20"):
        return None
    start = p.lower.rfind(last, 0, at)
    return Quantity(start, digits.end(), "month", f"{digits[0]}-{p.units.words.months[last.rstrip('.-')]:02d}")


def _day_month(p: Passage, start: int, end: int, day: int, month: int, *, sure: bool) -> Quantity | None:
    """A day without its year; months that are ordinary words need more to be sure ("2 may be")."""
    if not sure or not 1 <= day <= 31:
        return None
    if iso_date(2000, month, day) is None:
        return Quantity(start, end, "unreadable_date", p.text[start:end])
    return Quantity(start, end, "day_month", f"--{month:02d}-{day:02d}")


def _is_name(p: Passage, at: int) -> bool:
    """Whether the month at `at` is written as a name, or is no ordinary word."""
    word = re.match(r"[a-z]+", p.lower[at:])
    ordinary = p.units.words.dates.ordinary_months
    return p.text[at].isupper() or (word is not None and word.group() not in ordinary)


def _read_name_day(p: Passage, at: int) -> Quantity | None:
    """ "March 14, 2026", "March 2026", "March of 2026", "August 14th"; the month stands before `at`."""
    before = _MONTH_BEFORE.search(p.lower, max(0, at - 15), at)
    month = p.units.words.months.get(before[1]) if before else None
    if before is None or month is None or (before.start(1) and p.lower[before.start(1) - 1].isalnum()):
        return None
    start = before.start(1)
    found = _NAME_DAY.match(p.lower, at)
    if found:
        return _date(p, start, found.end(), iso_date(int(found[3]), month, int(found[1])))
    found = _NAME_YEAR.match(p.lower, at)
    if found:
        return Quantity(start, found.end(), "month", f"{found[1]}-{month:02d}")
    found = _DAY_ALONE.match(p.lower, at)
    if found:
        return _day_month(p, start, found.end(), int(found[1]), month, sure=True)
    short = _SHORT_YEAR.match(p.lower, at)
    if short and is_labelled(p, start, p.units.words.expiry_labels):
        return Quantity(start, short.end(), "month", f"{full_year(short.group(), birth=False)}-{month:02d}")
    return None


def _read_clock(p: Passage, at: int) -> Quantity | None:
    """ "14:30", "2:15 p.m.", "7:30 position", "1:30 min"."""
    found = _CLOCK.match(p.lower, at)
    if not found:
        return None
    hour, minute, end = int(found[1]), int(found[2]), found.end()
    dial = _DIAL.match(p.lower, end)
    if dial:
        return Quantity(at, dial.end(), "clock_hour", round(hour + minute / 60, 4), unit="o'clock")
    unit = p.unit_at(end, float(hour))
    if unit is not None and unit[0].id == "min":
        return Quantity(at, unit[1], "duration_s", hour * 60.0 + minute, unit="min")
    labelled = has_time_label(p, at)
    if not labelled and 1 <= hour <= 12 and minute in (0, 30) and _is_place(p, at):
        return Quantity(at, end, "clock_hour", round(hour + minute / 60, 4), unit="o'clock")
    if hour > 23 or minute > 59:
        return Quantity(at, end, "unreadable_number", p.text[at:end]) if labelled else None
    if found[1] == "1" and minute and not labelled and not _HALF.match(p.lower, end) and p.last_word(at) != "at":
        return None
    return _time(p, at, end, found[1], minute)


def _is_place(p: Passage, at: int) -> bool:
    """ "Para @ 5:00": a place of the limbus, and nothing that tells the time of day."""
    before = p.all_words_before(at)
    sites = p.units.words.lists.sites
    return bool(before) and before[-1] in ("@", "at") and not sites.isdisjoint(before[-SITE_REACH:])


def _time(p: Passage, start: int, end: int, hour: str, minute: int) -> Quantity:
    half = _HALF.match(p.lower, end)
    value = int(hour)
    if half and 1 <= value <= 12:
        later = (half[1] or half[2]) not in ("a", "morning")
        return Quantity(start, half.end(), "time_of_day", f"{value % 12 + 12 * later:02d}:{minute:02d}")
    hours = _HOURS.match(p.lower, end)
    told = value == 0 or value > 12 or hour[0] == "0" or hours is not None
    end = hours.end() if hours else end
    return Quantity(start, end, "time_of_day", f"{value:02d}:{minute:02d}", unit=None if told else "12-hour")


def _read_point_time(p: Passage, at: int) -> Quantity | None:
    """ "14.30 hrs", "start 9.45": a point in a time counts only with "hours" behind or a label before."""
    found = _POINT_TIME.match(p.lower, at)
    if not found or int(found[1]) > 23:
        return None
    hours = _HALF.match(p.lower, found.end()) or (_POINT_HOURS.match(p.lower, found.end()) and len(found[1]) == 2)
    labelled = has_time_label(p, at) and p.unit_at(found.end(), 10.0) is None
    return _time(p, at, found.end(), found[1], int(found[2])) if hours or labelled else None


def _read_bare_time(p: Passage, at: int) -> Quantity | None:
    """ "1430 hours", "start time 0845", "9 am"."""
    found = _MILITARY.match(p.lower, at)
    if found and (
        _HOURS.match(p.lower, found.end()) or (has_time_label(p, at) and p.unit_at(found.end(), 1000.0) is None)
    ):
        quantity = _time(p, at, found.end(), found[1], int(found[2]))
        return Quantity(quantity.start, quantity.end, "time_of_day", quantity.value)
    found = _HOUR_ALONE.match(p.lower, at)
    if found and 1 <= int(found[1]) <= 12:
        return _time(p, at, found.end(), found[1], 0)
    return None


def _read_ratio(p: Passage, at: int) -> Quantity | None:
    found = _RATIO.match(p.lower, at)
    return Quantity(at, found.end(), "ratio", f"{int(found[1])}:{int(found[2].replace(',', ''))}") if found else None


def _read_one_in(p: Passage, at: int) -> Quantity | None:
    """ "1 in 10,000", "1 in 10": ten and more, no unit behind."""
    found = _ONE_IN.match(p.lower, at)
    below = int(found[1].replace(",", "")) if found else 0
    if found is None or below < 10 or p.unit_at(found.end(), float(below)) is not None:
        return None
    return Quantity(at, found.end(), "ratio", f"1:{below}")


def _read_suture(p: Passage, at: int) -> Quantity | None:
    found = _SUTURE.match(p.lower, at)
    if not found or not 1 <= int(found[1]) <= 12:
        return None
    return Quantity(at, found.end(), "suture_size", f"{int(found[1])}-0")


def _read_slash(p: Passage, at: int) -> Quantity | None:
    """ "2/52", "6/9", "1/3 of", "1/3 mil"."""
    found = _SLASH.match(p.lower, at)
    if not found:
        return None
    above, below, end = int(found[1]), int(found[2]), found.end()
    before = p.last_word(at)
    words = p.units.words.units.words
    lines = _ACUITIES.get(above, set())
    if below in lines and not (below == 12 and before in words.durations_before and before != "at"):
        return Quantity(at, end, "acuity", found.group())
    if below in _WEEKS and 0 < above <= 52 and "." not in found.group():
        return Quantity(
            at, end, "duration_days", float(above * _WEEKS[below]), unit={7: "day", 52: "week", 12: "month"}[below]
        )
    if not 0 < above < below <= 100:
        odd = p.unit_at(end, 10.0)
        return Quantity(at, odd[1], "unreadable_number", p.text[at : odd[1]], unit=odd[0].id) if odd else None
    unit = p.unit_at(end, above / below)
    if unit is not None:
        return Quantity(at, unit[1], unit[0].dimension, round(above / below * unit[0].factor, 4), unit=unit[0].id)
    return Quantity(at, end, "fraction", round(above / below, 4))


def is_labelled(p: Passage, at: int, labels: Collection[str]) -> bool:
    """Whether one of `labels` stands before `at` with nothing but fillers of a date between."""
    fillers = p.units.words.dates.date_fillers
    for word in reversed(p.all_words_before(at)):
        if word in labels:
            return True
        if word not in fillers:
            return False
    return False


def has_time_label(p: Passage, at: int) -> bool:
    """Whether a label of a time stands before `at` with nothing but fillers between."""
    return names_time(p.all_words_before(at), p.units.words)
