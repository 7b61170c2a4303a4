"""Case data: lists in JSON and CSV, what fills a slot and what is only a plan, and contradictions with the list."""

import json
import re
from datetime import date
from pathlib import Path

import pytest
from drafts import build, read_draft, shown, values_of
from hypothesis import given
from hypothesis import strategies as st

from zonule.answers import apply_answers
from zonule.case_data import (
    CaseData,
    apply_case,
    choose_case,
    names_agree,
    names_alike,
    parse_cases,
    read_cases,
)
from zonule.errors import InputError
from zonule.filling import facts_at
from zonule.gap_report import check
from zonule.lexicon import Lexicon
from zonule.record import OperationRecord
from zonule.requirements import Requirements
from zonule.vocabulary import Eye, Origin, Status

LIST = """\
patient,hospital number,date_of_birth,date,theatre,planned_eye,procedure,planned_lens,planned_power_d,planned_axis_deg,allergies,surgeon,assistant,supervisor,anesthetist,scrub
"Tarnbrook, Ada",41772,1948-06-02,2026-03-04,2,left,Phacoemulsification,Orrinvale AQ7,21.5,,penicillin; latex,Miss Orla Pennick,Ivo Larkwell,,Bram Coldwater,Nia Fell

Hugo Wenlow,90210,1951-01-30,2026-03-04,2,Right,,,,85,none,Miss Orla Pennick,,,,
"""  # noqa: E501
FIRST = CaseData(
    patient="Tarnbrook, Ada",
    hospital_number="41772",
    date_of_birth=date(1948, 6, 2),
    date=date(2026, 3, 4),
    theatre="2",
    planned_eye=Eye.LEFT,
    procedure="Phacoemulsification",
    planned_lens="Orrinvale AQ7",
    planned_power_d=21.5,
    allergies=("penicillin", "latex"),
    surgeon="Miss Orla Pennick",
    assistant="Ivo Larkwell",
    anesthetist="Bram Coldwater",
    scrub="Nia Fell",
)


@pytest.mark.parametrize(
    "text", [LIST, LIST.replace(",", ";").replace("penicillin; latex", "penicillin, latex"), "\ufeff" + LIST]
)
def test_a_whole_list_as_csv(text: str, tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    path.write_text(text.replace('"Tarnbrook; Ada"', '"Tarnbrook, Ada"'), "utf-8")
    first, second = read_cases(path)
    assert first == FIRST
    assert (second.patient, second.planned_eye, second.planned_axis_deg, second.allergies) == (
        "Hugo Wenlow",
        Eye.RIGHT,
        85.0,
        ("none",),
    )


def test_json_gives_the_same(tmp_path: Path) -> None:
    held = json.loads(FIRST.model_dump_json(exclude_none=True))
    for text in (json.dumps(held), json.dumps([held])):
        path = tmp_path / "case.json"
        path.write_text(text, "utf-8")
        assert read_cases(path) == (FIRST,)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "expected JSON or CSV, got an empty file"),
        ("patient,shoe size\nAda,38\n", "unknown column 'shoe_size'; the columns are patient, hospital_number"),
        ('{"patient": "Ada", "shoe": 38}', "unknown column 'shoe'"),
        (
            "patient,planned_eye\nAda,port\n",
            "case 1, column 'planned_eye': expected input should be 'right', 'left' or 'both'",
        ),
        ("patient,date\nAda,04/03/2026\n", "case 1, column 'date'"),
        ("patient,planned_power_d\nAda,215\n", "case 1, column 'planned_power_d': expected input should be less than"),
        ("patient,planned_axis_deg\nAda,190\n", "case 1, column 'planned_axis_deg'"),
        ('{"patient": ', "expected JSON, got a fault in line 1"),
        ("[1]", "expected an object or a list of objects"),
        ("[]", "expected at least one case, got none"),
        ("patient,date\n", "expected at least one case, got none"),
        ('patient\n"Ada\n', "expected CSV"),
        ("patient,date\nAda,2026-03-04,extra\n", "unknown column ''"),
        ("[" * 100_000, "expected JSON"),
    ],
)
def test_a_list_that_cannot_be_used(text: str, words: str) -> None:
    with pytest.raises(InputError) as raised:
        parse_cases(text, "list.csv")
    assert words in str(raised.value)
    assert "\n" not in str(raised.value)
    assert "Ada" not in str(raised.value)


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    binary, large = tmp_path / "binary.csv", tmp_path / "large.csv"
    binary.write_bytes(b"patient\n\xff\xfe\n")
    large.write_bytes(b"x" * 1_000_001)
    for path, words in ((binary, "UTF-8"), (large, "at most"), (tmp_path / "absent.csv", "readable file")):
        with pytest.raises(InputError, match=words):
            read_cases(path)


@given(st.text(max_size=200))
def test_any_text_gives_cases_or_one_sentence(text: str) -> None:
    try:
        cases = parse_cases(text)
    except InputError as fault:
        held = str(fault)
    else:
        held = f"{len(cases)} cases"
    assert "\n" not in held


# ---- choosing --------------------------------------------------------------------------------------------------------
CASES = parse_cases(LIST)


