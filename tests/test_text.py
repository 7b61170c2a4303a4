"""Text that remembers where it came from: worked cases, and laws that hold for any text and any edits."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from zonule.text import AlignedText, AppliedEdit, Edit, Span

HEARD = "vacuum sixty five comma high drop dissection"


def edit(text: str, words: str, replacement: str, rule: str = "rule", score: float | None = None) -> Edit:
    start = text.index(words)
    return Edit(Span(start, start + len(words)), replacement, rule, score)


def test_untouched_text_maps_to_itself() -> None:
    aligned = AlignedText.of(HEARD)
    assert aligned.text == aligned.original == HEARD
    assert aligned.to_original(Span(7, 12)) == Span(7, 12)
    assert aligned.edits == ()


def test_edits_in_two_rounds_keep_every_position() -> None:
    first = AlignedText.of(HEARD).apply([edit(HEARD, " comma", ",", "spoken_punctuation")])
    second = first.apply(
        [
            edit(first.text, "high drop dissection", "hydrodissection", "mishearing:known", 0.9),
            edit(first.text, "sixty five", "65", "spoken_number"),
        ]
    )
    assert second.text == "vacuum 65, hydrodissection"
    assert [second.to_original(Span(*s)).of(HEARD) for s in ((0, 6), (7, 9), (9, 10), (11, 26))] == [
        "vacuum", "sixty five", " comma", "high drop dissection",
    ]  # fmt: skip
    assert second.edits == (
        AppliedEdit(Span(7, 17), "sixty five", "65", "spoken_number", None),
        AppliedEdit(Span(17, 23), " comma", ",", "spoken_punctuation", None),
        AppliedEdit(Span(24, 44), "high drop dissection", "hydrodissection", "mishearing:known", 0.9),
    )
    assert second.edits_within(Span(16, 18)) == second.edits[:2]


def test_part_of_a_rewritten_word_stands_for_all_of_it() -> None:
    aligned = AlignedText.of("sixty five").apply([Edit(Span(0, 10), "65", "spoken_number")])
    assert aligned.to_original(Span(1, 2)) == Span(0, 10)


def test_an_edit_of_an_edit_covers_what_was_first_heard() -> None:
    first = AlignedText.of("two four mm").apply([Edit(Span(0, 8), "24", "spoken_number")])
    second = first.apply([Edit(Span(0, 2), "2.4", "lost_point")])
    assert second.text == "2.4 mm"
    assert second.to_original(Span(0, 3)) == Span(0, 8)


def test_an_edit_that_changes_nothing_is_none() -> None:
    aligned = AlignedText.of("same")
    assert aligned.apply([Edit(Span(0, 4), "same", "rule")]) is aligned


def test_overlapping_edits_are_refused() -> None:
    with pytest.raises(ValueError, match="edit at 2 overlaps the one that ends at 3"):
        AlignedText.of("abcdef").apply([Edit(Span(0, 3), "x", "rule"), Edit(Span(2, 4), "y", "rule")])


@pytest.mark.parametrize(("start", "end"), [(-1, 2), (3, 2)])
def test_a_span_runs_forward(start: int, end: int) -> None:
    with pytest.raises(ValueError, match="expected 0 <= start <= end"):
        Span(start, end)


def test_spans_side_by_side_do_not_overlap() -> None:
    assert not Span(0, 3).overlaps(Span(3, 5))
    assert Span(0, 3).overlaps(Span(2, 5))
    assert Span(0, 3).cover(Span(5, 6)) == Span(0, 6)


@st.composite
def edited(draw: st.DrawFn, rounds: int = 3) -> AlignedText:
    """Any text, rewritten in up to three rounds of edits that do not overlap."""
    aligned = AlignedText.of(draw(st.text(max_size=60)))
    for _ in range(draw(st.integers(0, rounds))):
        cuts = draw(st.lists(st.integers(0, len(aligned.text)), unique=True, max_size=8).map(sorted))
        spans = [Span(a, b) for a, b in zip(cuts[::2], cuts[1::2], strict=False)]
        aligned = aligned.apply([Edit(s, draw(st.text(max_size=6)), "rule") for s in spans])
    return aligned


@given(edited())
def test_every_position_leads_back_into_the_original(aligned: AlignedText) -> None:
    ends = [0, *range(len(aligned.text) + 1)]
    spans = [Span(a, b) for a in ends for b in ends if a < b]
    for span in spans:
        original = aligned.to_original(span)
        assert 0 <= original.start <= original.end <= len(aligned.original)


@given(edited())
def test_characters_nobody_rewrote_lead_back_to_themselves(aligned: AlignedText) -> None:
    rewritten = [e.original for e in aligned.edits]
    for at, character in enumerate(aligned.text):
        original = aligned.to_original(Span(at, at + 1))
        if not any(original.start >= r.start and original.end <= r.end for r in rewritten):
            assert original.of(aligned.original) == character


@given(edited())
def test_later_words_stand_later(aligned: AlignedText) -> None:
    places = [aligned.to_original(Span(at, at + 1)) for at in range(len(aligned.text))]
    assert places == sorted(places)


@given(edited())
def test_each_edit_tells_what_was_heard(aligned: AlignedText) -> None:
    assert [e.heard for e in aligned.edits] == [e.original.of(aligned.original) for e in aligned.edits]
