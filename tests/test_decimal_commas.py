"""Decimal commas, typed or spoken: one number, where a list of two cannot be meant. The values are exact arithmetic."""

import pytest

from zonule.normalization.decimal_commas import find_decimal_commas
from zonule.normalization.number_words import NumberWords, load_number_words
from zonule.settings import lexicon_folders
from zonule.text import AlignedText


@pytest.fixture(scope="module")
def numbers() -> NumberWords:
    return load_number_words(*(folder / "common" for folder in lexicon_folders()))


READ = (
    (
        "an incision of 2,2 mm and a lens of plus 22,5 dioptres",
        "an incision of 2.2 mm and a lens of plus 22.5 dioptres",
    ),
    ("target -0,25, cefuroxime 1 mg in 0,1 ml", "target -0.25, cefuroxime 1 mg in 0.1 ml"),
    ("2,4 mm wide, 0,1 ml inside, CDE 8,6", "2.4 mm wide, 0.1 ml inside, CDE 8.6"),
    (
        "two comma four millimetre, widened to two comma seven five",
        "two point four millimetre, widened to two point seven five",
    ),
)
KEPT = (
    "the cell count is 1,650 and 2,450",
    "side ports at 10,2 o'clock",
    "vacuum 50,30 flow",
    "vacuum fifty comma flow thirty comma bottle ninety",
    "side ports at two comma ten",
    "vacuum fifty comma flow two comma four",
)


@pytest.mark.parametrize(("said", "read"), READ)
def test_a_comma_that_is_a_point(said: str, read: str, numbers: NumberWords) -> None:
    assert AlignedText.of(said).apply(find_decimal_commas(said, numbers)).text == read


@pytest.mark.parametrize("said", KEPT)
def test_a_comma_that_parts(said: str, numbers: NumberWords) -> None:
    assert find_decimal_commas(said, numbers) == []
