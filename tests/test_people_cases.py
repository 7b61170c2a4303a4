"""Sentences as data: who is named, in which part, and who is not; numbers of patients."""

import tomllib
from pathlib import Path
from typing import Any

import pytest

from zonule.dictation import read_text
from zonule.pipeline import Reader
from zonule.record.slots import slot_values

CASES: list[dict[str, Any]] = tomllib.loads((Path(__file__).parent / "cases" / "people.toml").read_text("utf-8"))[
    "case"
]


@pytest.mark.parametrize("case", CASES, ids=[case["said"][:60] for case in CASES])
def test_people(case: dict[str, Any], reader: Reader) -> None:
    record = reader.read(read_text(case["said"]), addendum=True)
    found = {v.slot: v.text for v in slot_values(record) if v.slot.startswith(("team.", "patient."))}
    assert found == {key: value for key, value in case.items() if key != "said"}
