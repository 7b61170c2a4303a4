"""The record: facts hang by a thread, the slot view follows its grammar, the published schema is the models' own."""

import json
import subprocess
import sys
from datetime import date
from pathlib import Path
from typing import Any, TypeVar

import pytest
from jsonschema import Draft202012Validator
from pydantic import ValidationError

from zonule.record import (
    Capsulorhexis,
    Complications,
    DrugGiven,
    Evidence,
    Fact,
    Gap,
    GapReport,
    Implant,
    Lens,
    Operation,
    OperationRecord,
    Paracentesis,
    Setting,
    SutureUse,
    Viscoelastic,
    gap_lines,
    slot_lines,
)
from zonule.record.slots import format_value
from zonule.vocabulary import ComplicationStatement, Eye, GapKind, LensStatus, Limit, Origin, Severity, Status

ROOT = Path(__file__).parents[1]
SCHEMA = ROOT / "docs" / "record.schema.json"
FLOW = "aspiration_flow_ml_min"
T = TypeVar("T")


def said(value: T, start: int, words: str, status: Status = Status.DONE) -> Fact[T]:
    return Fact[Any](value=value, status=status, evidence=(Evidence(start=start, end=start + len(words), text=words),))


FULL = OperationRecord(
    operation=Operation(
        eye=said(Eye.LEFT, 0, "left eye"),
        date=said(date(2026, 3, 12), 10, "12 March 2026"),
        procedures=(said("phacoemulsification", 30, "phaco"),),
    ),
    anesthesia=(said("topical", 40, "drops"), said("sedation", 50, "sedation", Status.NOT_DONE)),
    steps=(said("capsulorhexis", 90, "rhexis"), said("main_incision", 60, "incision")),
    paracentesis=Paracentesis(clock_hours=(said(7.5, 70, "half past seven"), said(2.0, 86, "two"))),
    capsulorhexis=Capsulorhexis(diameter_mm=said(5.0, 97, "five"), complete=said(True, 102, "continuous")),
    settings=(
        said(Setting(phase="sculpt", parameter="vacuum_mmhg", value=65), 120, "vacuum 65"),
        said(Setting(parameter="ultrasound_power_pct", limit=Limit.MAXIMUM, value=45), 130, "up to 45"),
        said(Setting(phase="cortex", parameter=FLOW, limit=Limit.RANGE, low=5, high=40), 140, "5 to 40"),
        said(Setting(phase="chop", parameter=FLOW, value=26, foot_position=3, memory=2), 150, "26"),
    ),
    lenses=(
        Lens(status=LensStatus.IMPLANTED, power_d=said(17.5, 160, "17.5"), cylinder_d=said(-0.75, 165, "-0.75")),
        Lens(status=LensStatus.OPENED_NOT_IMPLANTED, power_d=said(19.0, 170, "19")),
        Lens(status=LensStatus.EXPLANTED, model=said("FK52", 175, "FK52")),
    ),
    other_implants=(said(Implant(kind="capsular_tension_ring", identifier="CT1207"), 180, "ring CT1207"),),
    viscoelastic=Viscoelastic(kinds=(said("cohesive", 195, "cohesive"),), removed=said(False, 205, "left in")),
    drugs=(
        said(DrugGiven(drug="gentamicin", route="subconjunctival", dose=20, dose_unit="mg"), 215, "gentamicin 20 mg"),
        said(DrugGiven(drug="povidone_iodine"), 235, "iodine"),
        said(DrugGiven(drug="cefuroxime"), 245, "cefuroxime", Status.NOT_DONE),
    ),
    sutures=(said(SutureUse(material="polypropylene", size="9-0", count=2), 260, "two 9-0 polypropylene"),),
    complications=Complications(
        statement=ComplicationStatement.PRESENT, events=(said("vitreous_loss", 285, "vitreous loss"),)
    ),
)
"""One value of every grammar in section 5 of the record contract, and three that must not show."""
FULL_SLOTS = """\
anesthesia	topical	40-45
capsulorhexis.complete	true	102-112
capsulorhexis.diameter_mm	5	97-101
complications.events	vitreous_loss	285-298
complications.statement	present	285-298
drugs	gentamicin subconjunctival 20 mg	215-231
drugs	povidone_iodine	235-241
lens.cylinder_d	-0.75	165-170
lens.power_d	17.5	160-164
lens_explanted.model	FK52	175-179
lens_not_implanted.power_d	19	170-172
operation.date	2026-03-12	10-23
operation.eye	left	0-8
operation.procedures	phacoemulsification	30-35
other_implants	capsular_tension_ring CT1207	180-191
paracentesis.clock_hours	7.5	70-85
paracentesis.clock_hours	2	86-89
settings	sculpt vacuum_mmhg 65	120-129
settings	* ultrasound_power_pct max 45	130-138
settings	cortex aspiration_flow_ml_min range 5-40	140-147
settings	chop aspiration_flow_ml_min 26 fp3 mem2	150-152
steps	main_incision	60-68
steps	capsulorhexis	90-96
sutures	9-0 polypropylene 2	260-281
viscoelastic	cohesive	195-203
viscoelastic.removed	false	205-212
"""


