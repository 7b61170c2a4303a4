"""The audit trail: who did what, and whether it is as it was written."""

from typing import Annotated

from fastapi import APIRouter, Query, Request

from zonule.web.api.responses import problems
from zonule.web.api.unit_models import EntryShown, TrailPage, Verification
from zonule.web.keeping import enter

router = APIRouter(prefix="/trail", tags=["trail"])


@router.get("", responses=problems())
def show_trail(
    request: Request,
    limit: Annotated[int, Query(ge=1, le=200)] = 50,
    cursor: Annotated[str | None, Query(pattern=r"^[0-9]{1,15}$")] = None,
    subject: Annotated[str | None, Query(pattern=r"^[\w.:-]{1,100}$")] = None,
) -> TrailPage:
    """Entries, the newest first; `subject` limits them to one note, user or day."""
    page = request.app.state.store.trail.page(limit, cursor, subject)
    enter(request, "trail.read", "trail", count=len(page.items))
    return TrailPage(items=tuple(EntryShown.model_validate(held) for held in page.items), cursor=page.cursor)


@router.get("/verification", responses=problems())
def verify_trail(request: Request) -> Verification:
    """Walks the whole chain."""
    broken = request.app.state.store.trail.verify()
    enter(request, "trail.verify", "trail", whole=broken is None)
    return Verification(whole=broken is None, broken=broken.number if broken else None)
