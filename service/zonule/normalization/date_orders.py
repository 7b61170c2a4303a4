"""Typed dates that could be read both ways ("11/02/2026"): read month first where another date of the text must be."""

import re

from zonule.text import Edit, Span

_DATE = re.compile(r"(?<![\d/-])(\d{1,2})/(\d{1,2})/(\d{4}|\d{2})(?![\d/-])")
MONTHS = 12


def find_date_orders(text: str) -> list[Edit]:
    """Edits to ISO, or to day first where the century is not written; none where the dates of the text disagree."""
    dates = list(_DATE.finditer(text))
    orders = {_order(int(date[1]), int(date[2])) for date in dates} - {""}
    if orders != {"month first"}:
        return []
    return [
        Edit(Span(*date.span()), _written(date), "spoken_date")
        for date in dates
        if not _order(int(date[1]), int(date[2])) and date[1] != date[2]
    ]


def _order(first: int, second: int) -> str:
    """The only order that the calendar allows, "" where both could be."""
    if first <= MONTHS < second:
        return "month first"
    return "day first" if second <= MONTHS < first else ""


def _written(date: re.Match[str]) -> str:
    month, day, year = int(date[1]), int(date[2]), date[3]
    return f"{year}-{month:02}-{day:02}" if len(year) > 2 else f"{day:02}/{month:02}/{year}"
