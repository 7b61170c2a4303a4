"""The outermost layer: headers on every answer, one line of log, and no fault that tells what it was about."""

import logging
import time
import traceback

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from zonule.web.metrics import Metrics
from zonule.web.problems import answer_problem
from zonule.web.security.access import template_of
from zonule.web.security.headers import security_headers

log = logging.getLogger("zonule.service")
NOWHERE = "(none)"
KNOWN_METHODS = frozenset(("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"))


class Shield:
    """Adds the security headers, counts and logs by path template, and answers an unforeseen fault with 500.

    A log line holds method, template, status and milliseconds. Of a fault it holds the kind and the places in the
    code, never the message: it may quote a patient's words.
    """

    def __init__(self, app: ASGIApp, metrics: Metrics, *, secure: bool) -> None:
        self.app, self.metrics, self.secure = app, metrics, secure

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        began = time.perf_counter()
        headers = [(k.encode(), v.encode()) for k, v in security_headers(scope["path"], secure=self.secure).items()]
        status = 0

        async def send_with_headers(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
                own = {name for name, _ in headers}
                kept = [(name, value) for name, value in message.get("headers", ()) if name.lower() not in own]
                message = {**message, "headers": [*kept, *headers]}
            await send(message)

        try:
            await self.app(scope, receive, send_with_headers)
        except HTTPException as fault:
            if not status:
                await answer_problem(Request(scope, receive), fault.status_code, fault.detail)(
                    scope, receive, send_with_headers
                )
        except Exception as fault:  # nobody above may see it: what it says may be a patient's words
            _log_fault(fault)
            if not status:
                await _answer_fault(scope, receive, send_with_headers)
        self._count(scope, status or 500, time.perf_counter() - began)

    def _count(self, scope: Scope, status: int, seconds: float) -> None:
        method = scope["method"] if scope["method"] in KNOWN_METHODS else "OTHER"
        route = template_of(scope["path"]) or NOWHERE
        self.metrics.count_request(method, route, status, seconds)
        log.info("%s %s %d %.0f ms", method, route, status, seconds * 1000)


async def _answer_fault(scope: Scope, receive: Receive, send: Send) -> None:
    detail = "The service met a fault of its own; it is logged. Try again, and tell who keeps the service."
    await answer_problem(Request(scope, receive), 500, detail)(scope, receive, send)


def _log_fault(fault: BaseException) -> None:
    places = [f"{frame.name}:{frame.lineno}" for frame in traceback.extract_tb(fault.__traceback__)[-6:]]
    log.error("fault %s at %s", type(fault).__name__, " > ".join(places))
