"""The term matcher: what it finds does not hang on how the words are handed to it."""

from pathlib import Path

import pytest

from zonule.annotation import terms
from zonule.dictation import read_file
from zonule.pipeline import Reader

SAMPLES = sorted((Path(__file__).parents[1] / "samples").glob("*.txt"))


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_slices_find_what_the_whole_finds(reader: Reader, monkeypatch: pytest.MonkeyPatch, path: Path) -> None:
    whole = reader.read(read_file(str(path)))
    monkeypatch.setattr(terms, "SLICE", 3)
    assert reader.read(read_file(str(path))) == whole
