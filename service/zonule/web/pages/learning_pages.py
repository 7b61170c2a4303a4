"""What the unit's corrections propose for its own lexicon, and what was decided."""

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from zonule.errors import ZonuleError
from zonule.learning import accept, entry_of, refuse
from zonule.store import Role
from zonule.web.pages.posted import Posted, text_of
from zonule.web.pages.rendering import page

router = APIRouter()
KINDS = {
    "repair_accepted": "Misheard, the reading accepted",
    "repair_refused": "A reading refused",
    "answer": "An answer typed in",
}


@router.get("/learning")
def see_proposals(request: Request) -> HTMLResponse:
    """What is still to decide, then what was."""
    return _show(request)


@router.post("/learning/{proposal}")
def decide(request: Request, proposal: str, form: Posted) -> Response:
    """Takes a proposal into the unit's lexicon, or refuses it, in the name of who is signed in."""
    state, by = request.app.state, request.state.user.name
    try:
        if text_of(form, "decision") == "accept":
            accept(state.store, proposal, by)
            state.reading_room.reload()
        else:
            refuse(state.store, proposal, by)
    except ZonuleError as fault:
        return _show(request, str(fault), 422)
    return RedirectResponse("/learning", 303)


def _show(request: Request, problem: str = "", status: int = 200) -> HTMLResponse:
    corrections, lexicon = request.app.state.store.corrections, request.app.state.reading_room.lexicon
    return page(
        request,
        "learning.html",
        status,
        open=[(held, entry_of(held, lexicon)) for held in corrections.proposals()],
        decided=corrections.proposals(decided=True),
        may_decide=Role.ADMINISTRATOR in request.state.user.roles,
        kinds=KINDS,
        problem=problem,
    )
