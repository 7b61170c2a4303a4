"""Blocks of the outline as paragraphs and tables of a DOCX."""

from io import BytesIO

from docx.document import Document
from docx.enum.table import WD_ALIGN_VERTICAL, WD_TABLE_ALIGNMENT
from docx.enum.text import WD_ALIGN_PARAGRAPH
from docx.shared import Length, Mm, Pt
from docx.table import Table as DocxTable
from docx.table import _Cell
from docx.text.paragraph import Paragraph as DocxParagraph

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
from zonule.export.docx_parts import (
    describe_picture,
    describe_table,
    fill_cell,
    fix_columns,
    keep_rows_whole,
    keep_together,
    mark_header_row,
    underline_cell,
)
from zonule.export.docx_styles import ALERT, MUTED, NAVY
from zonule.export.end_notes import note_words
from zonule.export.eye_raster import PIXELS, WIDE_PIXELS, svg_to_png
from zonule.export.wording import printable, unbroken

TONE_STYLES = {
    Tone.PLAIN: None,
    Tone.STRONG: "Zonule Strong",
    Tone.MUTED: "Zonule Muted",
    Tone.ALERT: "Zonule Alert",
}
DIAGRAM_WIDTH = Mm(53)
TALLEST = Mm(190)
"""A drawing with its heading still fits on one page of either paper."""
BELOW_TABLE = Pt(3)
LABEL_WIDTH = Mm(31)
PAIR_LABEL_WIDTH = Mm(41)
PAIRS = 2
NO_BREAK = "\N{NO-BREAK SPACE}"
RUN_IN_MARK = "\N{MIDDLE DOT}"
SIGNATURE_FIELDS = ("Signature of the surgeon", "Name", "Date and time")
SIGNATURE_SPACE, SIGNATURE_HEIGHT = Mm(6), Mm(8)
MARKERS = {"bullet": "List Bullet", "number": "List Number", "": "Normal"}


def write_block(document: Document, outline: Outline, block: Block, width: Length) -> None:
    """Write one block below what the document holds."""
    match block:
        case Paragraph():
            write_phrases(document.add_paragraph(style=MARKERS[block.marker]), outline, block.phrases)
        case Entries(layout="lines"):
            for entry in block.entries:
                _write_entry(_paragraph_below(document), outline, entry)
        case Entries(layout="run_in"):
            _write_run_in(_paragraph_below(document), outline, block)
        case Entries():
            _write_pairs(document, outline, block, width)
        case Table():
            _write_table(document, outline, block, width)
        case Panel():
            _write_panel(document, outline, block, width, None)
        case Diagram():
            _write_diagram(document.add_paragraph(style="Normal"), block, width if block.whole_width else None)


def _paragraph_below(document: Document) -> DocxParagraph:
    """A new paragraph, kept clear of a table right above it."""
    above = document.element.body[-2:-1]
    paragraph = document.add_paragraph(style="Normal")
    if above and above[0].tag.endswith("}tbl"):
        paragraph.paragraph_format.space_before = BELOW_TABLE
    return paragraph


def write_phrases(paragraph: DocxParagraph, outline: Outline, phrases: tuple[Phrase, ...]) -> None:
    """Phrases in one paragraph, each with the marks of its end notes."""
    for position, phrase in enumerate(phrases):
        if position:
            paragraph.add_run(" ")
        paragraph.add_run(unbroken(phrase.text), style=TONE_STYLES[phrase.tone])
        marks = outline.marks_of(phrase)
        if marks:
            paragraph.add_run(f"[{','.join(map(str, marks))}]", style="Zonule Note Mark")


def _write_entry(paragraph: DocxParagraph, outline: Outline, entry: Entry) -> None:
    paragraph.add_run(f"{entry.label}:", style="Zonule Label")
    paragraph.add_run(" ")
    write_phrases(paragraph, outline, entry.phrases)


