"""Text that remembers where every character came from.

Every rewriting of a dictation (spoken numbers, misheard terms, spoken punctuation) is a set of
`Edit`s, and only `AlignedText.apply` makes new text from them, so that each position of the
rewritten text maps back to the dictation exactly as received.
"""

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import NamedTuple


@dataclass(frozen=True, slots=True, order=True)
class Span:
    """Half-open range of character offsets: `text[start:end]`."""

    start: int
    end: int

    def __post_init__(self) -> None:
        if not 0 <= self.start <= self.end:
            raise ValueError(f"span {self.start}-{self.end}: expected 0 <= start <= end")

    def overlaps(self, other: "Span") -> bool:
        """Whether the two ranges share at least one character."""
        return self.start < other.end and other.start < self.end

    def cover(self, other: "Span") -> "Span":
        """The smallest span that holds both."""
        return Span(min(self.start, other.start), max(self.end, other.end))

    def of(self, text: str) -> str:
        """The characters of `text` in this range."""
        return text[self.start : self.end]


@dataclass(frozen=True, slots=True)
class Edit:
    """Words read as something other than spelled.

    `span` is in the coordinates of the text the edit is applied to. `rule` names why
    (`spoken_number`, `spoken_punctuation`, `mishearing:known`, `mishearing:sound`, …);
    `score` (0 to 1) says how sure a repair is, None where the reading is not a guess.
    """

    span: Span
    replacement: str
    rule: str
    score: float | None = None


@dataclass(frozen=True, slots=True)
class AppliedEdit:
    """An edit seen from the dictation: where it stands there, what was heard, what it is read as."""

    original: Span
    heard: str
    read_as: str
    rule: str
    score: float | None


class _Piece(NamedTuple):
    """A run of the current text: copied letter by letter from the original, or put in by an edit."""

    start: int
    end: int
    original_start: int
    original_end: int
    copied: bool


@dataclass(frozen=True, slots=True)
class AlignedText:
    """Current text, the original it came from, and the way back."""

    original: str
    text: str
    edits: tuple[AppliedEdit, ...] = ()
    _pieces: tuple[_Piece, ...] = ()
    _starts: tuple[int, ...] = field(default=())

    @classmethod
    def of(cls, original: str) -> "AlignedText":
        """Text as received, nothing rewritten."""
        return _aligned(original, [_Piece(0, len(original), 0, len(original), True)], (), original)

    def to_original(self, span: Span) -> Span:
        """Where `span` of the current text stands in the original.

        A span that touches rewritten text covers the whole of what was rewritten.
        """
        return Span(*self._place(span.start, span.end))

    def _place(self, start: int, end: int) -> tuple[int, int]:
        at = bisect_right(self._starts, start) - 1
        first = self._pieces[at if at > 0 else 0]
        if end - 1 > start:
            at = bisect_right(self._starts, end - 1) - 1
        last = self._pieces[at if at > 0 else 0]
        original_start = first.original_start + (start - first.start if first.copied else 0)
        original_end = last.original_start + (end - last.start) if last.copied else last.original_end
        return original_start, max(original_start, original_end)

    def edits_within(self, original: Span) -> tuple[AppliedEdit, ...]:
        """The edits whose words stand in `original`."""
        return tuple(edit for edit in self.edits if edit.original.overlaps(original))

    def apply(self, edits: Iterable[Edit]) -> "AlignedText":
        """New text with all `edits` made; they must not overlap (ValueError)."""
        ordered = sorted((e for e in edits if e.span.of(self.text) != e.replacement), key=lambda e: e.span)
        if not ordered:
            return self
        pieces: list[_Piece] = []
        applied: list[AppliedEdit] = []
        parts: list[str] = []
        at = length = 0
        for edit in ordered:
            start, end = edit.span.start, edit.span.end
            if start < at:
                raise ValueError(f"edit at {start} overlaps the one that ends at {at}")
            length = self._copy(at, start, length, pieces, parts)
            original = self._place(start, end)
            if edit.replacement:
                pieces.append(_Piece(length, length + len(edit.replacement), *original, False))
            parts.append(edit.replacement)
            length += len(edit.replacement)
            heard = self.original[original[0] : original[1]]
            applied.append(AppliedEdit(Span(*original), heard, edit.replacement, edit.rule, edit.score))
            at = end
        self._copy(at, len(self.text), length, pieces, parts)
        return _aligned(self.original, pieces, self.edits + tuple(applied), "".join(parts))

    def _copy(self, at: int, end: int, length: int, pieces: list[_Piece], parts: list[str]) -> int:
        """Carry over the pieces from `at` to `end`; returns the new length."""
        parts.append(self.text[at:end])
        number = max(0, bisect_right(self._starts, at) - 1)
        while at < end:
            start, stop, original_start, original_end, copied = self._pieces[number]
            stop = min(end, stop)
            if copied:
                original_start, original_end = original_start + at - start, original_start + stop - start
            pieces.append(_Piece(length, length + stop - at, original_start, original_end, copied))
            length += stop - at
            at = stop
            number += 1
        return length


def _aligned(original: str, pieces: list[_Piece], edits: tuple[AppliedEdit, ...], text: str) -> AlignedText:
    held = tuple(pieces) or (_Piece(0, 0, 0, len(original), True),)
    edits = tuple(sorted(edits, key=lambda e: (e.original.start, e.original.end, e.read_as)))
    return AlignedText(original, text, edits, held, tuple([piece.start for piece in held]))
