"""All routes of the programming interface under one prefix."""

from fastapi import APIRouter

from zonule.web.api import (
    corrections,
    finding,
    health,
    labels,
    lists,
    notes,
    readings,
    session,
    trail,
    unit_audit,
    users,
)
from zonule.web.security.access import API

router = APIRouter(prefix=API)
for part in (session, readings, labels, notes, lists, finding, corrections, unit_audit, users, trail, health):
    router.include_router(part.router)
