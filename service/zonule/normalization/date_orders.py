"""Typed dates that could be read both ways ("11/02/2026"): the other dates of the text decide, and else nobody."""

import re

from zonule.text import Edit, Span

_DATE = re.compile(
    r"(?<![\d/.-])(?P<first>\d{1,2})(?P<mark>[/.-])(?P<second>\d{1,2})(?P=mark)"
    r"(?P<year>(?:19|20)\d{2}|(?<=/)\d{2})(?![\d/-]|\.\d)"
)
"""With points and hyphens only a year of four digits makes a date beyond doubt."""
MONTHS = 12


def find_date_orders(text: str) -> list[Edit]:
    """Edits to ISO, or to day first where the century is not written; none where the dates of the text disagree."""
    dates = list(_DATE.finditer(text))
    orders = {_order(date) for date in dates} - {""}
    if orders != {"month first"}:
        return []
    return [
        Edit(Span(*date.span()), _written(date), "spoken_date")
        for date in dates
        if not _order(date) and date["first"] != date["second"]
    ]


def is_order_told(text: str) -> bool:
    """Whether the dates of a text that only one order allows all have the same one, so that it holds for the others.

    Month first has been rewritten before (`find_date_orders`): what is left to be read stands day first.
    """
    return len({_order(date) for date in _DATE.finditer(text)} - {""}) == 1


def _order(date: re.Match[str]) -> str:
    """The only order that the calendar allows, "" where both could be."""
    first, second = int(date["first"]), int(date["second"])
    if first <= MONTHS < second:
        return "month first"
    return "day first" if second <= MONTHS < first else ""


def _written(date: re.Match[str]) -> str:
    month, day, year = int(date["first"]), int(date["second"]), date["year"]
    return f"{year}-{month:02}-{day:02}" if len(year) > 2 else f"{day:02}/{month:02}/{year}"
