"""The main job: a case in, its diagnosis out."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated

from fastapi import APIRouter, Body, Query
from starlette.responses import Response

from api.http.answers import Known, answer
from api.http.book import Learned
from api.http.described import documented
from api.http.examples import as_openapi_examples
from api.http.limits import JsonRoute
from api.http.listing import NoQuery
from api.http.shape import written
from diagnose.answer import diagnose
from diagnose.case import Case
from diagnose.diagnosis import Diagnosis
from knowledge.errors import UnknownId

_Place = tuple[str | int, ...]

router = APIRouter(prefix="/v1/diagnoses", tags=["diagnosis"], route_class=JsonRoute)


@router.post(
    "",
    operation_id="diagnose",
    response_model=Diagnosis,
    responses=documented(400, 413, 415, 422),
)
def post_diagnosis(
    case: Annotated[Case, Body(openapi_examples=as_openapi_examples())],
    knowledge: Known,
    learned: Learned,
    query: Annotated[NoQuery, Query()],
) -> Response:
    """Ranked likely faults for a case, with reasons: the body of `wontweld why --json`.

    Nothing is kept. Absent means not known, never "no". Quantities are in the unit that ends their
    name; a string with a unit is taken too ("35 cfh", "0.035 in", "2/0 AWG").
    """
    try:
        return answer(diagnose(case, knowledge, learned))
    except UnknownId as error:
        error.where = error.where or place_of(case, error.name)
        raise


def place_of(case: Case, name: str) -> str:
    """Return the first place in a case where an id stands, as people write it; '' where none does.

    >>> place_of(Case.model_validate({"findings": [{"check": "tug", "result": "loose"}]}), "tug")
    'findings[0].check'
    """
    told = case.model_dump(by_alias=True, exclude={"said", "station"}, exclude_defaults=True)
    return next((written(place) for place, value in _leaves(told, ()) if value == name), "")


def _leaves(value: object, place: tuple[str | int, ...]) -> Iterator[tuple[_Place, object]]:
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from _leaves(inner, (*place, key))
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from _leaves(inner, (*place, index))
    else:
        yield place, value
