"""What people did with readings, what it proposes for the unit's lexicon, and what was decided."""

from typing import Annotated

from fastapi import APIRouter, Path, Query, Request

from zonule.web.api.responses import KEYED, problems
from zonule.web.api.unit_models import CorrectionInput, CorrectionShown, Decision, ProposalShown
from zonule.web.keeping import decide_proposal, user_name

router = APIRouter(tags=["learning"])
ProposalId = Annotated[str, Path(pattern=r"^[0-9A-Za-z_-]{1,100}$")]


@router.post("/corrections", status_code=201, responses=problems(), dependencies=KEYED)
def note_correction(request: Request, given: CorrectionInput) -> CorrectionShown:
    """Keeps one correction."""
    kept = request.app.state.store.corrections.note(given.kind, given.heard, given.reading, user_name(request))
    return CorrectionShown(proposal=kept)


@router.get("/proposals", responses=problems())
def list_proposals(request: Request, decided: Annotated[bool, Query()] = False) -> tuple[ProposalShown, ...]:
    """What the corrections propose; with `decided` what was decided before."""
    held = request.app.state.store.corrections.proposals(decided)
    return tuple(ProposalShown.model_validate(proposal) for proposal in held)


@router.post("/proposals/{proposal}", responses=problems(404, 409), dependencies=KEYED)
def decide(request: Request, proposal: ProposalId, given: Decision) -> ProposalShown:
    """Accepts a proposal into the unit's lexicon, or refuses it, in the name of who is signed in."""
    return ProposalShown.model_validate(decide_proposal(request, proposal, accept=given.accept))
