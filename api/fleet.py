"""The fleet: which faults come back on which stations, what it took, and what was handed over. Pure.

A complaint is a repeat when its station had another one that was last written to no longer before than
the days asked for. It came back when both were closed with the same fault.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Literal

from pydantic import Field

from api.csv_text import csv_text
from diagnose.diagnosis import Part, Who
from knowledge.loader import Knowledge

if TYPE_CHECKING:
    from api.casebook import Outcome

WITHIN_DAYS = 30.0
"""Days within which another complaint on a station counts as a repeat (judgement)."""
MOST_HANDED_OVER = 50
NO_STATION = "(no station)"


class StationRow(Part):
    """What one station had: cases by state, minutes, and complaints that were repeats."""

    station: str
    cases: int
    open: int
    closed: int
    handed_over: int
    repeats: int
    minutes: float


class FaultRow(Part):
    """One fault on one station; `fault` None counts the cases that were not closed as cured.

    Where a case had several faults, each takes an equal part of its minutes.
    """

    station: str
    fault: str | None
    title: str
    cases: int
    proved: int
    came_back: int
    minutes: float
    last_at: datetime


class HandedOverRow(Part):
    """A case that went to somebody else."""

    case_id: str
    station: str
    to: Who
    state: Literal["open", "closed", "handed_over"]
    changed_at: datetime
    complaint: str


class FleetReport(Part):
    """The fleet since a moment. Times are UTC, `minutes` are what the entries say they took."""

    since: datetime | None
    within_days: float
    cases: int
    repeats: int
    minutes: float
    stations: list[StationRow] = Field(description="Most repeats first, then cases, then name.")
    faults: list[FaultRow] = Field(description="Came back most first, then cases, then names.")
    handed_over: list[HandedOverRow] = Field(description="Newest first, at most 50.")


@dataclass
class _Tally:
    cases: int = 0
    proved: int = 0
    came_back: int = 0
    minutes: float = 0.0
    states: list[str] = field(default_factory=list)
    last_at: datetime | None = None


def fleet_report(
    outcomes: Sequence[Outcome],
    knowledge: Knowledge,
    *,
    within_days: float = WITHIN_DAYS,
    since: datetime | None = None,
) -> FleetReport:
    """Return the report on `outcomes`, which are in the order the cases were opened.

    `since` is told in the report only; within_days >= 0.
    """
    repeats, came_back = _repeats(outcomes, timedelta(days=within_days))
    return FleetReport(
        since=since,
        within_days=within_days,
        cases=len(outcomes),
        repeats=len(repeats),
        minutes=sum(one.minutes for one in outcomes),
        stations=_stations(outcomes, repeats),
        faults=_faults(outcomes, came_back, knowledge),
        handed_over=_handed_over(outcomes),
    )


def _repeats(
    outcomes: Sequence[Outcome], within: timedelta
) -> tuple[frozenset[str], frozenset[tuple[str, str]]]:
    """Return the cases that are repeats, and the (case, fault) that came back.

    Only the one before is looked at: of several, the latest end is the nearest.
    """
    ended: dict[str, datetime] = {}
    last_with: dict[tuple[str, str], datetime] = {}
    repeats: set[str] = set()
    came_back: set[tuple[str, str]] = set()
    for one in outcomes:
        if one.station_id is None:
            continue
        before = ended.get(one.station_id)
        if before is not None and one.opened_at - before <= within:
            repeats.add(one.id)
        ended[one.station_id] = max(one.changed_at, before or one.changed_at)
        for fault in one.faults:
            place = (one.station_id, fault)
            earlier = last_with.get(place)
            if earlier is not None and one.opened_at - earlier <= within:
                came_back.add((one.id, fault))
            last_with[place] = max(one.changed_at, earlier or one.changed_at)
    return frozenset(repeats), frozenset(came_back)


def _name(one: Outcome) -> str:
    return one.station_name or NO_STATION


def _stations(outcomes: Iterable[Outcome], repeats: frozenset[str]) -> list[StationRow]:
    tallies: dict[str, _Tally] = {}
    for one in outcomes:
        tally = tallies.setdefault(_name(one), _Tally())
        tally.cases += 1
        tally.states.append(one.state)
        tally.came_back += one.id in repeats
        tally.minutes += one.minutes
    rows = [
        StationRow(
            station=name,
            cases=tally.cases,
            open=tally.states.count("open"),
            closed=tally.states.count("closed"),
            handed_over=tally.states.count("handed_over"),
            repeats=tally.came_back,
            minutes=tally.minutes,
        )
        for name, tally in tallies.items()
    ]
    return sorted(rows, key=lambda row: (-row.repeats, -row.cases, row.station))


def _faults(
    outcomes: Iterable[Outcome], came_back: frozenset[tuple[str, str]], knowledge: Knowledge
) -> list[FaultRow]:
    tallies: dict[tuple[str, str | None], _Tally] = {}
    for one in outcomes:
        faults: tuple[str | None, ...] = one.faults or (None,)
        for fault in faults:
            tally = tallies.setdefault((_name(one), fault), _Tally())
            tally.cases += 1
            tally.proved += one.proved and fault is not None
            tally.came_back += fault is not None and (one.id, fault) in came_back
            tally.minutes += one.minutes / len(faults)
            tally.last_at = max(one.changed_at, tally.last_at or one.changed_at)
    rows = [
        FaultRow(
            station=station,
            fault=fault,
            title=_title(fault, knowledge),
            cases=tally.cases,
            proved=tally.proved,
            came_back=tally.came_back,
            minutes=tally.minutes,
            last_at=tally.last_at,
        )
        for (station, fault), tally in tallies.items()
        if tally.last_at is not None
    ]
    return sorted(
        rows,
        key=lambda row: (row.fault is None, -row.came_back, -row.cases, row.station, row.title),
    )


def _title(fault: str | None, knowledge: Knowledge) -> str:
    if fault is None:
        return "No fault named"
    return knowledge.faults[fault].title if fault in knowledge.faults else fault.replace("_", " ")


def _handed_over(outcomes: Sequence[Outcome]) -> list[HandedOverRow]:
    rows = [
        HandedOverRow(
            case_id=one.id,
            station=_name(one),
            to=one.handed_to,
            state=one.state,
            changed_at=one.changed_at,
            complaint=one.complaint,
        )
        for one in outcomes
        if one.handed_to is not None
    ]
    rows.sort(key=lambda row: row.case_id)
    rows.sort(key=lambda row: row.changed_at, reverse=True)
    return rows[:MOST_HANDED_OVER]


_HEADS = ("station", "fault", "title", "cases", "proved", "came_back", "minutes", "last_at")


def fleet_csv(report: FleetReport) -> str:
    """Return the faults by station as CSV; the row without a fault counts cases not cured."""
    return csv_text(
        _HEADS,
        [
            (
                *(row.station, row.fault, row.title, row.cases, row.proved, row.came_back),
                *(round(row.minutes, 1), row.last_at.isoformat(timespec="seconds")),
            )
            for row in report.faults
        ],
    )
