"""Who may do what: one table of every route and the roles that may use it. The gate and the tests read this table.

An author writes notes; a signer also signs them and adds to signed ones; an auditor reads notes and sees the unit's
figures and the trail; an administrator keeps users, lexicon and metrics and sees no note.
"""

import re
from collections.abc import Mapping
from types import MappingProxyType

from zonule.store.kept import Role

WRITERS = frozenset({Role.AUTHOR, Role.SIGNER})
SIGNERS = frozenset({Role.SIGNER})
READERS = frozenset({Role.AUTHOR, Role.SIGNER, Role.AUDITOR})
AUDITORS = frozenset({Role.AUDITOR})
ADMINISTRATORS = frozenset({Role.ADMINISTRATOR})
TEACHERS = frozenset({Role.SIGNER, Role.ADMINISTRATOR})
"""Who sees what the unit's corrections propose."""
CHECKERS = frozenset({Role.AUDITOR, Role.ADMINISTRATOR})
"""Who has the trail verified."""
SIGNED_IN = frozenset(Role)
"""Anyone with a session."""
ANYONE: frozenset[Role] | None = None
"""Also a visitor without a session."""

API = "/api/v1"
Route = tuple[str, str]
"""Method and path template."""

_OPEN: Mapping[Route, frozenset[Role] | None] = {
    ("GET", f"{API}/health"): ANYONE,
    ("POST", f"{API}/session"): ANYONE,
    ("GET", "/login"): ANYONE,
    ("POST", "/login"): ANYONE,
    ("GET", "/sign-on"): ANYONE,
    ("GET", "/sign-on/return"): ANYONE,
    ("GET", "/static/{path:path}"): ANYONE,
}
_API: Mapping[Route, frozenset[Role] | None] = {
    ("GET", f"{API}/openapi.json"): SIGNED_IN,
    ("GET", f"{API}/session"): SIGNED_IN,
    ("DELETE", f"{API}/session"): SIGNED_IN,
    ("GET", f"{API}/requirements"): SIGNED_IN,
    ("GET", f"{API}/slots"): SIGNED_IN,
    ("POST", f"{API}/readings"): WRITERS,
    ("POST", f"{API}/labels"): WRITERS,
    ("POST", f"{API}/labels/image"): WRITERS,
    ("GET", f"{API}/notes"): READERS,
    ("POST", f"{API}/notes"): WRITERS,
    ("GET", f"{API}/notes/{{note_id}}"): READERS,
    ("PUT", f"{API}/notes/{{note_id}}"): WRITERS,
    ("GET", f"{API}/notes/{{note_id}}/versions"): READERS,
    ("GET", f"{API}/notes/{{note_id}}/versions/{{number}}"): READERS,
    ("GET", f"{API}/notes/{{note_id}}/documents/{{format}}"): READERS,
    ("POST", f"{API}/notes/{{note_id}}/signature"): SIGNERS,
    ("POST", f"{API}/notes/{{note_id}}/addenda"): SIGNERS,
    ("GET", f"{API}/lists"): WRITERS,
    ("GET", f"{API}/lists/{{day}}"): WRITERS,
    ("POST", f"{API}/lists/{{day}}"): WRITERS,
    ("POST", f"{API}/find"): READERS,
    ("POST", f"{API}/recall"): READERS,
    ("POST", f"{API}/corrections"): WRITERS,
    ("GET", f"{API}/proposals"): TEACHERS,
    ("POST", f"{API}/proposals/{{proposal}}"): ADMINISTRATORS,
    ("GET", f"{API}/unit-audit"): AUDITORS,
    ("GET", f"{API}/users"): ADMINISTRATORS,
    ("POST", f"{API}/users"): ADMINISTRATORS,
    ("PATCH", f"{API}/users/{{name}}"): ADMINISTRATORS,
    ("GET", f"{API}/trail"): AUDITORS,
    ("GET", f"{API}/trail/verification"): CHECKERS,
    ("GET", f"{API}/metrics"): ADMINISTRATORS,
}
_PAGES: Mapping[Route, frozenset[Role] | None] = {
    ("POST", "/logout"): SIGNED_IN,
    ("GET", "/"): SIGNED_IN,
    ("GET", "/days/{day}"): WRITERS,
    ("POST", "/days"): WRITERS,
    ("GET", "/notes/new"): WRITERS,
    ("POST", "/notes"): WRITERS,
    ("POST", "/notes/reading"): WRITERS,
    ("POST", "/notes/label"): WRITERS,
    ("GET", "/notes/{note_id}"): READERS,
    ("POST", "/notes/{note_id}"): WRITERS,
    ("POST", "/notes/{note_id}/signature"): SIGNERS,
    ("POST", "/notes/{note_id}/addenda"): SIGNERS,
    ("GET", "/notes/{note_id}/documents/{format}"): READERS,
    ("GET", "/notes/{note_id}/versions/{number}"): READERS,
    ("GET", "/find"): READERS,
    ("POST", "/find"): READERS,
    ("GET", "/recall"): READERS,
    ("POST", "/recall"): READERS,
    ("GET", "/learning"): TEACHERS,
    ("POST", "/learning/{proposal}"): ADMINISTRATORS,
    ("GET", "/unit-audit"): AUDITORS,
    ("GET", "/users"): ADMINISTRATORS,
    ("POST", "/users"): ADMINISTRATORS,
    ("POST", "/users/{name}"): ADMINISTRATORS,
    ("GET", "/trail"): CHECKERS,
    ("POST", "/trail/verification"): CHECKERS,
}
ACCESS: Mapping[Route, frozenset[Role] | None] = MappingProxyType({**_OPEN, **_API, **_PAGES})
"""Method and path template → the roles that may use the route; None for anyone. What stands not here nobody may use."""


def _pattern(template: str) -> re.Pattern[str]:
    named = re.sub(r"\\\{\w+:path\\\}", ".+", re.escape(template))
    return re.compile(re.sub(r"\\\{\w+\\\}", "[^/]+", named))


_TEMPLATES = sorted({path for _, path in ACCESS}, key=lambda path: (path.count("{"), path))
_PATTERNS = tuple((template, _pattern(template)) for template in _TEMPLATES)
"""Literal paths first: `/notes/new` is no note."""


def template_of(path: str) -> str | None:
    """The template that a path fits, or None for a path that nobody defined."""
    return next((template for template, pattern in _PATTERNS if pattern.fullmatch(path)), None)


def methods_of(template: str) -> frozenset[str]:
    """The methods that a template takes."""
    return frozenset(method for method, path in ACCESS if path == template)
