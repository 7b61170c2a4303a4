"""Every value of the trade, in every spoken form, comes back as itself: spoken → digits → quantity."""

from collections.abc import Iterable
from datetime import date, timedelta
from pathlib import Path

import pytest
from num2words import num2words
from number_forms import DIGITS, decimal_forms, integer_forms, one_by_one

from zonule.annotation.quantities import Units, find_quantities, load_units
from zonule.normalization.numbers import find_number_edits
from zonule.text import AlignedText

FOLDER = Path(__file__).parents[1] / "lexicon" / "common"
MONTHS = ["january", "february", "march", "april", "may", "june", "july"]
MONTHS += ["august", "september", "october", "november", "december"]


@pytest.fixture(scope="module")
def units() -> Units:
    return load_units(FOLDER)


def read(said: str, units: Units) -> list[tuple[str, float | str]]:
    text = AlignedText.of(said).apply(find_number_edits(said, units.words)).text
    return [(q.dimension, q.value) for q in find_quantities(text, units)]


def misread(said: Iterable[str], wanted: list[tuple[str, float | str]], units: Units) -> list[str]:
    return [f"{form!r} → {got}" for form in said if (got := read(form, units)) != wanted]


def plain(value: float) -> str:
    return f"{value:.4f}".rstrip("0").rstrip(".")


def test_lens_powers_from_minus_20_to_60_in_quarters(units: Units) -> None:
    wrong: list[str] = []
    for quarter in range(-80, 241):
        power = quarter / 4
        signs = ["minus ", "negative "] if power < 0 else ["", "plus "]
        forms = [f"{sign}{form}" for sign in signs for form in decimal_forms(plain(abs(power)))]
        wrong += misread([f"lens power {form} diopters serial" for form in forms], [("diopter", power)], units)
    assert not wrong, "\n".join(wrong[:40])


def test_lens_powers_said_digit_by_digit_and_short(units: Units) -> None:
    wrong: list[str] = []
    for quarter in range(40, 141):
        text = plain(quarter / 4)
        whole, _, digits = text.partition(".")
        forms = [one_by_one(whole) + (f" point {one_by_one(digits)}" if digits else "")]
        if digits and not (whole[1] == "0" and digits == "5"):
            forms.append(f"{num2words(int(whole))} {num2words(int(digits))}")
        wrong += misread([f"power {form} dioptres" for form in forms], [("diopter", quarter / 4)], units)
    assert not wrong, "\n".join(wrong[:40])


def test_axes_from_0_to_180(units: Units) -> None:
    wrong: list[str] = []
    for axis in range(181):
        for form in integer_forms(axis):
            wrong += misread([f"axis {form}", f"aligned at {form} degrees"], [("degrees", axis)], units)
    assert not wrong, "\n".join(wrong[:40])


def test_vacuum_from_0_to_700(units: Units) -> None:
    wrong: list[str] = []
    for vacuum in range(701):
        for form in integer_forms(vacuum):
            wrong += misread([f"vacuum {form} millimeters of mercury"], [("pressure_mmhg", vacuum)], units)
            wrong += misread([f"vacuum {form} and power"], [("number", vacuum)], units)
    assert not wrong, "\n".join(wrong[:40])


def test_flow_bottle_and_power(units: Units) -> None:
    wrong: list[str] = []
    for value in range(1, 151):
        for form in integer_forms(value):
            wrong += misread([f"flow {form} cc per minute", f"{form} mils a minute"], [("flow_ml_min", value)], units)
            wrong += misread([f"bottle at {form} centimeters"], [("length_cm", value)], units)
            if value <= 100:
                wrong += misread([f"power {form} percent", f"power {form} per cent."], [("percent", value)], units)
    assert not wrong, "\n".join(wrong[:40])


def test_cut_and_pulse_rates(units: Units) -> None:
    wrong: list[str] = []
    for rate in range(100, 10001, 100):
        wrong += misread([f"{f} cuts per minute" for f in integer_forms(rate)], [("rate_cpm", rate)], units)
    for rate in range(1, 251):
        wrong += misread([f"{f} pulses per second" for f in integer_forms(rate)], [("rate_pps", rate)], units)
    assert not wrong, "\n".join(wrong[:40])


