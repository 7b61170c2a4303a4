"""The live reading: the form as it stands, read and shown, stored nowhere."""

import dataclasses

from fastapi import APIRouter, UploadFile
from starlette.requests import Request
from starlette.responses import JSONResponse

from zonule.case_data import CaseData
from zonule.casework import Casework, Given
from zonule.dictation import Dictation
from zonule.errors import LabelError
from zonule.web.api.labels import label_in
from zonule.web.pages.note_view import Filled, NoteView, read_filled
from zonule.web.pages.posted import Posted, filled_from, text_of
from zonule.web.pages.rendering import fragment
from zonule.web.problems import ProblemError
from zonule.web.reading_room import today

router = APIRouter()
PARTS = ("marks", "head", "repairs", "order", "side", "tally", "label_problem")
"""The parts of the page that follow the words."""


@router.post("/notes/reading")
def read(request: Request, form: Posted) -> JSONResponse:
    """The parts of the page for what stands in the form."""
    view = read_form(request, filled_from(form, _case(request, text_of(form, "case_id"), text_of(form, "note_id"))))
    shown = {name: fragment(request, f"note/{name}.html", view=view, editable=True) for name in PARTS}
    return JSONResponse(shown)


@router.post("/notes/label")
def read_picture(picture: UploadFile) -> JSONResponse:
    """The code in a picture of a lens label, or the sentence that says why there is none."""
    try:
        return JSONResponse({"code": label_in(picture.file.read()).udi})
    except (LabelError, ProblemError) as fault:
        return JSONResponse({"problem": str(fault)})


def read_form(request: Request, filled: Filled) -> NoteView:
    """Reads what stands in the form, as of today."""
    room = request.app.state.reading_room

    def work(dictation: Dictation, given: Given) -> Casework:
        read: Casework = room.work(dictation, dataclasses.replace(given, today=today()))
        return read

    return read_filled(filled, work, room.requirements, room.lexicon)


def _case(request: Request, case_id: str, note_id: str) -> CaseData | None:
    """What the operating list knew of the case."""
    store = request.app.state.store
    if note_id:
        known: CaseData | None = store.notes.get(note_id).draft.case
        return known
    if case_id:
        listed: CaseData = store.cases.get(case_id).case
        return listed
    return None
