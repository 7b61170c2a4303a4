"""The look of the DOCX: every style by name, so that a clinic's template can replace each of them."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from docx.document import Document
from docx.enum.style import WD_STYLE_TYPE
from docx.enum.text import WD_LINE_SPACING
from docx.oxml import OxmlElement
from docx.oxml.ns import qn
from docx.shared import Pt, RGBColor

FONT = "Arial"
INK = RGBColor(0x1A, 0x1A, 0x1A)
NAVY = "17365D"
MUTED = "595959"
ALERT = "A4001D"
PALE = "E9EEF5"


@dataclass(frozen=True, slots=True)
class Look:
    """How a style looks where no template defines it: sizes and spaces in points, colors as RRGGBB."""

    size: float = 9.5
    bold: bool = False
    italic: bool = False
    color: str = ""
    before: float = 0
    after: float = 2
    fill: str = ""
    rule: str = ""
    keep_next: bool = False
    superscript: bool = False
    heading: bool = False


PARAGRAPH_STYLES = {
    "Normal": Look(after=2),
    "Title": Look(size=14, bold=True, color=NAVY, after=2),
    "Heading 1": Look(size=10.5, bold=True, color=NAVY, before=5, after=2, rule=NAVY, keep_next=True),
    "Zonule Identity": Look(size=9, after=6),
    "Zonule Caution": Look(size=7.5, color=MUTED, after=0),
    "List Bullet": Look(after=1),
    "List Number": Look(after=1),
    "Zonule Patient": Look(size=12, bold=True, after=0),
    "Zonule Draft": Look(size=9, bold=True, color=ALERT, after=0),
    "Zonule Eye": Look(size=17, bold=True, color="FFFFFF", before=0, after=0, fill=NAVY, keep_next=True, heading=True),
    "Zonule Panel Title": Look(size=11, bold=True, color="FFFFFF", after=0),
    "Zonule Cell": Look(size=9, after=0),
    "Zonule Panel Cell": Look(size=10, after=0),
    "Zonule Note": Look(size=8, color=MUTED, after=0),
}
"""Paragraph styles: built-in names where Word has them, `Zonule …` elsewhere (docs/documents.md)."""

CHARACTER_STYLES = {
    "Zonule Strong": Look(bold=True),
    "Zonule Label": Look(bold=True, color=NAVY),
    "Zonule Muted": Look(italic=True, color=MUTED),
    "Zonule Alert": Look(bold=True, color=ALERT),
    "Zonule Note Mark": Look(superscript=True, color=MUTED),
}
TABLE_STYLES = ("Zonule Table", "Zonule Panel", "Zonule Alert Panel", "Zonule Plain")


def apply_styles(document: Document, keep: bool) -> None:
    """Define the styles; with `keep` those that the document already defines stay as they are (a clinic's template)."""
    for name, look in PARAGRAPH_STYLES.items():
        _define(document, name, WD_STYLE_TYPE.PARAGRAPH, look, keep)
    for name, look in CHARACTER_STYLES.items():
        _define(document, name, WD_STYLE_TYPE.CHARACTER, look, keep)
    for name in TABLE_STYLES:
        _define_table(document, name)


def _define(document: Document, name: str, kind: WD_STYLE_TYPE, look: Look, keep: bool) -> None:
    known = name in document.styles
    if known and keep:
        return
    style: Any = document.styles[name] if known else document.styles.add_style(name, kind)
    _font(style, look, sized=kind is WD_STYLE_TYPE.PARAGRAPH)
    if kind is WD_STYLE_TYPE.PARAGRAPH:
        _spacing(style, look)
        _framing(style, look)


def _font(style: Any, look: Look, sized: bool) -> None:
    font = style.font
    if sized:
        font.size, font.name = Pt(look.size), FONT
        fonts = style.element.get_or_add_rPr().get_or_add_rFonts()
        for attribute in list(fonts.attrib):
            del fonts.attrib[attribute]
        for script in ("ascii", "hAnsi", "cs", "eastAsia"):
            fonts.set(qn(f"w:{script}"), FONT)
        font.color.rgb = INK
    font.bold, font.italic = look.bold or None, look.italic or None
    font.superscript = look.superscript or None
    if look.color:
        font.color.rgb = RGBColor.from_string(look.color)


def _spacing(style: Any, look: Look) -> None:
    spacing = style.paragraph_format
    spacing.space_before, spacing.space_after = Pt(look.before), Pt(look.after)
    spacing.line_spacing_rule = WD_LINE_SPACING.SINGLE
    spacing.keep_with_next = look.keep_next


def _framing(style: Any, look: Look) -> None:
    properties = style.element.get_or_add_pPr()
    for tag in ("w:pBdr", "w:shd"):
        for old in properties.findall(qn(tag)):
            properties.remove(old)
    if look.rule:
        _insert(properties, borders("w:pBdr", {"bottom": look.rule}, space=1))
    if look.fill:
        _insert(properties, shading(look.fill))
    if look.heading:
        level = OxmlElement("w:outlineLvl")
        level.set(qn("w:val"), "0")
        properties.append(level)


AFTER_FRAMING = ("w:tabs", "w:suppressAutoHyphens", "w:spacing", "w:ind", "w:contextualSpacing", "w:jc", "w:outlineLvl")


def _insert(properties: Any, element: Any) -> None:
    """Put borders and shading where the schema wants them: before tabs, spacing, indents and what follows."""
    later = next((child for child in properties if child.tag in {qn(t) for t in AFTER_FRAMING}), None)
    if later is None:
        properties.append(element)
    else:
        later.addprevious(element)


def shading(fill: str) -> Any:
    """A `w:shd` element of one flat color."""
    element = OxmlElement("w:shd")
    for name, value in (("val", "clear"), ("color", "auto"), ("fill", fill)):
        element.set(qn(f"w:{name}"), value)
    return element


def borders(tag: str, sides: dict[str, str], size: int = 6, space: int = 0) -> Any:
    """A borders element (`w:pBdr`, `w:tblBorders`) with single lines of `size` eighths of a point."""
    element = OxmlElement(tag)
    for side, color in sides.items():
        line = OxmlElement(f"w:{side}")
        for name, value in (("val", "single"), ("sz", str(size)), ("space", str(space)), ("color", color)):
            line.set(qn(f"w:{name}"), value)
        element.append(line)
    return element


def _define_table(document: Document, name: str) -> None:
    if name in document.styles:
        return
    style: Any = document.styles.add_style(name, WD_STYLE_TYPE.TABLE)
    properties = OxmlElement("w:tblPr")
    if name in TABLE_LOOKS:
        properties.append(TABLE_LOOKS[name]())
    margins = OxmlElement("w:tblCellMar")
    for side, width in (("top", 15), ("left", 80), ("bottom", 15), ("right", 80)):
        margin = OxmlElement(f"w:{side}")
        margin.set(qn("w:w"), str(width))
        margin.set(qn("w:type"), "dxa")
        margins.append(margin)
    properties.append(margins)
    style.element.append(properties)
    if name == "Zonule Table":
        style.element.append(_first_row())


def _first_row() -> Any:
    """The look of a header row: bold on a pale ground."""
    part = OxmlElement("w:tblStylePr")
    part.set(qn("w:type"), "firstRow")
    run = OxmlElement("w:rPr")
    run.append(OxmlElement("w:b"))
    cell = OxmlElement("w:tcPr")
    cell.append(shading(PALE))
    part.extend((run, cell))
    return part


def _lines(color: str, *sides: str, size: int = 4) -> Callable[[], Any]:
    return lambda: borders("w:tblBorders", dict.fromkeys(sides, color), size=size)


TABLE_LOOKS: dict[str, Callable[[], Any]] = {
    "Zonule Table": _lines("9AA7B8", "top", "bottom", "insideH"),
    "Zonule Panel": _lines(NAVY, "top", "left", "bottom", "right", size=12),
    "Zonule Alert Panel": _lines(ALERT, "top", "left", "bottom", "right", size=12),
}
