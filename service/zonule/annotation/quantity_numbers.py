"""A plain number with its sign, unit, limit or range: "+19.5 D", "up to 350 mmHg", "between 5 and 40", "6 x 4 mm"."""

import re
from typing import NamedTuple

from zonule.annotation.quantity import Quantity
from zonule.annotation.quantity_text import REACH, Passage
from zonule.normalization.unit_forms import Unit

_BLOB = re.compile(r"(\.?\d+(?:[.,]\d+)*)?([½¼¾])?")
_VALID = re.compile(r"\d{1,3}(?:,\d{3})+(?:\.\d+)?|\d+(?:\.\d+)?|\.\d+")
_VULGAR = {"½": 0.5, "¼": 0.25, "¾": 0.75}
_MIXED = re.compile(r"[ \t]+([1-9])/([2348])(?![\d/])")
_TO = re.compile(r"\s*[-\u2010-\u2015]?\s*(?:(to|through|till|until|up to)\s+|[-\u2010-\u2015]\s*)(?=[+.\d])")
_AND = re.compile(r"\s+and\s+(?=[+.\d])")
_BY = re.compile(r"\s*[x×]\s*(?=\.?\d)|\s+by\s+(?=\.?\d)")
_ORDINAL = re.compile(r"(?:st|nd|rd|th)(?![^\W_])")
_CHAIN = re.compile(r"\d+(?:[-/]\d+){2,}|\d+/\d+(?!\d|\.\d)")
"""Digits strung together by hyphens or slashes that are no date: an identifier."""
_PAIR = re.compile(r"\d+-\d+(?!\d|\.\d)")
_DIGITS = re.compile(r"[0-9]+")
_SIZE = re.compile(r"[-/]0(?![\d.])")
LONGEST_NUMBER = 12
"""Digits of the longest number that is a value."""
_SIGNS = "+-\u2212\u2013"
FILLERS = 4
"""Words between a limit and its number, and the limit's last word."""
DIAL_HOURS = 12
UNLIMITED = frozenset({"clock_hour", "frequency", "times", "gauge"})
"""Dimensions that nobody limits: words before them belong to something else."""
CHANGE_REACH = 6
"""Words before "from A to B" in which a word of change makes two states of it."""


class Number(NamedTuple):
    """Where a number starts and ends, and its value; None where the digits do not make one number."""

    start: int
    end: int
    value: float | None


def read_plain(p: Passage, at: int, floor: int) -> tuple[list[Quantity], int]:
    """The quantities whose first digit is at `at`, and where to go on; `floor` is the end of the quantity before."""
    number = read_number(p, at)
    if number.end - at > LONGEST_NUMBER or p.lower[number.end : number.end + 1] in ("-", "/"):
        code = _read_code(p, at)
        if code is not None:
            return [], code
    unit, end = _unit_behind(p, number)
    if number.value is None:
        return _unreadable(p, number, unit, end), end
    if unit is None:
        bare = _read_bare(p, number)
        if bare is not None:
            return bare
    before = p.words_before(number.start, floor)
    return _read_range(p, number, unit, end, before) or ([_single(p, number, unit, end, before)], end)


def _unreadable(p: Passage, number: Number, unit: Unit | None, end: int) -> list[Quantity]:
    """Digits that are no one number ("19,5"), with their unit; dotted ones without a unit are a version or the like."""
    if unit is None and "," not in p.lower[number.start : end]:
        return []
    words = p.text[number.start : end]
    return [Quantity(number.start, end, "unreadable_number", words, unit=unit.id if unit else None)]


def _read_bare(p: Passage, number: Number) -> tuple[list[Quantity], int] | None:
    """What a number without a unit may be instead: "3rd", "6 x 4", "60WF"."""
    if _ORDINAL.match(p.lower, number.end):
        return [], number.end + 2
    factors = _read_factors(p, number)
    if factors is not None:
        return [factors], factors.end
    behind = p.lower[number.end : number.end + 1]
    return ([], _word_end(p, number.end)) if behind.isalpha() or behind == "_" else None


def _read_code(p: Passage, at: int) -> int | None:
    """Where digits end that are no number: "53-90-216", "12/345", "905-2144" behind the label of an identifier."""
    digits = _DIGITS.match(p.lower, at)
    if digits is None:
        return None
    end = digits.end()
    if end - at > LONGEST_NUMBER:
        return end
    if p.lower[end : end + 1] not in ("-", "/"):
        return None
    chain = _CHAIN.match(p.lower, at)
    if chain:
        return chain.end()
    pair = _PAIR.match(p.lower, at)
    return pair.end() if pair and p.behind_label(at) else None