def test_the_slot_view_holds_what_was_done_and_nothing_else() -> None:
    assert slot_lines(FULL) == FULL_SLOTS


def test_silence_about_complications_is_no_line() -> None:
    assert slot_lines(OperationRecord()) == ""
    assert OperationRecord().complications.statement is ComplicationStatement.NOT_STATED


@pytest.mark.parametrize(
    ("value", "text"),
    [(19.0, "19"), (2.65, "2.65"), (-0.75, "-0.75"), (0.0, "0"), (-0.0, "0"), (120, "120"), (0.1 + 0.2, "0.3")],
)
def test_numbers_have_no_trailing_zeros(value: float, text: str) -> None:
    assert format_value(value) == text


def test_a_type_without_grammar_is_refused() -> None:
    with pytest.raises(TypeError, match="no slot grammar for dict"):
        format_value({})


def test_the_gap_view() -> None:
    gaps = (
        Gap(kind=GapKind.MISSING, id="operation.eye", severity=Severity.MUST, question="Which eye?"),
        Gap(
            kind=GapKind.IMPLAUSIBLE,
            id="range:main_incision.width_mm",
            severity=Severity.SHOULD,
            question="Is 27 mm meant?",
            evidence=(Evidence(start=4, end=9, text="27 mm"), Evidence(start=12, end=13, text="x")),
        ),
    )
    report = GapReport(gaps=gaps)
    assert gap_lines(report) == (
        "missing\toperation.eye\tmust\t-\nimplausible\trange:main_incision.width_mm\tshould\t4-9\n"
    )
    assert report.blocks_signature
    assert not GapReport(gaps=gaps[1:]).blocks_signature
    assert report.of(GapKind.IMPLAUSIBLE) == gaps[1:]


def test_a_dictated_value_without_words_is_refused() -> None:
    with pytest.raises(ValidationError, match="a dictated value needs at least one evidence span"):
        Fact[str](value="topical")
    assert Fact[str](value="topical", origin=Origin.PERSON).evidence == ()


def test_evidence_spans_its_text() -> None:
    with pytest.raises(ValidationError, match="evidence 3-5: expected 2 characters of text"):
        Evidence(start=3, end=5, text="eye")


def test_records_are_immutable_and_refuse_unknown_fields() -> None:
    with pytest.raises(ValidationError, match="frozen"):
        FULL.is_operation_note = False  # type: ignore[misc]
    with pytest.raises(ValidationError, match="Extra inputs are not permitted"):
        OperationRecord.model_validate({"surgeon": "Ottilie Brandreth"})


def test_a_record_comes_back_from_its_json() -> None:
    assert OperationRecord.model_validate_json(FULL.model_dump_json()) == FULL


def test_the_published_schema_is_that_of_the_models() -> None:
    printed = subprocess.run(
        [sys.executable, ROOT / "docs" / "write_schema.py"], check=True, capture_output=True, encoding="utf-8"
    ).stdout
    assert SCHEMA.read_text("utf-8") == printed, "write it anew: python docs/write_schema.py > docs/record.schema.json"


def test_a_record_keeps_to_the_published_schema() -> None:
    validator = Draft202012Validator(json.loads(SCHEMA.read_text("utf-8")))
    assert list(validator.iter_errors(json.loads(FULL.model_dump_json()))) == []
    broken = json.loads(FULL.model_dump_json()) | {"contract_version": 2, "surprise": True}
    assert sorted(fault.validator for fault in validator.iter_errors(broken)) == ["additionalProperties", "const"]
