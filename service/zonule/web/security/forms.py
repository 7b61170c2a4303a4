"""The token of a form: what the gate leaves to be looked at once the form is read."""

from collections.abc import AsyncIterator

from fastapi import Request

from zonule.web.problems import ProblemError
from zonule.web.security import cookies
from zonule.web.security.gate import FORMS, SAFE


async def check_form(request: Request) -> AsyncIterator[None]:
    """Raises ProblemError 403 for a form without the token of its session or visit; closes its files at the end."""
    try:
        if request.method not in SAFE and not cookies.csrf_fits(request.state.csrf_seed, await _token(request)):
            raise ProblemError(
                403, "The form does not carry the token of this session; go back, load the page and send it again."
            )
        yield
    finally:
        await request.close()


async def _token(request: Request) -> str | None:
    """The token in the header, or else in the form."""
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if cookies.HEADER in request.headers or kind not in FORMS:
        return request.headers.get(cookies.HEADER)
    held = (await request.form()).get(cookies.FIELD)
    return held if isinstance(held, str) else None
