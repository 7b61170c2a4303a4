"""Sentences as data: what is said and what is read; words that only look like numbers stay words."""

import tomllib
from pathlib import Path

import pytest

from zonule.normalization.number_words import NumberWords, load_number_words
from zonule.normalization.numbers import find_number_edits
from zonule.text import AlignedText, Span

CASES = Path(__file__).parent / "cases" / "numbers"


def load(name: str) -> list[dict[str, str]]:
    cases: list[dict[str, str]] = tomllib.loads((CASES / name).read_text("utf-8"))["case"]
    assert all(case.keys() <= {"said", "read"} for case in cases)
    return cases


SPOKEN, KEPT = load("spoken.toml"), load("words_kept.toml")


@pytest.fixture(scope="module")
def words() -> NumberWords:
    return load_number_words(Path(__file__).parents[1] / "lexicon" / "common")


def rewrite(said: str, words: NumberWords) -> str:
    return AlignedText.of(said).apply(find_number_edits(said, words)).text


def test_every_spoken_case_is_read_otherwise_than_said() -> None:
    assert [case["said"] for case in SPOKEN if "read" not in case] == []
    assert [case["said"] for case in KEPT if "read" in case] == []


@pytest.mark.parametrize("case", SPOKEN, ids=[case["said"][:60] for case in SPOKEN])
def test_spoken_number_is_read(case: dict[str, str], words: NumberWords) -> None:
    assert rewrite(case["said"], words) == case["read"]


@pytest.mark.parametrize("case", SPOKEN, ids=[case["said"][:60] for case in SPOKEN])
def test_what_is_read_is_read_again_as_itself(case: dict[str, str], words: NumberWords) -> None:
    assert rewrite(case["read"], words) == case["read"]


@pytest.mark.parametrize("case", KEPT, ids=[case["said"][:60] for case in KEPT])
def test_word_that_only_looks_like_a_number_stays(case: dict[str, str], words: NumberWords) -> None:
    assert rewrite(case["said"], words) == case["said"]


@pytest.mark.parametrize("case", SPOKEN, ids=[case["said"][:60] for case in SPOKEN])
def test_capital_letters_change_no_reading(case: dict[str, str], words: NumberWords) -> None:
    assert rewrite(case["said"].upper(), words).upper() == case["read"].upper()


def test_an_edit_says_where_what_and_why(words: NumberWords) -> None:
    said = "a two point two blade, lot b two to one, power twenty two five diopters"
    edits = [(e.span.of(said), e.replacement, e.rule, e.score) for e in find_number_edits(said, words)]
    assert edits == [
        ("two point two", "2.2", "spoken_number", None),
        ("b two to one", "B221", "spoken_identifier", 0.7),
        ("twenty two five", "22.5", "spoken_number", 0.7),
    ]


RULES = {
    "spoken_number": "vacuum three fifty",
    "spoken_fraction": "half a mil",
    "spoken_ratio": "one in ten thousand",
    "spoken_size": "six by four",
    "spoken_suture_size": "ten oh nylon",
    "spoken_clock_hour": "seven thirty o'clock",
    "spoken_time": "started at nine fifteen",
    "spoken_date": "the fourth of may nineteen fifty",
    "spoken_month": "august twenty twenty eight",
    "spoken_acuity": "six over nine",
    "spoken_identifier": "serial four four one two",
}


@pytest.mark.parametrize(("rule", "said"), RULES.items())
def test_rules(rule: str, said: str, words: NumberWords) -> None:
    assert [edit.rule for edit in find_number_edits(said, words)] == [rule]


def test_letters_whose_lower_case_is_longer_keep_all_places(words: NumberWords) -> None:
    said = "İİ two point two İ mm"
    assert [edit.span for edit in find_number_edits(said, words)] == [Span(3, 16)]
