"""Three states of an item, the crosswalk of the published standards, and requirement files that break their schema."""

import tomllib
from pathlib import Path

import pytest
from drafts import Draft, build, read_draft, shown

from zonule.completeness import Mention, find_missing, mention_of, told_by
from zonule.errors import LexiconError, UnknownNameError
from zonule.gap_report import check
from zonule.lexicon import Lexicon
from zonule.record import OperationRecord
from zonule.requirements import Requirements, load_requirements
from zonule.settings import lexicon_folder
from zonule.vocabulary import Severity, Status

CROSSWALK = tomllib.loads((Path(__file__).parents[1] / "cases" / "crosswalk.toml").read_text("utf-8"))["item"]
MUST = {
    "operation.eye", "operation.date", "team.surgeon", "operation.procedures", "lens.serial_or_lot", "lens.power_d",
    "lens.model", "complications.statement", "anesthesia", "patient.name", "patient.hospital_number",
}  # fmt: skip
"""What blocks a signature; a diagnosis does when none at all is stated. Common practice, no source."""


@pytest.mark.parametrize("row", CROSSWALK, ids=lambda row: row["item"])
def test_the_crosswalk_is_covered(row: dict[str, object], requirements: Requirements) -> None:
    """Every item of the four published lists is asked for in exactly the sets that require it."""
    ids, sets = row["ids"], row["sets"]
    assert isinstance(ids, list)
    assert isinstance(sets, list)
    held = {item.id: item for item in requirements.items}
    asked = {name for one in ids for name in held[one].sets} - {"default"}
    if not row.get("beyond"):
        assert asked == set(sets)
    else:
        assert asked >= set(sets)
    if sets and not row.get("optional"):
        assert all("default" in held[one].sets for one in ids)


def test_every_requirement_of_a_published_set_stands_in_the_crosswalk(requirements: Requirements) -> None:
    listed = {one for row in CROSSWALK for one in row["ids"]}
    assert sorted(i.id for i in requirements.items if set(i.sets) - {"default"} and i.id not in listed) == []


def test_the_default_set_is_the_union_of_what_is_required(requirements: Requirements) -> None:
    outside = [item.id for item in requirements.items if "default" not in item.sets]
    assert outside == ["operation.disposition", "operation.indication"]


def test_what_blocks_a_signature(requirements: Requirements) -> None:
    assert {item.id for item in requirements.items if item.severity is Severity.MUST} == MUST
    raised = {item.id for item in requirements.items if item.must_when}
    assert raised == {"operation.preoperative_diagnosis", "operation.postoperative_diagnosis"}


def test_every_requirement_teaches(requirements: Requirements) -> None:
    for item in requirements.items:
        assert item.question.endswith("?") or item.question.endswith("none.") or item.question.endswith("without."), (
            item.id
        )
        assert item.why.endswith(".")
        assert item.example.endswith(".")
        assert all(len(source) > 4 for source in item.sources)


@pytest.mark.parametrize(
    ("case", "mention"),
    [
        ({}, Mention.STATED_NONE),
        ({"set": {"specimens": "vitreous"}}, Mention.STATED),
        ({"remove": ["specimens"]}, Mention.NOT_MENTIONED),
        ({"remove": ["specimens"], "remarks": [["specimens", "specimen", "not_done"]]}, Mention.STATED_NONE),
        ({"remove": ["specimens"], "remarks": [["specimens", "vitreous", "hypothetical"]]}, Mention.NOT_MENTIONED),
    ],
)
def test_three_states(case: dict[str, object], mention: Mention, requirements: Requirements) -> None:
    """Stated, stated none, not mentioned: silence is not none."""
    item = next(item for item in requirements.items if item.id == "specimens")
    record = build(read_draft(case))
    assert mention_of(item, told_by(record, requirements.conditions)) is mention


def test_an_empty_record_lacks_what_can_be_asked_without_knowing_more(
    requirements: Requirements, lexicon: Lexicon
) -> None:
    report = check(OperationRecord(), requirements, lexicon)
    assert report.blocks_signature
    assert shown(report) == [
        "missing anesthesia must",
        "missing complications.statement must",
        "missing operation.date must",
        "missing operation.eye must",
        "missing operation.postoperative_diagnosis must",
        "missing operation.preoperative_diagnosis must",
        "missing operation.procedures must",
        "missing patient.hospital_number must",
        "missing patient.name must",
        "missing team.surgeon must",
        "missing antibiotic_prophylaxis should",
        "missing blood_loss should",
        "missing closure should",
        "missing findings should",
        "missing main_incision should",
        "missing operation.end_time should",
        "missing operation.start_time should",
        "missing operation.tissue should",
        "missing operation.urgency should",
        "missing plan should",
        "missing specimens should",
        "missing steps should",
        "missing team.anesthetist should",
        "missing team.assistant should",
    ]


def test_a_text_that_is_no_note_is_asked_about_once(requirements: Requirements, lexicon: Lexicon) -> None:
    report = check(OperationRecord(is_operation_note=False), requirements, lexicon)
    assert shown(report) == ["unclear not_an_operation_note must"]


