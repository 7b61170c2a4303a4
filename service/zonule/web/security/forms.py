"""The token of a form: what the gate leaves to be looked at once the form is read."""

from fastapi import Request

from zonule.web.problems import ProblemError
from zonule.web.security import cookies
from zonule.web.security.gate import FORMS, SAFE


async def check_form(request: Request) -> None:
    """Raises ProblemError 403 for a form without the token of its session or visit."""
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if request.method in SAFE or kind not in FORMS:
        return
    given = request.headers.get(cookies.HEADER)
    if given is None:
        held = (await request.form()).get(cookies.FIELD)
        given = held if isinstance(held, str) else None
    if not cookies.csrf_fits(request.state.csrf_seed, given):
        raise ProblemError(
            403, "The form does not carry the token of this session; go back, load the page again and send it again."
        )
