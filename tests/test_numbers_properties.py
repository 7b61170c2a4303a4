"""Any text: no crash, edits and quantities in order, in range and never overlapping."""

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from zonule.annotation.quantities import find_quantities, load_units
from zonule.normalization.numbers import find_number_edits
from zonule.text import AlignedText

UNITS = load_units(Path(__file__).parents[1] / "lexicon" / "common")
WORDS = sorted(
    {*UNITS.words.starts, *UNITS.words.continuing}
    | {word for forms in UNITS.words.units.by_head.values() for form in forms for word in form.words}
    | {
        *[
            "and",
            "to",
            "from",
            "between",
            "max",
            "up",
            "no",
            "more",
            "than",
            "the",
            "one",
            "can",
            "number",
            "of",
            "is",
            "at",
        ],
        *":.,/-x%½0",
        "12",
        "2.2",
        "10-0",
        "1,500",
    }
)
SPEECH = st.lists(st.sampled_from(WORDS), max_size=14).map(" ".join)
TYPED = st.text(alphabet="0123456789.,:/-+ xmgDo½'%\nab", max_size=24)


def check(text: str) -> None:
    edits = find_number_edits(text, UNITS.words)
    ends = [0, *(edit.span.end for edit in edits)]
    assert all(end <= edit.span.start < edit.span.end <= len(text) for end, edit in zip(ends, edits, strict=False))
    assert all(edit.replacement and edit.replacement != edit.span.of(text) for edit in edits)
    read = AlignedText.of(text).apply(edits).text
    for passage in (text, read):
        quantities = find_quantities(passage, UNITS)
        stops = [0, *(q.end for q in quantities)]
        assert all(stop <= q.start < q.end <= len(passage) for stop, q in zip(stops, quantities, strict=False))
        assert all(q.limit in ("fixed", "maximum", "minimum", "range") for q in quantities)


@settings(max_examples=300)
@given(SPEECH)
def test_any_speech(text: str) -> None:
    check(text)


@settings(max_examples=300)
@given(TYPED)
def test_any_typing(text: str) -> None:
    check(text)


@settings(max_examples=300)
@given(st.text(max_size=60))
def test_any_text(text: str) -> None:
    check(text)


@pytest.mark.parametrize(
    "unit", ["9", "9 ", "one ", "1/", "1,", "1:", "to ", "half ", "ten oh ", "from 2 to ", "serial a ", "march ", "x "]
)
def test_long_monotonous_text(unit: str) -> None:
    check(unit * 3000)
