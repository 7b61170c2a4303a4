"""What the page of a note shows, as pure functions: the marked words, the record in the order of telling, answers."""

from collections import Counter
from functools import partial
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from zonule.answers import NOTED
from zonule.casework import Casework, Given, work_case
from zonule.dictation import read_text
from zonule.filling import PLACES
from zonule.pipeline import Reader
from zonule.record import slot_values
from zonule.requirements import Requirements
from zonule.vocabulary import GapKind
from zonule.web.pages.marked_text import doubts_of, marked_text, repairs_of
from zonule.web.pages.note_view import Filled, NoteView, read_filled
from zonule.web.pages.running_order import count_of, known_items, labels, running_order, stage_of, stages
from zonule.web.pages.shown_values import shown_values
from zonule.web.pages.two_versions import compare, together

SAMPLES = sorted((Path(__file__).parents[2] / "samples").glob("[0-9]*.*"))


def _work(reader: Reader, requirements: Requirements, words: str) -> Casework:
    return work_case(reader, requirements, read_text(words), Given())


def _view(reader: Reader, requirements: Requirements, filled: Filled) -> NoteView:
    return read_filled(filled, partial(work_case, reader, requirements), requirements, reader.lexicon)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_pieces_join_to_the_dictation_and_mark_all_evidence(
    path: Path, reader: Reader, requirements: Requirements
) -> None:
    words = path.read_text("utf-8")
    done = _work(reader, requirements, words)
    pieces = marked_text(words, done.record, done.report)
    assert "".join(piece.text for piece in pieces) == words
    assert [piece.start for piece in pieces] == [sum(len(p.text) for p in pieces[:at]) for at in range(len(pieces))]
    for number, value in enumerate(slot_values(done.record)):
        marked = "".join(p.text for p in pieces if f"v{number}" in {mark.ref for mark in p.marks})
        assert all(evidence.text in marked for evidence in value.fact.evidence)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_every_value_and_every_gap_stands_once(path: Path, reader: Reader, requirements: Requirements) -> None:
    words = path.read_text("utf-8")
    done = _work(reader, requirements, words)
    items = [
        item for stage in running_order(done.record, done.report, requirements, reader.lexicon) for item in stage.items
    ]
    shown = Counter(value.id for item in items for value in item.values)
    assert shown == Counter(f"v{number}" for number in range(len(slot_values(done.record))))
    asked = Counter(question.text for item in items for question in item.questions)
    wanted = [gap.question for gap in done.report.of(GapKind.MISSING)]
    wanted += [gap.question for _, gap in doubts_of(done.record, done.report)]
    assert asked == Counter(wanted)


def test_every_requirement_and_slot_has_its_place(requirements: Requirements) -> None:
    known = known_items()
    assert [item.id for item in requirements.items if item.id not in known] == []
    asked = known | {slot for item in requirements.items for slot in item.slots}
    assert [s for s in (*PLACES, *NOTED) if s not in asked and s.partition(".")[0] not in known] == []
    assert {stage_of(slot) for slot in PLACES} == {name for name, _, _ in stages()}
    assert set(labels()) - known == {"team.scrub"} - known


def test_items_stand_in_the_order_of_telling(reader: Reader, requirements: Requirements) -> None:
    done = _work(reader, requirements, "Right eye phaco and lens. Capsulorhexis complete. No complications.")
    order = running_order(done.record, done.report, requirements, reader.lexicon)
    assert [stage.title for stage in order] == [
        "Who and when", "Which eye, and why", "Anesthesia", "Ways in", "Lens matter out", "Lens in", "How it went",
        "Closing", "Afterwards",
    ]  # fmt: skip
    states = {item.id: item.state for stage in order for item in stage.items}
    assert {name: states[name] for name in ("operation.eye", "patient.name", "complications.statement")} == {
        "operation.eye": "stated",
        "patient.name": "needed",
        "complications.statement": "stated",
    }
    assert count_of(order).needed == sum(gap.severity.value == "must" for gap in done.report.gaps)


