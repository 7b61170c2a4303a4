"""A write that comes twice is done once: by the key that its sender gave it."""

import hashlib
import re

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from zonule.store import KeptAnswer
from zonule.store.faults import KeyReusedError
from zonule.web.problems import problem_response
from zonule.web.security.access import API

HEADER = "Idempotency-Key"
REPLAYED = "Idempotency-Replayed"
WRITES = frozenset(("POST", "PUT", "PATCH"))
SHAPE = re.compile(r"[\x21-\x7e]{1,100}")
STORES_NOTHING = (f"{API}/readings", f"{API}/labels", f"{API}/labels/image", f"{API}/find", f"{API}/recall")


class Once:
    """Answers a write whose key came before with the earlier answer; refuses a key that comes with another body."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        request = Request(scope, receive)
        key = request.headers.get(HEADER)
        if key is None or not _is_write(request):
            await self.app(scope, receive, send)
            return
        if not SHAPE.fullmatch(key):
            sentence = f"{HEADER}: expected 1 to 100 printable characters without spaces; send another."
            await problem_response(422, sentence)(scope, receive, send)
            return
        await self._once(request, key, send)

    async def _once(self, request: Request, key: str, send: Send) -> None:
        body = await request.body()
        store, user, route = request.app.state.store, request.state.user.name, f"{request.method} {request.url.path}"
        digest = hashlib.sha256(body).hexdigest()
        try:
            earlier = await run_in_threadpool(store.once.remember, key, user, route, digest)
        except KeyReusedError as fault:
            await problem_response(422, str(fault))(request.scope, request.receive, send)
            return
        if earlier is not None:
            await _replay(earlier)(request.scope, request.receive, send)
            return
        answer = Listened(send)
        await self.app(request.scope, _again(body), answer)
        if answer.status < 500:
            kept = KeptAnswer(answer.status, answer.content_type, bytes(answer.body))
            await run_in_threadpool(store.once.keep, key, user, route, digest, kept)


class Listened:
    """Passes an answer on and keeps a copy."""

    def __init__(self, send: Send) -> None:
        self._send, self.status, self.content_type, self.body = send, 500, "", bytearray()

    async def __call__(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            self.status = message["status"]
            self.content_type = dict(message.get("headers", ())).get(b"content-type", b"").decode()
        else:
            self.body += message.get("body", b"")
        await self._send(message)


def _is_write(request: Request) -> bool:
    path = request.url.path
    ours = path.startswith(f"{API}/") and path not in STORES_NOTHING
    return ours and request.method in WRITES and request.state.user is not None


def _replay(earlier: KeptAnswer) -> Response:
    headers = {REPLAYED: "true", **({"content-type": earlier.content_type} if earlier.content_type else {})}
    return Response(earlier.body, earlier.status, headers=headers)


def _again(body: bytes) -> Receive:
    """The body once more, for who reads it next."""

    async def receive() -> Message:
        return {"type": "http.request", "body": body, "more_body": False}

    return receive
