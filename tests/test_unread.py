"""Numbers that end in no slot are told; the notes of the corpora are not littered with them."""

import tomllib
from pathlib import Path
from statistics import median
from typing import Any

import pytest

from zonule.dictation import read_file, read_text
from zonule.pipeline import Reader
from zonule.record import OperationRecord
from zonule.record.operation_record import UNREAD_NUMBER

ROOT = Path(__file__).parents[1]
CASES = tomllib.loads((Path(__file__).parent / "cases" / "unread.toml").read_text("utf-8"))["case"]
NOTES = sorted(path for folder in ("samples", "tests/cases/corpus_*") for path in ROOT.glob(f"{folder}/*.txt"))
MOST = 4
"""Words with an unread number that one note of the corpora may have; half of the notes have none."""
TRAPS = "corpus_blind12"
MOST_OF_TRAPS = 5
"""In the corpus whose notes are full of numbers that are not to be read."""


def _told(record: OperationRecord) -> list[str]:
    return [e.text for held in record.unclear if held.id == UNREAD_NUMBER for e in held.evidence]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["text"][:40])
def test_what_is_told(reader: Reader, case: dict[str, Any]) -> None:
    assert _told(reader.read(read_text(case["text"]), addendum=True)) == case["want"]


def test_few_are_told_of_a_note(reader: Reader) -> None:
    counts = {path: len(_told(reader.read(read_file(str(path))))) for path in NOTES}
    assert median(counts.values()) == 0
    many = [path for path, count in counts.items() if count > (MOST_OF_TRAPS if TRAPS in path.parts else MOST)]
    assert many == []
