"""Decimal commas, typed ("2,2 mm") or spoken ("twenty comma five dioptres"): much of the world writes numbers so.

A comma is also what stands between two numbers, so only what cannot be a list is read as one number.
"""

import re

from zonule.normalization.number_words import NumberWords
from zonule.text import Edit, Span

RULE = "decimal_comma"
_UNIT = r"(?:mm|cm|m?l|mls?|mg|µg|mcg|d|%|mmhg|sec|s|dio\w+|milli\w+|centi\w+|micro\w+|per ?cent|seconds?)"
_TYPED = re.compile(r"(?<![\w.,/-])(?P<sign>[+−-]\s?)?\d{1,3}(?P<comma>,)\d{1,2}(?![\w.,/]*\d)", re.IGNORECASE)
"""No blank behind the comma, and no third digit: "1,650" is a thousand."""
_MEASURED = re.compile(rf"\s*{_UNIT}\b|\s*%", re.IGNORECASE)
_SIGNED = re.compile(r"\b(?:plus|minus)\s+$", re.IGNORECASE)
_PLACED = re.compile(r"\b(?:at|@|ports?|paras?|hours?|number|serial|lot|sn|model)\W*$", re.IGNORECASE)
_SPOKEN = re.compile(r"(?P<before>[\w-]+)\s+(?P<comma>comma)\s+(?P<behind>[\w-]+)", re.IGNORECASE)
_CUSTOM = 2
"""Numbers with a unit that show that a text writes its numbers so."""


def find_decimal_commas(text: str, numbers: NumberWords) -> list[Edit]:
    """Edits that put points for decimal commas."""
    return [*_typed(text), *_spoken(text, numbers)]


def _typed(text: str) -> list[Edit]:
    """Those before a unit or behind a sign; where a text has several, the bare ones too, but for hours and names."""
    found = list(_TYPED.finditer(text)) if "," in text else []
    sure = [m for m in found if _is_measured(text, m)]
    if len(sure) >= _CUSTOM:
        sure = [m for m in found if m in sure or not _PLACED.search(text[max(0, m.start() - 12) : m.start()])]
    return [Edit(Span(*m.span("comma")), ".", RULE) for m in sure]


def _is_measured(text: str, number: re.Match[str]) -> bool:
    signed = number["sign"] or _SIGNED.search(text[max(0, number.start() - 8) : number.start()])
    return bool(signed or _MEASURED.match(text, number.end()))


def _spoken(text: str, numbers: NumberWords) -> list[Edit]:
    """The word "comma", in a text where it stands between two numbers whenever it is said."""
    said = text.lower().count(" comma ")
    if said < _CUSTOM:
        return []
    found = [m for m in _SPOKEN.finditer(text) if _is_number(m["before"], numbers) and _is_number(m["behind"], numbers)]
    return [Edit(Span(*m.span("comma")), "point", RULE) for m in found] if len(found) == said else []


def _is_number(word: str, numbers: NumberWords) -> bool:
    return all(part.isdigit() or part in numbers.kinds for part in word.lower().split("-"))
