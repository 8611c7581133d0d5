"""Stations over HTTP: kept, read, changed and removed, each change against a version."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Body, Depends, Path, Query, Request
from pydantic import Field
from starlette.responses import Response

from api.http.answers import answer, if_none_match
from api.http.book import Book, IfMatch, Key, expected_version, versioned
from api.http.described import KEPT, documented
from api.http.limits import JsonRoute
from api.http.listing import NoQuery
from api.kept_shapes import StationKept, StationsPage, station_kept, stations_page
from diagnose.case import Station

router = APIRouter(prefix="/v1/stations", tags=["stations"], route_class=JsonRoute)
PLATES: dict[str, Any] = {
    "gas_wire": {
        "summary": "A solid wire with gas, as people write the sizes",
        "value": {
            "name": "Bay 3",
            "process": "GMAW",
            "wire": {"class": "ER70S-6", "diameter_mm": "0.035 in"},
            "polarity": {"electrode": "positive", "known": "looked"},
            "gas": {"name": "75Ar/25CO2", "flow_l_min": "35 cfh"},
            "gun": {"tip_mm": 0.9, "length_m": "15 ft"},
        },
    }
}
StationId = Annotated[
    str, Path(alias="id", max_length=80, description="The station's id, or its name.")
]
Plate = Annotated[Station, Body(openapi_examples=PLATES)]
NoQueryAtAll = Annotated[NoQuery, Query()]


class StationsWanted(NoQuery):
    """Which page of the stations."""

    limit: Annotated[int, Field(ge=1, le=500, description="Stations on a page.")] = 50
    cursor: Annotated[
        str | None, Field(max_length=2000, description="The `next` of the page before.")
    ] = None


@router.post(
    "",
    operation_id="add_station",
    status_code=201,
    response_model=StationKept,
    responses=documented(400, 409, 413, 415, 422, *KEPT),
)
def add_station(
    request: Request, plate: Plate, book: Book, key: Key, query: NoQueryAtAll
) -> Response:
    """Keep a new station under its name. The same Idempotency-Key again gives the kept one back."""
    station = book.add_station(plate, key=key)
    where = f"{router.prefix}/{station.id}"
    return versioned(request, station_kept(station), station.version, created=where)


@router.get(
    "",
    operation_id="list_stations",
    response_model=StationsPage,
    responses=documented(400, 422, *KEPT),
)
def list_stations(book: Book, query: Annotated[StationsWanted, Query()]) -> Response:
    """The stations by name, in pages. A page goes on where the last one ended, whatever was added."""
    return answer(stations_page(book.stations(limit=query.limit, cursor=query.cursor)))


@router.get(
    "/{id}",
    operation_id="get_station",
    response_model=StationKept,
    responses=documented(304, 422, *KEPT),
    dependencies=[Depends(if_none_match)],
)
def get_station(
    request: Request, station_id: StationId, book: Book, query: NoQueryAtAll
) -> Response:
    """One station. Its ETag names the version, to write against."""
    station = book.station(station_id)
    return versioned(request, station_kept(station), station.version)


@router.put(
    "/{id}",
    operation_id="change_station",
    response_model=StationKept,
    responses=documented(400, 409, 412, 413, 415, 422, 428, *KEPT),
)
def change_station(
    *,
    request: Request,
    station_id: StationId,
    plate: Plate,
    book: Book,
    tag: IfMatch,
    query: NoQueryAtAll,
) -> Response:
    """Replace a station's plate. Cases that are kept stay as they were."""
    old = book.station(station_id)
    named = plate if plate.name else plate.model_copy(update={"name": old.name})
    expected = expected_version(tag, old.version)
    station = book.edit_station(old.id, named, expected=expected)
    return versioned(request, station_kept(station), station.version)


@router.delete(
    "/{id}",
    operation_id="remove_station",
    response_model=StationKept,
    responses=documented(409, 412, 422, 428, *KEPT),
)
def remove_station(
    station_id: StationId, book: Book, tag: IfMatch, query: NoQueryAtAll
) -> Response:
    """Remove a station that no case is about, and answer with what was removed."""
    old = book.station(station_id)
    expected = expected_version(tag, old.version)
    return answer(station_kept(book.remove_station(old.id, expected=expected)))
