"""The hook-up check over HTTP: a station and its ticks in, the verdict and the walk-round out."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any

from fastapi import APIRouter, Body, Query
from pydantic import BaseModel
from starlette.responses import Response

from api.http.answers import Known, answer
from api.http.described import documented
from api.http.limits import JsonRoute
from api.http.listing import NoQuery
from diagnose.readiness.hook_up import Readiness, ReadinessAsked, readiness
from knowledge.loader import Knowledge

router = APIRouter(prefix="/v1/readiness", tags=["readiness"], route_class=JsonRoute)

_EXAMPLES: dict[str, Any] = {
    "nothing_ticked": {
        "summary": "A station as it stands, and nothing walked yet",
        "value": {
            "station": {
                "name": "bay 3",
                "wire": {"class": "ER70S-6", "diameter_mm": "0.035 in"},
                "polarity": {"electrode": "positive", "known": "looked"},
                "gas": {"name": "75Ar/25CO2", "flow_l_min": "25 cfh"},
                "clamp": {"kind": "spring", "rated_a": 300},
                "gun": {"tip_mm": 0.9},
                "settings": {"mode": "wire", "current_a": 160},
            },
            "ticks": {"station_is_off": "good", "clamp_spring_stout": "good"},
        },
    },
    "wrong_polarity": {
        "summary": "Self-shielded wire with the electrode on positive",
        "value": {
            "station": {
                "wire": {"class": "E71T-11"},
                "polarity": {"electrode": "positive", "known": "looked"},
            }
        },
    },
}


def wholes(knowledge: Knowledge) -> Iterator[BaseModel]:
    """Yield questions and answers from which the API's description cuts its examples."""
    for example in _EXAMPLES.values():
        asked = ReadinessAsked.model_validate(example["value"])
        yield asked
        yield readiness(asked, knowledge)


@router.post(
    "",
    operation_id="check_readiness",
    response_model=Readiness,
    responses=documented(400, 413, 415, 422),
)
def post_readiness(
    asked: Annotated[ReadinessAsked, Body(openapi_examples=_EXAMPLES)],
    knowledge: Known,
    query: Annotated[NoQuery, Query()],
) -> Response:
    """Whether a station is ready for its first arc: the body of `wontweld ready --json`.

    Stop cards come first; then what is wrong on paper, what was not told, and the walk-round in order.
    """
    return answer(readiness(asked, knowledge))
