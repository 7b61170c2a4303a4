"""Every command as a person types it: what it prints, where it writes, and one sentence for what cannot be used."""

import csv
import io
import json
import os
import subprocess
import sys
import zipfile
from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path

import pytest

from zonule import __version__
from zonule.cli import main
from zonule.commands.note import ENDINGS
from zonule.export import RENDERERS
from zonule.pipeline import Reader

ROOT = Path(__file__).parents[1]
SAMPLE = ROOT / "samples" / "01-routine-punctuated.txt"
LETTER = ROOT / "tests" / "cases" / "not_a_note" / "clinic_letter.txt"
WITHOUT_EYE = "Phacoemulsification under topical anesthesia. A rhexis was made. The lens was inserted into the bag."
LABEL = "(01)09506000134352(17)281130(10)LB771(21)53902168"
Capture = pytest.CaptureFixture[str]


shipped = cache(Reader)


def reader_of(*folders: Path) -> Reader:
    """The reader of the shipped lexicon, built once for all tests; one with a clinic's own words anew."""
    return shipped(*folders) if len(folders) == 1 else Reader(*folders)


@pytest.fixture(autouse=True)
def _elsewhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every command runs in an empty folder, with no clinic's own lexicon."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("zonule.pipeline.Reader", reader_of)
    monkeypatch.delenv("ZONULE_LEXICON", raising=False)


# ---- what each command does ----------------------------------------------------------------------------------------


def test_read_prints_each_format(capsys: Capture) -> None:
    printed = {}
    for form in ("text", "json", "slots", "gaps"):
        assert main(["read", str(SAMPLE), "--format", form]) == 0
        printed[form] = capsys.readouterr().out
    assert json.loads(printed["json"])["operation"]["eye"]["value"] == "right"
    assert "operation.eye\tright\t" in printed["slots"]
    assert all(len(line.split("\t")) == 3 for line in printed["slots"].splitlines())
    assert all(len(line.split("\t")) == 4 for line in printed["gaps"].splitlines())
    assert "operation.eye  right" in printed["text"]


def test_read_takes_standard_input(capsys: Capture, monkeypatch: pytest.MonkeyPatch) -> None:
    assert main(["read", str(SAMPLE), "--format", "slots"]) == 0
    from_file = capsys.readouterr().out
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(SAMPLE.read_bytes()), "ascii"))
    assert main(["read", "-", "--format", "slots"]) == 0
    assert capsys.readouterr().out == from_file


def test_note_writes_a_document_and_prints_the_gaps(capsys: Capture) -> None:
    assert main(["note", str(SAMPLE), "-o", "right.docx"]) == 0
    out = capsys.readouterr().out
    assert out.endswith(f"{SAMPLE.name}: note written to right.docx\n")
    with zipfile.ZipFile("right.docx") as package:
        assert package.testzip() is None
    assert sorted(p.name for p in Path().iterdir()) == ["right.docx"]


def test_note_names_documents_after_their_dictations(capsys: Capture) -> None:
    assert main(["note", str(SAMPLE)]) == 0
    assert main(["note", str(SAMPLE), str(SAMPLE.with_name("08-timed.srt")), "-o", "notes"]) == 0
    assert capsys.readouterr().err == ""
    made = sorted(str(p) for p in Path().rglob("*.docx"))
    assert made == ["01-routine-punctuated.docx", "notes/01-routine-punctuated.docx", "notes/08-timed.docx"]


def test_note_shows_the_record_first(capsys: Capture) -> None:
    assert main(["note", str(SAMPLE), "--show", "slots"]) == 0
    assert capsys.readouterr().out.startswith("anesthesia\t")


def test_note_writes_none_for_a_letter(capsys: Capture) -> None:
    assert main(["note", str(LETTER)]) == 0
    assert "this does not read as an operation note; no note was written." in capsys.readouterr().out
    assert list(Path().iterdir()) == []


def test_strict_tells_that_something_must_be_stated(capsys: Capture) -> None:
    Path("short.txt").write_text(WITHOUT_EYE, "utf-8")
    assert main(["note", "short.txt"]) == 0
    assert main(["note", "short.txt", "--strict"]) == 1
    assert "Which eye was operated on: right or left?" in capsys.readouterr().out
    assert main(["note", str(LETTER), "--strict"]) == 1


def test_score_prints_a_table_and_holds_a_threshold(capsys: Capture) -> None:
    Path("gold.toml").write_text('[[note]]\nfile = "a.txt"\n[note.want]\n"operation.eye" = "left"\n', "utf-8")
    Path("a.txt").write_text(WITHOUT_EYE, "utf-8")
    assert main(["score", "."]) == 0
    assert main(["score", ".", "--threshold", "0.5", "--details"]) == 1
    assert "miss\ta.txt\toperation.eye\tleft" in capsys.readouterr().out


