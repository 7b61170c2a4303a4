"""Text that remembers where every character came from.

Every rewriting of a dictation (spoken numbers, misheard terms, spoken punctuation) is a set of
`Edit`s, and only `AlignedText.apply` makes new text from them, so that each position of the
rewritten text maps back to the dictation exactly as received.
"""

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass, field


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


@dataclass(frozen=True, slots=True)
class _Piece:
    """A run of the current text: copied letter by letter from the original, or put in by an edit."""

    start: int
    end: int
    original: Span
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
        return _aligned(original, [_Piece(0, len(original), Span(0, len(original)), True)], ())

    def to_original(self, span: Span) -> Span:
        """Where `span` of the current text stands in the original.

        A span that touches rewritten text covers the whole of what was rewritten.
        """
        first = self._pieces[self._at(span.start)]
        last = self._pieces[self._at(max(span.start, span.end - 1))]
        start = first.original.start + (span.start - first.start if first.copied else 0)
        end = last.original.start + (span.end - last.start) if last.copied else last.original.end
        return Span(start, max(start, end))

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
            if edit.span.start < at:
                raise ValueError(f"edit at {edit.span.start} overlaps the one that ends at {at}")
            length = self._copy(Span(at, edit.span.start), length, pieces, parts)
            original = self.to_original(edit.span)
            pieces.append(_Piece(length, length + len(edit.replacement), original, False))
            parts.append(edit.replacement)
            length += len(edit.replacement)
            heard = original.of(self.original)
            applied.append(AppliedEdit(original, heard, edit.replacement, edit.rule, edit.score))
            at = edit.span.end
        self._copy(Span(at, len(self.text)), length, pieces, parts)
        return _aligned(self.original, pieces, self.edits + tuple(applied), "".join(parts))

    def _copy(self, span: Span, length: int, pieces: list[_Piece], parts: list[str]) -> int:
        """Carry over the pieces of `span`; returns the new length."""
        at = span.start
        while at < span.end:
            piece = self._pieces[self._at(at)]
            stop = min(span.end, piece.end)
            original = piece.original
            if piece.copied:
                original = Span(original.start + at - piece.start, original.start + stop - piece.start)
            pieces.append(_Piece(length, length + stop - at, original, piece.copied))
            length += stop - at
            at = stop
        parts.append(span.of(self.text))
        return length

    def _at(self, position: int) -> int:
        return max(0, bisect_right(self._starts, position) - 1)


def _aligned(
    original: str, pieces: list[_Piece], edits: tuple[AppliedEdit, ...], text: str | None = None
) -> AlignedText:
    held = tuple(p for p in pieces if p.end > p.start) or (_Piece(0, 0, Span(0, len(original)), True),)
    edits = tuple(sorted(edits, key=lambda e: (e.original, e.read_as)))
    return AlignedText(original, original if text is None else text, edits, held, tuple(p.start for p in held))
