"""The command line's choices for a document: timeline, signature, times."""

from io import BytesIO
from pathlib import Path

import docx
import pytest

from zonule.cli import main

SAMPLES = Path(__file__).parents[2] / "samples"
TIMED, FULL = str(SAMPLES / "08-timed.srt"), str(SAMPLES / "01-routine-punctuated.txt")


def text_of(path: Path) -> str:
    document = docx.Document(BytesIO(path.read_bytes()))
    return "\n".join(p.text for p in (*document.sections[0].header.paragraphs, *document.paragraphs))


def pictures(path: Path) -> int:
    return len(docx.Document(BytesIO(path.read_bytes())).inline_shapes)


@pytest.mark.parametrize(("name", "count"), [(TIMED, 2), (FULL, 1)])
def test_the_timeline_is_drawn_where_the_source_is_timed(tmp_path: Path, name: str, count: int) -> None:
    target = tmp_path / "note.docx"
    assert main(["note", name, "--timeline", "-o", str(target)]) == 0
    assert pictures(target) == count
    assert ("Timeline" in text_of(target)) is (count == 2)


def test_a_full_note_is_signed(tmp_path: Path) -> None:
    target = tmp_path / "note.docx"
    signature = ["--signed-by", "Ottilie Brandreth", "--signed-at", "2026-03-12T14:05+00:00"]
    assert main(["note", FULL, *signature, "-o", str(target)]) == 0
    assert "DRAFT" not in text_of(target)
    assert "Read and signed by Ottilie Brandreth, 12 March 2026" in text_of(target).replace("\N{NO-BREAK SPACE}", " ")


def test_a_note_with_something_open_stays_a_draft_and_says_so(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "note.docx"
    assert main(["note", TIMED, "--signed-by", "Ottilie Brandreth", "-o", str(target)]) == 0
    assert "DRAFT" in text_of(target)
    assert capsys.readouterr().out.endswith(
        "08-timed.srt: not signed: something that must be stated is open, so the note stays a draft.\n"
    )


@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        (
            ["--format", "fhir"],
            "A FHIR document needs a time: expected a date of operation, or when it was written or signed, got none; "
            "give --written-at (written_at), such as 2026-03-12T09:30Z.",
        ),
        (["--signed-by", " "], "--signed-by: expected the name of who signed, got none; give a name."),
        (
            ["--signed-at", "2026-03-12T14:05"],
            "--signed-at: expected the name of who signed with it, got none; give --signed-by NAME too.",
        ),
        (
            ["--written-at", "noon"],
            "--written-at: expected a time such as 2026-03-12T14:05+00:00, got 'noon'; give one.",
        ),
    ],
)
def test_one_sentence_says_what_to_give(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], options: list[str], sentence: str
) -> None:
    assert main(["note", TIMED, *options, "-o", str(tmp_path)]) == 2
    assert capsys.readouterr().err == f"zonule: {sentence}\n"
    assert list(tmp_path.iterdir()) == []


def test_a_time_of_writing_lets_fhir_be_made(tmp_path: Path) -> None:
    target = tmp_path / "note.json"
    command = ["note", TIMED, "--format", "fhir", "--written-at", "2026-03-12T09:30Z", "-o", str(target)]
    assert main(command) == 0
    assert '"timestamp": "2026-03-12T09:30:00Z"' in target.read_text("utf-8")
