"""What a person types in: every slot can be answered, wrong values are refused, earlier values are kept."""

from datetime import date

import pytest
from drafts import COMPLETE, Draft, build, read_draft, shown, values_of
from hypothesis import given
from hypothesis import strategies as st

from zonule.addenda import merge_addendum, shift_evidence
from zonule.answers import NOTED, answerable_slots, apply_answers
from zonule.errors import InputError, UnknownNameError, ZonuleError
from zonule.filling import PLACES, facts_at
from zonule.gap_report import check
from zonule.lexicon import Lexicon
from zonule.record import OperationRecord, slot_values
from zonule.requirements import Requirements
from zonule.vocabulary import ComplicationStatement, Eye, LensStatus, Origin, Status

EXAMPLES = {
    **COMPLETE,
    "complications.events": ["iris_prolapse"],
    "drugs": ["cefuroxime intracameral 1 mg"],
    "other_implants": ["capsular_tension_ring CT441"],
}
"""A value for each slot, in the grammar of the slot view."""
BY_TYPE = {"str": "word", "float": "2.5", "bool": "yes", "date": "2026-03-04"}


def example(slot: str) -> str:
    if slot in EXAMPLES:
        return "; ".join(EXAMPLES[slot])
    if slot.endswith("expiry_date"):
        return "2028-11"
    return BY_TYPE[PLACES[slot].value.__name__]


@pytest.mark.parametrize("slot", list(PLACES))
def test_every_slot_can_be_answered(slot: str) -> None:
    """Filled with origin person and no words, then emptied again, the earlier value kept."""
    answers = {slot: example(slot)}
    filled = apply_answers(OperationRecord(), answers)
    held = [value for value in slot_values(filled) if value.slot == slot]
    assert held
    assert {value.fact.origin for value in held} == {Origin.PERSON}
    assert "; ".join(sorted(v.text for v in held)) == "; ".join(sorted(_said(answers[slot])))
    emptied = apply_answers(filled, {slot: ""})
    assert [value for value in slot_values(emptied) if value.slot == slot] == []
    assert sorted(r.value for r in emptied.remarks if r.slot == slot) == sorted(v.text for v in held)


def _said(answer: str) -> list[str]:
    return [{"yes": "true"}.get(part, part) for part in answer.split("; ")]


@pytest.mark.parametrize("slot", NOTED)
def test_items_without_a_slot_are_kept_as_remarks(slot: str) -> None:
    record = apply_answers(OperationRecord(), {slot: "first"})
    record = apply_answers(record, {slot: "second"})
    assert [(r.slot, r.value, r.status) for r in record.remarks] == [(slot, "second", Status.DONE)]
    assert apply_answers(record, {slot: ""}).remarks == ()


def test_every_gap_names_slots_that_can_be_answered(requirements: Requirements) -> None:
    known = set(answerable_slots())
    fields = ("drugs.{drug}.strength", "drugs.{drug}.volume_ml", "other_implants.{kind}.identifier")
    assert sorted({s for item in requirements.items for s in item.slots} - known) == sorted(fields)


def test_answers_close_the_gaps(requirements: Requirements, lexicon: Lexicon) -> None:
    said = {
        "remove": ["operation.eye", "lens.serial_number", "complications.statement", "operation.date"],
        "set": {
            "other_implants": ["capsular_tension_ring"],
            "drugs": ["moxifloxacin intracameral", "lidocaine intracameral @ 1 %"],
        },
    }
    record = build(read_draft(said))
    slots = sorted(gap.slots[0] for gap in check(record, requirements, lexicon).gaps)
    answers = {
        "complications.statement": "none",
        "drugs.lidocaine.volume_ml": "0.3 mL",
        "drugs.moxifloxacin.strength": "0.5 %",
        "drugs.moxifloxacin.volume_ml": "0.1",
        "lens.serial_number": "33729",
        "operation.date": "2026-03-04",
        "operation.eye": "Left",
        "other_implants.capsular_tension_ring.identifier": "CT441",
    }
    assert slots == sorted(answers)
    completed = apply_answers(record, answers)
    assert shown(check(completed, requirements, lexicon)) == []
    assert completed.operation.eye is not None
    assert completed.operation.eye.value is Eye.LEFT
    kept = next(remark for remark in completed.remarks if remark.slot == "drugs")
    assert (kept.value, kept.evidence[0].text) == ("lidocaine intracameral", "lidocaine intracameral @ 1 %")


def test_an_earlier_value_is_kept_with_its_words() -> None:
    record = apply_answers(build(Draft()), {"lens.power_d": "22"})
    assert values_of(record, "lens.power_d") == [22.0]
    (remark,) = record.remarks
    assert (remark.slot, remark.value, remark.status, remark.evidence[0].text) == (
        "lens.power_d", "21.5", Status.HISTORICAL, "21.5",
    )  # fmt: skip


