"""Near texts: what is left out beforehand is never one that a comparison with all of them would find."""

from hypothesis import given
from hypothesis import strategies as st
from rapidfuzz import process
from rapidfuzz.distance import Levenshtein

from zonule.normalization.sound_index import NearTexts

SOUNDS = st.text("PFTKSMLaeioué", max_size=12)
TEXTS = st.lists(SOUNDS, max_size=30, unique=True)


@given(TEXTS, SOUNDS, st.sampled_from((0.5, 0.55, 0.9)))
def test_like_as_compared_with_all(texts: list[str], sought: str, likeness: float) -> None:
    scorer = Levenshtein.normalized_similarity
    found = process.extract(sought, texts, scorer=scorer, score_cutoff=likeness, limit=6)
    assert NearTexts(texts).like(sought, likeness, 6) == [text for text, _, _ in found]


@given(TEXTS, SOUNDS, st.integers(0, 5))
def test_within_edits_as_compared_with_all(texts: list[str], sought: str, edits: int) -> None:
    found = process.extract(sought, texts, scorer=Levenshtein.distance, score_cutoff=edits, limit=None)
    assert NearTexts(texts).within(sought, edits, None) == [text for text, _, _ in found]


@given(st.text("ab", min_size=300, max_size=400))
def test_long_texts_are_counted_in_full(sought: str) -> None:
    assert NearTexts([sought]).like(sought, 1.0, 1) == [sought]
