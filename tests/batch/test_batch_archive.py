"""An archive in each of its forms gives the same rows; what cannot be read is a row with its reason."""

import csv
import json
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from zonule.batch.archive import Order, read_archive
from zonule.batch.summary import Summary
from zonule.cli import main
from zonule.dictation import read_file
from zonule.errors import ZonuleError
from zonule.pipeline import Reader
from zonule.record import slot_values
from zonule.settings import lexicon_folders

SAMPLES = sorted((Path(__file__).parents[2] / "samples").glob("*.txt"))[:4]
LETTER = "Thank you for the lovely dinner on Sunday. We hope to see you both at the lake in summer."


def run(archive: Path, output: Path, **options: object) -> Summary:
    """A batch whose progress nobody watches."""
    quiet = SimpleNamespace(total=0, update=lambda _: None, refresh=lambda: None)
    return read_archive(Order(archive, output, **options), quiet)  # type: ignore[arg-type]


def rows(folder: Path, table: str) -> list[dict[str, object]]:
    """All rows of a table written as JSON lines."""
    parts = sorted((folder / table).glob("*.jsonl"))
    return [json.loads(line) for part in parts for line in part.read_bytes().splitlines()]


def _jsonl(path: Path, notes: list[tuple[str, str]]) -> Path:
    path = path / "notes.jsonl"
    path.write_text("".join(json.dumps({"number": k, "note": t}) + "\n" for k, t in notes), "utf-8")
    return path


def _csv(path: Path, notes: list[tuple[str, str]]) -> Path:
    path = path / "notes.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file, delimiter=";").writerows([("number", "note"), *notes])
    return path


def _parquet(path: Path, notes: list[tuple[str, str]]) -> Path:
    path = path / "notes.parquet"
    pq.write_table(pa.table({"number": [k for k, _ in notes], "note": [t for _, t in notes]}), path)
    return path


@pytest.mark.parametrize("make", [_jsonl, _csv, _parquet])
def test_every_form_of_archive_gives_what_the_reader_reads(
    tmp_path: Path, make: Callable[[Path, list[tuple[str, str]]], Path]
) -> None:
    notes = [(path.stem, path.read_bytes().decode()) for path in SAMPLES]
    run(make(tmp_path, notes), tmp_path / "out", key="number", format="jsonl", chunk=3)
    reader = Reader(*lexicon_folders())
    expected = [
        (place, path.stem, value.slot, value.text, value.fact.evidence[0].start, value.fact.evidence[0].end)
        for place, path in enumerate(SAMPLES)
        for value in slot_values(reader.read(read_file(str(path))))
    ]
    assert [tuple(row.values()) for row in rows(tmp_path / "out", "slots")] == expected


def test_a_folder_is_read_by_its_dictations_and_says_what_it_left_out(tmp_path: Path) -> None:
    archive = tmp_path / "in"
    (archive / "2019").mkdir(parents=True)
    (archive / "2019" / "b.txt").write_bytes(SAMPLES[0].read_bytes())
    (archive / "a.txt").write_text(LETTER)
    (archive / "empty.txt").write_text(" ")
    (archive / "latin.txt").write_bytes("tensi\xf3n".encode("latin-1"))
    (archive / "picture.png").write_bytes(b"\x89PNG")
    summary = run(archive, tmp_path / "out", format="jsonl", documents=True)
    faults = {row["key"]: (row["is_operation_note"], row["fault"]) for row in rows(tmp_path / "out", "records")}
    assert faults == {
        "2019/b.txt": (True, None),
        "a.txt": (False, None),
        "empty.txt": (False, "empty.txt: empty; expected the words of a dictation. Check the file."),
        "latin.txt": (False, "latin.txt: not UTF-8 at byte 5; expected UTF-8 text. Save it as UTF-8."),
    }
    assert [path.name for path in (tmp_path / "out" / "notes").iterdir()] == ["0000000-2019_b.docx"]
    assert (summary.notes, summary.operations, dict(summary.left_out)) == (4, 1, {".png": 1})
    assert dict(summary.faults) == {"empty": 1, "not UTF-8 at byte N": 1}