def _write_run_in(paragraph: DocxParagraph, outline: Outline, block: Entries) -> None:
    for position, entry in enumerate(block.entries):
        if position:
            paragraph.add_run(f" {RUN_IN_MARK} ", style="Zonule Muted")
        _write_entry(paragraph, outline, entry)


def write_head(document: Document, outline: Outline, section: Section, width: Length) -> None:
    """The eye as a band over the whole width; below it the first lens beside the diagram, then any other lens."""
    panels = [block for block in section.blocks if isinstance(block, Panel)]
    diagram = next((block for block in section.blocks if isinstance(block, Diagram)), None)
    eye, *lenses = panels
    band = document.add_paragraph(f" {eye.title}", style="Zonule Eye")
    if eye.tone is Tone.ALERT:
        band.runs[0].text = f" \N{BLACK UP-POINTING TRIANGLE} {eye.title}: to confirm"
    for position, lens in enumerate(lenses):
        _write_panel(document, outline, lens, width, diagram if position == 0 else None)
        if position + 1 < len(lenses):
            document.add_paragraph(style="Zonule Note")


def _write_panel(document: Document, outline: Outline, panel: Panel, width: Length, diagram: Diagram | None) -> None:
    alarm = panel.tone is Tone.ALERT
    columns = 3 if diagram else 2
    table = document.add_table(1 + len(panel.entries), columns, style="Zonule Alert Panel" if alarm else "Zonule Panel")
    table.alignment = WD_TABLE_ALIGNMENT.CENTER
    side = [DIAGRAM_WIDTH] if diagram else []
    fix_columns(table, [LABEL_WIDTH, Length(width - LABEL_WIDTH - sum(side)), *side])
    title = table.cell(0, 0).merge(table.cell(0, 1))
    fill_cell(title, ALERT if alarm else NAVY)
    _cell_paragraph(title, "Zonule Panel Title").add_run(panel.title.upper())
    for row, entry in enumerate(panel.entries, start=1):
        _write_row(table, row, outline, entry)
    describe_table(table, panel.title, f"{panel.title}: one row for each item, item and value.")
    mark_header_row(table)
    keep_rows_whole(table)
    keep_together(table)
    if diagram:
        _place_diagram(table, diagram)


def _write_row(table: DocxTable, row: int, outline: Outline, entry: Entry) -> None:
    _cell_paragraph(table.cell(row, 0), "Zonule Panel Cell").add_run(entry.label, style="Zonule Label")
    write_phrases(_cell_paragraph(table.cell(row, 1), "Zonule Panel Cell"), outline, entry.phrases)


def _place_diagram(table: DocxTable, diagram: Diagram) -> None:
    cell = table.cell(0, 2).merge(table.cell(len(table.rows) - 1, 2))
    cell.vertical_alignment = WD_ALIGN_VERTICAL.CENTER
    for extra in cell.paragraphs[1:]:
        extra._p.getparent().remove(extra._p)
    _write_diagram(_cell_paragraph(cell, "Zonule Cell"), diagram)


