"""What the unit's corrections propose for its own lexicon, and what was decided."""

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from zonule.errors import ZonuleError
from zonule.store import Role
from zonule.web.pages.posted import Posted, text_of
from zonule.web.pages.rendering import page

router = APIRouter()
KINDS = {
    "repair_accepted": "Misheard, the reading accepted",
    "repair_refused": "A reading refused",
    "answer": "An answer typed in",
}
EFFECTS = {
    "repair_accepted": "Accepted, these words are always read so.",
    "repair_refused": "Accepted, these words are never again read so.",
    "answer": "Accepted, these words become a form of the term.",
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
            state.store.corrections.decide(proposal, True, by)
            state.reading_room.reload()
        else:
            state.store.corrections.decide(proposal, False, by)
    except ZonuleError as fault:
        return _show(request, str(fault), 422)
    return RedirectResponse("/learning", 303)


def _show(request: Request, problem: str = "", status: int = 200) -> HTMLResponse:
    corrections = request.app.state.store.corrections
    return page(
        request,
        "learning.html",
        status,
        open=corrections.proposals(),
        decided=corrections.proposals(decided=True),
        may_decide=Role.ADMINISTRATOR in request.state.user.roles,
        kinds=KINDS,
        effects=EFFECTS,
        problem=problem,
    )
