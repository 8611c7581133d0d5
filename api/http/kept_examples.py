"""Examples of what is kept, for the API's description: a case with all that follows from it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Any

from pydantic import BaseModel

from api.casebook import CaseLine, Event, Outcome, Page, StoredStation
from api.casebook.records import StoredCase, stored_case
from api.fleet import fleet_report
from api.handover import sheet_of
from api.http.cases import CaseForgotten, CaseOpened, EntriesListed, NextMove
from api.http.entries_of_cases import WRITTEN
from api.kept_shapes import case_kept, cases_page, entry, station_kept, stations_page
from diagnose.case import Case, Station
from diagnose.reason import reason
from diagnose.session.history import History
from diagnose.session.moves import hand_over, leaders, next_move
from knowledge.loader import Knowledge

_OPENED = datetime(2031, 5, 4, 9, 12, tzinfo=UTC)
_CASE, _STATION = "tupot-ruroz", "babab-dupal"
_TOLD: dict[str, Any] = {
    "said": ["wire feeds, no arc"],
    "symptoms": [{"id": "tingle", "seen": "yes"}, {"id": "no_arc", "seen": "yes"}],
    "station": {
        "name": "Bay 3",
        "process": "GMAW",
        "wire": {"class": "ER70S-6"},
        "clamp": {"kind": "spring"},
    },
}
_ENTRIES: tuple[tuple[Any, dict[str, Any]], ...] = (
    ("reported", _TOLD),
    ("found", {"check": "look_at_work_clamp", "result": "clamp_tight", "minutes": 1.0}),
    ("handed_over", {"to": "service"}),
)


def kept_wholes(knowledge: Knowledge) -> Iterator[BaseModel]:
    """Return an example of everything that is kept and of everything that follows from it."""
    stored = _stored(knowledge)
    station = StoredStation(
        _STATION, "Bay 3", Station.model_validate(_TOLD["station"]), _OPENED, _OPENED, 1
    )
    yield station_kept(station)
    yield stations_page(Page((station,), None))
    yield CaseOpened(case=Case(said=["wire feeds, no arc"]), station="Bay 3", who="day shift")
    yield case_kept(stored)
    yield cases_page(Page((_line(stored),), None))
    yield EntriesListed(items=[entry(event) for event in stored.events])
    yield CaseForgotten(
        case_id=_CASE,
        opened_at=_OPENED,
        entries=3,
        kinds={"found": 1, "handed_over": 1, "reported": 1},
        remains="Exports and backups made before still hold it",
    )
    for written in WRITTEN:
        yield written.body.model_validate(written.example)
    yield from _moves(stored.case, knowledge)
    yield sheet_of(stored, knowledge)
    yield fleet_report([_outcome(stored, ())], knowledge)
    yield fleet_report([_outcome(stored, ("work_clamp_off",))], knowledge, since=_OPENED)


def _stored(knowledge: Knowledge) -> StoredCase:
    good = knowledge.checks["look_at_work_clamp"].nothing_found.result
    return stored_case(
        _CASE,
        _STATION,
        [
            Event(
                case_id=_CASE,
                seq=seq,
                event_id=f"key-{seq}",
                kind=kind,
                at=_OPENED + timedelta(minutes=4 * (seq - 1)),
                who="day shift",
                body=body | ({"result": good} if kind == "found" else {}),
            )
            for seq, (kind, body) in enumerate(_ENTRIES, start=1)
        ],
    )


def _moves(case: Case, knowledge: Knowledge) -> Iterator[NextMove]:
    """Return moves that between them have every part of a step: choices, and what is asked of whom."""
    reasoned = reason(case, knowledge)
    yield NextMove(version=3, step=hand_over(reasoned, History()), leaders=leaders(reasoned))
    safe = reason(case.model_copy(update={"symptoms": case.symptoms[1:]}), knowledge)
    yield NextMove(version=3, step=next_move(safe, History()), leaders=leaders(safe))


def _line(stored: StoredCase) -> CaseLine:
    return CaseLine(
        *(_CASE, _STATION, "Bay 3", stored.summary.state),
        *(_OPENED, stored.summary.changed_at, stored.version, stored.summary.complaint),
    )


def _outcome(stored: StoredCase, faults: tuple[str, ...]) -> Outcome:
    line = _line(stored)
    return Outcome(
        id=line.id,
        station_id=line.station_id,
        station_name=line.station_name,
        state=line.state,
        opened_at=line.opened_at,
        changed_at=line.changed_at,
        version=line.version,
        complaint=line.complaint,
        faults=faults,
        proved=bool(faults),
        handed_to="service",
        minutes=1.0,
    )