@pytest.mark.parametrize(
    ("changes", "chosen"),
    [
        ({}, 0),
        ({"set": {"patient.hospital_number": "90-210", "patient.name": "hugo wenlow"}}, 1),
        ({"remove": ["patient.hospital_number"]}, 0),
        ({"remove": ["patient.name"]}, 0),
    ],
)
def test_the_case_of_a_record(changes: dict[str, object], chosen: int) -> None:
    assert choose_case(CASES, build(read_draft(changes))) is CASES[chosen]


def test_no_case_or_several() -> None:
    assert choose_case(CASES[:1], OperationRecord()) is CASES[0]
    for record in (
        OperationRecord(),
        build(read_draft({"set": {"patient.name": "enid stroud", "patient.hospital_number": "1"}})),
    ):
        with pytest.raises(InputError, match="expected one case of 2"):
            choose_case(CASES, record)
    with pytest.raises(InputError, match="expected one case of 2"):
        choose_case((CASES[0], CASES[0]), build(read_draft({})))


# ---- filling and contradicting ---------------------------------------------------------------------------------------
def test_the_list_fills_what_was_not_dictated() -> None:
    said = {
        "remove": [
            "patient.name",
            "patient.date_of_birth",
            "team.surgeon",
            "operation.date",
            "operation.eye",
            "lens.power_d",
        ]
    }
    record = apply_case(build(read_draft(said)), FIRST)
    assert {
        slot: values_of(record, slot)
        for slot in ("patient.name", "patient.date_of_birth", "team.surgeon", "operation.date", "team.scrub")
    } == {
        "patient.name": ["Tarnbrook, Ada"],
        "patient.date_of_birth": [date(1948, 6, 2)],
        "team.surgeon": ["Orla Pennick"],
        "operation.date": [date(2026, 3, 4)],
        "team.scrub": ["Nia Fell"],
    }
    assert {f.origin for f in facts_at(record, "team.surgeon")} == {Origin.WORKLIST}


def test_a_plan_never_fills_a_slot(requirements: Requirements, lexicon: Lexicon) -> None:
    """A plan is not what was done: the eye and the lens still have to be stated."""
    said = {"remove": ["operation.eye", "lens.power_d", "lens.model"]}
    record = apply_case(build(read_draft(said)), FIRST)
    assert [(r.slot, r.value, r.status) for r in record.remarks] == [
        ("operation.eye", "left", Status.PLANNED),
        ("operation.procedures", "Phacoemulsification", Status.PLANNED),
        ("lens.model", "Orrinvale AQ7", Status.PLANNED),
        ("lens.power_d", "21.5", Status.PLANNED),
    ]
    plain = FIRST.model_copy(update={"allergies": ()})
    assert shown(check(record, requirements, lexicon, case=plain)) == [
        "missing lens.model must",
        "missing lens.power_d must",
        "missing operation.eye must",
    ]


def test_contradictions_are_asked_once_applied_or_not(requirements: Requirements, lexicon: Lexicon) -> None:
    case = CaseData(planned_eye=Eye.RIGHT, hospital_number="90210")
    record = build(read_draft({}))
    expected = ["conflict patient.hospital_number.case must: 41772", "conflict operation.eye.case must: left"]
    for held, given_case in ((record, case), (apply_case(record, case), None), (apply_case(record, case), case)):
        assert shown(check(held, requirements, lexicon, case=given_case)) == expected
    assert values_of(apply_case(record, case), "operation.eye") == [Eye.LEFT]


def test_a_person_settles_a_contradiction_with_the_list(requirements: Requirements, lexicon: Lexicon) -> None:
    """What a person has typed in is shown as a note and no longer blocks the signature."""
    case = CaseData(planned_eye=Eye.RIGHT)
    record = apply_answers(apply_case(build(read_draft({})), case), {"operation.eye": "left"})
    report = check(record, requirements, lexicon, case=case)
    assert shown(report) == ["conflict operation.eye.case note: left"]
    assert not report.blocks_signature


@pytest.mark.parametrize(
    ("one", "other", "agree"),
    [
        ("ada tarnbrook", "TARNBROOK, Ada", True),
        ("miss pennick", "Orla Pennick", True),
        ("o pennick", "Orla Pennick", True),
        ("ada tarnbrook", "ada wenlow", False),
        ("ada m tarnbrook", "ada tarnbrook", True),
        ("", "ada", False),
        ("dr", "ada", False),
    ],
)
def test_names(one: str, other: str, agree: bool) -> None:
    assert names_agree(one, other) is agree
    assert names_agree(other, one) is agree


def test_misheard_names_are_alike_and_others_are_not() -> None:
    assert names_alike("ada tarnbrook", "Ada Tarnbrooke")
    assert not names_alike("ada tarnbrook", "Hugo Wenlow")


def test_the_columns_are_documented() -> None:
    page = (Path(__file__).parents[2] / "docs" / "case-data.md").read_text("utf-8")
    named = re.findall(r"^\| `(\w+)` \|", page, re.MULTILINE)
    assert named == list(CaseData.model_fields)
