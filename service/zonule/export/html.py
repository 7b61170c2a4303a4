"""Outline → one self-contained HTML page: no script, no outside resource, everything escaped."""

from html import escape

from zonule.export.blocks import (
    Block,
    Diagram,
    Entries,
    Entry,
    Outline,
    Panel,
    Paragraph,
    Phrase,
    Section,
    Signature,
    Table,
    Tone,
)
from zonule.export.end_notes import note_words
from zonule.export.options import DocumentOptions
from zonule.export.outline import build_outline
from zonule.export.wording import printable, unbroken
from zonule.record import GapReport, OperationRecord

STYLE = """
:root { color-scheme: light; }
body { font: 1rem/1.45 Arial, "Liberation Sans", sans-serif; color: #1a1a1a; background: #fff; max-width: 52rem; margin: 0 auto; padding: 1rem; }
header p, footer p { margin: 0; }
.patient { font-size: 1.25rem; font-weight: bold; display: flex; justify-content: space-between; gap: 1rem; flex-wrap: wrap; }
.draft, .alert { color: #a4001d; font-weight: bold; }
h1 { font-size: 1.5rem; color: #17365d; margin: 1rem 0 .5rem; }
h2 { font-size: 1.1rem; color: #17365d; border-bottom: 1px solid #17365d; margin: 1.2rem 0 .4rem; }
h3 { margin: 0; padding: .2rem .5rem; font-size: 1.1rem; background: #17365d; color: #fff; }
.panel.alert { border-color: #a4001d; font-weight: normal; color: inherit; }
.panel.alert h3 { background: #a4001d; }
.panel { border: 2px solid #17365d; margin: .5rem 0; }
.panel.eye h3 { font-size: 1.6rem; }
.panel dl { padding: .3rem .5rem; }
dl { display: grid; grid-template-columns: max-content 1fr; gap: .15rem 1rem; margin: .2rem 0; }
dt { font-weight: bold; color: #17365d; } dd { margin: 0; }
table { border-collapse: collapse; width: 100%; margin: .3rem 0; }
caption { text-align: left; color: #595959; } th, td { text-align: left; padding: .15rem .5rem; border-bottom: 1px solid #9aa7b8; font-weight: normal; }
thead th { background: #e9eef5; color: #17365d; font-weight: bold; }
.muted { color: #595959; font-style: italic; } .diagram { max-width: 22rem; margin: .5rem auto; } .diagram.wide { max-width: none; } .diagram svg { width: 100%; height: auto; }
footer { margin-top: 1.5rem; color: #595959; font-size: .85rem; } .line { border-bottom: 1px solid #595959; min-width: 12rem; display: inline-block; }
@media print { body { max-width: none; padding: 0; } .panel, table, .diagram { break-inside: avoid; } }
""".strip()  # noqa: E501
TONES = {Tone.PLAIN: "", Tone.STRONG: "strong", Tone.MUTED: "muted", Tone.ALERT: "alert"}


def render_html(record: OperationRecord, report: GapReport, options: DocumentOptions | None = None) -> str:
    """The operation note as one HTML page."""
    return write_html(build_outline(record, report, options))


def write_html(outline: Outline) -> str:
    """An outline as a whole HTML page."""
    parts = [
        "<!DOCTYPE html>",
        f'<html lang="{escape(outline.language)}">',
        f'<head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{escape(outline.title)}</title><style>\n{STYLE}\n</style></head>",
        "<body>",
        *_header(outline),
        "<main>",
        f"<h1>{escape(outline.title)}</h1>",
        *(line for section in outline.sections for line in _section(outline, section)),
        *(_signature(outline.signature) if outline.signature else []),
        *_notes(outline),
        "</main>",
        f"<footer>{''.join(f'<p>{escape(caution)}</p>' for caution in outline.cautions)}</footer>",
        "</body>",
        "</html>",
    ]
    return printable("\n".join(parts) + "\n")


