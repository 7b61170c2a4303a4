"""Which problems a route may answer with, for its description."""

from typing import Annotated, Any

from fastapi import Depends, Header

from zonule.web.problems import MEDIA_TYPE, TITLES, Problem

GUARDED = (400, 401, 403, 413, 422)
"""What every route may answer: not to be parsed, no session, no role or token, too large, not fitting."""


def problems(*statuses: int) -> dict[int | str, dict[str, Any]]:
    """The description of the problems of a route, those of the gate included."""
    schema = {"$ref": f"#/components/schemas/{Problem.__name__}"}
    content = {MEDIA_TYPE: {"schema": schema}}
    return {s: {"description": TITLES[s], "content": content} for s in sorted({*GUARDED, *statuses})}


def key_of(
    idempotency_key: Annotated[
        str | None,
        Header(
            alias="Idempotency-Key",
            pattern=r"^[\x21-\x7e]{1,100}$",
            description="A key of the sender's own: the same write sent again with it is done once.",
        ),
    ] = None,
) -> str | None:
    """The key of a write; the layer `security.once` keeps the answers."""
    return idempotency_key


KEYED = [Depends(key_of)]
"""The dependencies of a write that may carry a key."""
