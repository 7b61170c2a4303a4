"""Finding notes again, and who received what is recalled. Patients stand in no address: what is sought is posted."""

import datetime
import time
from dataclasses import dataclass

from fastapi import APIRouter
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import HTMLResponse

from zonule.errors import InputError, StoreError
from zonule.store import FoundNote
from zonule.store import Page as Found
from zonule.web.keeping import enter
from zonule.web.pages.posted import Posted, text_of
from zonule.web.pages.rendering import page

router = APIRouter()
FIELDS = ("serial", "lot", "model", "first", "last", "surgeon", "hospital_number")
LENS = ("serial", "lot", "model")
BECAME = {
    "implanted": "implanted",
    "opened_not_implanted": "opened, not implanted",
    "explanted": "taken out",
    "label": "on the scanned label only",
}


@dataclass(frozen=True, slots=True)
class Sought:
    """What was asked for, as typed."""

    fields: dict[str, str]
    cursor: str | None = None

    def of(self, name: str) -> str | None:
        """A field, or None when it was left empty."""
        return self.fields.get(name) or None

    def day(self, name: str) -> datetime.date | None:
        """A day; raises InputError for other text."""
        text = self.of(name)
        try:
            return datetime.date.fromisoformat(text) if text else None
        except ValueError as fault:
            raise InputError("Day: expected a date such as 2026-03-12; please correct it.") from fault


@router.get("/find")
def see_find(request: Request) -> HTMLResponse:
    """The form to find by."""
    return page(request, "find.html", sought={}, found=None, cursor=None, problem="", became=BECAME)


@router.post("/find")
def find(request: Request, form: Posted) -> HTMLResponse:
    """The notes that fit."""
    sought = Sought({name: text_of(form, name) for name in FIELDS}, text_of(form, "cursor") or None)
    found: Found[FoundNote] | None = None
    problem = ""
    try:
        found = _find(request, sought)
    except (InputError, StoreError) as fault:
        problem = str(fault)
    if found is not None:
        enter(request, "find", "notes", count=len(found.items))
    return page(
        request,
        "find.html",
        422 if problem else 200,
        sought=sought.fields,
        found=found.items if found else None,
        cursor=found.cursor if found else None,
        problem=problem,
        became=BECAME,
    )


def _find(request: Request, sought: Sought) -> Found[FoundNote]:
    """By the lens, else by the hospital number, else by day and surgeon; raises InputError for several ways at once."""
    finding = request.app.state.store.find
    lens = {name: sought.of(name) for name in LENS}
    number = sought.of("hospital_number")
    others = (sought.day("first"), sought.day("last"), sought.of("surgeon"))
    if sum((any(lens.values()), bool(number), any(others))) != 1:
        raise InputError(
            "Find: expected a lens, or a hospital number, or days and surgeon; fill in one of the three parts."
        )
    if any(lens.values()):
        by_lens: Found[FoundNote] = finding.by_lens(**lens, cursor=sought.cursor)
        return by_lens
    if number:
        by_number: Found[FoundNote] = finding.by_hospital_number(number, cursor=sought.cursor)
        return by_number
    by_day: Found[FoundNote] = finding.by_day(*others, cursor=sought.cursor)
    return by_day


@router.get("/recall")
def see_recall(request: Request) -> HTMLResponse:
    """The question: who received it?"""
    return _recall_page(request, "lot", "", None)


@router.post("/recall")
def recall(request: Request, form: Posted) -> HTMLResponse:
    """Everyone who received the lot, serial number or model, as a list to print."""
    kind, key = _recalled(form)
    if not key:
        return _recall_page(request, kind, key, None, problem="Recall: expected a number or a model; type it in.")
    began = time.perf_counter()
    found = request.app.state.store.find.recall(**{kind: key})
    taken = time.perf_counter() - began
    enter(request, "recall", kind, count=len(found))
    return _recall_page(request, kind, key, found, taken)


def _recalled(form: FormData) -> tuple[str, str]:
    kind = text_of(form, "kind")
    return kind if kind in LENS else "lot", text_of(form, "key")


def _recall_page(
    request: Request,
    kind: str,
    key: str,
    found: tuple[FoundNote, ...] | None,
    taken: float = 0.0,
    problem: str = "",
) -> HTMLResponse:
    people = {held.hospital_number or held.note_id for held in found or () if held.status in ("implanted", "label")}
    return page(
        request,
        "recall.html",
        422 if problem else 200,
        kind=kind,
        key=key,
        found=found,
        people=len(people),
        taken=f"{taken:.2f}",
        at=datetime.datetime.now(datetime.UTC),
        problem=problem,
        became=BECAME,
    )