def _write_diagram(paragraph: DocxParagraph, diagram: Diagram, width: Length | None = None) -> None:
    paragraph.alignment = WD_ALIGN_PARAGRAPH.CENTER
    image = BytesIO(svg_to_png(diagram.svg, WIDE_PIXELS if width else PIXELS))
    picture = paragraph.add_run().add_picture(image, width=width or Length(DIAGRAM_WIDTH - Mm(5)))
    if picture.height > TALLEST:
        picture.width, picture.height = Length(picture.width * TALLEST // picture.height), TALLEST
    describe_picture(picture, diagram.title, printable(diagram.description))


def _cell_paragraph(cell: _Cell, style: str) -> DocxParagraph:
    paragraph: DocxParagraph = cell.paragraphs[0]
    paragraph.style = style
    return paragraph


def _write_pairs(document: Document, outline: Outline, block: Entries, width: Length) -> None:
    """Labels and values side by side: two pairs a row."""
    table = document.add_table(-(-len(block.entries) // PAIRS), 2 * PAIRS, style="Zonule Plain")
    table.alignment = WD_TABLE_ALIGNMENT.CENTER
    fix_columns(table, [PAIR_LABEL_WIDTH, Length(width // PAIRS - PAIR_LABEL_WIDTH)] * PAIRS)
    for cell in (cell for row in table.rows for cell in row.cells):
        _cell_paragraph(cell, "Zonule Cell")
    for position, entry in enumerate(block.entries):
        row, pair = divmod(position, PAIRS)
        table.cell(row, 2 * pair).paragraphs[0].add_run(entry.label, style="Zonule Label")
        write_phrases(table.cell(row, 2 * pair + 1).paragraphs[0], outline, entry.phrases)
    describe_table(table, "Particulars", "Labels with their values, two pairs in each row, read from left to right.")
    keep_rows_whole(table)
    keep_together(table)


def _column_widths(block: Table, width: Length) -> list[Length]:
    """By the shares of the table, or a first column of at most 42 mm and the others alike."""
    if block.shares:
        return [Length(width * share // sum(block.shares)) for share in block.shares]
    columns = len(block.header)
    first = Length(min(Mm(42), width // columns * 2))
    return [first, *[Length((width - first) // max(1, columns - 1))] * (columns - 1)]


def _write_table(document: Document, outline: Outline, block: Table, width: Length) -> None:
    table = document.add_table(1 + len(block.rows), len(block.header), style="Zonule Table")
    table.alignment = WD_TABLE_ALIGNMENT.CENTER
    fix_columns(table, _column_widths(block, width))
    for cell, head in zip(table.rows[0].cells, block.header, strict=True):
        _cell_paragraph(cell, "Zonule Cell").add_run(head, style="Zonule Label")
    for row, phrases in zip(table.rows[1:], block.rows, strict=True):
        for cell, phrase in zip(row.cells, phrases, strict=True):
            write_phrases(_cell_paragraph(cell, "Zonule Cell"), outline, (phrase,))
    describe_table(table, block.caption, f"{block.caption}. The first row holds the headings.")
    mark_header_row(table)
    keep_rows_whole(table)
    keep_together(table)


def write_signature(document: Document, signature: Signature, width: Length) -> None:
    """Lines to sign on while it is a draft; who signed and when afterwards."""
    document.add_paragraph("Signature", style="Heading 1")
    if not signature.draft:
        when = f", {signature.at}" if signature.at else ""
        document.add_paragraph(unbroken(f"Read and signed by {signature.by}{when}."), style="Normal")
        return
    table = document.add_table(2, 2 * len(SIGNATURE_FIELDS) - 1, style="Zonule Plain")
    table.alignment = WD_TABLE_ALIGNMENT.CENTER
    field = Length((width - 2 * SIGNATURE_SPACE) // len(SIGNATURE_FIELDS))
    fix_columns(table, [field, SIGNATURE_SPACE, field, SIGNATURE_SPACE, field])
    for cell in (cell for row in table.rows for cell in row.cells):
        _cell_paragraph(cell, "Zonule Note")
    table.rows[1].height = SIGNATURE_HEIGHT
    for position, name in enumerate(SIGNATURE_FIELDS):
        table.cell(0, 2 * position).paragraphs[0].add_run(name)
        underline_cell(table.cell(1, 2 * position), MUTED)
    describe_table(table, "Signature", "Three empty lines to write on: the surgeon's signature, name, date and time.")
    keep_rows_whole(table)
    keep_together(table)


def write_notes(document: Document, outline: Outline) -> None:
    """The end notes: number, words, where they are from and when they were said."""
    if not outline.notes:
        return
    document.add_paragraph("Words behind the note", style="Heading 1")
    paragraph = document.add_paragraph(style="Zonule Note")
    for note in outline.notes:
        lead = f" {RUN_IN_MARK} " if note.number > 1 else ""
        paragraph.add_run(f"{lead}[{note.number}]{NO_BREAK}{unbroken(note_words(note))}")
