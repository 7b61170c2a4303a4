"""Headings read aloud with a full stop behind them lead what follows."""

import pytest

from zonule.lexicon import load_lexicon
from zonule.normalization.headings import HeadingReader
from zonule.settings import lexicon_folders
from zonule.text import AlignedText


@pytest.fixture(scope="module")
def headings() -> HeadingReader:
    return HeadingReader(load_lexicon(*lexicon_folders()).terms)


@pytest.mark.parametrize(
    ("said", "read"),
    [
        ("Complications. None. Counts. Correct.", "Complications: None. Counts: Correct."),
        ("Heading, pre-op diagnosis. Cataract.", "Heading, pre-op diagnosis: Cataract."),
        ("Next heading, estimated  blood loss. None.", "Next heading, estimated  blood loss: None."),
        ("There were no complications. None expected.", "There were no complications. None expected."),
        ("Plan. Drops for a month.", "Plan. Drops for a month."),
        ("The lens went in. Surgeon.", "The lens went in. Surgeon."),
        ("Op. Phaco, right eye.", "Op. Phaco, right eye."),
    ],
)
def test_a_label_that_is_a_sentence_leads_the_next(headings: HeadingReader, said: str, read: str) -> None:
    assert AlignedText.of(said).apply(headings.find_edits(said)).text == read


def test_without_labels_nothing_is_a_heading() -> None:
    assert HeadingReader([]).find_edits("Complications. None.") == []
