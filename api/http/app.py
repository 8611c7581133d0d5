"""The app: routers, limits, gate, the page's door and problem documents put together."""

from __future__ import annotations

import os
from collections.abc import AsyncIterator, Collection, Iterator
from contextlib import asynccontextmanager

import anyio.to_thread
from fastapi import APIRouter, FastAPI, Request
from starlette.responses import JSONResponse, Response

from api.casebook import Casebook
from api.http import (
    cases,
    diagnoses,
    entries,
    entries_of_cases,
    fleet,
    handover,
    health,
    problems,
    readiness,
    reckon,
    stations,
)
from api.http.answers import TaggedRoute
from api.http.gate import LOOPBACK_NAMES, EveryAnswer, Gate
from api.http.health import Probe
from api.http.limits import LARGEST_BODY, BodyLimit
from api.http.openapi import DESCRIPTION, describe
from api.learned import learning_on
from api.page import routes as page
from api.page.door import Door, Key
from knowledge.expert import think
from knowledge.loader import Knowledge, load

WORKERS = 4
"""Cases worked on at once: more would only wait for the interpreter, and keep /healthz waiting too."""
_TAGS = [
    {"name": "diagnosis", "description": "From a case to ranked likely faults."},
    {"name": "readiness", "description": "Before the first arc: is the hook-up right?"},
    {"name": "sums", "description": "The sums of the trade, with the working shown."},
    {"name": "cases", "description": "Cases that are kept: entries, what next, handover, fleet."},
    {"name": "stations", "description": "Stations that are kept, each with its plate."},
    {"name": "knowledge", "description": "What the program knows, entry by entry."},
    {"name": "server", "description": "Is it alive, is it ready, which version is it."},
]


def routers() -> Iterator[APIRouter]:
    """Return every router. A new group of addresses is added here and nowhere else."""
    yield diagnoses.router
    yield readiness.router
    yield reckon.router
    yield cases.router
    yield entries_of_cases.router
    yield handover.router
    yield stations.router
    yield fleet.router
    yield entries.router
    yield health.router
    yield page.router
    yield description


def create_app(
    knowledge: Knowledge | None = None,
    *,
    casebook: Casebook | None = None,
    learning: bool | None = None,
    hosts: Collection[str] | None = LOOPBACK_NAMES,
    token: str | None = None,
    largest_body: int = LARGEST_BODY,
) -> FastAPI:
    """Return the API as an ASGI app.

    Parameters
    ----------
    knowledge : what to answer from; the shipped knowledge if not given
    casebook : where cases and stations are kept; None for a server that keeps nothing. Whoever
        opened it closes it
    learning : whether the casebook's closed cases shift the figures; WONTWELD_LEARNING decides if
        not given
    hosts : names the server answers to, without port; None for any
    token : bearer token that every request must carry, but for those of `gate.OPEN_TO_ALL`; the page
        asks for it once
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
    app.state.casebook = casebook
    app.state.learning = learning_on(os.environ) if learning is None else learning
    app.state.page_key = Key(token) if token is not None else None
    app.state.probes = dict[str, Probe](rules=_rules_are_built)
    if casebook is not None:
        app.state.probes["casebook"] = lambda: _can_be_read(casebook)
    for router in routers():
        app.include_router(router)
    problems.install(app)
    app.add_middleware(BodyLimit, largest=largest_body)
    app.add_middleware(Gate, hosts=hosts, token=token)
    app.add_middleware(Door, key=app.state.page_key)
    app.add_middleware(EveryAnswer)
    return app


@asynccontextmanager
async def _made_ready(_app: FastAPI) -> AsyncIterator[None]:
    anyio.to_thread.current_default_thread_limiter().total_tokens = WORKERS
    await anyio.to_thread.run_sync(_rules_are_built)
    yield


def _rules_are_built() -> None:
    think(())


def _can_be_read(casebook: Casebook) -> None:
    casebook.stations(limit=1)


description = APIRouter(route_class=TaggedRoute)


@description.get("/openapi.json", include_in_schema=False)
def openapi_json(request: Request) -> Response:
    """Return the API's description. There is no page for it: such pages need the network."""
    app: FastAPI = request.app
    return JSONResponse(describe(app))
