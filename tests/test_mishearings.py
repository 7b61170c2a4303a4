"""Misheard trade words: what is repaired, what is left alone, and how often on cases and on ordinary English.

The bars are what is reached; source of the cases: the heads of their files in cases/mishearings.
"""

import gzip
import tomllib
from itertools import pairwise
from pathlib import Path

import pytest

from zonule.lexicon import load_lexicon
from zonule.normalization.mishearings import MishearingRepair
from zonule.normalization.trade_tables import compile_repairs
from zonule.settings import lexicon_folder

CASES = Path(__file__).parent / "cases" / "mishearings"
ENGLISH = Path("/usr/share/doc/jargon-text/jargon.txt.gz")
"""A book of ordinary English that holds no note (Debian package jargon-text)."""
ENGLISH_CHARACTERS = 300_000
LEAST_REPAIRED = {
    "by_hand": {"tune": 0.96, "test": 0.77},
    "by_synthesizer": {"tune": 0.85, "test": 0.26},
    "in_notes": {"tune": 0.49, "test": 0.31},
}
"""Least share of the cases of a file read exactly as meant; "test" was never looked at."""
MOST_MISREAD = {
    "by_hand": {"tune": 0.01, "test": 0.025},
    "by_synthesizer": {"tune": 0.01, "test": 0.03},
    "in_notes": {"tune": 0.06, "test": 0.1},
}
"""Greatest share of the cases changed to something else than meant, a part of it included."""
MOST_CHANGED = 0.0005
"""Greatest share of the words of ordinary English that are changed."""


@pytest.fixture(scope="module")
def repair() -> MishearingRepair:
    lexicon = load_lexicon(lexicon_folder())
    return MishearingRepair(lexicon, compile_repairs(lexicon))


def rewrite(repair: MishearingRepair, text: str, keep: frozenset[str] = frozenset()) -> str:
    for edit in reversed(repair.find_edits(text, keep)):
        text = text[: edit.span.start] + edit.replacement + text[edit.span.end :]
    return text


def squeeze(text: str) -> str:
    return text.lower().replace(" ", "").replace("-", "")


# Source of the pairs: common practice, no source.
@pytest.mark.parametrize(
    ("heard", "meant"),
    [
        ("a five millimeter capsule or hexis was made", "a five millimeter capsulorhexis was made"),
        ("then hydro dissection of the nucleus", "then hydrodissection of the nucleus"),
        ("the lens was folded and moxie floxacin injected", "the lens was folded and moxifloxacin injected"),
    ],
)
def test_misheard_words_are_repaired(repair: MishearingRepair, heard: str, meant: str) -> None:
    assert squeeze(rewrite(repair, heard)) == squeeze(meant)


# Source: common practice, no source. What must never be repaired: names, words with digits, negations, inflections,
# and a single English word that only sounds like a trade word.
@pytest.mark.parametrize(
    "text",
    [
        "The surgeon was Doctor Cortez and the lens was placed in the bag.",
        "surgeon mister hapticks assistant miss rexwell cataract right eye phaco",
        "lens serial tori5c77 placed in the capsular bag",
        "dexamethasone 4 mg subconjunctivally and a shield",
        "cefuroxime was withheld because he had anaphylaxis with penicillin",
        "phaco uneventful, the patient was weeping in theatre about the incident",
        "there was a small descemet detachment at the main wound tamponaded with air",
        "i stayed clear of the iris so as not to burn a wound",
    ],
)
def test_what_was_meant_stays(repair: MishearingRepair, text: str) -> None:
    assert rewrite(repair, text) == text


def test_words_to_keep_are_kept(repair: MishearingRepair) -> None:
    text = "then hydro dissection of the nucleus in the capsular bag with moxie floxacin"
    edits = repair.find_edits(text)
    keep = frozenset(edit.span.of(text).casefold() for edit in edits)
    assert keep
    assert rewrite(repair, text, keep) == text


def test_edits_stand_in_order_with_rule_and_score(repair: MishearingRepair) -> None:
    text = "para sent thesis then a capsule or hexis then hydro dissection in the bag"
    edits = repair.find_edits(text)
    assert len(edits) >= 2
    assert all(a.span.end <= b.span.start for a, b in pairwise(edits))
    assert {edit.rule for edit in edits} <= {"mishearing:known", "mishearing:split", "mishearing:sound"}
    assert all(edit.score is not None and 0 < edit.score <= 1 for edit in edits)


@pytest.mark.parametrize("group", ["tune", "test"])
@pytest.mark.parametrize("file", LEAST_REPAIRED)
def test_cases_are_repaired_as_often_as_they_were(repair: MishearingRepair, file: str, group: str) -> None:
    cases = tomllib.loads((CASES / f"{file}.toml").read_text("utf-8"))["case"]
    repaired, misread, count = 0, 0, 0
    for case in (case for case in cases if case["set"] == group):
        phrase = case["phrase"].lower()
        read = rewrite(repair, phrase)
        right = squeeze(read) == squeeze(phrase.replace(case["heard"].lower(), case["term"].lower()))
        repaired, misread, count = repaired + right, misread + (not right and read != phrase), count + 1
    least, most = LEAST_REPAIRED[file][group], MOST_MISREAD[file][group]
    assert (repaired / count >= least, misread / count <= most) == (True, True)


@pytest.mark.skipif(not ENGLISH.exists(), reason="needs the Debian package jargon-text")
def test_ordinary_english_stays(repair: MishearingRepair) -> None:
    lines = gzip.decompress(ENGLISH.read_bytes()).decode("utf-8", "replace").splitlines()
    text = "\n".join(line for line in lines if not line.startswith("   :"))[:ENGLISH_CHARACTERS]
    for shape in (text, text.lower()):
        assert len(repair.find_edits(shape)) / len(shape.split()) <= MOST_CHANGED
