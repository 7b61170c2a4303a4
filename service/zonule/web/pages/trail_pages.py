"""The audit trail: who did what to what, and whether it is whole."""

from typing import Any

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse

from zonule.store import Role
from zonule.web.keeping import enter
from zonule.web.pages.rendering import page

router = APIRouter()


@router.get("/trail")
def see_trail(request: Request, cursor: str | None = None) -> HTMLResponse:
    """The entries, the newest first; for auditors. An administrator sees whether it is whole."""
    return _show(request, cursor, None)


@router.post("/trail/verification")
def verify(request: Request) -> HTMLResponse:
    """Follows the chain from the first entry to the last."""
    broken = request.app.state.store.trail.verify()
    enter(request, "trail.verify", "trail", broken=broken.number if broken else 0)
    told = (
        ("alert", f"The trail is broken: entry {broken.number} is not as it was written. Tell who is responsible.")
        if broken
        else ("done", "The trail is whole: every entry fits the one before it.")
    )
    return _show(request, None, told)


def _show(request: Request, cursor: str | None, told: tuple[str, str] | None) -> HTMLResponse:
    reads = Role.AUDITOR in request.state.user.roles
    held: Any = request.app.state.store.trail.page(limit=100, cursor=cursor) if reads else None
    if reads:
        enter(request, "trail.read", "trail", count=len(held.items))
    return page(request, "trail.html", entries=held.items if held else (), cursor=held.cursor if held else None,
                reads=reads, told=told)  # fmt: skip
