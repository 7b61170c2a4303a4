"""Outline → DOCX, in A4 or US Letter, by the styles of a template."""

import docx
from docx.document import Document
from docx.enum.text import WD_TAB_ALIGNMENT
from docx.opc.exceptions import PackageNotFoundError
from docx.section import Section as Page
from docx.shared import Inches, Length, Mm
from docx.text.paragraph import Paragraph as DocxParagraph

from zonule.errors import InputError
from zonule.export.blocks import Identity, Outline, Section
from zonule.export.docx_blocks import write_block, write_head, write_notes, write_phrases, write_signature
from zonule.export.docx_parts import add_field, fixed_bytes, set_language, strip_stamps
from zonule.export.docx_styles import apply_styles
from zonule.export.options import DocumentOptions
from zonule.export.outline import build_outline
from zonule.export.wording import printable, unbroken
from zonule.record import GapReport, OperationRecord

PAPERS = {"A4": (Mm(210), Mm(297)), "letter": (Inches(8.5), Inches(11))}
SIDE, TOP, BOTTOM = Mm(17), Mm(12), Mm(11)
HEADER_LINE = " \N{MIDDLE DOT} "


def render_docx(record: OperationRecord, report: GapReport, options: DocumentOptions | None = None) -> bytes:
    """The operation note as DOCX: the same bytes for the same record, report and options.

    Raises InputError when the template is missing or is no .docx file.
    """
    chosen = options or DocumentOptions()
    return write_docx(build_outline(record, report, chosen), chosen)


def write_docx(outline: Outline, options: DocumentOptions) -> bytes:
    """An outline as DOCX. Raises InputError when the template cannot be used."""
    document = _open(options)
    width = _set_page(document.sections[0], options)
    _write_header(document.sections[0], outline, width)
    _write_footer(document.sections[0], outline, width)
    document.add_paragraph(outline.title, style="Title")
    for section in outline.sections:
        _write_section(document, outline, section, width)
    if outline.signature:
        write_signature(document, outline.signature, width)
    write_notes(document, outline)
    _set_properties(document, outline)
    return fixed_bytes(document)


def _open(options: DocumentOptions) -> Document:
    template = options.template
    try:
        document = docx.Document(str(template) if template else None)
    except (PackageNotFoundError, ValueError, KeyError, OSError) as fault:
        raise InputError(
            f"Template {str(template)!r} cannot be used: expected a Word document (.docx), got "
            f"{'no such file' if template and not template.is_file() else 'something else'}. Check the template option."
        ) from fault
    for element in list(document.element.body):
        if not element.tag.endswith("}sectPr"):
            document.element.body.remove(element)
    apply_styles(document, keep=template is not None)
    return document


def _set_page(page: Page, options: DocumentOptions) -> Length:
    """Set paper and, without a template, margins; gives the width between the margins."""
    page.page_width, page.page_height = PAPERS[options.paper]
    if options.template is None:
        page.left_margin = page.right_margin = SIDE
        page.top_margin, page.bottom_margin = TOP, BOTTOM
        page.header_distance, page.footer_distance = Mm(8), Mm(7)
    return Length(page.page_width - (page.left_margin or 0) - (page.right_margin or 0))


def _write_header(page: Page, outline: Outline, width: Length) -> None:
    """Who, which eye, when: on every page. A template's own header stays above it."""
    page.different_first_page_header_footer = False
    header, identity = page.header, outline.identity
    header.is_linked_to_previous = False
    first = header.paragraphs[0] if header.paragraphs and not header.paragraphs[0].text else header.add_paragraph()
    _line(first, width, "Zonule Draft")
    unit = identity.unit if identity else ""
    first.add_run(unbroken(unit or outline.title), style="Zonule Label")
    if outline.draft:
        first.add_run("\tDRAFT \N{EN DASH} not yet read and signed by its surgeon")
    if identity:
        second = _line(header.add_paragraph(), width, "Zonule Patient")
        write_phrases(second, outline, (identity.name,))
        second.add_run("\t")
        write_phrases(second, outline, (identity.eye,))
        _who(_line(header.add_paragraph(), width, "Zonule Identity"), outline, identity)


def _who(paragraph: DocxParagraph, outline: Outline, identity: Identity) -> None:
    for lead, phrase in (("Hospital number ", identity.number), (f"{HEADER_LINE}Born ", identity.born)):
        stated = bool(phrase.facts)
        paragraph.add_run(lead if stated else HEADER_LINE if lead.startswith(HEADER_LINE) else "")
        write_phrases(paragraph, outline, (phrase,))
    paragraph.add_run("\t" + ("Operated " if identity.date.facts else ""))
    write_phrases(paragraph, outline, (identity.date,))


def _line(paragraph: DocxParagraph, width: Length, style: str) -> DocxParagraph:
    paragraph.style = style
    stops = paragraph.paragraph_format.tab_stops
    stops.clear_all()
    stops.add_tab_stop(width, WD_TAB_ALIGNMENT.RIGHT)
    return paragraph


def _write_footer(page: Page, outline: Outline, width: Length) -> None:
    footer = page.footer
    footer.is_linked_to_previous = False
    first = footer.paragraphs[0] if footer.paragraphs and not footer.paragraphs[0].text else footer.add_paragraph()
    _line(first, width, "Zonule Caution")
    first.add_run(" ".join(outline.cautions) + "\tPage ")
    add_field(first, "PAGE", "1")
    first.add_run(" of ")
    add_field(first, "NUMPAGES", "1")


def _write_section(document: Document, outline: Outline, section: Section, width: Length) -> None:
    if section.id == "eye_and_lens":
        write_head(document, outline, section, width)
        return
    document.add_paragraph(section.title, style="Heading 1")
    for block in section.blocks:
        write_block(document, outline, block, width)


def _set_properties(document: Document, outline: Outline) -> None:
    """Core properties. The patient's name stays out: programs show these in file lists."""
    strip_stamps(document)
    properties = document.core_properties
    properties.title = outline.title
    identity = outline.identity
    properties.subject = f"{outline.title}, {identity.eye.text.lower()}" if identity else outline.title
    properties.author = printable(identity.unit) if identity else ""
    properties.comments = "Draft" if outline.draft else "Signed" if outline.signature else ""
    properties.keywords, properties.category = "", outline.title
    properties.revision = 1
    set_language(document, outline.language)
