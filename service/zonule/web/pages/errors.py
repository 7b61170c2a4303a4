"""A problem on a page, for people."""

from starlette.requests import Request
from starlette.responses import HTMLResponse

from zonule.web.pages.rendering import page

TITLES = {
    403: "Not for your roles",
    404: "Nothing at this address",
    413: "Too large",
    429: "Please wait a moment",
    500: "That went wrong here",
    503: "Busy",
}


def error_page(request: Request, status: int, sentence: str) -> HTMLResponse:
    """The page that says in one sentence what went wrong and leads back."""
    return page(request, "error.html", status, title=TITLES.get(status, "That cannot be done"), sentence=sentence)
