"""Is it alive, is it ready, which version is it; and what each kind of problem means."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Literal

from fastapi import APIRouter, Path, Query, Request
from pydantic import BaseModel, ConfigDict, Field
from starlette.responses import Response

from api.http.answers import Known, answer
from api.http.described import documented
from api.http.limits import JsonRoute
from api.http.listing import NoQuery
from api.http.problems import kinds, title_of
from api.http.refusals import NoSuchAddress, NotReady
from knowledge.errors import WontweldError
from knowledge.nearest import nearest

Probe = Callable[[], None]
"""Returns when a part of the server is ready; raises a WontweldError when it is not."""

router = APIRouter(tags=["server"], route_class=JsonRoute)


class _Told(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Alive(_Told):
    """The server is running."""

    status: Literal["ok"] = "ok"


class Ready(_Told):
    """The server can answer: every part it needs is there."""

    status: Literal["ready"] = "ready"
    parts: list[str] = Field(description="The parts that were looked at.")


class Version(_Told):
    """Which program this is, and which knowledge it answers from."""

    program: Literal["wontweld"] = "wontweld"
    version: str
    knowledge_digest: str


class ProblemKind(_Told):
    """What a kind of problem is."""

    type: str
    title: str
    status: int
    meaning: str


@router.get("/healthz", operation_id="healthz", response_model=Alive, responses=documented(422))
async def healthz(query: Annotated[NoQuery, Query()]) -> Response:
    """Whether the server is running. Answers while cases are being worked on."""
    return answer(Alive())


@router.get("/readyz", operation_id="readyz", response_model=Ready, responses=documented(422, 503))
def readyz(request: Request, query: Annotated[NoQuery, Query()]) -> Response:
    """Whether the server can answer: knowledge loaded, rules built."""
    probes: dict[str, Probe] = request.app.state.probes
    for part, probe in probes.items():
        try:
            probe()
        except WontweldError as error:
            raise NotReady(
                f"{part}: {error.what}", where=part, next_step=error.next_step
            ) from error
    return answer(Ready(parts=list(probes)))


@router.get("/version", operation_id="version", response_model=Version, responses=documented(422))
async def version(knowledge: Known, query: Annotated[NoQuery, Query()]) -> Response:
    """Which program this is, and which knowledge it answers from."""
    return answer(Version(version=knowledge.version, knowledge_digest=knowledge.digest))


@router.get(
    "/problems/{name}",
    operation_id="get_problem_kind",
    response_model=ProblemKind,
    responses=documented(404, 422),
)
async def problem_kind(
    name: Annotated[str, Path(max_length=80, description="Last part of a problem's type.")],
    query: Annotated[NoQuery, Query()],
) -> Response:
    """What a kind of problem is: the page that the `type` of a problem document points at."""
    known = kinds()
    if name not in known:
        close = nearest(name, known)
        step = f"nearest: {close}" if close else ""
        raise NoSuchAddress(f"there is no problem '{name}'", where=name, next_step=step)
    kind = known[name]
    meaning = " ".join((kind.__doc__ or "").split())
    return answer(
        ProblemKind(
            type=kind.problem_type, title=title_of(kind), status=kind.status, meaning=meaning
        )
    )
