"""Short forms whose sense only what stands beside them tells: "PI 5%" is povidone-iodine, "US 1 min" a time."""

import re
from collections.abc import Iterator, Sequence

from zonule.lexicon import Shorthand
from zonule.text import Edit, Span

MEASURES = {
    "identifier": r"(?=[\w/-]*\d\d)[\w/-]+",
    "percent": r"\d+(?:[.,]\d+)?\s*(?:%|per\s?cents?\b|pct\b)",
    "duration": r"(?:\d+(?:[.:]\d+)?\s*(?:minutes?|mins?|m|seconds?|secs?|s)\b|\d{1,2}:\d\d\b)",
}
_JOINT = r"[ \t]*[,:;=+&/-]?[ \t]*(?:(?:to|on|the|of|and|was)[ \t]+){0,3}"
"""What may stand between a short form and what tells its sense."""


class ShorthandReader:
    """Writes short forms out where their sense is certain; built once from the lexicon."""

    def __init__(self, shorthands: Sequence[Shorthand]) -> None:
        self._patterns = [
            (form, pattern, entry.read_as)
            for entry in shorthands
            for form in entry.forms
            for pattern in _patterns(entry, form)
        ]
        forms = sorted({_short(form) for entry in shorthands for form in entry.forms}, key=len, reverse=True)
        self._any = re.compile("|".join(forms), re.IGNORECASE) if forms else None

    def find_edits(self, text: str) -> list[Edit]:
        """Edits in order of place; a short form that nothing explains stays as it is."""
        if self._any is None or self._any.search(text) is None:
            return []
        letters = _join_letters(text) if text.isascii() else ""
        found = [
            Edit(Span(*match.span("short")), read_as, "shorthand")
            for form, pattern, read_as in self._patterns
            if not letters or _may_stand(form, text, letters)
            for match in pattern.finditer(text)
        ]
        return list(_apart(sorted(found, key=lambda edit: (edit.span.start, -edit.span.end))))


def _join_letters(text: str) -> str:
    """The text in lower case with letters that are spelled apart together."""
    return text.lower().replace(" ", "").replace(".", "")


def _may_stand(form: str, text: str, letters: str) -> bool:
    """A quick look whether a form, whole or spelled apart, stands in a text."""
    if len(form) == 2 and form.isalpha() and form not in text:
        lower = text.lower()
        return any(joint.join(form.lower()) in lower for joint in " .")
    return _join_letters(form) in letters


def _apart(edits: Sequence[Edit]) -> Iterator[Edit]:
    end = 0
    for edit in edits:
        if edit.span.start >= end:
            end = edit.span.end
            yield edit


def _short(form: str) -> str:
    """The form as written, or its letters spelled apart; two letters count only as written ("took us")."""
    whole = f"(?-i:{form})" if form.isalpha() and len(form) == 2 else re.escape(form)
    return rf"(?<![\w/-])(?:{whole}|{'[ .]'.join(map(re.escape, form))})(?![\w/-])"


def _patterns(entry: Shorthand, form: str) -> Iterator[re.Pattern[str]]:
    """The form with what tells its sense behind it, or right before it."""
    short = f"(?P<short>{_short(form)})"
    tells = [MEASURES[entry.measure]] if entry.measure else []
    if entry.beside:
        tells.append(rf"\b(?:{'|'.join(map(re.escape, entry.beside))})\b")
    told = f"(?:{'|'.join(tells)})"
    yield re.compile(rf"{short}(?={_JOINT}{told})", re.IGNORECASE)
    if entry.either_side:
        yield re.compile(rf"{told}{_JOINT}{short}", re.IGNORECASE)
