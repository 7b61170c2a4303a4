"""How much a request may carry."""

from starlette.exceptions import HTTPException
from starlette.types import Message, Receive, Scope

SLACK = 100_000
"""Bytes of a form around its file."""


class BodyLimit:
    """A request's stream of bytes, ended by 413 when more come than are allowed."""

    def __init__(self, receive: Receive, largest: int) -> None:
        self._receive, self._largest, self._got = receive, largest, 0

    async def __call__(self) -> Message:
        message = await self._receive()
        self._got += len(message.get("body", b""))
        if self._got > self._largest:
            raise HTTPException(413, too_large(self._largest))
        return message


def too_large(largest: int) -> str:
    """The sentence for a body over the limit."""
    return f"The request is too large: expected at most {largest:,} bytes; send less."


def declared_length(scope: Scope) -> int:
    """What Content-Length says; 0 where it says nothing."""
    value = dict(scope["headers"]).get(b"content-length", b"")
    return int(value) if value.isdigit() else 0