def test_a_misheard_term_is_listed_once_and_is_no_doubt(reader: Reader, requirements: Requirements) -> None:
    words = "Paris synthesis at five o'clock, then another paris synthesis at 2 o'clock. Right eye phaco and lens."
    done = _work(reader, requirements, words)
    assert [(held.heard.casefold(), held.reading.casefold()) for held in repairs_of(done.record)][:1] == [
        ("paris synthesis", "paracentesis")
    ]
    assert all("Heard as" not in gap.question for _, gap in doubts_of(done.record, done.report))


def test_an_answer_that_cannot_be_taken_is_refused_alone(reader: Reader, requirements: Requirements) -> None:
    answers = {"lens.power_d": "strong", "lens.model": "FK52"}
    view = _view(reader, requirements, Filled(SAMPLES[1].read_text("utf-8"), answers))
    shown = {value.slot: value.text for value in shown_values(view.record)}
    assert (shown["lens.model"], shown["lens.power_d"]) == ("FK52", "+22.50 D")
    assert view.refused == {
        "lens.power_d": "Value of 'lens.power_d': expected a number such as 21.5, got 'strong'; please correct it."
    }


def test_a_doubt_that_somebody_answered_is_asked_no_more(reader: Reader, requirements: Requirements) -> None:
    words = SAMPLES[4].read_text("utf-8")
    asked, answered = (
        _view(reader, requirements, Filled(words, answers)) for answers in ({}, {"operation.eye": "right"})
    )
    states = [
        (item.state, [question.answered for question in item.questions])
        for view in (asked, answered)
        for stage in view.order
        for item in stage.items
        if item.id == "operation.eye"
    ]
    assert states == [("asked", [False]), ("stated", [])]
    assert answered.count.doubts == asked.count.doubts - 1


def test_a_label_that_differs_is_confirmed_with_one_press(reader: Reader, requirements: Requirements) -> None:
    code = "(01)09521101530001(17)281130(21)9007777"
    view = _view(reader, requirements, Filled(SAMPLES[7].read_text("utf-8"), label=code))
    (question,) = [
        question
        for stage in view.order
        for item in stage.items
        for question in item.questions
        if question.kind == "contradictory"
    ]
    assert [(field.slot, field.buttons) for field in question.fields] == [
        ("lens.serial_number", (("9007777", "It is 9007777"),))
    ]
    confirmed = _view(
        reader, requirements, Filled(SAMPLES[7].read_text("utf-8"), {"lens.serial_number": "9007777"}, label=code)
    )
    assert confirmed.count.needed == view.count.needed - 1


def test_a_label_that_cannot_be_read_is_said_and_left_out(reader: Reader, requirements: Requirements) -> None:
    view = _view(reader, requirements, Filled("Right eye phaco and lens.", label="(01)123"))
    assert view.label_fault.startswith("GS1 code '(01)123': ")
    assert all(lens.udi is None for lens in view.record.lenses)


def test_before_the_first_word_everything_is_listed_and_nothing_stated(
    reader: Reader, requirements: Requirements
) -> None:
    view = _view(reader, requirements, Filled())
    items = [item for stage in view.order for item in stage.items]
    assert {item.state for item in items} == {"asked", "needed"}
    assert view.count.stated == 0
    assert view.silent


@given(st.text(), st.text())
def test_compared_texts_join_to_what_they_were(one: str, other: str) -> None:
    theirs, yours = compare(one, other)
    assert "".join(text for _, text in theirs) == one
    assert "".join(text for _, text in yours) == other


def test_bringing_together_keeps_all_words_of_both() -> None:
    theirs = "Right eye. The wound was dry. No complications."
    yours = "Right eye. The wound was hydrated twice. No complications. Shield on."
    assert together(*compare(theirs, yours)) == (
        "Right eye. The wound was dry. No complications.\n\nThe wound was hydrated twice.\nShield on."
    )
