"""The day's operating list: what is done, what remains."""

import datetime
from collections import Counter

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from zonule.case_data import LARGEST, CaseData, parse_cases
from zonule.errors import InputError, ZonuleError
from zonule.store import NoteState, Role
from zonule.web.keeping import enter
from zonule.web.pages.posted import Posted, text_of
from zonule.web.pages.rendering import page
from zonule.web.reading_room import today

router = APIRouter()
STATES = (
    ("no_dictation", "no dictation"),
    ("gaps_open", "with open gaps"),
    ("ready", "ready to sign"),
    ("signed", "signed"),
)
NAMES = {"no_dictation": "No dictation", "gaps_open": "Gaps open", "ready": "Ready to sign", "signed": "Signed"}
NOTE_STATES = {"draft": ("gaps_open", "Gaps open"), "complete": ("ready", "Ready to sign")}
HOME = ((Role.AUDITOR, "/unit-audit"), (Role.ADMINISTRATOR, "/users"))
MOST_LOOSE = 50


@router.get("/")
def see_today(request: Request, day: datetime.date | None = None) -> Response:
    """The list of a day: the one asked for, else today's, else the last one. Who has no lists goes to their place."""
    roles = request.state.user.roles
    if not {Role.AUTHOR, Role.SIGNER}.intersection(roles):
        return RedirectResponse(next(place for role, place in HOME if role in roles), 303)
    days = request.app.state.store.cases.days()
    chosen = day or (today() if today() in days or not days else days[0])
    return _show(request, chosen)


@router.get("/days/{day}")
def see_day(request: Request, day: datetime.date) -> Response:
    """The list of one day."""
    return _show(request, day)


@router.post("/days")
def bring_in(request: Request, form: Posted) -> Response:
    """Takes an operating list as CSV or JSON."""
    try:
        day = _day(text_of(form, "day"))
    except InputError as fault:
        return _show(request, today(), str(fault), 422)
    try:
        cases = parse_cases(_content(form.get("list")), "the list")
        request.app.state.store.cases.import_list(day, cases, request.state.user.name)
    except ZonuleError as fault:
        return _show(request, day, str(fault), 422)
    return RedirectResponse(f"/days/{day.isoformat()}", 303)


def _day(text: str) -> datetime.date:
    try:
        return datetime.date.fromisoformat(text)
    except ValueError as fault:
        raise InputError("Day: expected a date such as 2026-03-12; choose the day of the list.") from fault


def _content(sent: object) -> str:
    """The text of the file that was sent."""
    file = getattr(sent, "file", None)
    if file is None:
        raise InputError("The list: expected a file, got none; choose the CSV of the operating list.")
    content: bytes = file.read(LARGEST + 1)
    if len(content) > LARGEST:
        raise InputError(f"The list: expected at most {LARGEST:,} bytes; split it.")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        raise InputError("The list: expected UTF-8, got other bytes; save it as UTF-8.") from fault


def _show(request: Request, day: datetime.date, problem: str = "", status: int = 200) -> HTMLResponse:
    store = request.app.state.store
    cases = store.cases.of_day(day)
    enter(request, "list.read", day.isoformat(), cases=len(cases))
    known = store.cases.days()
    loose = [
        note
        for note in store.notes.page(limit=MOST_LOOSE).items
        if note.case_id is None and note.state is not NoteState.SIGNED
    ]
    return page(
        request,
        "day.html",
        status,
        day=day,
        days=known if day in known else sorted({day, *known}, reverse=True),
        cases=cases,
        counts=Counter(held.state.value for held in cases),
        states=STATES,
        names=NAMES,
        note_states=NOTE_STATES,
        loose=loose,
        problem=problem,
        columns=[name.replace("_", " ") for name in CaseData.model_fields],
    )
