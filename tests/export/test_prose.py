"""The prose hangs by the facts: every sentence has facts, every step is told, and no word or number is added."""

import re

import pytest
import records

from zonule.export.prose import Clause, Sentence, clauses, sentences
from zonule.export.quantities import COUNTS, clock_hour, number, signed_power, sutures
from zonule.export.wording import wording, words
from zonule.record import (
    Capsulorhexis,
    DrugGiven,
    Lens,
    MainIncision,
    Nucleus,
    OperationRecord,
    Paracentesis,
    SutureUse,
    Viscoelastic,
)
from zonule.record.slots import format_value
from zonule.vocabulary import LensStatus, Status

RECORDS = {"routine": records.routine(), "complicated": records.complicated(), "empty": records.empty()}
GLUE = {
    "a", "an", "and", "at", "but", "by", "for", "main", "incision", "incisions", "intraocular", "into", "is",
    "lens", "made", "mm", "not", "o'clock", "of", "paracenteses", "placed", "ports", "side", "suture", "sutures",
    "technique", "the", "to", "used", "viscoelastic", "was", "were", "with", "capsulorhexis", "nucleus",
    "complete", "given", "removed", "inserted", "performed",
}  # fmt: skip
"""Words that join facts into a sentence and say nothing of their own."""


def spoken(value: object) -> set[str]:
    """All words in which a fact's value may be told."""
    texts = [words(part) for part in format_value(value).split(" ")]
    if isinstance(value, float):
        texts += [number(value), clock_hour(value), signed_power(value)]
        texts += [COUNTS[int(value)]] if value in range(len(COUNTS)) else []
    if isinstance(value, str):
        texts += [wording()["clause"].get(value, ""), wording()["into"].get(value, ""), words(value), f"{value}ly"]
    if isinstance(value, DrugGiven):
        texts += [words(value.drug), wording()["by_route"].get(value.route, ""), number(value.dose or 0)]
    if isinstance(value, SutureUse):
        texts.append(sutures(value))
    return {word.lower() for text in texts for word in tokens(text)}


def tokens(text: str) -> list[str]:
    return re.findall(r"[\w'+−.:-]*\w", text.lower())


@pytest.mark.parametrize("name", RECORDS)
def test_every_sentence_comes_from_done_facts(name: str) -> None:
    told = sentences(RECORDS[name])
    assert [s.text for s in told if not s.facts or any(f.status is not Status.DONE for f in s.facts)] == []


@pytest.mark.parametrize("name", RECORDS)
def test_no_word_is_added(name: str) -> None:
    added = {
        word
        for sentence in sentences(RECORDS[name])
        for word in tokens(sentence.text)
        if word not in GLUE and word not in {w for fact in sentence.facts for w in spoken(fact.value)}
    }
    assert added == set()


@pytest.mark.parametrize("name", RECORDS)
def test_every_step_is_told_in_order(name: str) -> None:
    record = RECORDS[name]
    told = [fact for sentence in sentences(record) for fact in sentence.facts]
    assert [fact for fact in told if fact in record.steps] == list(record.steps)


def step_record(*steps: str, **changes: object) -> OperationRecord:
    return OperationRecord(steps=tuple(records.typed(s) for s in steps)).model_copy(update=changes)


def texts(record: OperationRecord) -> list[str]:
    return [sentence.text for sentence in sentences(record)]


