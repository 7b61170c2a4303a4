"""How the documents write numbers, dates, places and machine settings."""

import re
from datetime import date, datetime

from zonule.record import DrugGiven, Setting, SutureUse
from zonule.record.slots import format_number
from zonule.vocabulary import Limit

MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
ISO_DAY = re.compile(r"(\d{4})-(\d{2})(?:-(\d{2}))?")
MERIDIAN = re.compile(r"(-?\d+(?:\.\d+)?) ?deg")
MINUS = "\N{MINUS SIGN}"
COUNTS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


def number(value: float) -> str:
    """Without trailing zeros, with a true minus sign."""
    return format_number(value).replace("-", MINUS)


def signed_power(value: float) -> str:
    """A lens power, always with its sign and two decimals, because a lost sign is a wrong lens: `+21.50 D`.

    Source: standards on lens labels count wrong signs among the causes of wrong lenses (Steeples, Eye 2016).
    A power that two decimals would round is written in full.
    """
    decimals = f"{abs(value):.2f}" if round(value, 2) == value else format_number(abs(value))
    return f"{MINUS if value < 0 else '+' if value > 0 else ''}{decimals} D"


def day(value: date) -> str:
    """`3 May 1941`: the month in letters, since 3/5 and 5/3 are read in two ways."""
    return f"{value.day} {MONTHS[value.month - 1]} {value.year}"


def spoken_day(value: str) -> str:
    """An ISO day or month in letters (`November 2028`); anything else as it is."""
    found = ISO_DAY.fullmatch(value)
    if not found or not 1 <= int(found[2]) <= 12:
        return value
    start = f"{int(found[3])} " if found[3] else ""
    return f"{start}{MONTHS[int(found[2]) - 1]} {found[1]}"


def moment(value: datetime) -> str:
    """`25 November 2026, 14:05`, with the zone when it has one."""
    zone = f" {value:%Z}" if value.tzinfo else ""
    return f"{day(value.date())}, {value:%H:%M}{zone}"


def clock_hour(value: float) -> str:
    """A clock hour as charted: `12`, `7:30` for half past seven."""
    minutes = round(value % 1 * 60)
    return f"{int(value)}:{minutes:02d}" if minutes else str(int(value))


def site(value: str) -> str:
    """A wound's site as a label: `7 o'clock`, `75°`, `superotemporal`."""
    meridian = MERIDIAN.fullmatch(value)
    return f"{meridian[1]}°" if meridian else value.replace("_", " ")


def mark_of_time(seconds: float) -> str:
    """Seconds into the recording as `m:ss`."""
    return f"{int(seconds) // 60}:{int(seconds) % 60:02d}"


def follow_up(days: float) -> str:
    """`1 day`, `1 week`, `4 weeks`: whole weeks in weeks, as a week is 7 days and a month 28."""
    count, unit = (days / 7, "week") if days >= 7 and days % 7 == 0 else (days, "day")
    return f"{number(count)} {unit}{'' if count == 1 else 's'}"


def setting_amount(setting: Setting) -> str:
    """The amount without its unit, foot position and memory in brackets: `max 45 (memory 2)`."""
    place = setting_place(setting)
    return f"{bare_amount(setting)} ({place})" if place else bare_amount(setting)


def bare_amount(setting: Setting) -> str:
    """The amount without its unit: `65`, `max 45`, `5-40` (en dash)."""
    if setting.limit is Limit.RANGE:
        return f"{_or_dots(setting.low)}\N{EN DASH}{_or_dots(setting.high)}"
    return ("max " if setting.limit is Limit.MAXIMUM else "") + _or_dots(setting.value)


def setting_place(setting: Setting) -> str:
    """Foot position and machine memory, as far as stated: `foot position 3, memory 2`."""
    held = (("foot position", setting.foot_position), ("memory", setting.memory))
    return ", ".join(f"{name} {value}" for name, value in held if value is not None)


def _or_dots(value: float | None) -> str:
    return number(value) if value is not None else "\N{HORIZONTAL ELLIPSIS}"


def dose(drug: DrugGiven) -> str:
    """`1 mg`, or nothing when no dose is stated."""
    if drug.dose is None:
        return ""
    return f"{number(drug.dose)} {drug.dose_unit or ''}".strip()


def sutures(use: SutureUse) -> str:
    """`one 10-0 nylon suture`, `no sutures` when none was said; a count that was not said is not guessed."""
    if use.material == "none":
        return "no sutures"
    noun = " ".join(part for part in (use.size, use.material.replace("_", " "), "suture") if part)
    if use.count is None:
        return f"{noun} (number not stated)"
    count = COUNTS[use.count] if 0 <= use.count < len(COUNTS) else str(use.count)
    return f"{count} {noun}{'' if use.count == 1 else 's'}"
