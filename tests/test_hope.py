"""What is passed over before it is weighed would never have been believed."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rapidfuzz.distance import Levenshtein

from zonule.normalization.sound_repair import SoundSearch
from zonule.normalization.trade_forms import one_edit_away
from zonule.pipeline import Reader

SAMPLES = sorted((Path(__file__).parents[1] / "samples").glob("*.txt"))


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_the_same_is_found_when_nothing_is_passed_over(
    reader: Reader, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    repair = reader._normalizer._mishearings
    text = path.read_text("utf-8")
    quick = repair.find_edits(text)
    weigh_all = SoundSearch(repair._forms, repair._expectation)
    monkeypatch.setattr(weigh_all._candidates._hope, "is_left", lambda *_: True)
    monkeypatch.setattr(repair, "_sounds", weigh_all)
    assert quick == repair.find_edits(text)


@given(st.text("PFTKSML", max_size=9), st.text("PFTKSML", max_size=9))
def test_one_edit_away_is_all_that_is_near(one: str, other: str) -> None:
    near = list(one_edit_away(one))
    assert len(near) == len(set(near))
    assert (other in near) == (Levenshtein.distance(one, other) <= 1)
    assert all(Levenshtein.distance(one, each) <= 1 for each in near)