def _header(outline: Outline) -> list[str]:
    identity = outline.identity
    if identity is None:
        return []
    draft = ['<p class="draft">DRAFT: not yet read and signed by its surgeon</p>'] if outline.draft else []
    parts = (("Hospital number ", identity.number), ("Born ", identity.born), ("Operated ", identity.date))
    known = " · ".join((lead if phrase.facts else "") + _phrase(outline, phrase) for lead, phrase in parts)
    return [
        "<header>",
        *([f"<p>{escape(identity.unit)}</p>"] if identity.unit else []),
        *draft,
        f'<p class="patient"><span>{_phrase(outline, identity.name)}</span>'
        f"<span>{_phrase(outline, identity.eye)}</span></p>",
        f"<p>{known}</p>",
        "</header>",
    ]


def _section(outline: Outline, section: Section) -> list[str]:
    numbered = all(isinstance(block, Paragraph) and block.marker for block in section.blocks)
    tag = "ol" if numbered and section.id == "description" else "ul"
    lines = [_block(outline, block) for block in section.blocks]
    body = [f"<{tag}>", *lines, f"</{tag}>"] if numbered else lines
    return [f'<section id="{section.id}"><h2>{escape(section.title)}</h2>', *body, "</section>"]


def _block(outline: Outline, block: Block) -> str:
    match block:
        case Paragraph():
            tag = "li" if block.marker else "p"
            return f"<{tag}>{_phrases(outline, block.phrases)}</{tag}>"
        case Entries():
            return _entries(outline, block.entries)
        case Panel():
            return _panel(outline, block)
        case Table():
            return _table(outline, block)
        case Diagram():
            names = "diagram wide" if block.whole_width else "diagram"
            return f'<figure class="{names}">{block.svg}</figure>'


def _panel(outline: Outline, panel: Panel) -> str:
    names = " ".join(["panel", panel.id, *(["alert"] if panel.tone is Tone.ALERT else [])])
    entries = _entries(outline, panel.entries) if panel.entries else ""
    return f'<div class="{names}"><h3>{escape(panel.title)}</h3>{entries}</div>'


def _entries(outline: Outline, entries: tuple[Entry, ...]) -> str:
    pairs = (f"<dt>{escape(entry.label)}</dt><dd>{_phrases(outline, entry.phrases)}</dd>" for entry in entries)
    return f"<dl>{''.join(pairs)}</dl>"


def _table(outline: Outline, table: Table) -> str:
    heads = "".join(f'<th scope="col">{escape(head)}</th>' for head in table.header)
    rows = "".join(f"<tr>{_row(outline, row)}</tr>" for row in table.rows)
    caption = f"<caption>{escape(table.caption)}</caption>"
    return f"<table>{caption}<thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table>"


def _row(outline: Outline, row: tuple[Phrase, ...]) -> str:
    head, *cells = row
    cells_html = "".join(f"<td>{_phrase(outline, cell)}</td>" for cell in cells)
    return f'<th scope="row">{_phrase(outline, head)}</th>{cells_html}'


def _phrases(outline: Outline, phrases: tuple[Phrase, ...]) -> str:
    return " ".join(_phrase(outline, phrase) for phrase in phrases)


def _phrase(outline: Outline, phrase: Phrase) -> str:
    text, tone = escape(unbroken(phrase.text)), TONES[phrase.tone]
    marks = outline.marks_of(phrase)
    anchors = ",".join(f'<a href="#note-{number}">{number}</a>' for number in marks)
    links = f"<sup>[{anchors}]</sup>" if anchors else ""
    shown = f"<strong>{text}</strong>" if tone == "strong" else f'<span class="{tone}">{text}</span>' if tone else text
    return shown + links


def _signature(signature: Signature) -> list[str]:
    if signature.draft:
        lines = ("Signature of the surgeon", "Name", "Date and time")
        body = " ".join(f'{name}: <span class="line">&nbsp;</span>' for name in lines)
    else:
        body = escape(f"Read and signed by {signature.by}{f', {signature.at}' if signature.at else ''}.")
    return ['<section id="signature"><h2>Signature</h2>', f"<p>{body}</p>", "</section>"]


def _notes(outline: Outline) -> list[str]:
    if not outline.notes:
        return []
    items = [f'<li id="note-{note.number}">{escape(note_words(note))}</li>' for note in outline.notes]
    return ['<section id="notes"><h2>Words behind the note</h2><ol>', *items, "</ol></section>"]