def test_bad_rows_become_rows_with_their_reason(tmp_path: Path) -> None:
    archive = tmp_path / "notes.jsonl"
    good = json.dumps({"text": LETTER})
    lines = [good, "{broken", "[1]", json.dumps({"words": "x"}), json.dumps({"text": 3}), "", good]
    archive.write_text("\n".join(lines) + "\n")
    run(archive, tmp_path / "out", format="jsonl")
    assert [(row["key"], row["fault"]) for row in rows(tmp_path / "out", "records")] == [
        ("row-00000001", None),
        ("row-00000002", "a line that is no JSON; expected one object a line. Export it again."),
        ("row-00000003", "a line with other JSON; expected one object a line. Export it again."),
        ("row-00000004", "no column 'text'; expected the words of a dictation in it."),
        ("row-00000005", "column 'text' is no text; expected the words of a dictation."),
        ("row-00000006", None),
    ]


def test_a_csv_of_another_encoding_loses_only_the_rows_concerned(tmp_path: Path) -> None:
    archive = tmp_path / "notes.csv"
    archive.write_bytes(b"id,text\nM\xfcller," + LETTER.encode() + b"\n2,tensi\xf3n\n3," + LETTER.encode() + b"\n")
    run(archive, tmp_path / "out", key="id")
    records = pq.read_table(tmp_path / "out" / "records" / "part-000000.parquet").to_pylist()
    assert [(row["key"], row["fault"]) for row in records] == [
        ("M?ller", None),
        ("2", "2: not UTF-8 at byte 5; expected UTF-8 text. Save it as UTF-8."),
        ("3", None),
    ]


def test_an_internal_fault_is_a_row_without_words(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object) -> None:
        raise ValueError(LETTER)

    monkeypatch.setattr("zonule.batch.chunk_reading.work_case", fail)
    (tmp_path / "in").mkdir()
    (tmp_path / "in" / "a.txt").write_text(LETTER)
    run(tmp_path / "in", tmp_path / "out", format="jsonl")
    assert [row["fault"] for row in rows(tmp_path / "out", "records")] == ["an internal fault (ValueError)."]


def test_the_summary_counts_each_note_once(tmp_path: Path) -> None:
    (tmp_path / "in").mkdir()
    for number in range(3):
        (tmp_path / "in" / f"{number}.txt").write_bytes(SAMPLES[1].read_bytes())
    (tmp_path / "in" / "letter.txt").write_text(LETTER)
    summary = run(tmp_path / "in", tmp_path / "out", chunk=2)
    assert (summary.notes, summary.operations) == (4, 3)
    assert dict(summary.statements) == {"none": 3}
    assert set(summary.missing.values()) == {3}
    assert set(summary.repairs.values()) == {3}
    assert json.loads((tmp_path / "out" / "summary.json").read_text())["missing"] == dict(summary.missing)
    assert summary.text().startswith("4 notes: 3 operations, 1 other texts, 0 could not be read\n")


@pytest.mark.parametrize(
    ("name", "content", "options", "message"),
    [
        ("gone", None, {}, "expected a folder, or a .jsonl, .csv or .parquet file, got nothing"),
        ("notes.xml", b"<a/>", {}, "expected .jsonl, .csv or .parquet, got '.xml'"),
        ("notes.parquet", b"no table", {}, "expected a Parquet file, got other data"),
        ("notes.csv", b"a,b\n1,2\n", {}, "expected a column 'dictation' or 'text' or 'note', got 'a', 'b'"),
        ("notes.csv", b"a,text\n1,2\n", {"key": "c"}, "expected a column 'c', got 'a', 'text'"),
        ("notes.csv", b"a,text\n1,2\n", {"standard": "none"}, "Unknown requirement set"),
    ],
)
def test_archives_that_cannot_be_used_get_one_sentence(
    tmp_path: Path, name: str, content: bytes | None, options: dict[str, str], message: str
) -> None:
    if content is not None:
        (tmp_path / name).write_bytes(content)
    with pytest.raises(ZonuleError, match=message.replace("(", r"\(")) as caught:
        run(tmp_path / name, tmp_path / "out", **options)
    assert "\n" not in str(caught.value)


def test_the_command_prints_the_summary(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "in").mkdir()
    (tmp_path / "in" / "a.txt").write_text(LETTER)
    assert main(["batch", str(tmp_path / "in"), str(tmp_path / "out"), "--workers", "1"]) == 0
    assert capsys.readouterr().out == "1 notes: 0 operations, 1 other texts, 0 could not be read\n"
    assert main(["batch", str(tmp_path / "in"), str(tmp_path / "out"), "--chunk", "0"]) == 2
    assert capsys.readouterr().err == "zonule: --chunk: expected a number from 1 up, got 0.\n"
