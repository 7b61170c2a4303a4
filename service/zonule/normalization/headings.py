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


_SENTENCE = re.compile(
    r"(?:\A|(?<=[.!?\n]))\s*(?:(?:next\s+)?heading\b[,:.]?\s+)?([^\W\d_][^.!?:\n]{2,60}?)(\.)(?=[ \t]+\w)",
    re.IGNORECASE,
)
"""A short sentence, and the full stop that ends it; what names it a heading is left aside."""
_JOINTS = re.compile(r"[-\s]+")


class HeadingReader:
    """Finds headings that a full stop cuts off from their value; built once from the lexicon."""

    def __init__(self, terms: Iterable[Term]) -> None:
        self._labels = {
            _closed_up(form)
            for term in terms
            if term.kind == FIELD and term.id not in REACHING
            for form in term.forms
            if len(form) >= LEAST
        }

    def find_edits(self, text: str) -> list[Edit]:
        """A colon for each full stop that stands right behind a heading."""
        return [
            Edit(Span(*match.span(2)), ":", "spoken_punctuation")
            for match in _SENTENCE.finditer(text)
            if _closed_up(match[1]) in self._labels
        ]


def _closed_up(label: str) -> str:
    """Without case, hyphens and spaces: "Pre-op diagnosis" and "preop diagnosis" are one label."""
    return _JOINTS.sub("", label).lower()
