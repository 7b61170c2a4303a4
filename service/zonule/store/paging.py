"""Pages of what was found, and the cursors that ask for the next one."""

import base64
import binascii
import json
from collections.abc import Callable, Sequence
from typing import TypeVar

from zonule.store.faults import RefusedError
from zonule.store.kept import Page

T = TypeVar("T")


def page_of(found: Sequence[T], limit: int, place: Callable[[T], tuple[str, ...]]) -> Page[T]:
    """The first `limit` of what was found, one more than asked for; the cursor holds the place of the last."""
    if len(found) <= limit:
        return Page(tuple(found))
    return Page(tuple(found[:limit]), _cursor(place(found[limit - 1])))


def open_cursor(cursor: str, parts: int) -> tuple[str, ...]:
    """The place where a page goes on. Raises RefusedError for what is no cursor of such a page."""
    try:
        held = json.loads(base64.urlsafe_b64decode(cursor.encode()))
    except (ValueError, binascii.Error):
        held = None
    if not isinstance(held, list) or len(held) != parts or not all(isinstance(part, str) for part in held):
        raise RefusedError("Page: expected the cursor of an earlier page, got another; begin at the first page.")
    return tuple(held)


def _cursor(place: tuple[str, ...]) -> str:
    return base64.urlsafe_b64encode(json.dumps(place).encode()).decode()
