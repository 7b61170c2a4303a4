"""What is bound to what: whole lists of slot values of single sentences, for the slots that a case names."""

import tomllib
from pathlib import Path
from typing import Any

import pytest

from zonule.dictation import read_file
from zonule.pipeline import Reader
from zonule.record import slot_values

FOLDER = Path(__file__).parent / "cases" / "binding"


def _cases() -> list[Any]:
    files = sorted(FOLDER.glob("*.toml"))
    held = ((path.stem, case) for path in files for case in tomllib.loads(path.read_text("utf-8"))["case"])
    return [pytest.param(case, id=f"{stem}-{number}") for number, (stem, case) in enumerate(held)]


@pytest.mark.parametrize("case", _cases())
def test_values_are_bound_to_their_own(reader: Reader, tmp_path: Path, case: dict[str, Any]) -> None:
    path = tmp_path / "dictation.txt"
    path.write_text(case["text"], "utf-8")
    record = reader.read(read_file(str(path)), addendum=True)
    told = [f"{v.slot} {v.text}" for v in slot_values(record) if v.slot.startswith(tuple(case["slots"]))]
    assert told == case["want"]