def test_a_repeated_value_is_confirmed_and_keeps_its_words() -> None:
    record = apply_answers(build(Draft()), {"lens.power_d": "21.5"})
    (fact,) = facts_at(record, "lens.power_d")
    assert (fact.origin, fact.evidence[0].text) == (Origin.PERSON, "21.5")
    assert record.remarks == ()


def test_a_list_is_replaced_and_what_stays_keeps_its_words() -> None:
    record = apply_answers(build(Draft()), {"anesthesia": "topical; sedation"})
    assert [(f.value, len(f.evidence)) for f in facts_at(record, "anesthesia")] == [("topical", 1), ("sedation", 0)]
    assert [(r.slot, r.value) for r in record.remarks] == [("anesthesia", "intracameral")]


def test_a_confirmed_value_becomes_a_note(requirements: Requirements, lexicon: Lexicon) -> None:
    record = build(read_draft({"set": {"lens.power_d": "-65"}}))
    assert shown(check(record, requirements, lexicon)) == ["implausible lens.power_d must: -65"]
    confirmed = apply_answers(record, {"lens.power_d": "-65"})
    assert shown(check(confirmed, requirements, lexicon)) == ["implausible lens.power_d note: -65"]


def test_an_answer_settles_a_conflict(requirements: Requirements, lexicon: Lexicon) -> None:
    record = build(read_draft({"remove": ["operation.eye"], "conflicts": [["operation.eye", "right or left"]]}))
    settled = apply_answers(record, {"operation.eye": "right"})
    assert shown(check(settled, requirements, lexicon)) == []


def test_an_answer_settles_a_side_named_by_the_way(requirements: Requirements, lexicon: Lexicon) -> None:
    record = build(read_draft({"remarks": [["operation.eye", "right", "other_eye"]]}))
    assert shown(check(record, requirements, lexicon)) == ["review operation.eye.other should: operation.eye right"]
    settled = apply_answers(record, {"operation.eye": "left"})
    assert shown(check(settled, requirements, lexicon)) == []


def test_complications_follow_their_statement() -> None:
    record = apply_answers(OperationRecord(), {"complications.events": "iris_prolapse"})
    assert record.complications.statement is ComplicationStatement.PRESENT
    record = apply_answers(record, {"complications.events": "", "complications.statement": "none"})
    assert record.complications.statement is ComplicationStatement.NONE
    record = apply_answers(record, {"complications.statement": ""})
    assert record.complications.statement is ComplicationStatement.NOT_STATED


@pytest.mark.parametrize(
    ("slot", "words", "values"),
    [
        ("anesthesia", "Sub-Tenon; topical anaesthesia", ["sub_tenon", "topical"]),
        ("lens.location", "sulcus", ["sulcus"]),
        ("operation.preoperative_diagnosis", "nuclear sclerotic cataract", ["nuclear_sclerotic_cataract"]),
        ("steps", "capsulorrhexis", ["capsulorhexis"]),
        ("antibiotic_prophylaxis", "none", ["none"]),
        ("operation.preoperative_diagnosis", "something rare", ["something rare"]),
        ("lens.model", "Q 9", ["Q 9"]),
    ],
)
def test_trade_words_are_read_as_their_concepts(slot: str, words: str, values: list[str], lexicon: Lexicon) -> None:
    assert values_of(apply_answers(OperationRecord(), {slot: words}, lexicon), slot) == values


def test_a_slot_of_the_trades_own_vocabulary_takes_no_other(lexicon: Lexicon) -> None:
    with pytest.raises(InputError, match="Answer for 'anesthesia': expected a word of the trade, perhaps 'topical'"):
        apply_answers(OperationRecord(), {"anesthesia": "topicul"}, lexicon)


