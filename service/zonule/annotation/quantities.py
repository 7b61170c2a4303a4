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


def find_quantities(text: str, units: Units, *, day_first: bool = True) -> list[Quantity]:
    """The quantities of `text` from left to right, none overlapping; time is linear in its length.

    `day_first` settles a numeric date that could be read both ways (03/04/2026); one that the calendar does not have is
    an `unreadable_date`.
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


def _read(p: Passage, at: int, floor: int, *, day_first: bool) -> tuple[list[Quantity], int]:
    """What starts at the digit at `at`, and where to go on."""
    before = p.lower[at - 1] if at else " "
    if before.isalpha() or before == "_":
        return _read_times(p, at)
    shape = read_shape(p, at, day_first=day_first)
    if shape is not None and shape.start >= floor:
        return [shape], shape.end
    if before in " \t" and p.last_word(at) in ("x", "×") and at - floor > 2:
        return _read_times(p, at)
    return read_plain(p, at, floor)


def _read_times(p: Passage, at: int) -> tuple[list[Quantity], int]:
    """"x4", "×4"; any other digit behind a letter belongs to a name ("RK40")."""
    cross = len(p.lower[:at].rstrip()) - 1 if p.lower[at - 1] in " \t" else at - 1
    if p.lower[cross] in "x×" and (cross == 0 or not p.lower[cross - 1].isalnum()):
        number = read_number(p, at)
        if number.value is not None and p.unit_at(number.end, number.value) is None:
            return [Quantity(cross, number.end, "times", number.value)], number.end
    rest = _TOKEN_REST.match(p.lower, at)
    return [], rest.end() if rest else at + 1
