"""The page of one note: new, read, saved, brought together, signed, added to, downloaded."""

from typing import Any

from fastapi import APIRouter
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from zonule.answers import KINDS
from zonule.case_data import CaseData
from zonule.errors import ZonuleError
from zonule.export.wording import words
from zonule.store import Note, Role
from zonule.store.faults import ConflictError, SignedError
from zonule.store.kept import NoteState
from zonule.web.documents import render_document
from zonule.web.keeping import add_addendum, create_note, enter, read_note, save_note, sign_note
from zonule.web.pages.live_reading import read_form
from zonule.web.pages.note_view import Filled, NoteView, view_of
from zonule.web.pages.posted import Posted, filled_from, text_of, told_from
from zonule.web.pages.rendering import page
from zonule.web.pages.two_versions import show_conflict
from zonule.web.problems import ProblemError

router = APIRouter()
STATES = {
    NoteState.DRAFT: ("draft", "Draft"),
    NoteState.COMPLETE: ("complete", "Complete, to be signed"),
    NoteState.SIGNED: ("signed", "Signed"),
}
UNSAVED = ("draft", "New")
FORMATS = (("docx", "DOCX"), ("fhir", "FHIR"), ("text", "Text"))
SAVED = "Saved."


@router.get("/notes/new")
def new_note(request: Request, case: str | None = None) -> Response:
    """An empty note; with `case` the note of that case of the day's list, or the note it has already."""
    data: CaseData | None = None
    if case is not None:
        listed = request.app.state.store.cases.get(case)
        if listed.note_id:
            return RedirectResponse(f"/notes/{listed.note_id}", 303)
        data = listed.case
    return show_note(request, read_form(request, Filled(case=data)), None, case_id=case)


@router.post("/notes")
def make_note(request: Request, form: Posted) -> Response:
    """The first version of a note."""
    case_id = text_of(form, "case_id") or None
    case = request.app.state.store.cases.get(case_id).case if case_id else None
    view = read_form(request, filled_from(form, case))
    try:
        note = create_note(request, told_from(view.filled, _taken(view)), case_id)
    except ZonuleError as fault:
        return show_note(request, view, None, case_id=case_id, problem=str(fault), status=422)
    return _after_saving(request, note, form, view)


@router.get("/notes/{note_id}")
def see_note(request: Request, note_id: str, saved: int = 0) -> HTMLResponse:
    """The note as it stands."""
    note = read_note(request, note_id)
    notices = (SAVED,) if saved == note.number else ()
    return show_note(request, stored_view(request, note), note, notices=notices, just_saved=bool(notices))


@router.post("/notes/{note_id}")
def change_note(request: Request, note_id: str, form: Posted) -> Response:
    """The next version; when somebody saved in between, both texts side by side."""
    before: Note = request.app.state.store.notes.get(note_id)
    view = read_form(request, filled_from(form, before.draft.case))
    base = text_of(form, "base_version")
    if not base.isascii() or not base.isdigit():
        raise ProblemError(422, "The note: expected the version it was changed from; load the page again.")
    try:
        note = save_note(request, note_id, int(base), told_from(view.filled, _taken(view)))
    except (ConflictError, SignedError) as fault:
        return show_conflict(request, view.filled, fault)
    except ZonuleError as fault:
        return show_note(request, view, before, problem=str(fault), status=422, version=int(base))
    return _after_saving(request, note, form, view)


@router.get("/notes/{note_id}/versions/{number}")
def see_version(request: Request, note_id: str, number: int) -> HTMLResponse:
    """The words of one save, those set aside too."""
    version = request.app.state.store.notes.version(note_id, number)
    enter(request, "note.read", note_id, version=number)
    return page(request, "version.html", version=version)


@router.post("/notes/{note_id}/signature")
def put_signature(request: Request, note_id: str, form: Posted) -> Response:
    """Signs the version that was read; the box must say that it was."""
    version = text_of(form, "version")
    try:
        if text_of(form, "read") != "yes" or not (version.isascii() and version.isdigit()):
            raise ProblemError(422, "To sign, tick that you have read the note.")
        sign_note(request, note_id, int(version))
    except (ZonuleError, ProblemError) as fault:
        note = read_note(request, note_id)
        return show_note(request, stored_view(request, note), note, problem=str(fault), status=409)
    return RedirectResponse(f"/notes/{note_id}#finish", 303)


