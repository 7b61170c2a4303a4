"""Annotated dictations, scored: how much is read, and that nothing is read that was not done.

`samples/` and `tests/cases/corpus_*` each hold a gold.toml; the values in it are the judgment of its annotator.
"""

from collections.abc import Mapping
from pathlib import Path

import pytest

from zonule.casework import NOT_A_NOTE
from zonule.cli import main
from zonule.dictation import read_file
from zonule.pipeline import Reader
from zonule.record import OperationRecord
from zonule.scoring import Score, load_gold, score_folder

ROOT = Path(__file__).parents[1]
CASES = ROOT / "tests" / "cases"

LEAST_F1: Mapping[str, float] = {
    "samples": 0.991,
    "corpus_a": 0.983,
    "corpus_b": 0.988,
    "corpus_blind": 0.987,
    "corpus_blind2": 0.987,
    "corpus_blind3": 0.984,
    "corpus_blind4": 0.991,
    "corpus_blind5": 0.98,
    "corpus_blind6": 0.987,
    "corpus_blind7": 0.981,
    "corpus_blind8": 0.99,
    "corpus_blind9": 0.981,
    "corpus_blind10": 0.976,
    "corpus_blind11": 0.979,
    "corpus_blind12": 0.891,
    "corpus_blind13": 0.976,
    "corpus_blind14": 0.975,
    "corpus_blind15": 0.98,
    "corpus_blind16": 0.98,
    "corpus_blind17": 0.989,
    "corpus_blind18": 0.99,
    "corpus_blind19": 0.964,
    "corpus_blind20": 0.977,
    "corpus_blind21": 0.988,
    "corpus_blind22": 0.977,
    "corpus_blind23": 0.984,
    "corpus_blind24": 0.973,
}
"""The F1 that each folder must reach."""
MOST_FALSE_FACTS: Mapping[str, int] = {
    "samples": 0,
    "corpus_a": 0,
    "corpus_b": 0,
    "corpus_blind": 0,
    "corpus_blind2": 0,
    "corpus_blind3": 0,
    "corpus_blind4": 0,
    "corpus_blind5": 0,
    "corpus_blind6": 0,
    "corpus_blind7": 0,
    "corpus_blind8": 0,
    "corpus_blind9": 0,
    "corpus_blind10": 0,
    "corpus_blind11": 0,
    "corpus_blind12": 2,
    "corpus_blind13": 0,
    "corpus_blind14": 0,
    "corpus_blind15": 0,
    "corpus_blind16": 0,
    "corpus_blind17": 0,
    "corpus_blind18": 0,
    "corpus_blind19": 0,
    "corpus_blind20": 0,
    "corpus_blind21": 0,
    "corpus_blind22": 0,
    "corpus_blind23": 0,
    "corpus_blind24": 1,
}
"""How many values a folder may yield that its gold says must never appear."""

FOLDERS = [ROOT / "samples", *sorted(CASES.glob("corpus_*"))]
LETTERS = sorted((CASES / "not_a_note").glob("*.txt"))


def test_every_corpus_has_its_thresholds() -> None:
    assert {f.name for f in FOLDERS} == set(LEAST_F1) == set(MOST_FALSE_FACTS)


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda f: f.name)
def test_every_dictation_is_annotated_once(folder: Path) -> None:
    dictations = {path.name for path in folder.glob("*") if path.suffix in {".txt", ".srt", ".vtt"}}
    assert sorted(gold.file for gold in load_gold(folder)) == sorted(dictations)


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda f: f.name)
def test_dictations_are_read_as_well_as_they_were(reader: Reader, folder: Path) -> None:
    score = score_folder(folder, reader.read)
    assert score.f1 >= LEAST_F1[folder.name], _worst(score)
    assert len(score.false_facts) <= MOST_FALSE_FACTS[folder.name], score.false_facts


@pytest.mark.parametrize("path", LETTERS, ids=lambda p: p.stem)
def test_a_text_that_is_no_operation_note_yields_no_fact(
    reader: Reader, path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert reader.read(read_file(str(path))) == OperationRecord(is_operation_note=False)
    assert main(["read", str(path)]) == 0
    assert capsys.readouterr().out == f"{path.name}: {NOT_A_NOTE}.\n"


def _worst(score: Score) -> str:
    """The slots with most misses and extras, for the message."""
    rows = sorted(score.by_slot(), key=lambda row: -(row[2] + row[3]))[:10]
    slots = [f"{slot} (missed {misses}, extra {extras})" for slot, _, misses, extras, _ in rows]
    return f"F1 {score.f1:.3f}: {', '.join(slots)}"
