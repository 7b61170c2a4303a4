"""Spoken punctuation ("comma", "full stop", "new paragraph") → marks."""

import re
from collections.abc import Sequence

from zonule.lexicon import Mark
from zonule.normalization.identifiers import stands_in_identifier
from zonule.normalization.number_words import NumberWords
from zonule.text import Edit, Span

HYPHEN = "-"
_DETERMINER = re.compile(r"(?:\b(?:a|an|the|this|that|each|of|short|long|minute|second|brief)\s+)$", re.IGNORECASE)


class SpokenPunctuation:
    """Finds spoken marks; built once from the lexicon and the number words."""

    def __init__(self, marks: Sequence[Mark], numbers: NumberWords) -> None:
        self._numbers = numbers
        self._marks = {form: mark for mark in marks for form in mark.forms}
        self._forms = forms = sorted(self._marks, key=len, reverse=True)
        spoken = "|".join(map(re.escape, forms))
        self._pattern = re.compile(rf"\s*\b({spoken})\b(?!\w)[ \t]*", re.IGNORECASE) if forms else None

    def find_edits(self, text: str) -> list[Edit]:
        """Edits that put marks for spoken ones.

        An ambiguous one ("period") counts only where another mark is spoken too; none counts behind an article. A
        hyphen closes up what it joins, and stays a word inside a spoken identifier, which is read as a whole.
        """
        if self._pattern is None or not self._may_stand_in(text):
            return []
        found = [(m, self._marks[m.group(1).lower()]) for m in self._pattern.finditer(text)]
        found = [(m, mark) for m, mark in found if not _DETERMINER.search(text[max(0, m.start(1) - 12) : m.start(1)])]
        certain = any(not mark.needs_context for _, mark in found)
        return [
            Edit(_span(m, mark), mark.mark, "spoken_punctuation")
            for m, mark in found
            if (certain or not mark.needs_context)
            and not (mark.mark == HYPHEN and stands_in_identifier(text, m.start(1), m.end(1), self._numbers))
        ]

    def _may_stand_in(self, text: str) -> bool:
        """A quick look, since most texts hold no spoken mark."""
        lower = text.lower()
        return not text.isascii() or any(form in lower for form in self._forms)


def _span(match: re.Match[str], mark: Mark) -> Span:
    return Span(match.start(), match.end() if mark.mark == HYPHEN else match.end(1))
