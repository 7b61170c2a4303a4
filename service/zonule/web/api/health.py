"""Whether the service can work, what it counts, and its own description."""

from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import JSONResponse, Response

from zonule import __version__
from zonule.errors import StoreError
from zonule.web.api.responses import problems
from zonule.web.api.unit_models import HealthShown
from zonule.web.problems import MEDIA_TYPE, TITLES, ProblemError

router = APIRouter(tags=["service"])
NOT_READY: dict[int | str, dict[str, Any]] = {503: {"description": TITLES[503], "content": {MEDIA_TYPE: {}}}}
COUNTED: dict[int | str, dict[str, Any]] = {200: {"description": "Counters", "content": {"text/plain": {}}}}


@router.get("/health", responses=NOT_READY)
def health(request: Request) -> HealthShown:
    """Answers ok when the store can be reached."""
    try:
        request.app.state.store.cases.days(1)
    except StoreError as fault:
        raise ProblemError(503, "The store cannot be reached; tell who keeps the service.") from fault
    return HealthShown(version=__version__)


@router.get("/metrics", response_class=Response, responses={**COUNTED, **problems()})
def metrics(request: Request) -> Response:
    """Counters for Prometheus; for administrators, or by the bearer token set for the collector."""
    counted = request.app.state.metrics
    return Response(counted.text(), headers={"content-type": counted.content_type})


@router.get("/openapi.json", response_class=JSONResponse, responses=problems())
def description(request: Request) -> JSONResponse:
    """This description."""
    return JSONResponse(request.app.openapi())
