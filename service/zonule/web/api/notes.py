"""Notes: made, read, changed, signed, added to, written as documents."""

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from starlette.responses import Response

from zonule.store.kept import NoteState
from zonule.web.api.note_models import (
    ChangedNote,
    NewAddendum,
    NewNote,
    NoteId,
    NoteShown,
    Number,
    SummaryPage,
    SummaryShown,
    ToSign,
    VersionShown,
    WholeVersion,
    note_shown,
    version_shown,
)
from zonule.web.api.readings import told_by
from zonule.web.api.responses import KEYED, problems
from zonule.web.documents import KINDS, Format, render_document
from zonule.web.keeping import add_addendum, create_note, enter, read_note, save_note, sign_note
from zonule.web.security.once import HEADER

router = APIRouter(prefix="/notes", tags=["notes"])
Cursor = Annotated[str | None, Query(max_length=200, pattern=r"^[\x21-\x7e]+$")]
Limit = Annotated[int, Query(ge=1, le=200)]
FILES: dict[int | str, dict[str, Any]] = {
    200: {"description": "The document", "content": {kind: {} for kind in sorted({k for k, _ in KINDS.values()})}}
}


@router.get("", responses=problems())
def list_notes(
    request: Request, limit: Limit = 50, cursor: Cursor = None, state: NoteState | None = None
) -> SummaryPage:
    """The notes, the latest saved first."""
    page = request.app.state.store.notes.page(limit, cursor, state=state)
    enter(request, "note.list", "notes", count=len(page.items))
    return SummaryPage(items=tuple(SummaryShown.model_validate(held) for held in page.items), cursor=page.cursor)


@router.post("", status_code=201, responses=problems(404, 409, 503), dependencies=KEYED)
def make_note(request: Request, response: Response, given: NewNote) -> NoteShown:
    """A new note from a dictation."""
    note = create_note(request, told_by(given), given.case_id, request.headers.get(HEADER))
    response.headers["location"] = f"{request.url.path}/{note.id}"
    return note_shown(note)


@router.get("/{note_id}", responses=problems(404))
def get_note(request: Request, note_id: NoteId) -> NoteShown:
    """The note as it stands."""
    return note_shown(read_note(request, note_id))


@router.put("/{note_id}", responses=problems(404, 409, 503), dependencies=KEYED)
def change_note(request: Request, note_id: NoteId, given: ChangedNote) -> NoteShown:
    """The next version. When somebody saved in between: 409 with the note as it stands; what came is kept aside."""
    return note_shown(save_note(request, note_id, given.base_version, told_by(given)))


@router.get("/{note_id}/versions", responses=problems(404))
def list_versions(request: Request, note_id: NoteId) -> tuple[VersionShown, ...]:
    """Every save of the note, those set aside too, without their words."""
    held = request.app.state.store.notes.versions(note_id)
    enter(request, "note.versions", note_id, count=len(held))
    return tuple(VersionShown.model_validate(version) for version in held)


@router.get("/{note_id}/versions/{number}", responses=problems(404))
def get_version(request: Request, note_id: NoteId, number: Number) -> WholeVersion:
    """One save with its words."""
    version = request.app.state.store.notes.version(note_id, number)
    enter(request, "note.read", note_id, version=number)
    return version_shown(version)


@router.post("/{note_id}/signature", responses=problems(404, 409), dependencies=KEYED)
def sign(request: Request, note_id: NoteId, given: ToSign) -> NoteShown:
    """Signs the newest version under the full name of who is signed in. A signed note never changes."""
    return note_shown(sign_note(request, note_id, given.version))


@router.post("/{note_id}/addenda", status_code=201, responses=problems(404, 409, 503), dependencies=KEYED)
def add(request: Request, note_id: NoteId, given: NewAddendum) -> NoteShown:
    """Adds a dictation to a signed note."""
    return note_shown(add_addendum(request, note_id, given.dictation))


@router.get("/{note_id}/documents/{format}", response_class=Response, responses={**FILES, **problems(404, 409)})
def get_document(request: Request, note_id: NoteId, format: Format) -> Response:
    """The note as a document or in an exchange format: a draft until it is signed."""
    note = request.app.state.store.notes.get(note_id)
    made = render_document(note, format.value, request.app.state.settings.unit_name)
    enter(request, "note.document", note_id, format=format.value, version=note.number)
    named = f'attachment; filename="{made.file_name}"'
    return Response(made.content, media_type=made.media_type, headers={"content-disposition": named})