typed = records.typed
SENTENCES: list[tuple[OperationRecord, list[str]]] = [
    (
        step_record("paracentesis", paracentesis=Paracentesis(clock_hours=(typed(12.0),))),
        ["A paracentesis was made at 12 o'clock."],
    ),
    (
        step_record("paracentesis", paracentesis=Paracentesis(clock_hours=(typed(7.5), typed(1.0)), count=typed(2.0))),
        ["Two paracenteses were made at 7:30 and 1 o'clock."],
    ),
    (step_record("paracentesis", paracentesis=Paracentesis(count=typed(1.0))), ["A paracentesis was made."]),
    (step_record("paracentesis"), ["A paracentesis was made."]),
    (
        step_record("main_incision", main_incision=MainIncision(width_mm=typed(2.75), site=typed("75 deg"))),
        ["A 2.75 mm main incision was made at 75°."],
    ),
    (
        step_record("main_incision", main_incision=MainIncision(kind=typed("limbal"), width_mm=typed(8.0))),
        ["An 8 mm limbal incision was made."],
    ),
    (
        step_record("main_incision", main_incision=MainIncision(site=typed("temporal"))),
        ["The main incision was made temporally."],
    ),
    (
        step_record("capsulorhexis", capsulorhexis=Capsulorhexis(complete=typed(False))),
        ["A capsulorhexis was made but was not complete."],
    ),
    (
        step_record(
            "nucleus_sculpting", "nucleus_cracking", "nucleus_removal", nucleus=Nucleus(technique=(typed("flip"),))
        ),
        ["The nucleus was sculpted, cracked and removed by flip."],
    ),
    (
        step_record(
            "viscoelastic_injection", "viscoelastic_injection", viscoelastic=Viscoelastic(kinds=(typed("cohesive"),))
        ),
        ["Cohesive viscoelastic was injected.", "Viscoelastic was injected."],
    ),
    (
        step_record("lens_insertion", lenses=(Lens(status=LensStatus.OPENED_NOT_IMPLANTED, model=typed("ZX40")),)),
        ["The intraocular lens was inserted."],
    ),
    (
        step_record("lens_insertion", lenses=(Lens(status=LensStatus.IMPLANTED, location=typed("iris_fixated")),)),
        ["The intraocular lens was inserted and fixated to the iris."],
    ),
    (
        step_record("suture", sutures=(typed(SutureUse(material="nylon", size="10-0")),)),
        ["10-0 nylon suture (number not stated) was placed."],
    ),
    (step_record("suture", sutures=(typed(SutureUse(material="none")),)), ["The wound was sutured."]),
    (
        step_record("hydrodissection", "hydrodelineation", "nucleus_rotation"),
        ["Hydrodissection and hydrodelineation were performed and the nucleus was rotated."],
    ),
    (
        step_record("viscoelastic_removal", "wound_hydration", "leak_check"),
        ["The viscoelastic was removed and the wounds were hydrated and checked for leaks."],
    ),
    (step_record("goniotomy"), ["Goniotomy was performed."]),
    (
        step_record(main_incision=MainIncision(kind=typed("clear_corneal"), width_mm=typed(2.2))),
        ["Main incision: 2.2 mm, clear corneal."],
    ),
    (step_record(viscoelastic=Viscoelastic(removed=typed(False))), ["The viscoelastic was not removed."]),
    (step_record("speculum", "hydrodissection"), ["A lid speculum was inserted.", "Hydrodissection was performed."]),
]


@pytest.mark.parametrize(("record", "expected"), SENTENCES, ids=[e[0] for _, e in SENTENCES])
def test_sentences(record: OperationRecord, expected: list[str]) -> None:
    assert texts(record) == expected


def test_a_drug_is_named_in_the_antibiotic_clause_only_when_it_is_the_stated_antibiotic() -> None:
    lidocaine = typed(DrugGiven(drug="lidocaine", route="intracameral"))
    cefuroxime = typed(DrugGiven(drug="cefuroxime", route="intracameral", dose=1, dose_unit="mg"))
    step = typed("intracameral_antibiotic")
    record = OperationRecord(steps=(step,), drugs=(lidocaine, cefuroxime))
    assert clauses(record) == [Clause(step.value, "an intracameral antibiotic was given", (step,))]
    named = record.model_copy(update={"antibiotic_prophylaxis": (typed("cefuroxime"),)})
    assert sentences(named) == [Sentence("Cefuroxime 1 mg was given intracamerally.", (step, cefuroxime))]


def test_facts_that_were_not_done_are_not_told() -> None:
    step = typed("iridectomy").model_copy(update={"status": Status.NOT_DONE})
    assert sentences(OperationRecord(steps=(step,))) == []


def test_every_stage_names_steps_that_have_a_clause() -> None:
    stages = wording()["stage"].values()
    assert {step for steps in stages for step in steps} - wording()["clause"].keys() == set()
