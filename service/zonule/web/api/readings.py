"""Readings: a dictation in, what it says and lacks out; nothing is stored."""

from typing import Annotated

from fastapi import APIRouter, Query, Request

from zonule.answers import answerable_slots
from zonule.casework import Casework
from zonule.requirements import DEFAULT
from zonule.web.api.checklist import checklist_of, items_of
from zonule.web.api.marks import marks_of, slots_shown
from zonule.web.api.reading_models import ItemsShown, NoteInput, ReadingInput, ReadingShown
from zonule.web.api.responses import problems
from zonule.web.keeping import Told, work

router = APIRouter(tags=["readings"])


def told_by(given: NoteInput, addenda: tuple[str, ...] = ()) -> Told:
    """What a request tells of a note."""
    return Told(
        given.dictation, given.name, given.keep, given.answers, given.label, given.case, given.standard, addenda
    )


@router.post("/readings", responses=problems(503))
def read_dictation(request: Request, given: ReadingInput) -> ReadingShown:
    """Reads a dictation: record, slots, gaps, marks and checklist."""
    return reading_shown(request, work(request, told_by(given, given.addenda)))


@router.get("/requirements", responses=problems(404))
def list_requirements(request: Request, standard: Annotated[str, Query(max_length=100)] = DEFAULT) -> ItemsShown:
    """What a note must hold by one requirement set, in the order of telling."""
    requirements = request.app.state.reading_room.requirements
    names = tuple(held.id for held in requirements.sets)
    return ItemsShown(standard=standard, sets=names, items=items_of(requirements, standard))


@router.get("/slots", responses=problems())
def list_slots() -> tuple[str, ...]:
    """Every slot that an answer may name, besides the fields of drugs and implants."""
    return answerable_slots()


def reading_shown(request: Request, done: Casework) -> ReadingShown:
    """A reading as it goes out."""
    requirements = request.app.state.reading_room.requirements
    return ReadingShown(
        is_operation_note=done.record.is_operation_note,
        blocks_signature=done.report.blocks_signature or not done.record.is_operation_note,
        record=done.record,
        slots=slots_shown(done.record),
        gaps=done.report,
        marks=marks_of(done.record),
        checklist=checklist_of(done.record, requirements, done.report.standard),
    )
