"""Day, month and year as said → ISO 8601. An impossible or undecidable date gives None, never a guess."""

from datetime import date

PIVOT_BIRTH = 30
"""Two-digit years of birth below this could be of either century and are not read."""
PIVOT = 80
"""Other two-digit years below this are of this century: operations and expiries lie in it."""


def full_year(digits: str, *, birth: bool) -> int | None:
    """The year of two or four digits; None where two digits leave the century open. Birth is never in the future."""
    year = int(digits)
    if len(digits) > 2:
        return year
    if birth:
        return 1900 + year if year >= PIVOT_BIRTH else None
    return 2000 + year if year < PIVOT else 1900 + year


def iso_date(year: int, month: int, day: int) -> str | None:
    """`YYYY-MM-DD`, or None where the calendar has no such day."""
    try:
        return date(year, month, day).isoformat()
    except ValueError:
        return None


def resolve_numeric(first: int, second: int, year: str, *, day_first: bool = True, birth: bool = False) -> str | None:
    """The date of "first/second/year"; where only one order is possible that order holds."""
    whole = full_year(year, birth=birth)
    if whole is None:
        return None
    orders = [(second, first), (first, second)] if day_first else [(first, second), (second, first)]
    possible = [iso_date(whole, month, day) for month, day in orders if 1 <= month <= 12 and 1 <= day <= 31]
    return possible[0] if possible else None
