"""What is kept, in the one shape that `--json` prints and the API answers."""

from __future__ import annotations

import json
from datetime import datetime
from typing import TYPE_CHECKING, Any, Literal

from pydantic import Field

from diagnose.case import Case, Station, Who
from diagnose.diagnosis import Part

if TYPE_CHECKING:
    from api.casebook import CaseLine, Event, Page, StoredCase, StoredStation

State = Literal["open", "closed", "handed_over"]
Kind = Literal[
    "reported",
    "found",
    "read",
    "advised",
    "undone",
    "remedied",
    "proved",
    "closed",
    "handed_over",
]
Ending = Literal["cured", "not_in_our_list", "nothing_found", "withdrawn"]


class StationKept(Part):
    """A station of the casebook. `version` goes up by one with every edit; times are UTC."""

    id: str
    name: str
    version: int
    created_at: datetime
    updated_at: datetime
    plate: Station


class StationsPage(Part):
    """One page of the stations, by name."""

    items: list[StationKept]
    next: str | None = Field(description="Give it as `cursor` for the next page; null on the last.")


class CaseListed(Part):
    """A case in a list. `version` is the number of its last entry; times are UTC."""

    id: str
    station_id: str | None
    station_name: str | None
    state: State
    opened_at: datetime
    changed_at: datetime
    version: int
    complaint: str


class CasesPage(Part):
    """One page of the cases, newest first."""

    items: list[CaseListed]
    next: str | None = Field(description="Give it as `cursor` for the next page; null on the last.")


class Entry(Part):
    """One entry of a case, as it was made. `counts` is false when it was taken back, or is an undo."""

    seq: int
    event_id: str
    kind: Kind
    at: datetime
    who: str | None
    body: dict[str, Any]
    counts: bool


class CaseKept(Part):
    """A kept case: what it adds up to, how it stands, and every entry. Times are UTC."""

    id: str
    station_id: str | None
    version: int
    state: State
    complaint: str
    opened_at: datetime
    changed_at: datetime
    outcome: Ending | None
    faults: list[str] = Field(description="The faults it was closed with.")
    proved: bool = Field(description="The last proof was good.")
    handed_to: Who | None
    minutes: float = Field(description="What the entries say they took, together.")
    case: Case
    events: list[Entry]


def station_kept(stored: StoredStation) -> StationKept:
    """Return a station in the shape it leaves in."""
    return StationKept(
        id=stored.id,
        name=stored.name,
        version=stored.version,
        created_at=stored.created_at,
        updated_at=stored.updated_at,
        plate=stored.plate,
    )


def stations_page(page: Page[StoredStation]) -> StationsPage:
    """Return a page of stations in the shape it leaves in."""
    return StationsPage(items=[station_kept(one) for one in page.items], next=page.next)


def cases_page(page: Page[CaseLine]) -> CasesPage:
    """Return a page of cases in the shape it leaves in."""
    return CasesPage(items=[_listed(one) for one in page.items], next=page.next)


def _listed(line: CaseLine) -> CaseListed:
    return CaseListed(
        id=line.id,
        station_id=line.station_id,
        station_name=line.station_name,
        state=line.state,
        opened_at=line.opened_at,
        changed_at=line.changed_at,
        version=line.version,
        complaint=line.complaint,
    )


def case_kept(stored: StoredCase) -> CaseKept:
    """Return a case in the shape it leaves in."""
    from api.casebook import standing

    counting = {event.seq for event in standing(stored.events)}
    return CaseKept.model_validate(
        {
            "id": stored.id,
            "station_id": stored.station_id,
            "version": stored.version,
            "state": stored.summary.state,
            "complaint": stored.summary.complaint,
            "opened_at": stored.summary.opened_at,
            "changed_at": stored.summary.changed_at,
            "outcome": stored.summary.outcome,
            "faults": list(stored.summary.faults),
            "proved": stored.summary.proved,
            "handed_to": stored.summary.handed_to,
            "minutes": stored.summary.minutes,
            "case": stored.case,
            "events": [entry(event, event.seq in counting) for event in stored.events],
        }
    )


def entry(event: Event, counts: bool = True) -> Entry:
    """Return one entry in the shape it leaves in."""
    from api.casebook.events import written

    return Entry(
        seq=event.seq,
        event_id=event.event_id,
        kind=event.kind,
        at=event.at,
        who=event.who,
        # In one order, whether just made or read back: the same entry is always the same text.
        body=json.loads(written(event.body)),
        counts=counts,
    )
