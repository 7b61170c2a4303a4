"""Headings read aloud: a label that is a sentence by itself ("Complications. None.") leads what follows."""

import re
from collections.abc import Iterable

from zonule.lexicon import Term
from zonule.text import Edit, Span

FIELD = "field"
REACHING = frozenset({"plan", "description", "history", "implant"})
"""Labels that reach over sentences anyway."""
LEAST = 3
"""Letters of the shortest label that a full stop makes a heading; "S." and "Op." shorten a word."""


class HeadingReader:
    """Finds headings that a full stop cuts off from their value; built once from the lexicon."""

    def __init__(self, terms: Iterable[Term]) -> None:
        labels = {
            form.lower()
            for term in terms
            if term.kind == FIELD and term.id not in REACHING
            for form in term.forms
            if len(form) >= LEAST
        }
        spoken = "|".join(map(_pattern, sorted(labels, key=len, reverse=True)))
        opening = r"(?:\A|(?<=[.!?\n]))\s*(?:(?:next\s+)?heading\b[,:.]?\s+)?"
        self._pattern = re.compile(rf"{opening}(?:{spoken})(\.)(?=[ \t]+\w)", re.IGNORECASE) if labels else None

    def find_edits(self, text: str) -> list[Edit]:
        """A colon for each full stop that stands right behind a heading."""
        if self._pattern is None:
            return []
        return [Edit(Span(*match.span(1)), ":", "spoken_punctuation") for match in self._pattern.finditer(text)]


def _pattern(label: str) -> str:
    return re.escape(label).replace(r"\ ", r"\s+").replace(r"\-", r"[-\s]?")