def read_number(p: Passage, at: int) -> Number:
    """The number whose first digit is at `at`, with its sign, a leading point and a fraction behind it."""
    start = at - (at > 0 and p.lower[at - 1] == "." and (at == 1 or not p.lower[at - 2].isalnum()))
    found = _BLOB.match(p.lower, start)
    if found is None or found.end() == start:
        return Number(at, at + 1, None)
    digits, end = found[1], found.end()
    if digits and not digits.isdigit() and not _VALID.fullmatch(digits):
        return Number(start, end, None)
    value = float(digits.replace(",", "")) if digits else 0.0
    if found[2]:
        value += _VULGAR[found[2]]
    elif (
        p.lower[end + 1 : end + 2].isdigit() and (mixed := _MIXED.match(p.lower, end)) and int(mixed[1]) < int(mixed[2])
    ):
        value, end = round(value + int(mixed[1]) / int(mixed[2]), 6), mixed.end()
    sign = _sign_before(p.lower, start)
    if sign < start and p.lower[sign] != "+":
        value = -value
    return Number(sign, end, value)


def _sign_before(lower: str, start: int) -> int:
    """Where the sign of a number stands; `start` where it has none. A dash between words is no sign."""
    if start and lower[start - 1] in _SIGNS:
        return start - 1 if start == 1 or lower[start - 2] in " \t\n(:,=@/" else start
    if (
        start > 1
        and lower[start - 1] == " "
        and lower[start - 2] in _SIGNS
        and lower[max(0, start - 4) : start - 2].rstrip()[-1:] in (":", "=", "(")
    ):
        return start - 2
    return start


def _unit_behind(p: Passage, number: Number) -> tuple[Unit | None, int]:
    found = p.unit_at(number.end, number.value if number.value is not None else 10.0)
    if found is None or _is_days(p, number, found):
        return None, number.end
    return found


def _is_days(p: Passage, number: Number, found: tuple[Unit, int]) -> bool:
    """A small "d" behind "for 7" means days and is left to a person."""
    return (
        found[0].dimension == "diopter"
        and p.text[found[1] - 1] == "d"
        and p.last_word(number.start) in ("for", "in", "after", "x")
    )


def _word_end(p: Passage, at: int) -> int:
    while at < len(p.lower) and (p.lower[at].isalnum() or p.lower[at] == "_"):
        at += 1
    return at


def _single(p: Passage, number: Number, unit: Unit | None, end: int, before: list[str]) -> Quantity:
    assert number.value is not None
    value, start, limit = number.value, number.start, "fixed"
    if unit is not None:
        value, dimension, name = _convert(value, unit), unit.dimension, unit.id
    else:
        dimension, name = ("degrees" if before and _is_axis(p, before, value) else "number"), None
        end += p.lower[end : end + 1] == "+"
    if dimension not in UNLIMITED and (unit or dimension == "number"):
        if before:
            limit, start = _limit_before(p, before, start)
        if limit == "fixed":
            limit, end = _limit_behind(p, end)
    if limit == "fixed":
        return Quantity(start, end, dimension, value, None, None, limit, name)
    low, high = (None, value) if limit == "maximum" else (value, None)
    return Quantity(start, end, dimension, value, low, high, limit, name)


def _convert(value: float, unit: Unit | None) -> float:
    return round(value * unit.factor, 6) if unit else value


def _is_axis(p: Passage, before: list[str], value: float) -> bool:
    """A number behind "axis"; behind "@" it may be an hour of the dial up to 12."""
    axes = p.units.words.units.words.axes
    words = list(before)
    while words and words[-1] in ("of", "at", "is", "was", "on", "to", "about"):
        words.pop()
    return bool(words) and words[-1] in axes and (words[-1] != "@" or value > DIAL_HOURS)