def test_lexicon_check_counts_what_there_is(capsys: Capture) -> None:
    assert main(["lexicon", "check"]) == 0
    assert capsys.readouterr().out.startswith("The lexicon is sound: ")


def test_requirements_lists_one_set(capsys: Capture) -> None:
    assert main(["requirements", "--standard", "surgeons_college"]) == 0
    assert "must   operation.eye\n" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("form", "ending", "start"),
    [
        ("docx", ".docx", b"PK"),
        ("html", ".html", b"<!DOCTYPE html>"),
        ("text", ".txt", b""),
        ("fhir", ".fhir.json", b"{"),
        ("cda", ".cda.xml", b"<?xml"),
        ("eye", ".eye.svg", b"<svg"),
        ("timeline", ".timeline.svg", b"<svg"),
    ],
)
def test_note_writes_each_format(form: str, ending: str, start: bytes) -> None:
    command = ["note", str(SAMPLE.with_name("08-timed.srt")), "--format", form, "--answer", "operation.date=2026-03-12"]
    assert main(command) == 0
    assert main([*command, "-o", f"own{ending}"]) == 0
    assert sorted(p.name for p in Path().rglob("*")) == sorted([f"08-timed{ending}", f"own{ending}"])
    data = Path(f"own{ending}").read_bytes()
    assert data == Path(f"08-timed{ending}").read_bytes()
    assert data.startswith(start)
    assert len(data) > 200


def test_every_format_has_an_ending_and_a_renderer() -> None:
    assert set(ENDINGS) == set(RENDERERS)


def slots_with(capsys: Capture, *options: str) -> dict[str, str]:
    """The slots of a short dictation read with options, the last value of each."""
    Path("short.txt").write_text(WITHOUT_EYE, "utf-8")
    assert main(["note", "short.txt", "--show", "slots", *options]) == 0
    lines = [line.split("\t") for line in capsys.readouterr().out.splitlines() if line.count("\t") == 2]
    return {slot: f"{value} {place}" for slot, value, place in lines}


def test_answers_fill_slots(capsys: Capture) -> None:
    before = slots_with(capsys)
    after = slots_with(capsys, "--answer", "operation.eye=left", "--answer", "lens.power_d=21.5")
    assert after == before | {"operation.eye": "left -", "lens.power_d": "21.5 -"}


def test_an_addendum_adds_with_its_words(capsys: Capture) -> None:
    before = slots_with(capsys)
    Path("later.txt").write_text("Addendum. The operation was on the left eye.", "utf-8")
    after = slots_with(capsys, "--addendum", "later.txt")
    start = len(WITHOUT_EYE) + 1 + len("Addendum. The operation was on the ")
    assert after == before | {"operation.eye": f"left {start}-{start + len('left eye')}"}


def test_a_label_fills_what_it_says(capsys: Capture) -> None:
    before = slots_with(capsys)
    after = slots_with(capsys, "--label", LABEL)
    added = {"lens.serial_number": "53902168 -", "lens.lot_number": "LB771 -", "lens.expiry_date": "2028-11-30 -"}
    assert after == before | added | {"lens.udi": f"{LABEL} -"}


def test_the_list_fills_who_and_when_and_never_what_was_done(capsys: Capture) -> None:
    before = slots_with(capsys)
    case = str(SAMPLE.with_name("list.csv"))
    after = slots_with(capsys, "--case", case, "--patient", "441977")
    known = {
        "operation.date": "2026-03-12 -",
        "patient.date_of_birth": "1952-08-30 -",
        "patient.hospital_number": "441977 -",
        "patient.name": "Desmond Hallowell -",
        "team.surgeon": "Farah Delacombe -",
    }
    assert after == before | known


def test_label_prints_what_it_says(capsys: Capture) -> None:
    assert main(["label", LABEL]) == 0
    assert "serial_number\t53902168\n" in capsys.readouterr().out


def test_log_prints_a_row_an_operation(capsys: Capture) -> None:
    Path("letter.txt").write_text("Dear colleague, thank you for the kind invitation to dinner.", "utf-8")
    assert main(["log", str(SAMPLE), "letter.txt", str(SAMPLE.with_name("08-timed.srt"))]) == 0
    printed = capsys.readouterr()
    rows = list(csv.reader(io.StringIO(printed.out)))
    assert len(rows) == 3
    assert printed.err == "letter.txt: this does not read as an operation note; it has no row.\n"
    assert {len(row) for row in rows} == {len(rows[0])}


