"""The fleet over HTTP: which faults come back on which stations."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query
from pydantic import Field
from starlette.responses import Response

from api.fleet import WITHIN_DAYS, FleetReport, fleet_csv, fleet_report
from api.http.answers import Known, answer
from api.http.book import Book
from api.http.described import KEPT, documented
from api.http.limits import JsonRoute
from api.http.listing import NoQuery

router = APIRouter(prefix="/v1/fleet", tags=["cases"], route_class=JsonRoute)


class FleetWanted(NoQuery):
    """Since when, what counts as a repeat, and in which form."""

    within_days: Annotated[
        float, Field(ge=0, le=3650, description="Another complaint so soon is a repeat.")
    ] = WITHIN_DAYS
    since: Annotated[
        datetime | None, Field(description="Opened at this moment or later; with a time zone.")
    ] = None
    form: Literal["json", "csv"] = "json"


def _responses() -> dict[int | str, dict[str, Any]]:
    return {
        200: {
            "description": "The report, in the form asked for.",
            "content": {"text/csv": {"schema": {"type": "string"}}},
        },
        **documented(422, *KEPT),
    }


@router.get("", operation_id="get_fleet", response_model=FleetReport, responses=_responses())
def get_fleet(knowledge: Known, book: Book, query: Annotated[FleetWanted, Query()]) -> Response:
    """Which faults come back on which stations, the time they took, and what was handed over."""
    outcomes = book.outcomes(since=query.since)
    report = fleet_report(outcomes, knowledge, within_days=query.within_days, since=query.since)
    if query.form == "csv":
        headers = {"Content-Disposition": 'attachment; filename="fleet.csv"'}
        return Response(fleet_csv(report), headers=headers, media_type="text/csv")
    return answer(report)
