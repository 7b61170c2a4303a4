"""What python-docx has no word for: header rows, alternative text, page numbers, language, fixed bytes."""

import zipfile
from io import BytesIO
from typing import Any

from docx.document import Document
from docx.oxml import OxmlElement
from docx.oxml.ns import qn
from docx.shape import InlineShape
from docx.shared import Length
from docx.table import Table, _Cell
from docx.text.paragraph import Paragraph

from zonule.export.docx_styles import shading

MOST_ROWS_TOGETHER = 14
"""A longer table may break between rows."""
FIRST_DAY = (1980, 1, 1, 0, 0, 0)
"""The earliest time a zip file can hold: identical content gives identical bytes."""
STAMPS = ("dcterms:created", "dcterms:modified", "cp:lastModifiedBy", "cp:lastPrinted")
THUMBNAIL = "http://schemas.openxmlformats.org/package/2006/relationships/metadata/thumbnail"


def mark_header_row(table: Table) -> None:
    """Mark the first row as the header that repeats on each page and that screen readers announce."""
    properties = table.rows[0]._tr.get_or_add_trPr()
    properties.append(OxmlElement("w:tblHeader"))


def keep_rows_whole(table: Table) -> None:
    """No row may be split between two pages."""
    for row in table.rows:
        row._tr.get_or_add_trPr().insert(0, OxmlElement("w:cantSplit"))


def keep_together(table: Table) -> None:
    """All rows on one page: each paragraph but those of the last row stays with the next."""
    for row in table.rows[:-1] if len(table.rows) <= MOST_ROWS_TOGETHER else []:
        for cell in row.cells:
            for paragraph in cell.paragraphs:
                paragraph.paragraph_format.keep_with_next = True


def describe_table(table: Table, title: str, description: str) -> None:
    """Title and alternative text of a table."""
    properties = table._tbl.tblPr
    for tag, text in (("w:tblCaption", title), ("w:tblDescription", description)):
        element = OxmlElement(tag)
        element.set(qn("w:val"), text)
        properties.append(element)


def describe_picture(picture: InlineShape, title: str, description: str) -> None:
    """Name and alternative text of a picture."""
    inner = picture._inline.docPr
    inner.set("name", title)
    inner.set("descr", description)


def fix_columns(table: Table, widths: list[Length]) -> None:
    """Set the column widths, in the grid and in each cell, since readers heed one or the other."""
    table.autofit = False
    for column, width in zip(table.columns, widths, strict=True):
        column.width = width
    for row in table.rows:
        for cell, width in zip(row.cells, widths, strict=True):
            cell.width = width


def fill_cell(cell: _Cell, color: str) -> None:
    """Give a cell a flat ground."""
    cell._tc.get_or_add_tcPr().append(shading(color))


def underline_cell(cell: _Cell, color: str) -> None:
    """A line to write on."""
    edges = OxmlElement("w:tcBorders")
    line = OxmlElement("w:bottom")
    for name, value in (("val", "single"), ("sz", "6"), ("space", "0"), ("color", color)):
        line.set(qn(f"w:{name}"), value)
    edges.append(line)
    cell._tc.get_or_add_tcPr().append(edges)


def add_field(paragraph: Paragraph, code: str, shown: str) -> None:
    """A field such as PAGE or NUMPAGES; `shown` stands until the reader's program counts."""
    run = paragraph.add_run()
    for kind in ("begin", "separate", "end"):
        mark = OxmlElement("w:fldChar")
        mark.set(qn("w:fldCharType"), kind)
        run._r.append(mark)
        if kind == "begin":
            instruction = OxmlElement("w:instrText")
            instruction.set(qn("xml:space"), "preserve")
            instruction.text = f" {code} "
            run._r.append(instruction)
        elif kind == "separate":
            run.add_text(shown)


def set_language(document: Document, language: str) -> None:
    """The language of the whole text, for screen readers and spelling."""
    root = document.styles.element
    defaults = _child(_child(_child(root, "w:docDefaults", first=True), "w:rPrDefault"), "w:rPr")
    _child(defaults, "w:lang").set(qn("w:val"), language)
    document.core_properties.language = language


def _child(parent: Any, tag: str, first: bool = False) -> Any:
    found = parent.find(qn(tag))
    if found is None:
        found = OxmlElement(tag)
        parent.insert(0 if first else len(parent), found)
    return found


def strip_stamps(document: Document) -> None:
    """Take out times, names of editors and the thumbnail that a template brings along."""
    root = document.core_properties._element
    for tag in STAMPS:
        for old in root.findall(qn(tag)):
            root.remove(old)
    relations = document.part.package.rels
    for key in [key for key, relation in relations.items() if relation.reltype == THUMBNAIL]:
        del relations[key]


def fixed_bytes(document: Document) -> bytes:
    """The file, the same bytes for the same content: no clock time inside the zip."""
    saved = BytesIO()
    document.save(saved)
    packed = BytesIO()
    with zipfile.ZipFile(saved) as source, zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as target:
        for name in source.namelist():
            entry = zipfile.ZipInfo(name, FIRST_DAY)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.create_system = 0
            target.writestr(entry, source.read(name))
    return packed.getvalue()
