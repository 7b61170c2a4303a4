"""What a document is made of: the parts of an outline, from which every renderer works."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from enum import Enum
from typing import Any, Literal

from zonule.record import Evidence, Fact

AnyFact = Fact[Any]


class Tone(Enum):
    """How words are to be shown; never by color alone."""

    PLAIN = "plain"
    STRONG = "strong"
    MUTED = "muted"
    ALERT = "alert"


@dataclass(frozen=True, slots=True)
class Phrase:
    """Some words and the facts they come from; words without facts are labels, or say that something is not stated."""

    text: str
    facts: tuple[AnyFact, ...] = ()
    tone: Tone = Tone.PLAIN


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Phrases in reading order, joined by single spaces. `marker` is `bullet`, `number` or empty."""

    phrases: tuple[Phrase, ...]
    marker: str = ""


@dataclass(frozen=True, slots=True)
class Entry:
    """A labeled value: `Surgeon: A. Person`."""

    label: str
    phrases: tuple[Phrase, ...]


@dataclass(frozen=True, slots=True)
class Entries:
    """Labeled values: one a line, in pairs abreast, or run in one after the other."""

    entries: tuple[Entry, ...]
    layout: Literal["lines", "pairs", "run_in"] = "lines"


@dataclass(frozen=True, slots=True)
class Panel:
    """A framed box that nobody may overlook: the eye, a lens."""

    id: str
    title: str
    entries: tuple[Entry, ...]
    tone: Tone = Tone.STRONG


@dataclass(frozen=True, slots=True)
class Table:
    """A table with a header row; the first cell of each row heads that row. `shares` weigh the column widths."""

    caption: str
    header: tuple[str, ...]
    rows: tuple[tuple[Phrase, ...], ...]
    shares: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Diagram:
    """A drawing: as SVG, and in words for those who cannot see it. `whole_width` gives it the width of the page."""

    svg: str
    description: str
    title: str = "Eye diagram"
    whole_width: bool = False


Block = Paragraph | Entries | Panel | Table | Diagram


@dataclass(frozen=True, slots=True)
class Section:
    """A heading and what stands under it. A section with an empty title is the head of the document."""

    id: str
    title: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class Identity:
    """Whose note this is: repeated on every page. Empty where it was not stated."""

    unit: str
    name: Phrase
    number: Phrase
    born: Phrase
    eye: Phrase
    date: Phrase


@dataclass(frozen=True, slots=True)
class EndNote:
    """The words behind a mark, where they are from, and when they were said (`m:ss`, or empty)."""

    number: int
    words: str
    source: str
    time: str = ""


@dataclass(frozen=True, slots=True)
class Signature:
    """Who signed and when; both empty while the note is a draft."""

    draft: bool
    by: str = ""
    at: str = ""


@dataclass(frozen=True, slots=True)
class Outline:
    """A whole document, independent of its format; identity and signature only where it is about one operation."""

    title: str
    identity: Identity | None
    sections: tuple[Section, ...]
    signature: Signature | None
    cautions: tuple[str, ...]
    notes: tuple[EndNote, ...] = ()
    marks: Mapping[Evidence | str, int] = field(default_factory=dict)
    language: str = "en-US"

    @property
    def draft(self) -> bool:
        """Whether it is a note that nobody has signed yet."""
        return self.signature is not None and self.signature.draft

    def marks_of(self, phrase: Phrase) -> tuple[int, ...]:
        """The numbers of the end notes of a phrase, in ascending order."""
        keys = {key for fact in phrase.facts for key in note_keys(fact)} if self.marks else set()
        return tuple(sorted(self.marks[key] for key in keys if key in self.marks))


def note_keys(fact: AnyFact) -> tuple[Evidence | str, ...]:
    """What a fact's end notes are counted by: its evidence, or its origin when it was not dictated."""
    return fact.evidence or (fact.origin.value,)


def phrases_of(block: Block) -> Iterator[Phrase]:
    """All phrases of a block in reading order."""
    match block:
        case Paragraph(phrases=phrases):
            yield from phrases
        case Entries(entries=entries) | Panel(entries=entries):
            for entry in entries:
                yield from entry.phrases
        case Table(rows=rows):
            for row in rows:
                yield from row
