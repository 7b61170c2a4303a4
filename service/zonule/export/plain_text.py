"""Outline → plain text: what a screen reader, a mail or a paste into another system gets."""

import textwrap

from zonule.export.blocks import (
    Block,
    Diagram,
    EndNote,
    Entries,
    Entry,
    Outline,
    Panel,
    Paragraph,
    Phrase,
    Section,
    Signature,
    Table,
)
from zonule.export.end_notes import note_words
from zonule.export.options import DocumentOptions
from zonule.export.outline import build_outline
from zonule.export.wording import printable
from zonule.record import GapReport, OperationRecord

LINE = 100
CELL_JOINT = " | "


def render_plain_text(record: OperationRecord, report: GapReport, options: DocumentOptions | None = None) -> str:
    """The operation note as plain text, lines of at most about 100 characters, ending in a line feed."""
    return write_plain_text(build_outline(record, report, options))


def write_plain_text(outline: Outline) -> str:
    """An outline as plain text."""
    lines = [*_head(outline)]
    for section in outline.sections:
        lines += ["", section.title.upper(), *_section(outline, section)]
    signature = ["", "SIGNATURE", _signature(outline.signature)] if outline.signature else []
    lines += [*signature, *_notes(outline), "", *outline.cautions]
    return printable("\n".join(lines) + "\n")


def _head(outline: Outline) -> list[str]:
    identity = outline.identity
    if identity is None:
        return [outline.title.upper()]
    draft = ["DRAFT - not yet read and signed by its surgeon"] if outline.draft else []
    unit = [identity.unit] if identity.unit else []
    who = (("", identity.name), ("Hospital number", identity.number), ("Born", identity.born))
    what = (("", identity.eye), ("Operated", identity.date))
    return [*unit, outline.title.upper(), *draft, *(_led(outline, parts) for parts in (who, what))]


def _led(outline: Outline, parts: tuple[tuple[str, Phrase], ...]) -> str:
    """Phrases with their leads, on one line; what is not stated needs no lead."""
    shown = [f"{lead} {phrase.text}" if lead and phrase.facts else phrase.text for lead, phrase in parts]
    return "; ".join(text + _marks(outline, phrase) for text, (_, phrase) in zip(shown, parts, strict=True))


def _section(outline: Outline, section: Section) -> list[str]:
    lines: list[str] = []
    for position, block in enumerate(section.blocks, start=1):
        lines += _block(outline, block, position)
    return lines


def _block(outline: Outline, block: Block, position: int) -> list[str]:
    match block:
        case Paragraph():
            lead = {"bullet": "- ", "number": f"{position}. ", "": ""}[block.marker]
            return _wrapped(lead + _phrases(outline, block.phrases), " " * len(lead))
        case Entries():
            return [line for entry in block.entries for line in _entry(outline, entry)]
        case Panel():
            return [block.title, *(f"  {line}" for entry in block.entries for line in _entry(outline, entry))]
        case Table():
            rows = [[_phrases(outline, (cell,)) for cell in row] for row in block.rows]
            return [CELL_JOINT.join(row) for row in [list(block.header), *rows]]
        case Diagram():
            return _wrapped(f"Diagram: {block.description}", "  ")


def _entry(outline: Outline, entry: Entry) -> list[str]:
    return _wrapped(f"{entry.label}: {_phrases(outline, entry.phrases)}", "  ")


def _phrases(outline: Outline, phrases: tuple[Phrase, ...]) -> str:
    return " ".join(phrase.text + _marks(outline, phrase) for phrase in phrases)


def _marks(outline: Outline, phrase: Phrase) -> str:
    marks = outline.marks_of(phrase)
    return f" [{', '.join(map(str, marks))}]" if marks else ""


def _wrapped(text: str, indent: str) -> list[str]:
    return textwrap.wrap(text, LINE, subsequent_indent=indent, break_long_words=False, break_on_hyphens=False) or [""]


def _signature(signature: Signature) -> str:
    if signature.draft:
        return "Signature of the surgeon: ____________________  Name: ____________________  Date and time: __________"
    return f"Read and signed by {signature.by}{f', {signature.at}' if signature.at else ''}."


def _notes(outline: Outline) -> list[str]:
    if not outline.notes:
        return []
    lines = [note_line(note) for note in outline.notes]
    return ["", "WORDS BEHIND THE NOTE", *lines]


def note_line(note: EndNote) -> str:
    """One end note: its number, the words or where else it is from, and when it was said."""
    return f"[{note.number}] {note_words(note)}"
