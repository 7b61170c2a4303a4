"""The day's operating list: imported, and where each of its cases stands."""

import datetime
from collections import Counter

from fastapi import APIRouter, Request

from zonule.case_data import parse_cases
from zonule.store.kept import CaseState
from zonule.web.api.responses import KEYED, problems
from zonule.web.api.unit_models import DaysShown, ListedShown, ListInput, ListShown
from zonule.web.keeping import enter, user_name

router = APIRouter(prefix="/lists", tags=["lists"])


@router.get("", responses=problems())
def list_days(request: Request) -> DaysShown:
    """The days that have a list."""
    return DaysShown(days=request.app.state.store.cases.days(60))


@router.get("/{day}", responses=problems())
def show_list(request: Request, day: datetime.date) -> ListShown:
    """One day's list; without cases for a day that has none."""
    shown = _list_of(request, day)
    enter(request, "list.read", day.isoformat(), count=len(shown.cases))
    return shown


@router.post("/{day}", status_code=201, responses=problems(409), dependencies=KEYED)
def import_list(request: Request, day: datetime.date, given: ListInput) -> ListShown:
    """Adds the cases of a list to a day."""
    request.app.state.store.cases.import_list(day, parse_cases(given.text, "list"), by=user_name(request))
    return _list_of(request, day)


def _list_of(request: Request, day: datetime.date) -> ListShown:
    cases = tuple(ListedShown.model_validate(case) for case in request.app.state.store.cases.of_day(day))
    counted = Counter(case.state for case in cases)
    return ListShown(day=day, cases=cases, counts={state: counted[state] for state in CaseState})
