"""Pages from templates. Everything is escaped but the drawings that the program itself made."""

import datetime
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import HTMLResponse

from zonule.export import quantities
from zonule.export.wording import capitalized, name_shown, words
from zonule.store.kept import Role
from zonule.web.pages.running_order import stage_of, word_before
from zonule.web.security.access import ACCESS

FOLDER = Path(__file__).parent.parent / "templates"
PLACES = (
    ("/", "Day’s list", "/days/{day}"),
    ("/find", "Find", "/find"),
    ("/recall", "Recall", "/recall"),
    ("/learning", "Learning", "/learning"),
    ("/unit-audit", "Unit audit", "/unit-audit"),
    ("/users", "Users", "/users"),
    ("/trail", "Trail", "/trail"),
)
"""The places of the service: address, words, and the route whose roles may see it."""


def _environment() -> Environment:
    made = Environment(
        loader=FileSystemLoader(FOLDER),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters.update(words=words, capitalized=capitalized, day=quantities.day)
    made.filters.update(moment=moment, stamp=stamp, person=person)
    made.globals.update(stage_of=stage_of, word_before=word_before)
    return made


def moment(at: datetime.datetime) -> str:
    """A time of the store in the time of this machine: `25 November 2026, 14:05 UTC`."""
    return quantities.moment(at.astimezone())


def stamp(at: datetime.datetime) -> str:
    """The same, short, for a column: `2026-11-25 14:05`."""
    return f"{at.astimezone():%Y-%m-%d %H:%M}"


def person(name: str | None) -> str:
    """A name with its capitals, or that it is not stated."""
    return name_shown(name) if name else "not stated"


ENVIRONMENT = _environment()


def page(request: Request, template: str, status: int = 200, **shown: Any) -> HTMLResponse:
    """A whole page with its head: who is signed in, where they may go, the token of the session."""
    return HTMLResponse(fragment(request, template, **shown), status)


def fragment(request: Request, template: str, **shown: Any) -> str:
    """A template filled in."""
    user = getattr(request.state, "user", None)
    settings = request.app.state.settings
    return ENVIRONMENT.get_template(template).render(
        user=user,
        roles=[role.value for role in user.roles] if user else [],
        places=[(address, told) for address, told, route in PLACES if user and may_see(user.roles, route)],
        here=request.url.path,
        csrf_token=getattr(request.state, "csrf_token", ""),
        unit_name=settings.unit_name or "",
        **shown,
    )


def may_see(roles: tuple[Role, ...], route: str, method: str = "GET") -> bool:
    """Whether the one table lets these roles use a route."""
    allowed = ACCESS.get((method, route), frozenset())
    return allowed is None or bool(allowed.intersection(roles))