def test_sizes_in_millimeters(units: Units) -> None:
    wrong: list[str] = []
    for twentieth in range(1, 261):
        size = round(twentieth / 20, 2)
        forms = decimal_forms(plain(size))
        wrong += misread([f"a {form} millimeter wound" for form in forms], [("length_mm", size)], units)
        wrong += misread([f"it was {form} m m" for form in forms], [("length_mm", size)], units)
    assert not wrong, "\n".join(wrong[:40])


def test_volumes_and_doses(units: Units) -> None:
    wrong: list[str] = []
    for hundredth in range(1, 501):
        forms = decimal_forms(plain(hundredth / 100))
        wrong += misread([f"given {form} mil of it" for form in forms], [("volume_ml", hundredth / 100)], units)
    for dose in [*range(1, 100), *range(100, 1001, 25)]:
        forms = integer_forms(dose)
        wrong += misread([f"{form} milligrams" for form in forms], [("mass_mg", dose)], units)
        wrong += misread([f"{form} micrograms" for form in forms], [("mass_mg", dose / 1000)], units)
    assert not wrong, "\n".join(wrong[:40])


def test_dilutions(units: Units) -> None:
    wrong: list[str] = []
    for below in (1000, 5000, 10_000, 50_000, 100_000, 200_000, 400_000, 1_000_000):
        words = integer_forms(below) | {str(below), f"{below:,}"}
        if below in (1000, 100_000):
            words |= {"a thousand"} if below == 1000 else {"a hundred thousand"}
        forms = [f"one {joint} {form}" for form in words for joint in ("in", "to", "is to")]
        wrong += misread(forms, [("ratio", f"1:{below}")], units)
    assert not wrong, "\n".join(wrong[:40])


def ordinal(number: int) -> str:
    return str(num2words(number, to="ordinal"))


def year_forms(year: int) -> list[str]:
    century, rest = divmod(year, 100)
    forms = [f"{num2words(century)} {num2words(rest) if rest > 9 else f'oh {DIGITS[rest]}'}"] if rest else []
    if year >= 2000:
        forms.append(f"two thousand and {num2words(rest)}" if rest else "two thousand")
        forms.append(f"two thousand {num2words(rest)}" if rest else "two thousand")
    elif rest == 0:
        forms.append("nineteen hundred")
    return [*forms, str(year)]


def date_forms(day: date) -> list[str]:
    month = MONTHS[day.month - 1]
    heads = [f"the {ordinal(day.day)} of {month}", f"{ordinal(day.day)} {month}", f"{month} the {ordinal(day.day)},"]
    heads += [f"{month} {ordinal(day.day)}", f"{num2words(day.day)} {month}", f"{day.day}th of {month}"]
    return [f"{head} {year}" for head in heads for year in year_forms(day.year)]


def numeric_date_forms(day: date) -> list[str]:
    """Day first, as numbers alone, with and without a leading "oh"."""
    days, months = [num2words(day.day)], [num2words(day.month)]
    if day.day < 10:
        days.append(f"oh {DIGITS[day.day]}")
    if day.month < 10:
        months.append(f"oh {DIGITS[day.month]}")
    years = year_forms(day.year)
    if day.year % 100 > 12:
        years.append(num2words(day.year % 100))
    return [f"{d} {m} {y}" for d in days for m in months for y in years]


def test_every_date_of_ten_years(units: Units) -> None:
    wrong: list[str] = []
    for offset in range(3653):
        day = date(2020, 1, 1) + timedelta(offset)
        forms = date_forms(day)
        picked = forms[offset % len(forms) :: 7]
        wrong += misread(picked, [("date", day.isoformat())], units)
    assert not wrong, "\n".join(wrong[:40])


def test_every_numeric_date_of_ten_years(units: Units) -> None:
    wrong: list[str] = []
    for offset in range(3653):
        day = date(2020, 1, 1) + timedelta(offset)
        forms = [f"date of operation {form}" for form in numeric_date_forms(day)]
        wrong += misread(forms[offset % 3 :: 3], [("date", day.isoformat())], units)
    assert not wrong, "\n".join(wrong[:40])


def test_births(units: Units) -> None:
    """A two-digit year of birth is of the last century: nobody is born in the future."""
    wrong: list[str] = []
    for year in range(1930, 2000):
        for month in range(1, 13):
            day = date(year, month, 1 + (7 * year + 3 * month) % 28)
            short = num2words(year % 100)
            forms = [f"{d} {m} {short}" for d in [num2words(day.day)] for m in [num2words(month)]]
            forms += [f"the {ordinal(day.day)} of {MONTHS[month - 1]} {short}", *date_forms(day)[:2]]
            wrong += misread([f"date of birth {form}" for form in forms], [("date", day.isoformat())], units)
    assert not wrong, "\n".join(wrong[:40])