def _limit_before(p: Passage, before: list[str], start: int) -> tuple[str, int]:
    """The limit the words before a number set, and where the quantity starts: with them where they are adjacent."""
    between = p.units.words.units.words.between
    spelled = p.lower[max(0, start - REACH) : start].split()
    for place in range(len(before), max(0, len(before) - FILLERS), -1):
        last = before[place - 1]
        if place < len(before) and spelled[place - len(before) - 1][-1:] == ",":
            break
        for limit, phrases in (("maximum", p.units.maximum_before), ("minimum", p.units.minimum_before)):
            length = _phrase_length(before, place, phrases[last]) if last in phrases else 0
            if length and not _is_rise(p, before[: place - length], before[place - length : place]):
                return limit, p.start_of(before[place - length :], start) if place == len(before) else start
        if last not in between:
            break
    return "fixed", start


def _is_rise(p: Passage, before: list[str], phrase: list[str]) -> bool:
    """ "The vacuum went up to 380" tells the value it was brought to, no limit."""
    return phrase == ["up", "to"] and bool(before) and before[-1] in p.units.words.units.words.changes


def _phrase_length(before: list[str], place: int, phrases: tuple[tuple[str, ...], ...]) -> int:
    """How many words of a limit phrase end before `place`; 0 where none does."""
    for phrase in phrases:
        if len(phrase) <= place and tuple(before[place - len(phrase) : place]) == phrase:
            return len(phrase)
    return 0


def _limit_behind(p: Passage, end: int) -> tuple[str, int]:
    near = p.lower[end + 1 : end + 2]
    found = p.units.limit_after.match(p.lower, end) if near in p.units.limit_letters else None
    if not found:
        return "fixed", end
    return ("maximum" if found[1] else "minimum"), found.end()


def _read_range(
    p: Passage, first: Number, unit: Unit | None, end: int, before: list[str]
) -> tuple[list[Quantity], int] | None:
    """ "5 to 40 cc", "5-40", "between 5 and 40": one range, or two states where something changed."""
    last = before[-1] if before else ""
    joint = _TO.match(p.lower, end) or (_AND.match(p.lower, end) if last in ("between", "betwixt") else None)
    if joint is None:
        return None
    second = read_number(p, joint.end() + (p.lower[joint.end()] in "+."))
    if second.value is None or first.value is None or p.lower[second.end : second.end + 1] in (":", "/"):
        return None
    unit_behind, stop = _unit_behind(p, second)
    if unit is not None and (unit_behind is None or unit_behind.dimension != unit.dimension):
        return None
    if unit_behind is None and stop < len(p.lower) and p.lower[stop].isalnum():
        return None
    low, high = _convert(first.value, unit or unit_behind), _convert(second.value, unit_behind)
    dial = unit_behind is not None and unit_behind.dimension == "clock_hour"
    dimension = unit_behind.dimension if unit_behind else "number"
    name = unit_behind.id if unit_behind else None
    if _is_change(p, before) or (high <= low and not dial):
        if joint.group(0).strip() in ("-", "–", "—") and high <= low:
            return [], stop
        return [
            Quantity(first.start, end, dimension, low, unit=name),
            Quantity(second.start, stop, dimension, high, unit=name),
        ], stop
    start = _range_start(p, before, first.start)
    return [Quantity(start, stop, dimension, high, low, high, "range", name)], stop


def _is_change(p: Passage, before: list[str]) -> bool:
    words = before[-CHANGE_REACH:]
    changes = p.units.words.units.words.changes
    if not words or words[-1] in ("to", "between"):
        return False
    return words[-1] in changes or (words[-1] == "from" and any(word in changes for word in words))


def _range_start(p: Passage, before: list[str], start: int) -> int:
    """The range words directly before belong to the quantity."""
    if before and before[-1] in ("between", "from"):
        return p.start_of(before[-2:] if before[-2:-1] == ["anywhere"] else before[-1:], start)
    return start


def _read_factors(p: Passage, first: Number) -> Quantity | None:
    """ "6 x 4 mm"."""
    joint = _BY.match(p.lower, first.end)
    if joint is None or first.value is None:
        return None
    second = read_number(p, joint.end() + (p.lower[joint.end()] == "."))
    if second.value is None:
        return None
    unit, end = _unit_behind(p, second)
    if unit is not None and not unit.dimension.startswith("length"):
        return None
    if _SIZE.match(p.lower, second.end):
        return None  # "2 x 10-0" counts sutures of a size
    low, high = _convert(first.value, unit), _convert(second.value, unit)
    return Quantity(first.start, end, "by", f"{low:g} x {high:g}", low, high, unit=unit.id if unit else None)
