"""All routes of the pages."""

from fastapi import APIRouter

from zonule.web.pages import (
    day_pages,
    finding_pages,
    learning_pages,
    live_reading,
    login_pages,
    note_pages,
    people_pages,
    trail_pages,
    unit_audit_pages,
)

router = APIRouter()
for part in (
    login_pages, day_pages, live_reading, note_pages, finding_pages, learning_pages, unit_audit_pages, people_pages,
    trail_pages,
):  # fmt: skip
    router.include_router(part.router)