@pytest.mark.parametrize(
    ("slot", "value", "words"),
    [
        ("operation.eye", "port", "Value of 'operation.eye': expected one of right, left, both, got 'port'"),
        ("operation.date", "4.3.2026", "expected a date such as 2026-03-04"),
        ("operation.start_time", "9 am", "expected a time such as 09:20"),
        ("lens.power_d", "twenty", "expected a number such as 21.5"),
        ("lens.power_d", "nan", "expected a number such as 21.5"),
        ("lens.power_d", "1e9", "expected a number such as 21.5"),
        ("lens.expiry_date", "11/28", "expected a day or a month such as 2028-11"),
        ("capsulorhexis.complete", "maybe", "expected one of yes, no"),
        ("settings", "vacuum 65", "expected a setting such as"),
        ("sutures", "10-0", "expected a size, a material and a count"),
        ("drugs", "cefuroxime intracameral one mg", "expected a number such as 21.5"),
        ("drugs", "cefuroxime intracameral 1", "expected a drug, its route, dose and unit"),
        ("drugs.cefuroxime.route", "nasal", "expected one of topical, intracameral"),
        ("drugs.cefuroxime.volume_ml", "a drop", "expected a number of milliliters"),
        ("drugs.cefuroxime.dose", "much", "expected a dose such as '1 mg'"),
        ("blood_loss", "x" * 501, "expected at most 500 printable characters"),
        ("blood_loss", "a\x00b", "expected at most 500 printable characters"),
    ],
)  # fmt: skip
def test_a_wrong_value_is_refused_in_one_sentence(slot: str, value: str, words: str) -> None:
    with pytest.raises(InputError) as raised:
        apply_answers(build(Draft()), {slot: value})
    assert words in str(raised.value)
    assert "\n" not in str(raised.value)


def test_an_unknown_slot_is_refused_with_the_nearest() -> None:
    nearest = "Unknown slot 'operation.eyes': expected a slot of the record contract, perhaps 'operation.eye'."
    for slot, words in (
        ("operation.eyes", nearest),
        ("drugs.heparin.dose", "expected one of the drugs in the record ('lidocaine', 'cefuroxime')"),
        ("", "Unknown slot ''"),
    ):
        with pytest.raises(UnknownNameError) as raised:
            apply_answers(build(Draft()), {slot: "1 mg"})
        assert words in str(raised.value)


@given(st.sampled_from([*answerable_slots(), "drugs.cefuroxime.dose", "nonsense"]), st.text(max_size=30))
def test_any_answer_gives_a_record_or_one_sentence(slot: str, value: str) -> None:
    try:
        held = apply_answers(build(Draft()), {slot: value}).model_dump_json()
    except ZonuleError as fault:
        held = str(fault)
    assert "\n" not in held


# ---- addenda ---------------------------------------------------------------------------------------------------------
def test_an_addendum_is_laid_over_the_first_dictation() -> None:
    first = build(Draft())
    said = {"lens.power_d": ["22"], "lens.serial_number": ["33729"], "steps": ["suture", "draping"]}
    later = build(Draft({**said, "counts": ["correct"]}))
    merged = merge_addendum(first, later, 5000)
    assert values_of(merged, "lens.power_d") == [22.0]
    assert values_of(merged, "steps") == [*COMPLETE["steps"], "suture"]
    assert values_of(merged, "counts") == ["correct"]
    assert [(r.slot, r.value, r.status, r.evidence[0].text) for r in merged.remarks] == [
        ("lens.power_d", "21.5", Status.HISTORICAL, "21.5")
    ]
    (power,) = facts_at(merged, "lens.power_d")
    assert (power.evidence[0].start, power.origin) == (5000, Origin.DICTATION)
    (serial,) = facts_at(merged, "lens.serial_number")
    assert serial.evidence == facts_at(first, "lens.serial_number")[0].evidence


def test_evidence_of_both_spans_the_joined_text() -> None:
    first, later = build(Draft()), build(Draft({"counts": ["correct"]}))
    texts = ["\n".join(v for values in d.values() for v in values) + "\n" for d in (COMPLETE, {"counts": ["correct"]})]
    merged = merge_addendum(first, later, len(texts[0]))
    joined = "".join(texts)
    for value in slot_values(merged):
        for evidence in value.fact.evidence:
            assert joined[evidence.start : evidence.end] == evidence.text


def test_an_addendum_settles_a_conflict_it_restates() -> None:
    first = build(Draft({}, conflicts=[("operation.eye", "right or left"), ("team.surgeon", "two")]))
    merged = merge_addendum(first, build(Draft({"operation.eye": ["left"]})), 100)
    assert [c.id for c in merged.conflicts] == ["team.surgeon"]
    assert values_of(merged, "operation.eye") == [Eye.LEFT]


def test_an_addendum_names_a_further_lens() -> None:
    first = build(Draft())
    merged = merge_addendum(first, build(Draft({"lens_not_implanted.serial_number": ["771"]})), 100)
    assert [lens.status for lens in merged.lenses] == [LensStatus.IMPLANTED, LensStatus.OPENED_NOT_IMPLANTED]


def test_an_empty_addendum_changes_nothing() -> None:
    first = build(Draft())
    assert merge_addendum(first, OperationRecord(), 100) == first
    assert shift_evidence(first, 0) == first


def test_dates_survive_a_shift() -> None:
    shifted = shift_evidence(build(Draft({"operation.date": ["2026-03-04"]})), 7)
    (fact,) = facts_at(shifted, "operation.date")
    assert (fact.value, fact.evidence[0].start) == (date(2026, 3, 4), 7)