def test_an_unknown_set(requirements: Requirements, lexicon: Lexicon) -> None:
    with pytest.raises(
        UnknownNameError, match="Unknown requirement set 'colege': expected one of default, surgeons_college"
    ):
        check(OperationRecord(), requirements, lexicon, standard="colege")


def test_the_same_record_gives_the_same_report(requirements: Requirements, lexicon: Lexicon) -> None:
    record = build(read_draft({"remove": ["operation.eye", "lens.model"], "set": {"main_incision.width_mm": "24"}}))
    reports = {check(record, requirements, lexicon).model_dump_json() for _ in range(3)}
    assert len(reports) == 1


def test_facts_of_another_status_fill_nothing(requirements: Requirements) -> None:
    """A planned fact that stands in a slot by mistake is not taken for done."""
    record = build(Draft())
    eye = record.operation.eye
    assert eye is not None
    planned = record.operation.model_copy(update={"eye": eye.model_copy(update={"status": Status.PLANNED})})
    missing = find_missing(record.model_copy(update={"operation": planned}), requirements.of_set("default"))
    assert [gap.id for gap in missing] == ["operation.eye"]


# ---- files -----------------------------------------------------------------------------------------------------------
ITEM = """
[[set]]
id = "default"
title = "t"
source = "s"
[[requirement]]
id = "a"
slots = ["operation.eye"]
question = "Which?"
why = "Because."
example = "Left."
sources = ["common practice, no source"]
sets = ["default"]
"""


def load(tmp_path: Path, text: str) -> Requirements:
    folder = tmp_path / "requirements"
    folder.mkdir(exist_ok=True)
    (folder / "own.toml").write_text(text, "utf-8")
    return load_requirements(tmp_path)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ('severity = "grave"', "severity: expected input should be 'must', 'should' or 'note', got 'grave'."),
        ('when = "lenses[?"', "when: expected a jmespath expression ("),
        (
            'when = "!is.sutured"',
            "when: expected brackets after '!': '!is' binds tighter than '.', write '!(a.b)', got",
        ),
        ('colour = "red"', "colour: expected extra inputs are not permitted, got 'red'."),
    ],
)
def test_a_broken_entry_names_file_entry_expected_and_got(line: str, words: str, tmp_path: Path) -> None:
    with pytest.raises(LexiconError) as raised:
        load(tmp_path, ITEM + line)
    assert str(raised.value).startswith(f"own.toml, requirement 'a': {words}")
    assert "\n" not in str(raised.value)


def test_broken_files(tmp_path: Path) -> None:
    misspelled = ITEM.replace('sets = ["default"]', 'sets = ["defualt"]')
    for text, words in (
        ("[[requirement]", "own.toml: expected TOML in UTF-8"),
        (misspelled, "requirement 'a': sets: expected one of default, got 'defualt'"),
        (ITEM.replace('why = "Because."\n', ""), "own.toml, requirement 'a': why: expected field required"),
    ):
        with pytest.raises(LexiconError) as raised:
            load(tmp_path, text)
        assert words in str(raised.value)


def test_a_clinic_lays_its_own_over_the_shipped(tmp_path: Path, lexicon: Lexicon) -> None:
    """An entry with a known id replaces the shipped one; a new one is added; the folder itself may be named too."""
    own = """
[[requirement]]
id = "blood_loss"
slots = ["blood_loss"]
severity = "note"
question = "Blood loss?"
why = "House rule."
example = "None."
sources = ["house rule"]
sets = ["default"]
[[requirement]]
id = "counts"
slots = ["counts"]
question = "Were swabs and needles counted?"
why = "House rule."
example = "Counts correct."
sources = ["house rule"]
sets = ["default"]
"""
    load_requirements(tmp_path)
    (tmp_path / "requirements").mkdir()
    (tmp_path / "requirements" / "own.toml").write_text(own, "utf-8")
    record = build(read_draft({"remove": ["blood_loss"]}))
    for place in (tmp_path, tmp_path / "requirements"):
        laid = load_requirements(lexicon_folder(), place)
        assert shown(check(record, laid, lexicon)) == ["missing counts should", "missing blood_loss note"]


def test_the_page_names_every_set_requirement_and_rule(requirements: Requirements) -> None:
    page = (Path(__file__).parents[2] / "docs" / "requirements.md").read_text("utf-8")
    ids = [entry.id for group in (requirements.sets, requirements.items, requirements.findings) for entry in group]
    assert [name for name in ids if f"| `{name}` |" not in page] == []
    lines = [line for line in page.splitlines() if line.count("|") == 9 and "`" in line]
    rows = {line.split("`")[1]: [cell.strip() == "x" for cell in line.split("|")[4:9]] for line in lines}
    columns = ("surgeons_college", "hospital_regulation", "accreditation", "operative_note_document", "default")
    assert rows == {item.id: [name in item.sets for name in columns] for item in requirements.items}
