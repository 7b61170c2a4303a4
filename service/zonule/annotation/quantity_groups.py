"""Neighbors that belong together ("2 and 10 o'clock", "2 min 5 s", "1 mg in 0.1 mL") and numbers that clash."""

import re
from dataclasses import replace

from zonule.annotation.quantity import Quantity
from zonule.annotation.quantity_text import Passage

LONGEST_VALUE = 5
"""Characters of the longest bare number that could be a value and no identifier ("22.25")."""
_LIST = re.compile(r"\s*(?:,\s*)?(?:and|or|&|\+)\s+(?:one\s+)?(?:at\s+)?|\s*[,/]\s*")
_OR = re.compile(r"\s+or\s+")
_TIME_JOINT = re.compile(r"\s*(?:,|and)?\s*")
_DOSE_JOINT = re.compile(r"\s+in\s+(?:a\s+)?|\s*/\s*|\s+per\s+")
_SHARED = frozenset({"clock_hour", "degrees"})
_TOGETHER = frozenset({"date", "month", "time_of_day", "suture_size", "ratio", "acuity", "by", "day_month", "fraction"})


def group_quantities(p: Passage, found: list[Quantity]) -> list[Quantity]:
    """Quantities with units shared, durations and doses put together, and clashing numbers marked as unreadable."""
    grouped: list[Quantity] = []
    for quantity in reversed(found):
        behind = grouped[-1] if grouped else None
        if behind is None or behind.start - quantity.end > 12:
            grouped.append(quantity)
            continue
        gap = p.lower[quantity.end : behind.start]
        merged = _merge(p, quantity, behind, gap)
        if merged is not None:
            grouped[-1] = merged
        else:
            grouped.append(_share_unit(quantity, behind, gap))
    grouped.reverse()
    return grouped


def _merge(p: Passage, first: Quantity, second: Quantity, gap: str) -> Quantity | None:
    if first.dimension == second.dimension == "duration_s" and _follows(first, second) and _TIME_JOINT.fullmatch(gap):
        return replace(first, end=second.end, value=float(first.value) + float(second.value))
    if _seconds_left_out(p, first, second, gap):
        return replace(first, end=second.end, value=float(first.value) + float(second.value))
    if first.dimension == "mass_mg" and second.dimension == "volume_ml" and _DOSE_JOINT.fullmatch(gap):
        return replace(first, end=second.end, dimension="dose_in_volume", high=float(second.value))
    if _clash(p, first, second, gap):
        words = p.text[first.start : second.end]
        return Quantity(first.start, second.end, "unreadable_number", words, unit=second.unit)
    return None


def _seconds_left_out(p: Passage, first: Quantity, second: Quantity, gap: str) -> bool:
    """ "Two minutes ten": seconds without their unit, at the end of the phrase."""
    if first.unit != "min" or first.limit != "fixed" or second.dimension != "number" or gap.strip() or "\n" in gap:
        return False
    if second.limit != "fixed" or not isinstance(second.value, float) or not 0 < second.value < 60 or second.value % 1:
        return False
    return (
        p.lower[second.end : second.end + 1] in ("", ".", ",", ";", "\n") and p.lower[first.end : second.start] == " "
    )


def _follows(first: Quantity, second: Quantity) -> bool:
    """Hours before minutes, minutes before seconds."""
    order = {"h": 0, "min": 1, "s": 2}
    whole = {"min": 3600.0, "s": 60.0}.get(second.unit or "", 0.0)
    rising = order.get(first.unit or "", 9) < order.get(second.unit or "", -1)
    return rising and first.limit == second.limit == "fixed" and float(second.value) < whole


def _clash(p: Passage, first: Quantity, second: Quantity, gap: str) -> bool:
    """Two bare numbers in a row before one unit: whichever was meant, it is not the second alone."""
    if (
        first.dimension != "number"
        or second.unit is None
        or gap.strip()
        or "\n" in gap
        or second.dimension in _TOGETHER
    ):
        return False
    if (
        second.limit != "fixed"
        or first.limit != "fixed"
        or p.lower[first.end - 1] == "+"
        or p.lower[second.start] in "+-"
    ):
        return False
    if first.end - first.start > LONGEST_VALUE or second.dimension == "clock_hour":
        return False
    return p.last_word(first.start) not in p.units.words.lists.numbered and not p.behind_label(first.start)


def _share_unit(first: Quantity, second: Quantity, gap: str) -> Quantity:
    """The unit said once for a list: "2, 6 and 10 o'clock", "2 or 3 mm"."""
    if (
        first.dimension != "number"
        or first.limit != "fixed"
        or second.unit is None
        or not isinstance(second.value, float)
    ):
        return first
    listed = _LIST.fullmatch(gap) or (second.dimension == "clock_hour" and not gap.strip())
    if second.dimension in _SHARED and listed and _fits(first, second):
        return replace(first, dimension=second.dimension, unit=second.unit)
    return first


def _fits(first: Quantity, second: Quantity) -> bool:
    largest = 12 if second.dimension == "clock_hour" else 360
    return isinstance(first.value, float) and 0 <= first.value <= largest