def test_a_terminal_that_knows_ascii_alone_gets_its_output() -> None:
    command = [sys.executable, "-m", "zonule.cli", "read", str(SAMPLE)]
    done = subprocess.run(command, env={**os.environ, "PYTHONIOENCODING": "ascii"}, capture_output=True, check=False)
    assert (done.returncode, done.stderr) == (0, b"")
    assert b"operation.eye  right" in done.stdout


def test_a_reader_that_stops_early_is_no_fault() -> None:
    command = f'"{sys.executable}" -m zonule.cli requirements | head -1'
    done = subprocess.run(["bash", "-c", command], capture_output=True, text=True, check=True)
    assert (done.stdout.count("\n"), done.stderr) == (1, "")


def test_help_and_version(capsys: Capture) -> None:
    assert main([]) == 2
    assert "read" in capsys.readouterr().out
    with pytest.raises(SystemExit) as left:
        main(["--version"])
    assert left.value.code == 0
    assert capsys.readouterr().out == f"zonule {__version__}\n"


def test_the_module_runs_as_the_installed_command_does() -> None:
    command = [sys.executable, "-m", "zonule.cli", "--version"]
    assert subprocess.run(command, capture_output=True, check=True).stdout.decode() == f"zonule {__version__}\n"


# ---- what cannot be used -------------------------------------------------------------------------------------------


def bytes_file(name: str, data: bytes) -> Callable[[], str]:
    def make() -> str:
        Path(name).write_bytes(data)
        return name

    return make


def folder() -> str:
    Path("folder").mkdir()
    return "folder"


UNUSABLE: Mapping[str, tuple[Callable[[], str], str]] = {
    "missing": (lambda: "missing.txt", "no such file"),
    "empty": (bytes_file("empty.txt", b""), "empty"),
    "binary": (bytes_file("sound.wav", b"RIFF\x00\x00"), "binary data"),
    "not UTF-8": (bytes_file("latin.txt", "Anästhesie".encode("latin-1")), "not UTF-8"),
    "too long": (bytes_file("long.txt", b"eye " * 250_001), "more than 1,000,000 bytes"),
    "folder": (folder, "a folder"),
}


def one_sentence(capsys: Capture) -> str:
    """Standard error, which must be one line that starts with the program's name."""
    captured = capsys.readouterr()
    assert captured.out == ""
    lines = captured.err.splitlines()
    assert len(lines) == 1
    assert lines[0].startswith("zonule: ")
    assert "Traceback" not in lines[0]
    return lines[0]


@pytest.mark.parametrize("command", ["read", "note"])
@pytest.mark.parametrize("case", UNUSABLE)
def test_unusable_dictations_get_one_sentence(command: str, case: str, capsys: Capture) -> None:
    make, what = UNUSABLE[case]
    name = make()
    before = sorted(Path().iterdir())
    assert main([command, name]) == 2
    assert what in one_sentence(capsys)
    assert sorted(Path().iterdir()) == before


@pytest.mark.parametrize("target", ["blocked/note.docx", "/proc/note.docx"])
def test_an_unwritable_place_gets_one_sentence(target: str, capsys: Capture) -> None:
    Path("blocked").write_text("a file, not a folder", "utf-8")
    assert main(["note", str(SAMPLE), "-o", target]) == 2
    captured = capsys.readouterr()
    assert captured.err.startswith(f"zonule: {target}: cannot be written (")
    assert captured.err.count("\n") == 1
    assert [p.name for p in Path().iterdir()] == ["blocked"]


def test_an_earlier_note_survives_a_failed_one(capsys: Capture, monkeypatch: pytest.MonkeyPatch) -> None:
    Path("note.docx").write_bytes(b"signed")

    def fail(_source: Path, _target: Path) -> Path:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", fail)
    assert main(["note", str(SAMPLE), "-o", "note.docx"]) == 2
    assert "No space left on device" in capsys.readouterr().err
    assert {p.name: p.read_bytes() for p in Path().iterdir()} == {"note.docx": b"signed"}


def test_two_notes_of_one_name_are_refused_before_anything_is_written(capsys: Capture) -> None:
    assert main(["note", str(SAMPLE), str(SAMPLE), "-o", "out.docx"]) == 2
    assert "two notes would get the same name" in one_sentence(capsys)
    assert list(Path().iterdir()) == []


BROKEN_LEXICONS = {
    "no TOML": ("[[term]\n", "words.toml: expected TOML in UTF-8, got "),
    "unknown key": ('kind = "drug"\n[[term]]\nid = "x"\nforms = ["x"]\ncolor = "red"\n', "words.toml, entry 'x': "),
    "no forms": ('kind = "drug"\n[[term]]\nid = "x"\n', "words.toml, entry 'x': "),
    "unknown step": ('[[frame]]\nstep = "dance"\nactions = ["insert"]\n', "frame 'dance': expected a known step"),
}


