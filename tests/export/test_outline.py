"""The outline as a whole, compared as plain text with files that were read line by line."""

from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pytest
import records

from zonule.export import DocumentOptions, build_outline
from zonule.export.blocks import Entries, Entry, Paragraph, Phrase, Section, Signature, Tone
from zonule.export.plain_text import render_plain_text, write_plain_text
from zonule.export.wording import name_shown
from zonule.record import Evidence, Gap, GapReport, OperationRecord
from zonule.vocabulary import ComplicationStatement, GapKind, Severity

EXPECTED = Path(__file__).parent / "expected"
UNIT = "Harrowmere Eye Unit"
CASES = {
    "routine": (records.routine(), records.gaps(), DocumentOptions(unit_name=UNIT)),
    "routine_evidence": (records.routine(), records.gaps(), DocumentOptions(unit_name=UNIT, evidence=True)),
    "routine_list": (
        records.routine(),
        GapReport(),
        DocumentOptions(steps="list", signed_by="Aldous Penhallow", signed_at=datetime(2026, 11, 25, 14, 5)),
    ),
    "complicated": (records.complicated(), records.complicated_gaps(), DocumentOptions()),
    "empty": (records.empty(), GapReport(), DocumentOptions()),
}


@pytest.mark.parametrize("name", CASES)
def test_plain_text_is_as_expected(name: str) -> None:
    record, report, options = CASES[name]
    assert render_plain_text(record, report, options) == (EXPECTED / f"{name}.txt").read_text("utf-8")


@pytest.mark.parametrize("name", CASES)
def test_same_input_gives_the_same_outline(name: str) -> None:
    assert build_outline(*CASES[name]) == build_outline(*CASES[name])


def section(record: OperationRecord, report: GapReport, name: str) -> Section | None:
    return next((s for s in build_outline(record, report).sections if s.id == name), None)


def test_questions_are_asked_only_while_there_are_any() -> None:
    record = records.routine()
    assert [section(record, GapReport(), name) for name in ("not_stated", "to_confirm")] == [None, None]


def entry(record: OperationRecord, label: str) -> Entry:
    outcome = section(record, GapReport(), "outcome")
    assert outcome is not None
    return next(e for b in outcome.blocks if isinstance(b, Entries) for e in b.entries if e.label == label)


def complications(**changes: object) -> OperationRecord:
    record = records.routine()
    return record.model_copy(update={"complications": record.complications.model_copy(update=changes)})


def test_silence_about_complications_is_said_to_be_silence() -> None:
    # Record contract, section 1: a complication not mentioned is not_stated, not none.
    record = complications(statement=ComplicationStatement.NOT_STATED, statement_fact=None)
    phrase = Phrase("not stated in the dictation", (), Tone.ALERT)
    assert entry(record, "Complications") == Entry("Complications", (phrase,))


def test_none_beside_an_event_is_shown_with_the_event() -> None:
    event = records.typed("iris_prolapse")
    record = complications(events=(event,))
    fact = record.complications.statement_fact
    assert fact is not None
    shown = (Phrase("Iris prolapse", (event,), Tone.ALERT), Phrase("(also stated: none)", (fact,), Tone.ALERT))
    assert entry(record, "Complications") == Entry("Complications", shown)


def test_a_draft_stays_a_draft_until_someone_signs() -> None:
    record = records.routine()
    signed = DocumentOptions(signed_by="Aldous Penhallow", signed_at=datetime(2026, 11, 25, 14, 5))
    assert build_outline(record, GapReport()).signature == Signature(draft=True)
    assert build_outline(record, GapReport(), DocumentOptions(signed_at=datetime(2026, 11, 25))).draft
    expected = Signature(draft=False, by="Aldous Penhallow", at="25 November 2026, 14:05")
    assert build_outline(record, GapReport(), signed).signature == expected


def test_a_note_that_lacks_what_it_must_hold_stays_a_draft() -> None:
    signed = DocumentOptions(signed_by="Aldous Penhallow")
    assert build_outline(records.complicated(), records.complicated_gaps(), signed).signature == Signature(draft=True)


def test_cautions_stand_in_every_outline() -> None:
    assert build_outline(records.empty(), GapReport()).cautions == (
        "This note is a draft until its surgeon has read and signed it.",
        "Doses defer to the local formulary. Nothing here is treatment advice.",
    )


def test_remarks_are_shown_on_request_with_their_status() -> None:
    from zonule.record import Remark
    from zonule.vocabulary import Status

    words = Evidence(start=0, end=27, text="I usually use a sulcus lens")
    remark = Remark(slot="lens.location", value="sulcus", status=Status.HABITUAL, evidence=(words,))
    record = records.routine().model_copy(update={"remarks": (remark,)})
    plain = write_plain_text(build_outline(record, GapReport(), DocumentOptions(remarks=True)))
    assert "\n- Habitual: “I usually use a sulcus lens”\n" in plain
    assert "usually" not in write_plain_text(build_outline(record, GapReport()))


def test_every_gap_is_shown() -> None:
    report = records.complicated_gaps()
    plain = render_plain_text(records.complicated(), report)
    shown = ["Postoperative plan", "Needed before signing: Date of operation", report.gaps[2].question]
    assert [text for text in shown if text not in plain] == []


def test_a_phrase_finds_the_numbers_of_its_notes() -> None:
    outline = build_outline(records.routine(), GapReport(), DocumentOptions(evidence=True))
    assert outline.identity
    eye = outline.identity.eye
    number = outline.marks_of(eye)
    assert [note.words for note in outline.notes if note.number in number] == ["right eye"]
    assert replace(outline, marks={}).marks_of(eye) == ()


def test_an_item_asked_of_several_things_is_named_once() -> None:
    def asked(words: str) -> Gap:
        evidence = (Evidence(start=0, end=len(words), text=words),)
        return Gap(kind=GapKind.MISSING, id="drugs.strength", severity=Severity.SHOULD, question="?", evidence=evidence)

    found = section(records.empty(), GapReport(gaps=(asked("lidocaine"), asked("cefuroxime"))), "not_stated")
    assert found is not None
    assert found.blocks == (Paragraph((Phrase("Strength of the drug (“lidocaine”, “cefuroxime”)."),)),)


@pytest.mark.parametrize(
    ("said", "shown"),
    [
        ("ada brook-hale", "Ada Brook-Hale"),
        ("Ada van Brook", "Ada van Brook"),
        ("ADA BROOK", "ADA BROOK"),
        ("o'hara", "O'hara"),
    ],
)
def test_a_name_without_any_capital_gets_them(said: str, shown: str) -> None:
    assert name_shown(said) == shown
