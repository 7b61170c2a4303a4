"""Teaching documents: the guide, the marks and the comparison, with a small requirement set of their own."""

import pytest
import records

from zonule.completeness import Mention
from zonule.errors import UnknownNameError
from zonule.export import DocumentOptions
from zonule.export.docx import write_docx
from zonule.export.html import write_html
from zonule.export.plain_text import write_plain_text
from zonule.record import Lens, Operation, OperationRecord, Setting
from zonule.requirements import Condition, Requirement, Requirements, RequirementSet, load_requirements
from zonule.settings import lexicon_folder
from zonule.teaching import Difference, compare, comparison, guide, mark, marked_note
from zonule.vocabulary import Eye, LensStatus, Severity

REQUIREMENTS = Requirements(
    sets=(
        RequirementSet(id="default", title="Small set", source="made for this test"),
        RequirementSet(id="other", title="Other set", source="made for this test"),
    ),
    conditions=(Condition(id="lens_implanted", path="lenses[?status=='implanted']"),),
    items=(
        Requirement(
            id="operation.eye", slots=("operation.eye",), severity=Severity.MUST, question="Which eye?",
            why="The side.", example="Right eye.", sources=("first source", "second source"), sets=("default", "other"),
        ),
        Requirement(
            id="lens.power_d", slots=("lens.power_d",), when="is.lens_implanted", severity=Severity.MUST,
            question="Which power?", why="The power.", example="Plus 21.", sources=("first source",), sets=("default",),
        ),
        Requirement(
            id="blood_loss", slots=("blood_loss",), may_be_none=True, question="Blood loss?",
            why="Asked for.", example="No blood loss.", sources=("second source",), sets=("default",),
        ),
    ),
)  # fmt: skip
SILENT = OperationRecord()
LENS = OperationRecord(lenses=(Lens(status=LensStatus.IMPLANTED, model=records.typed("ZX40")),))


def mentions(record: OperationRecord) -> list[tuple[str, Mention]]:
    return [(m.item.id, m.mention) for m in mark(record, REQUIREMENTS).marks]


def test_marks_of_items_that_apply() -> None:
    assert mentions(SILENT) == [("operation.eye", Mention.NOT_MENTIONED), ("blood_loss", Mention.NOT_MENTIONED)]
    assert mentions(LENS)[1] == ("lens.power_d", Mention.NOT_MENTIONED)
    assert mentions(records.complicated()) == [
        ("operation.eye", Mention.STATED),
        ("lens.power_d", Mention.STATED),
        ("blood_loss", Mention.STATED_NONE),
    ]


def test_marked_note_as_text() -> None:
    record = records.routine().model_copy(update={"blood_loss": None})
    assert write_plain_text(marked_note(mark(record, REQUIREMENTS), "Practice 1")) == (
        "AN OPERATION NOTE, MARKED\n\nSUMMARY\nNote: Practice 1\nHeld against: Small set\nStated: 2 of 3 items\n\n"
        "NEEDED BEFORE SIGNING\nItem | In this note | Words, or what to ask | Asked for by\n"
        "Operated eye | stated | “right eye” | first source; second source\n"
        "Lens power | stated | “plus 21.5” | first source\n\n"
        "ASKED FOR WHEN IT IS MISSING\nItem | In this note | Words, or what to ask | Asked for by\n"
        "Blood loss | not stated | Blood loss? | second source\n\n"
        "Marks tell what a note holds, not how the operation went.\n"
        "Doses defer to the local formulary. Nothing here is treatment advice.\n"
    )


def test_what_is_needed_before_signing_stands_in_the_summary() -> None:
    told = write_plain_text(marked_note(mark(SILENT, REQUIREMENTS)))
    assert "\nStated: 0 of 2 items\nNeeded before signing: Operated eye\n" in told


def test_guide_as_text() -> None:
    assert write_plain_text(guide(REQUIREMENTS)) == (
        "WHAT A FULL OPERATION NOTE HOLDS\n\nSMALL SET\nSource: made for this test.\n\n"
        "NEEDED BEFORE SIGNING\nItem | Why | For example | Asked for by\n"
        "Operated eye | The side. | “Right eye.” | first source; second source\n"
        "Lens power (where it applies) | The power. | “Plus 21.” | first source\n\n"
        "ASKED FOR WHEN IT IS MISSING\nItem | Why | For example | Asked for by\n"
        "Blood loss | Asked for. There may be none: say so. | “No blood loss.” | second source\n\n"
        "Doses defer to the local formulary. Nothing here is treatment advice.\n"
    )


def test_an_unknown_set_is_refused() -> None:
    with pytest.raises(UnknownNameError, match="Unknown requirement set 'none'"):
        guide(REQUIREMENTS, "none")
    with pytest.raises(UnknownNameError, match="Unknown requirement set 'none'"):
        mark(SILENT, REQUIREMENTS, "none")


def test_comparison() -> None:
    setting = records.typed(Setting(phase="sculpt", parameter="vacuum_mmhg", value=65))
    first = OperationRecord(operation=Operation(eye=records.typed(Eye.LEFT)), blood_loss=records.typed("none"))
    second = OperationRecord(
        operation=Operation(eye=records.typed(Eye.RIGHT)), blood_loss=records.typed("none"), settings=(setting,)
    )
    found = compare(first, second)
    assert found == (
        Difference("blood_loss", ("none",), ("none",)),
        Difference("operation.eye", ("left",), ("right",)),
        Difference("settings", (), ("sculpt: Vacuum (mmHg) 65",)),
    )
    assert [difference.kind for difference in found] == ["same", "different", "only in the second"]
    assert write_plain_text(comparison(found, ("Trainee", "Trainer"))) == (
        "TWO OPERATION NOTES SIDE BY SIDE\n\nDIFFERENT (1)\nItem | Trainee | Trainer\nOperation eye | left | right\n\n"
        "ONLY IN: TRAINER (1)\nItem | Trainee | Trainer\nSettings | not stated | sculpt: Vacuum (mmHg) 65\n\n"
        "SAME (1)\nItem | Trainee | Trainer\nBlood loss | none | none\n\n"
        "Marks tell what a note holds, not how the operation went.\n"
        "Doses defer to the local formulary. Nothing here is treatment advice.\n"
    )


def test_documents_of_the_shipped_requirements() -> None:
    shipped = load_requirements(lexicon_folder())
    outlines = (guide(shipped), marked_note(mark(records.routine(), shipped)))
    for outline in outlines:
        assert write_docx(outline, DocumentOptions()) == write_docx(outline, DocumentOptions())
        assert write_html(outline).count("<table>") == sum(len(section.blocks) for section in outline.sections[1:])
