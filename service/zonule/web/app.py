"""The service as one app: settings in, everything that answers a request out."""

import asyncio
import contextlib
import datetime
import logging
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

from fastapi import Depends, FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.middleware.sessions import SessionMiddleware
from starlette.middleware.trustedhost import TrustedHostMiddleware
from starlette.responses import Response
from starlette.staticfiles import StaticFiles

from zonule import __version__
from zonule.errors import ZonuleError
from zonule.store import Store, open_store
from zonule.web.api.router import router as api
from zonule.web.metrics import Metrics
from zonule.web.pages.router import router as pages
from zonule.web.problems import Problem, ProblemError, problem_of
from zonule.web.reading_room import ReadingRoom, known_names
from zonule.web.security import cookies, single_sign_on
from zonule.web.security.forms import check_form
from zonule.web.security.gate import Gate
from zonule.web.security.once import Once
from zonule.web.security.shield import Shield
from zonule.web.service_settings import ServiceSettings, handed_over

log = logging.getLogger("zonule.service")
STATIC = Path(__file__).with_name("static")
SIGN_ON_S = 600
"""Seconds that a single sign-on may take."""
KEPT = datetime.timedelta(days=1)
"""How long the answer to a write with a key is kept."""
TIDY_EVERY_S = 3600
ABOUT = (
    "Reads a dictated eye operation into a structured record, asks for what is missing, keeps and signs the note. "
    "A note is a draft until its surgeon has read and signed it. Doses defer to the local formulary; no treatment is "
    "advised."
)


def create_app(settings: ServiceSettings) -> FastAPI:
    """The app of one service. Its store opens when it starts and closes when it ends."""
    app = FastAPI(
        title="Zonule",
        version=__version__,
        description=ABOUT,
        openapi_url=None,
        docs_url=None,
        redoc_url=None,
        lifespan=_life,
    )
    app.state.settings = settings
    app.state.metrics = Metrics()
    app.state.provider = None
    if settings.single_sign_on:
        app.state.provider = single_sign_on.provider_of(settings.single_sign_on)
    _add_routes(app)
    _add_layers(app, settings)
    for kind in (ProblemError, RequestValidationError, HTTPException, ZonuleError):
        app.add_exception_handler(kind, _answer)
    return app


def create_worker_app() -> FastAPI:
    """The app of one worker process, by the settings that the starting process left for it."""
    logging.basicConfig(level=logging.INFO, format="%(asctime)s %(name)s %(message)s")
    for name in ("httpx2", "alembic"):
        logging.getLogger(name).setLevel(logging.WARNING)
    return create_app(handed_over())


@asynccontextmanager
async def _life(app: FastAPI) -> AsyncIterator[None]:
    room = getattr(app.state, "reading_room", None) or ReadingRoom(app.state.metrics)
    app.state.reading_room, app.state.known_names = room, known_names(room)
    with open_store(app.state.settings.store) as store:
        app.state.store = store
        tidying = asyncio.create_task(_tidy(store))
        yield
        tidying.cancel()
        with contextlib.suppress(asyncio.CancelledError):
            await tidying


async def _tidy(store: Store) -> None:
    """Forgets the answers of writes that nobody will send again: they may hold a patient's words."""
    while True:
        try:
            await run_in_threadpool(store.once.forget, store.database.clock() - KEPT)
        except Exception as fault:  # the next hour tries again; the message may quote what is kept
            log.error("earlier answers not forgotten: %s", type(fault).__name__)
        await asyncio.sleep(TIDY_EVERY_S)


def _add_routes(app: FastAPI) -> None:
    app.include_router(api)
    app.include_router(single_sign_on.router)
    app.include_router(pages, dependencies=[Depends(check_form)], include_in_schema=False)
    app.mount("/static", StaticFiles(directory=STATIC), name="static")
    app.openapi = lambda: _description(app)  # type: ignore[method-assign]


def _add_layers(app: FastAPI, settings: ServiceSettings) -> None:
    """The layers around the routes, the innermost first."""
    app.add_middleware(Once)
    app.add_middleware(Gate, settings=settings)
    app.add_middleware(
        SessionMiddleware,
        secret_key=settings.state_secret,
        session_cookie=single_sign_on.COOKIE,
        max_age=SIGN_ON_S,
        path="/sign-on",
        same_site="lax",
        https_only=settings.secure,
    )
    if settings.hosts:
        app.add_middleware(TrustedHostMiddleware, allowed_hosts=list(settings.hosts), www_redirect=False)
    app.add_middleware(Shield, metrics=app.state.metrics, secure=settings.secure)


async def _answer(request: Request, fault: Exception) -> Response:
    return problem_of(request, fault)


def _description(app: FastAPI) -> dict[str, Any]:
    """OpenAPI with the schema of problem details, and the cookie and token of a session as the way to sign in."""
    if app.openapi_schema is None:
        held = FastAPI.openapi(app)
        parts = held.setdefault("components", {})
        parts.setdefault("schemas", {})[Problem.__name__] = Problem.model_json_schema()
        parts["securitySchemes"] = {
            "session": {"type": "apiKey", "in": "cookie", "name": cookies.SESSION},
            "token": {"type": "apiKey", "in": "header", "name": cookies.HEADER},
        }
        held["security"] = [{"session": [], "token": []}]
        app.openapi_schema = held
    return app.openapi_schema