@pytest.mark.parametrize("case", BROKEN_LEXICONS)
@pytest.mark.parametrize("command", [["read", str(SAMPLE)], ["note", str(SAMPLE)], ["lexicon", "check"]])
def test_a_broken_lexicon_gets_one_sentence(
    case: str, command: list[str], capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    content, sentence = BROKEN_LEXICONS[case]
    Path("clinic").mkdir()
    Path("clinic/words.toml").write_text(content, "utf-8")
    monkeypatch.setenv("ZONULE_LEXICON", "clinic")
    assert main(command) == 2
    assert sentence in one_sentence(capsys)
    assert [p.name for p in Path().iterdir()] == ["clinic"]


def test_a_broken_requirement_gets_one_sentence(capsys: Capture, monkeypatch: pytest.MonkeyPatch) -> None:
    Path("clinic/requirements").mkdir(parents=True)
    Path("clinic/requirements/own.toml").write_text('[[requirement]]\nid = "blood"\n', "utf-8")
    monkeypatch.setenv("ZONULE_LEXICON", "clinic")
    assert main(["lexicon", "check"]) == 2
    assert "own.toml, requirement 'blood': " in one_sentence(capsys)


def test_a_missing_lexicon_folder_gets_one_sentence(capsys: Capture, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("ZONULE_LEXICON", "nowhere")
    assert main(["lexicon", "check"]) == 2
    assert "Lexicon folder 'nowhere' is missing" in one_sentence(capsys)


def test_an_unknown_requirement_set_gets_one_sentence(capsys: Capture) -> None:
    assert main(["read", str(SAMPLE), "--standard", "dance"]) == 2
    assert "Unknown requirement set 'dance': expected one of " in one_sentence(capsys)


@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        (["--answer", "operation.eye"], "expected SLOT=VALUE"),
        (["--answer", "operation.side=left"], "operation.side"),
        (["--answer", "operation.eye=upper"], "'upper'"),
        (["--answer", "lens.power_d=many"], "'many'"),
        (["--label", "(01)09506000134353"], "09506000134353"),
        (["--label", "x" * 300], "abel"),
        (["--label", "missing.png"], "missing.png"),
        (["--label", str(SAMPLE)], SAMPLE.name),
        (["--case", "missing.json"], "Case data 'missing.json': expected a readable file"),
        (["--case", str(SAMPLE)], f"Case data {SAMPLE.name!r}"),
        (["--case", str(SAMPLE.with_name("list.csv")), "--patient", "0"], "hospital number '0'"),
        (["--addendum", "missing.txt"], "missing.txt: no such file"),
        (["--template", "missing.docx"], "missing.docx"),
        (["--template", str(SAMPLE)], SAMPLE.name),
    ],
    ids=lambda value: " ".join(value)[:40] if isinstance(value, list) else "",
)
def test_unusable_additions_get_one_sentence(options: list[str], sentence: str, capsys: Capture) -> None:
    assert main(["note", str(SAMPLE), *options]) == 2
    errors = capsys.readouterr().err.splitlines()
    assert len(errors) == 1
    assert errors[0].startswith("zonule: ")
    assert sentence in errors[0]
    assert list(Path().iterdir()) == []


@pytest.mark.parametrize("code", ["", "(01)09506000134353", "hello", "missing.png", "x" * 300])
def test_unusable_labels_get_one_sentence(code: str, capsys: Capture) -> None:
    assert main(["label", code]) == 2
    one_sentence(capsys)


def test_a_folder_without_gold_gets_one_sentence(capsys: Capture) -> None:
    assert main(["score", "."]) == 2
    assert "gold.toml: no such file" in one_sentence(capsys)


def test_a_clinic_adds_its_own_words(capsys: Capture, monkeypatch: pytest.MonkeyPatch) -> None:
    text = WITHOUT_EYE + " The eye got a snuggleflap."
    Path("short.txt").write_text(text, "utf-8")
    Path("clinic").mkdir()
    Path("clinic/words.toml").write_text('kind = "step"\n[[term]]\nid = "dressing"\nforms = ["snuggleflap"]\n', "utf-8")
    assert main(["read", "short.txt", "--format", "slots"]) == 0
    without = capsys.readouterr().out
    monkeypatch.setenv("ZONULE_LEXICON", "clinic")
    assert main(["read", "short.txt", "--format", "slots"]) == 0
    at = text.index("snuggleflap")
    assert capsys.readouterr().out == without + f"steps\tdressing\t{at}-{at + len('snuggleflap')}\n"
