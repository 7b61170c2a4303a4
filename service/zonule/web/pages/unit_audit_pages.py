"""The unit's figures, for auditors: what the notes hold, how often complications happen, which settings are used."""

import datetime
from itertools import groupby

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse

from zonule.errors import UnknownNameError
from zonule.requirements import DEFAULT
from zonule.unit_audit import (
    CAUTIONS,
    SettingSpread,
    audit_unit,
    coverage_over_time_svg,
    rates_svg,
    settings_svg,
)
from zonule.web.keeping import enter
from zonule.web.pages.rendering import page

router = APIRouter()


@router.get("/unit-audit")
def see_unit_audit(
    request: Request,
    first: datetime.date | None = None,
    last: datetime.date | None = None,
    standard: str = DEFAULT,
) -> HTMLResponse:
    """The audit of a period; of everything without one."""
    state = request.app.state
    sets = {held.id: held.title for held in state.reading_room.requirements.sets}
    if standard not in sets:
        raise UnknownNameError(f"Unknown requirement set: expected one of {', '.join(sets)}.")
    audit = audit_unit(state.store.find.records(first, last), state.reading_room.requirements, standard)
    enter(request, "unit_audit.read", "notes", count=audit.notes)
    return page(
        request,
        "unit_audit.html",
        audit=audit,
        first=first,
        last=last,
        sets=sets,
        cautions=CAUTIONS,
        coverage=coverage_over_time_svg(audit.items),
        complications=rates_svg(audit.complications, "Complications"),
        surgeons=rates_svg(audit.surgeons, "Any complication, by surgeon"),
        settings=[(name, settings_svg(held), held) for name, held in _by_name(audit.settings)],
    )


def _by_name(spreads: tuple[SettingSpread, ...]) -> list[tuple[str, tuple[SettingSpread, ...]]]:
    """One group for each setting, in the order given."""
    return [(name, tuple(held)) for name, held in groupby(spreads, key=lambda spread: spread.name)]