def test_expiry_months(units: Units) -> None:
    wrong: list[str] = []
    for year in range(2024, 2040):
        for month in range(1, 13):
            named = [f"expiry {MONTHS[month - 1]} {form}" for form in year_forms(year)]
            number = f"oh {DIGITS[month]}" if month < 10 else num2words(month)
            forms = [*named, *(f"expiry date {number} {form}" for form in year_forms(year))]
            forms += [f"expires {number} slash {form}" for form in year_forms(year)]
            forms += [f"expiry {MONTHS[month - 1]} {num2words(year % 100)}", f"expiry {number} {num2words(year % 100)}"]
            wrong += misread(forms, [("month", f"{year}-{month:02d}")], units)
    assert not wrong, "\n".join(wrong[:40])


def time_forms(hour: int, minute: int) -> list[str]:
    minutes = num2words(minute) if minute > 9 else f"oh {DIGITS[minute]}"
    forms = [f"{num2words(hour)} {minutes}"] if hour else []
    if 0 < hour < 10:
        forms.append(f"oh {DIGITS[hour]} {minutes}")
    if minute == 0:
        forms = [f"{num2words(hour)} hundred hours"] if hour > 9 else [f"oh {DIGITS[hour]} hundred hours"]
    return forms


def past_forms(hour: int, minute: int) -> list[str]:
    """Twelve-hour forms with "past" and "to"."""
    names = {15: "quarter", 30: "half"}
    if minute in (5, 10, 15, 20, 25, 30):
        return [f"{names.get(minute, num2words(minute))} past {num2words(hour)}"]
    if minute in (35, 40, 45, 50, 55):
        return [f"{names.get(60 - minute, num2words(60 - minute))} to {num2words(hour % 12 + 1)}"]
    return []


def test_every_minute_of_the_day(units: Units) -> None:
    wrong: list[str] = []
    labels = ["started at", "start time", "knife to skin", "operation ended at", "time", "finished"]
    for minute in range(1440):
        hour, rest = divmod(minute, 60)
        wanted: list[tuple[str, float | str]] = [("time_of_day", f"{hour:02d}:{rest:02d}")]
        forms = time_forms(hour, rest) + (past_forms(hour, rest) if 1 <= hour <= 12 else [])
        label = labels[minute % len(labels)]
        wrong += misread([f"{label} {form}" for form in forms], wanted, units)
        if 1 <= hour <= 12 and rest:
            afternoon: list[tuple[str, float | str]] = [("time_of_day", f"{hour % 12 + 12:02d}:{rest:02d}")]
            wrong += misread(
                [f"it was {num2words(hour)} {time_forms(hour, rest)[0].split(' ', 1)[1]} p.m."], afternoon, units
            )
    assert not wrong, "\n".join(wrong[:40])


def test_hours_on_the_dial(units: Units) -> None:
    wrong: list[str] = []
    for hour in range(1, 13):
        word = num2words(hour)
        wrong += misread(
            [f"at {word} o'clock", f"at {word} o clock", f"at {hour} o’clock"], [("clock_hour", hour)], units
        )
        halves = [f"at {word} thirty o'clock", f"at half past {word} o'clock", f"at the {word} thirty position"]
        wrong += misread(halves, [("clock_hour", hour + 0.5)], units)
        for other in range(1, 13):
            pair: list[tuple[str, float | str]] = [("clock_hour", hour), ("clock_hour", other)]
            wrong += misread([f"ports at {word} and {num2words(other)} o'clock"], pair, units)
    assert not wrong, "\n".join(wrong[:40])


def test_suture_sizes(units: Units) -> None:
    wrong: list[str] = []
    for size in range(1, 12):
        word = num2words(size)
        forms = [f"{word} {zero} nylon" for zero in ("oh", "o", "zero", "nought")]
        forms += [
            f"{word}-oh silk",
            f"{size} o nylon",
            f"{size} 0 nylon",
            f"{size}/0 nylon",
            f"{size}-0 nylon",
            f"{word} oh suture",
        ]
        wrong += misread(forms, [("suture_size", f"{size}-0")], units)
        wrong += misread([f"one {word} oh nylon"], [("number", 1), ("suture_size", f"{size}-0")], units)
    assert not wrong, "\n".join(wrong[:40])
