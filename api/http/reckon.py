"""The sums over HTTP: a subject's inputs in, its results with working out."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any

from fastapi import APIRouter, Body, Path, Query
from pydantic import BaseModel, ConfigDict
from starlette.responses import Response

from api.http.answers import Known, answer
from api.http.described import documented
from api.http.limits import JsonRoute
from diagnose.subjects.answers import SUBJECTS, Reckoning, Units, reckoned
from knowledge.loader import Knowledge

router = APIRouter(prefix="/v1/reckon", tags=["sums"], route_class=JsonRoute)

_EXAMPLES: dict[str, Any] = {
    name: {
        "summary": f"{name}: {subject.title}",
        "value": dict(word.split("=", 1) for word in subject.example),
    }
    for name, subject in SUBJECTS.items()
}


def wholes(knowledge: Knowledge) -> Iterator[BaseModel]:
    """Yield answers from which the API's description cuts its examples."""
    told: dict[str, object] = {}
    for word in SUBJECTS["joint"].example:
        name, _, value = word.partition("=")
        told[name] = value
    yield reckoned("joint", told, knowledge)


class UnitsWanted(BaseModel):
    """The query of a sum: units of what is given out."""

    model_config = ConfigDict(extra="forbid")

    units: Units = "metric"


@router.post(
    "/{subject}",
    operation_id="reckon",
    response_model=Reckoning,
    responses=documented(400, 404, 413, 415, 422),
)
def post_reckon(
    subject: Annotated[
        str, Path(max_length=40, description=f"One of {', '.join(SUBJECTS)}.", examples=["joint"])
    ],
    inputs: Annotated[dict[str, Any], Body(openapi_examples=_EXAMPLES)],
    knowledge: Known,
    query: Annotated[UnitsWanted, Query()],
) -> Response:
    """Work out a sum: the body of `wontweld reckon SUBJECT ... --json`.

    Inputs go by name, with or without the unit that ends it (`drop_v` or `drop`). A string carries its
    own unit ("2 V", "35 cfh"); a number is in the unit of the full name.
    """
    return answer(reckoned(subject, inputs, knowledge, query.units))
