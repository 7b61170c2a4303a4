"""Progress over several dictations: tables, plot, habits, and the files that the command writes."""

from io import BytesIO
from pathlib import Path
from xml.etree import ElementTree

import docx
import pytest
import records
from test_teaching import REQUIREMENTS, SILENT

from zonule.cli import main
from zonule.export import DocumentOptions
from zonule.export.docx import write_docx
from zonule.export.html import write_html
from zonule.export.plain_text import write_plain_text
from zonule.record import Evidence, OperationRecord, Remark
from zonule.teaching import cover, progress
from zonule.teaching.coverage_plot import Line, coverage_svg, describe_coverage
from zonule.vocabulary import Status

SVG = "{http://www.w3.org/2000/svg}"
SAMPLES = Path(__file__).parents[2] / "samples"


def remark(slot: str, status: Status = Status.HABITUAL) -> Remark:
    """ "As a rule I suture": the same words for two slots are one habit."""
    words, cue = Evidence(start=12, end=18, text="suture"), Evidence(start=0, end=9, text="As a rule")
    return Remark(slot=slot, value="x", status=status, evidence=(words,), cue=cue)


HABITUAL = OperationRecord(remarks=(remark("steps"), remark("sutures"), remark("steps", Status.HISTORICAL)))
TWO = (cover("first", HABITUAL, REQUIREMENTS), cover("second", records.complicated(), REQUIREMENTS))


def test_progress_as_text() -> None:
    assert write_plain_text(progress(TWO)) == (
        "PROGRESS OVER SEVERAL DICTATIONS\n\nCOVERAGE\n"
        "Diagram: Share of the items stated, dictation by dictation. All sets: 0 %, 100 %; Other: 0 %, 100 %.\n"
        "Dictation | Stated | Needed before signing and not stated | Habits told among the facts\n"
        "1. first | 0 of 2 (0 %) | 1 | 1\n2. second | 3 of 3 (100 %) | 0 | 0\n\n"
        "COVERAGE BY REQUIREMENT SET\nDictation | All sets | Other\n"
        "1. first | 0 of 2 | 0 of 1\n2. second | 3 of 3 | 1 of 1\nAll sets: Small set\nOther: Other set\n\n"
        "HABITS TOLD AMONG THE FACTS\nDictation | Words\n1. first | “As a rule” … “suture”\n\n"
        "Marks tell what a note holds, not how the operation went.\n"
        "Doses defer to the local formulary. Nothing here is treatment advice.\n"
    )


def test_the_chosen_set_comes_first() -> None:
    chosen = cover("first", SILENT, REQUIREMENTS, "other")
    assert [marking.standard for marking in chosen.markings] == ["other", "default"]
    assert "\nNo dictation told what is usually done.\n" in write_plain_text(progress((chosen,)))


def test_points_stand_at_their_shares() -> None:
    # The axis of shares runs from 284 (0 %) to 20 (100 %), that of dictations from 76 to 540.
    root = ElementTree.fromstring(coverage_svg((Line("Set", (0.0, 50.0, 100.0)),)))
    disks = [(float(c.attrib["cx"]), float(c.attrib["cy"])) for c in root.findall(f"{SVG}circle")]
    assert disks[:3] == [(76.0, 284.0), (308.0, 152.0), (540.0, 20.0)]
    assert root.findtext(f"{SVG}desc") == describe_coverage((Line("Set", (0.0, 50.0, 100.0)),))


def test_each_set_has_a_sign_of_its_own() -> None:
    lines = tuple(Line(f"<{number}>", (50.0,)) for number in range(5))
    root = ElementTree.fromstring(coverage_svg(lines))
    found = [len(root.findall(f"{SVG}{tag}")) for tag in ("circle", "rect", "path", "polyline")]
    assert found == [4, 3, 4, 5]


def test_nothing_to_plot_is_no_fault() -> None:
    ElementTree.fromstring(coverage_svg(()))
    assert write_plain_text(progress(()))


def test_the_plot_is_a_picture_in_word_and_a_drawing_on_the_page() -> None:
    made = write_docx(progress(TWO), DocumentOptions())
    assert made == write_docx(progress(TWO), DocumentOptions())
    shapes = docx.Document(BytesIO(made)).inline_shapes
    assert [shape._inline.docPr.get("descr") for shape in shapes] == [
        "Share of the items stated, dictation by dictation. All sets: 0 %, 100 %; Other: 0 %, 100 %."
    ]
    assert write_html(progress(TWO)).count("<svg ") == 1


@pytest.mark.parametrize("ending", ["docx", "html"])
def test_several_dictations_make_their_marks_and_progress(tmp_path: Path, ending: str) -> None:
    files = [str(SAMPLES / "05-teaching-talk.txt"), str(SAMPLES / "08-timed.srt")]
    assert main(["teach", "mark", *files, "--format", ending, "-o", str(tmp_path)]) == 0
    names = [f"05-teaching-talk-marked.{ending}", f"08-timed-marked.{ending}", f"progress.{ending}"]
    assert sorted(path.name for path in tmp_path.iterdir()) == names


def test_several_into_one_file_are_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = tmp_path / "all.docx"
    files = [str(SAMPLES / "05-teaching-talk.txt"), str(SAMPLES / "08-timed.srt")]
    assert main(["teach", "mark", *files, "-o", str(target)]) == 2
    assert capsys.readouterr().err == (
        f"zonule: {target}: several documents would get the same name; "
        "expected a folder and files of different names.\n"
    )
