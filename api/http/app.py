"""The app: routers, limits, gate and problem documents put together."""

from __future__ import annotations

from collections.abc import AsyncIterator, Collection, Iterator
from contextlib import asynccontextmanager

import anyio.to_thread
from fastapi import APIRouter, FastAPI, Request
from starlette.responses import JSONResponse, Response

from api.http import diagnoses, entries, health, problems
from api.http.answers import TaggedRoute
from api.http.gate import LOOPBACK_NAMES, EveryAnswer, Gate
from api.http.health import Probe
from api.http.limits import LARGEST_BODY, BodyLimit
from api.http.openapi import DESCRIPTION, describe
from knowledge.expert import think
from knowledge.loader import Knowledge, load

WORKERS = 4
"""Cases worked on at once: more would only wait for the interpreter, and keep /healthz waiting too."""
_TAGS = [
    {"name": "diagnosis", "description": "From a case to ranked likely faults."},
    {"name": "knowledge", "description": "What the program knows, entry by entry."},
    {"name": "server", "description": "Is it alive, is it ready, which version is it."},
]


def routers() -> Iterator[APIRouter]:
    """Return every router of the API. A new group of addresses is added here and nowhere else."""
    yield diagnoses.router
    yield entries.router
    yield health.router
    yield description


def create_app(
    knowledge: Knowledge | None = None,
    *,
    hosts: Collection[str] | None = LOOPBACK_NAMES,
    token: str | None = None,
    largest_body: int = LARGEST_BODY,
) -> FastAPI:
    """Return the API as an ASGI app.

    Parameters
    ----------
    knowledge : what to answer from; the shipped knowledge if not given
    hosts : names the server answers to, without port; None for any
    token : bearer token that every request must carry, but for /healthz and /readyz
    largest_body : bytes that a request's body may have

    Raises
    ------
    KnowledgeError : the shipped knowledge does not hold together
    """
    known = knowledge or load()
    app = FastAPI(
        title="wontweld",
        version=known.version,
        description=DESCRIPTION,
        openapi_tags=_TAGS,
        openapi_url=None,
        docs_url=None,
        redoc_url=None,
        lifespan=_made_ready,
    )
    app.state.knowledge = known
    app.state.probes = dict[str, Probe](rules=_rules_are_built)
    for router in routers():
        app.include_router(router)
    problems.install(app)
    app.add_middleware(BodyLimit, largest=largest_body)
    app.add_middleware(Gate, hosts=hosts, token=token)
    app.add_middleware(EveryAnswer)
    return app


@asynccontextmanager
async def _made_ready(_app: FastAPI) -> AsyncIterator[None]:
    anyio.to_thread.current_default_thread_limiter().total_tokens = WORKERS
    await anyio.to_thread.run_sync(_rules_are_built)
    yield


def _rules_are_built() -> None:
    think(())


description = APIRouter(route_class=TaggedRoute)


@description.get("/openapi.json", include_in_schema=False)
def openapi_json(request: Request) -> Response:
    """Return the API's description. There is no page for it: such pages need the network."""
    app: FastAPI = request.app
    return JSONResponse(describe(app))
