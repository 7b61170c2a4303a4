"""For any text: a record without a crash, and every value on its thread (`text == dictation[start:end]`).

Random characters find little; words of the trade, numbers and cues in random order find more.
"""

from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import BaseModel

from zonule.dictation import Dictation, read_text
from zonule.export.docx import render_docx
from zonule.export.options import DocumentOptions
from zonule.gap_report import check
from zonule.lexicon import load_lexicon
from zonule.pipeline import Reader
from zonule.record import Evidence, Fact, OperationRecord, gap_lines, slot_lines, slot_values
from zonule.requirements import Requirements
from zonule.settings import lexicon_folder
from zonule.vocabulary import Origin, Status

ROOT = Path(__file__).parents[1]
CASES = ROOT / "tests" / "cases"
FOLDERS = [ROOT / "samples", *sorted(CASES.glob("corpus_*")), CASES / "not_a_note"]
TEXTS = [path for folder in FOLDERS for path in sorted(folder.glob("*.[tsv][xrt]t"))]
NUMBERS = (
    "two", "point", "four", "five", "twenty", "one", "and", "a", "half", "nineteen", "hundred", "oh", "double", "minus",
    "plus", "to", "slash", "dash", "2.4", "0.1", "21.5", "350", "1:10000", "10-0", "09:10", "12/03/2026", "7",
    "millimeters", "mm", "diopters", "percent", "%", "mmHg", "mL", "mg", "o'clock", "degrees", "seconds", "weeks",
    "capital", "r", "K", "march", "twentieth", "2028",
)  # fmt: skip
GLUE = (" ", " ", " ", " ", ", ", ". ", "\n", "; ", ": ", " - ", " (", ") ", "-", "", "\n[1:05] ", "\u00a0", " ’ ")
ODD = (
    "\u0000", "\u0001", "\ufeff", "\u2028", "\x0b", "\x85", "İ", "ß", "ﬁ", "e\u0301", "²", "½", "٣", "𝟛", "🙂",
    "\r\n", "&<>",
)  # fmt: skip


@cache
def words() -> tuple[tuple[str, ...], ...]:
    """Every wording the lexicon knows, by kind: a kind with many words shall not crowd out the others."""
    lexicon = load_lexicon(lexicon_folder())
    groups: dict[str, set[str]] = {}
    for term in lexicon.terms:
        groups.setdefault(term.kind or "word", set()).update(term.forms)
    for action in lexicon.actions:
        groups.setdefault("action", set()).update(action.verbs, action.nouns)
    groups["cue"] = {form for cue in lexicon.cues for form in cue.forms}
    groups["correction"] = {form for correction in lexicon.corrections for form in correction.forms}
    groups["mark"] = {form for mark in lexicon.marks for form in mark.forms}
    groups["mishearing"] = {heard for entry in lexicon.mishearings for heard in entry.heard}
    return tuple(tuple(sorted(group)) for group in groups.values() if group)


@st.composite
def trade_talk(draw: st.DrawFn) -> str:
    """Words of the trade and numbers in random order, with any glue between them."""
    trade = st.sampled_from(words()).flatmap(st.sampled_from)
    number = st.sampled_from(NUMBERS)
    word = st.one_of(trade, number, trade, number, trade, st.sampled_from(ODD))
    parts = draw(st.lists(st.tuples(word, st.sampled_from(GLUE)), min_size=1, max_size=40))
    return "".join(part for pair in parts for part in pair)


def evidence_of(value: object) -> Iterator[Evidence]:
    """Every evidence anywhere in a model."""
    if isinstance(value, Evidence):
        yield value
    elif isinstance(value, BaseModel):
        for name in type(value).model_fields:
            yield from evidence_of(getattr(value, name))
    elif isinstance(value, tuple):
        for item in value:
            yield from evidence_of(item)


def facts_of(value: object) -> Iterator[Fact[object]]:
    """Every fact anywhere in a model."""
    if isinstance(value, Fact):
        yield value
    elif isinstance(value, BaseModel):
        for name in type(value).model_fields:
            yield from facts_of(getattr(value, name))
    elif isinstance(value, tuple):
        for item in value:
            yield from facts_of(item)


def assert_every_thread_holds(dictation: Dictation, record: OperationRecord) -> None:
    wrong = [e for e in evidence_of(record) if dictation.text[e.start : e.end] != e.text or not e.text]
    assert wrong == []
    facts = list(facts_of(record))
    assert [f for f in facts if f.origin is not Origin.DICTATION or not f.evidence] == []
    assert [f for f in facts if f.time_s != dictation.seconds_at(f.evidence[0].start)] == []
    assert [v for v in slot_values(record) if v.fact.status is not Status.DONE] == []
    assert OperationRecord.model_validate_json(record.model_dump_json()) == record


@given(st.text(max_size=300))
@settings(max_examples=150)
def test_any_text_gives_a_record(reader: Reader, text: str) -> None:
    dictation = read_text(text)
    assert_every_thread_holds(dictation, reader.read(dictation, addendum=True))


@given(trade_talk())
@settings(max_examples=400)
def test_trade_words_in_any_order_give_a_record(reader: Reader, text: str) -> None:
    dictation = read_text(text)
    assert_every_thread_holds(dictation, reader.read(dictation, addendum=True))


@given(trade_talk())
@settings(max_examples=60)
def test_any_record_can_be_checked_and_written(reader: Reader, requirements: Requirements, text: str) -> None:
    dictation = read_text(text)
    record = reader.read(dictation, addendum=True)
    report = check(record, requirements, reader.lexicon)
    wrong = [e for e in evidence_of(report) if dictation.text[e.start : e.end] != e.text]
    assert wrong == []
    assert gap_lines(report).count("\n") == len(report.gaps)
    assert slot_lines(record).count("\n") == len(slot_values(record))
    assert render_docx(record, report, DocumentOptions(evidence=True))[:2] == b"PK"


@pytest.mark.parametrize("path", TEXTS, ids=lambda p: f"{p.parent.name}/{p.name}")
def test_every_thread_of_a_dictation_holds(reader: Reader, path: Path) -> None:
    dictation = read_text(path.read_text("utf-8"), path.name)
    assert_every_thread_holds(dictation, reader.read(dictation))
