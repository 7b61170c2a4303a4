"""The unit's own figures, for auditors."""

import datetime
from typing import Annotated

from fastapi import APIRouter, Query, Request

from zonule.requirements import DEFAULT
from zonule.store.kept import NoteState
from zonule.unit_audit import CAUTIONS, audit_unit
from zonule.vocabulary import Limit
from zonule.web.api.reading_models import Shown
from zonule.web.api.responses import problems
from zonule.web.keeping import enter

router = APIRouter(tags=["unit audit"])


class MonthShown(Shown):
    """How many notes of a month stated an item, of those that it applies to; `pct` in percent."""

    month: str
    stated: int
    of: int
    pct: float


class ItemOverTimeShown(Shown):
    """One item of the requirement set, month by month."""

    id: str
    name: str
    months: tuple[MonthShown, ...]


class RateShown(Shown):
    """`count` of `of` operations, in percent with its 95 % Wilson interval; no share without operations."""

    id: str
    name: str
    count: int
    of: int
    pct: float | None
    low_pct: float
    high_pct: float


class SpreadShown(Shown):
    """One machine setting as one surgeon uses it, in the unit of its parameter."""

    parameter: str
    phase: str
    limit: Limit
    surgeon: str
    count: int
    lowest: float
    lower_quartile: float
    median: float
    upper_quartile: float
    highest: float


class UnitAuditShown(Shown):
    """What the notes of a period add up to; `items` and `complications` begin with all together."""

    standard: str
    notes: int
    states: dict[NoteState, int]
    undated: int
    unstated: int
    items: tuple[ItemOverTimeShown, ...]
    complications: tuple[RateShown, ...]
    surgeons: tuple[RateShown, ...]
    settings: tuple[SpreadShown, ...]
    cautions: tuple[str, ...]


@router.get("/unit-audit", responses=problems(404))
def show_unit_audit(
    request: Request,
    first: datetime.date | None = None,
    last: datetime.date | None = None,
    standard: Annotated[str, Query(max_length=100)] = DEFAULT,
) -> UnitAuditShown:
    """Completeness by month, complication rates, settings by surgeon; of everything, or of a period."""
    state = request.app.state
    audit = audit_unit(state.store.find.records(first, last), state.reading_room.requirements, standard)
    enter(request, "unit_audit.read", "notes", count=audit.notes)
    return UnitAuditShown(
        standard=audit.standard,
        notes=audit.notes,
        states=dict(audit.states),
        undated=audit.undated,
        unstated=audit.unstated,
        items=tuple(ItemOverTimeShown.model_validate(item) for item in audit.items),
        complications=tuple(RateShown.model_validate(rate) for rate in audit.complications),
        surgeons=tuple(RateShown.model_validate(rate) for rate in audit.surgeons),
        settings=tuple(SpreadShown.model_validate(spread) for spread in audit.settings),
        cautions=CAUTIONS,
    )