@router.post("/notes/{note_id}/addenda")
def put_addendum(request: Request, note_id: str, form: Posted) -> Response:
    """Adds words to a signed note."""
    try:
        add_addendum(request, note_id, text_of(form, "text").replace("\r\n", "\n"))
    except ZonuleError as fault:
        note = read_note(request, note_id)
        return show_note(request, stored_view(request, note), note, problem=str(fault), status=422)
    return RedirectResponse(f"/notes/{note_id}#finish", 303)


@router.get("/notes/{note_id}/documents/{format}")
def get_document(request: Request, note_id: str, format: str) -> Response:
    """The note as a file; a draft until it is signed."""
    note: Note = request.app.state.store.notes.get(note_id)
    made = render_document(note, format, request.app.state.settings.unit_name)
    enter(request, "note.document", note_id, format=format, version=note.number)
    named = f'attachment; filename="{made.file_name}"'
    return Response(made.content, media_type=made.media_type, headers={"content-disposition": named})


def stored_view(request: Request, note: Note) -> NoteView:
    """What a saved note shows, with the words of its addenda behind its own."""
    draft, room = note.draft, request.app.state.reading_room
    filled = Filled(
        dictation="\n".join((draft.dictation, *(added.dictation for added in note.addenda))),
        answers=draft.answers,
        keep=draft.keep,
        label=draft.label or "",
        case=draft.case,
        standard=draft.standard,
        name=draft.name,
    )
    return view_of(filled, note.record, note.report, room.requirements, room.lexicon)


def show_note(
    request: Request,
    view: NoteView,
    note: Note | None,
    *,
    case_id: str | None = None,
    problem: str = "",
    status: int = 200,
    notices: tuple[str, ...] = (),
    just_saved: bool = False,
    version: int | None = None,
) -> HTMLResponse:
    """The page; it can be filled in by who writes notes, until it is signed."""
    roles = request.state.user.roles
    editable = bool({Role.AUTHOR, Role.SIGNER}.intersection(roles)) and not (note and note.signature)
    return page(
        request,
        "note.html",
        status,
        view=view,
        note=note,
        editable=editable,
        may_sign=Role.SIGNER in roles,
        case_id=case_id,
        problem=problem,
        notices=notices,
        just_saved=just_saved,
        **_standing(request, note, case_id, version),
        suggestions=_suggestions(request) if editable else [],
        formats=FORMATS,
    )


def _standing(request: Request, note: Note | None, case_id: str | None, version: int | None) -> dict[str, Any]:
    """Where the note stands: its state, its version, and under which key the tab keeps its unsaved words."""
    owner = request.state.user.name
    if note is None:
        new = {"version": 0, "state": UNSAVED, "saved": "Not saved yet", "action": "/notes", "versions": ()}
        return {**new, "key": f"{owner}/new-{case_id or 'none'}", "new_key": ""}
    return {
        "version": version if version is not None else note.number,
        "state": STATES[note.state],
        "saved": f"Saved {note.version.saved_at.astimezone():%H:%M}",
        "action": f"/notes/{note.id}",
        "versions": request.app.state.store.notes.versions(note.id),
        "key": f"{owner}/{note.id}",
        "new_key": f"{owner}/new-{note.case_id or 'none'}",
    }


def _after_saving(request: Request, note: Note, form: FormData, view: NoteView) -> Response:
    """Keeps a repair accepted by the button of the form, and shows the note anew."""
    accepted, corrections = text_of(form, "accept"), request.app.state.store.corrections
    for repair in view.repairs:
        if repair.heard == accepted:
            corrections.note("repair_accepted", repair.heard, repair.reading, request.state.user.name)
    return RedirectResponse(f"/notes/{note.id}?saved={note.number}", 303)


def _taken(view: NoteView) -> dict[str, str]:
    return {slot: value for slot, value in view.filled.answers.items() if slot not in view.refused}


def _suggestions(request: Request) -> list[tuple[str, list[str]]]:
    """The trade's words for the fields that take them, by slot."""
    lexicon = request.app.state.reading_room.lexicon
    return [
        (slot, sorted({words(term.id) for kind in kinds for term in lexicon.of_kind(kind)}))
        for slot, kinds in KINDS.items()
    ]
