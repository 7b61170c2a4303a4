"""The unit's figures, for auditors."""

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse

from zonule.web.pages.rendering import page

router = APIRouter()


@router.get("/unit-audit")
def see_unit_audit(request: Request) -> HTMLResponse:
    """Completeness, complications, settings."""
    return page(request, "unit_audit.html")
