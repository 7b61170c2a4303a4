"""Digits → quantities with unit, dimension and limit, by character offsets of the normalized text."""

import re

from zonule.annotation.quantity import Quantity
from zonule.annotation.quantity_groups import group_quantities
from zonule.annotation.quantity_numbers import read_number, read_plain
from zonule.annotation.quantity_shapes import read_shape
from zonule.annotation.quantity_text import Passage, Units, load_units

__all__ = ["Quantity", "Units", "find_quantities", "load_units"]

_DIGIT = re.compile(r"[0-9½¼¾]")
_TOKEN_REST = re.compile(r"[\w]*(?:[-/.][\w]+)*")


def find_quantities(text: str, units: Units, *, day_first: bool | None = True) -> list[Quantity]:
    """The quantities of `text` from left to right, none overlapping; time is linear in its length.

    `day_first` settles a numeric date that could be read both ways (03/04/2026); None leaves it to a person. That,
    and one that the calendar does not have, is an `unreadable_date`.
    """
    p = Passage(text, units)
    found: list[Quantity] = []
    at = floor = 0
    while (digit := _DIGIT.search(p.lower, at)) is not None:
        quantities, at = _read(p, digit.start(), floor, day_first=day_first)
        if quantities:
            floor = quantities[-1].end
            at = max(at, floor)
            found += quantities
    return group_quantities(p, found)


def _read(p: Passage, at: int, floor: int, *, day_first: bool | None) -> tuple[list[Quantity], int]:
    """What starts at the digit at `at`, and where to go on."""
    before = p.lower[at - 1] if at else " "
    if before.isalpha() or before in "_×":
        return (_read_times(p, at, at - 1) if before in "x×" else None) or ([], _past_name(p, at))
    shape = read_shape(p, at, day_first=day_first)
    if shape is not None and shape.start >= floor:
        return [shape], shape.end
    times = _read_times(p, at, _cross_before(p, at, floor)) if before == " " else None
    return times or read_plain(p, at, floor)


def _cross_before(p: Passage, at: int, floor: int) -> int:
    """Where "x" or "times" stands one space before `at`; -1 where neither does."""
    last = p.last_word(at)
    cross = at - 1 - len(last)
    return cross if last in ("x", "×", "times") and cross >= floor else -1


def _read_times(p: Passage, at: int, cross: int) -> tuple[list[Quantity], int] | None:
    """ "x4", "x 4", "times 4"; `cross` is where the multiplication sign would stand."""
    if cross < 0 or p.lower[cross] not in "x×t" or (cross and p.lower[cross - 1].isalnum()):
        return None
    number = read_number(p, at)
    if number.value is None or p.unit_at(number.end, number.value) is not None:
        return None
    return [Quantity(cross, number.end, "times", number.value)], number.end


def _past_name(p: Passage, at: int) -> int:
    """Digits behind a letter belong to a name ("RK40")."""
    rest = _TOKEN_REST.match(p.lower, at)
    return rest.end() if rest else at + 1
