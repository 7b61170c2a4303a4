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
            (form, place == 0, pattern, entry.read_as)
            for entry in shorthands
            for form in entry.forms
            for place, pattern in enumerate(_patterns(entry, form))
        ]
        forms = sorted({_short(form) for entry in shorthands for form in entry.forms}, key=len, reverse=True)
        self._any = re.compile("|".join(forms), re.IGNORECASE) if forms else None

    def find_edits(self, text: str) -> list[Edit]:
        """Edits in order of place; a short form that nothing explains stays as it is."""
        if self._any is None or self._any.search(text) is None:
            return []
        seen = _Seen(text)
        found = [
            Edit(Span(*match.span("short")), read_as, "shorthand")
            for form, leads, pattern, read_as in self._patterns
            for match in seen.find(form, pattern, leads=leads)
        ]
        return list(_apart(sorted(found, key=lambda edit: (edit.span.start, -edit.span.end))))


class _Seen:
    """A text, and a quick look where a short form may stand in it."""

    def __init__(self, text: str) -> None:
        self._text = text
        self._lower = text.lower()
        self._ascii = text.isascii()

    def find(self, form: str, pattern: re.Pattern[str], *, leads: bool) -> Iterator[re.Match[str]]:
        """The matches of a pattern that holds the form; it `leads` where the form stands first in it."""
        if not (self._ascii and form.isascii() and len(form) > 1):
            return pattern.finditer(self._text)
        said = form.lower()
        if f"{said[0]} {said[1]}" in self._lower or f"{said[0]}.{said[1]}" in self._lower:
            return pattern.finditer(self._text)
        return self._at(said, pattern) if leads else pattern.finditer(self._text) if said in self._lower else iter(())

    def _at(self, said: str, pattern: re.Pattern[str]) -> Iterator[re.Match[str]]:
        at = self._lower.find(said)
        while at >= 0:
            match = pattern.match(self._text, at)
            if match is not None:
                yield match
            at = self._lower.find(said, at + 1 if match is None else max(at + 1, match.end()))


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
