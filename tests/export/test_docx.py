"""The DOCX parsed back: text, structure for screen readers, header of every page, bytes, paper, template."""

import io
import shutil
import subprocess
import zipfile
from pathlib import Path
from typing import Any

import docx
import pytest
import records
from docx.document import Document
from docx.enum.style import WD_STYLE_TYPE
from docx.oxml.ns import qn
from docx.shared import Mm, Pt
from docx.table import Table
from docx.text.paragraph import Paragraph

from zonule.errors import InputError
from zonule.export import DocumentOptions, render_docx
from zonule.record import GapReport, OperationRecord

EXPECTED = Path(__file__).parent / "expected"
UNIT = "Harrowmere Eye Unit"
CASES = {
    "routine": (records.routine(), records.gaps(), DocumentOptions(unit_name=UNIT)),
    "complicated": (records.complicated(), records.complicated_gaps(), DocumentOptions(paper="letter", evidence=True)),
    "empty": (records.empty(), GapReport(), DocumentOptions(steps="list")),
}


def parsed(record: OperationRecord, report: GapReport, options: DocumentOptions | None = None) -> Document:
    return docx.Document(io.BytesIO(render_docx(record, report, options)))


def routine(options: DocumentOptions | None = None) -> Document:
    return parsed(records.routine(), records.gaps(), options)


def text_of(document: Document) -> str:
    """Header, body in reading order and footer; a table row on a line, merged cells once."""
    page = document.sections[0]
    lines = [f"header: {p.text}" for p in page.header.paragraphs]
    for block in document.iter_inner_content():
        lines += _rows(block) if isinstance(block, Table) else [_line(block)]
    lines += [f"footer: {p.text}" for p in page.footer.paragraphs]
    return "".join(f"{line}\n" for line in lines).replace("\N{NO-BREAK SPACE}", "~")


def _line(paragraph: Paragraph) -> str:
    style = paragraph.style
    return f"[{style.name if style else ''}] {paragraph.text}"


def _rows(table: Table) -> list[str]:
    rows = []
    for row in table.rows:
        cells = list({id(cell._tc): cell.text for cell in row.cells}.values())
        rows.append("| " + " | ".join(cells))
    return rows


@pytest.mark.parametrize("name", CASES)
def test_text_parsed_back_is_as_expected(name: str) -> None:
    assert text_of(parsed(*CASES[name])) == (EXPECTED / f"{name}_docx.txt").read_text("utf-8")


@pytest.mark.parametrize("name", CASES)
def test_same_input_gives_the_same_bytes(name: str) -> None:
    assert render_docx(*CASES[name]) == render_docx(*CASES[name])


def test_no_clock_time_in_the_file() -> None:
    packed = zipfile.ZipFile(io.BytesIO(render_docx(*CASES["routine"])))
    assert {entry.date_time for entry in packed.infolist()} == {(1980, 1, 1, 0, 0, 0)}
    core = packed.read("docProps/core.xml").decode()
    assert [stamp for stamp in ("created", "modified", "lastModifiedBy") if stamp in core] == []
    assert "docProps/thumbnail.jpeg" not in packed.namelist()


def test_core_properties_hold_no_patient() -> None:
    properties = routine().core_properties
    shown = (properties.title, properties.subject, properties.language, properties.category, properties.comments)
    assert shown == ("Operation note", "Operation note, right eye", "en-US", "Operation note", "Draft")
    core = zipfile.ZipFile(io.BytesIO(render_docx(*CASES["routine"]))).read("docProps/core.xml").decode()
    assert [word for word in ("Fennimarch", "5390216") if word in core] == []


def test_every_page_has_the_header() -> None:
    # One section, one header for first, odd and even pages.
    document = routine()
    assert len(document.sections) == 1
    assert not document.sections[0].different_first_page_header_footer
    assert not document.settings.odd_and_even_pages_header_footer


def tables(document: Document) -> list[Any]:
    return [table._tbl for table in document.tables]


def test_tables_name_themselves_and_mark_their_header_rows() -> None:
    found = []
    for table in tables(routine()):
        caption = table.tblPr.find(qn("w:tblCaption")).get(qn("w:val"))
        described = bool(table.tblPr.find(qn("w:tblDescription")).get(qn("w:val")))
        found.append((caption, described, table.tr_lst[0].find(f".//{qn('w:tblHeader')}") is not None))
    assert found == [
        ("Lens implanted", True, True),
        ("Particulars", True, False),
        ("Machine settings by phase", True, True),
        ("Drugs given in this operation", True, True),
        ("Signature", True, False),
    ]


def test_the_diagram_has_alternative_text() -> None:
    (picture,) = routine().inline_shapes
    described = picture._inline.docPr.get("descr")
    assert described == (
        "Right eye; drawn as charted facing the patient. Main incision: clear corneal, 2.2 mm, 9 o'clock (temporal). "
        "Side ports at 10 and 2 o'clock. Lens: capsular bag. No sutures."
    )


