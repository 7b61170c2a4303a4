"""The same input gives the same bytes, whatever the seed of the interpreter's hashes and the time of day."""

import hashlib
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
SAMPLES = ("02-raw-recognizer.txt", "05-teaching-talk.txt", "07-complicated-case.txt", "08-timed.srt")
SEEDS = ("0", "4711")


def run(seed: str, folder: Path, *arguments: str) -> bytes:
    result = subprocess.run(
        [sys.executable, "-m", "zonule.cli", *arguments],
        cwd=folder,
        env={**os.environ, "PYTHONHASHSEED": seed},
        capture_output=True,
        check=True,
    )
    return result.stdout


@pytest.mark.parametrize("form", ["json", "slots"])
def test_records_are_the_same_bytes(form: str, tmp_path: Path) -> None:
    sample = str(ROOT / "samples" / SAMPLES[2])
    first, second = (run(seed, tmp_path, "read", sample, "--format", form) for seed in SEEDS)
    assert len(first) > 100
    assert first == second


def test_notes_are_the_same_bytes(tmp_path: Path) -> None:
    samples = [str(ROOT / "samples" / name) for name in SAMPLES]
    prints = []
    for seed in SEEDS:
        folder = tmp_path / seed
        run(seed, tmp_path, "note", *samples, "--evidence", "-o", str(folder))
        prints.append({p.name: hashlib.sha256(p.read_bytes()).hexdigest() for p in sorted(folder.iterdir())})
    assert len(prints[0]) == len(SAMPLES)
    assert prints[0] == prints[1]