def test_language_is_set_for_the_whole_text() -> None:
    defaults = routine().styles.element.find(qn("w:docDefaults"))
    languages = [lang.get(qn("w:val")) for lang in defaults.iter(qn("w:lang"))]
    assert languages == ["en-US"]


def test_headings_are_real_headings() -> None:
    document = routine()
    headings = [p.text for p in document.paragraphs if p.style and p.style.name == "Heading 1"]
    assert headings == [
        "Operation", "Description of the operation", "Complications and closure", "Machine settings", "Drugs", "Plan",
        "Not stated in the dictation", "To confirm", "Signature",
    ]  # fmt: skip
    level = document.styles["Zonule Eye"].element.find(f".//{qn('w:outlineLvl')}")
    assert level.get(qn("w:val")) == "0"


@pytest.mark.parametrize(("paper", "size"), [("A4", (210, 297)), ("letter", (215.9, 279.4))])
def test_paper(paper: Any, size: tuple[float, float]) -> None:
    page = routine(DocumentOptions(paper=paper)).sections[0]
    assert page.page_width is not None
    assert page.page_height is not None
    assert (round(page.page_width.mm, 1), round(page.page_height.mm, 1)) == size


def template(folder: Path) -> Path:
    document = docx.Document()
    document.add_paragraph("Boilerplate to be removed")
    document.sections[0].header.paragraphs[0].text = "Clinic letterhead"
    document.sections[0].left_margin = Mm(30)
    style: Any = document.styles.add_style("Zonule Eye", WD_STYLE_TYPE.PARAGRAPH)
    style.font.size = Pt(30)
    path = folder / "clinic.docx"
    document.save(str(path))
    return path


def test_a_template_keeps_its_styles_margins_and_letterhead(tmp_path: Path) -> None:
    document = routine(DocumentOptions(template=template(tmp_path)))
    eye: Any = document.styles["Zonule Eye"]
    assert eye.font.size == Pt(30)
    margin = document.sections[0].left_margin
    assert margin is not None
    assert round(margin.mm, 1) == 30
    header = [p.text for p in document.sections[0].header.paragraphs]
    assert header[0] == "Clinic letterhead"
    assert header[2] == "Odile Fennimarch\tRIGHT EYE"
    assert "Boilerplate" not in text_of(document)
    assert text_of(document).split("\n[Zonule Eye]")[1] == text_of(routine()).split("\n[Zonule Eye]")[1]


def test_a_template_gives_the_same_bytes_each_time(tmp_path: Path) -> None:
    options = DocumentOptions(template=template(tmp_path))
    record, report = records.routine(), records.gaps()
    assert render_docx(record, report, options) == render_docx(record, report, options)


@pytest.mark.parametrize("content", [None, b"no Word document", b"PK\x03\x04broken"])
def test_a_template_that_cannot_be_used_is_refused_in_one_sentence(tmp_path: Path, content: bytes | None) -> None:
    path = tmp_path / "clinic.docx"
    if content is not None:
        path.write_bytes(content)
    expected, got = "a Word document (.docx)", "no such file" if content is None else "something else"
    with pytest.raises(InputError) as fault:
        routine(DocumentOptions(template=path))
    assert str(fault.value) == (
        f"Template {str(path)!r} cannot be used: expected {expected}, got {got}. Check the template option."
    )


def pages(path: Path) -> int:
    subprocess.run(
        ["soffice", "--headless", "--convert-to", "pdf", "--outdir", str(path.parent), str(path)],
        check=True,
        capture_output=True,
    )
    shown = subprocess.run(["pdfinfo", str(path.with_suffix(".pdf"))], check=True, capture_output=True, text=True)
    return int(next(line.split()[1] for line in shown.stdout.splitlines() if line.startswith("Pages:")))


@pytest.mark.skipif(not shutil.which("soffice") or not shutil.which("pdfinfo"), reason="needs soffice and pdfinfo")
@pytest.mark.parametrize(
    ("record", "report", "options", "most"),
    [
        (records.routine(), records.gaps(), DocumentOptions(unit_name=UNIT), 1),
        (records.routine(), records.gaps(), DocumentOptions(unit_name=UNIT, paper="letter"), 1),
        (records.complicated(), records.complicated_gaps(), DocumentOptions(evidence=True), 2),
        (records.routine(), records.gaps(), DocumentOptions(evidence=True, steps="list", paper="letter"), 2),
    ],
)
def test_page_counts(
    tmp_path: Path, record: OperationRecord, report: GapReport, options: DocumentOptions, most: int
) -> None:
    path = tmp_path / "note.docx"
    path.write_bytes(render_docx(record, report, options))
    assert pages(path) <= most
