"""What the casebook holds, for a terminal: lists, one case entry by entry, plates, the fleet."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, datetime
from typing import Any

from api.casebook import StoredCase, StoredStation, standing
from api.cli.show.page import Page
from api.cli.show.table import bar, put_table
from api.fleet import FleetReport
from api.handover.words import SEEN, moment
from api.kept_shapes import CasesPage, StationsPage
from api.wording.figures import WHO, minutes_in_words
from diagnose.asks import question_of
from diagnose.handover.history import Noted, done_of, title_of
from diagnose.plate import Units, plate_lines
from diagnose.session.answers import BETTER, DONE, IN_ORDER, PASSED
from knowledge.loader import Knowledge

_STATES = {"open": "open", "closed": "closed", "handed_over": "handed over"}
_OUTCOMES = {
    "cured": "cured",
    "not_in_our_list": "the fault is not in our list",
    "nothing_found": "nothing found",
    "withdrawn": "the complaint was withdrawn",
}
_MOST_BARS = 12
_LONGEST_BAR = 30


def put_cases(page: Page, cases: CasesPage) -> None:
    """Put a list of cases, a line each."""
    put_table(
        page,
        ("case", "opened (UTC)", "state", "station", "complaint"),
        [
            (
                one.id,
                _minute(one.opened_at),
                _STATES[one.state],
                one.station_name or "",
                one.complaint,
            )
            for one in cases.items
        ],
    )


def put_stations(page: Page, stations: StationsPage) -> None:
    """Put a list of stations, a line each."""
    put_table(
        page,
        ("station", "id", "version", "changed (UTC)", "set-up"),
        [
            (one.name, one.id, str(one.version), _minute(one.updated_at), _short(one.plate))
            for one in stations.items
        ],
        right=(2,),
    )


def _minute(at: datetime) -> str:
    return at.astimezone(UTC).strftime("%Y-%m-%d %H:%M")


def _short(plate: Any) -> str:
    lines = {line.what: line.says for line in plate_lines(plate, "metric")}
    return "; ".join(
        lines[what] for what in ("Process", "Wire", "Polarity", "Gas") if what in lines
    )


def put_station(page: Page, station: StoredStation, units: Units) -> None:
    """Put one station with its whole plate."""
    page.put(station.name, style="heading")
    page.put(f"id {station.id}, version {station.version}, changed {moment(station.updated_at)}")
    _put_plate(page, station.plate, units)


def _put_plate(page: Page, plate: Any, units: Units) -> None:
    for line in plate_lines(plate, units):
        page.put(line.says, indent=2, mark=f"{line.what}:")


def put_case(page: Page, stored: StoredCase, knowledge: Knowledge) -> None:
    """Put one case: how it stands, the set-up, then every entry in order."""
    summary = stored.summary
    page.put(f"Case {stored.id}: {_STATES[summary.state]}", style="heading")
    page.put(summary.complaint)
    page.put(
        f"{_opened(stored)}. Last entry {moment(summary.changed_at)}, version {stored.version}."
    )
    if summary.minutes:
        page.put(f"Minutes entered: {summary.minutes:g}.")
    if plate_lines(stored.case.station, stored.case.units):
        page.heading("Station")
        _put_plate(page, stored.case.station, stored.case.units)
    page.heading("Entries")
    counting = {event.seq for event in standing(stored.events)}
    for event in stored.events:
        who = f" {event.who}:" if event.who else ""
        gone = "" if event.seq in counting or event.kind == "undone" else "(taken back) "
        text = "; ".join(_entry(event.kind, event.body, knowledge))
        page.put(f"{gone}{text}", mark=f"{event.seq:>2}  {_minute(event.at)}{who}")


def _opened(stored: StoredCase) -> str:
    where = stored.case.station.name
    return f"Opened {moment(stored.summary.opened_at)}" + (f" on {where}" if where else "")


def _entry(kind: str, body: Mapping[str, Any], knowledge: Knowledge) -> Iterator[str]:
    if kind in ("reported", "found", "read", "remedied", "proved"):
        if kind == "reported":
            yield from _reported(body, knowledge)
        for row in done_of([Noted(kind, body)], knowledge):
            yield f"{row.what}: {row.outcome}"
    else:
        yield _OF_THE_LOG[kind](body, knowledge)
    if body.get("minutes"):
        yield minutes_in_words(body["minutes"])
    if body.get("note") and body["note"] not in (BETTER, IN_ORDER):
        yield body["note"]


def _reported(body: Mapping[str, Any], knowledge: Knowledge) -> Iterator[str]:
    yield from (f"“{said}”" for said in body.get("said", ()))
    for one in body.get("symptoms", ()):
        known = knowledge.symptoms.get(one["id"])
        yield SEEN[one["seen"]] + (known.title if known else one["id"].replace("_", " "))
    started = body.get("started", {})
    kinds = [*started.get("change", ()), started.get("pattern"), started.get("only")]
    for kind in filter(None, kinds):
        row = knowledge.starts.get(kind)
        yield f"started: {row.title if row else kind.replace('_', ' ')}"
    for lifted in body.get("made_safe", ()):
        card = knowledge.stop_cards.get(lifted["stop_card"])
        title = card.title if card else lifted["stop_card"].replace("_", " ")
        yield f"made safe by {WHO[lifted['by']]}: {title}"
    if not (body.keys() - {"station", "user", "units"}):
        yield "the set-up was told"


def _advised(body: Mapping[str, Any], knowledge: Knowledge) -> str:
    name = body.get("id") or ""
    title = name.replace("_", " ")
    if body["step"] == "check" and name in knowledge.checks:
        title = knowledge.checks[name].title
    elif body["step"] == "remedy":
        title = f"put right: {title_of(knowledge, name)}"
    elif card := knowledge.stop_cards.get(name.removeprefix("stop_")):
        title = card.title
    elif body["step"] == "ask":
        title = question_of(knowledge, name)
    if body.get("why") in (DONE, PASSED):
        return f"{body['why']}: {title}"
    return f"advised, {body['step'].replace('_', ' ')}: {title}".rstrip(": ")


def _undone(body: Mapping[str, Any], _knowledge: Knowledge) -> str:
    return f"takes entry {body['seq']} back"


def _closed(body: Mapping[str, Any], knowledge: Knowledge) -> str:
    faults = "; ".join(title_of(knowledge, fault) for fault in body.get("faults", ()))
    return f"closed, {_OUTCOMES[body['outcome']]}" + (f": {faults}" if faults else "")


def _handed_over(body: Mapping[str, Any], _knowledge: Knowledge) -> str:
    return f"handed over to {WHO[body['to']]}"


_OF_THE_LOG = {
    "advised": _advised,
    "undone": _undone,
    "closed": _closed,
    "handed_over": _handed_over,
}


def put_fleet(page: Page, report: FleetReport) -> None:
    """Put the report on the fleet: totals, stations, faults with their bars, what was handed over."""
    since = f" since {moment(report.since)}" if report.since else ""
    page.put(f"{_count(report.cases, 'case')}{since}", style="heading")
    page.put(
        f"{_count(report.repeats, 'repeat complaint')} within {report.within_days:g} days; "
        f"{_minutes(report.minutes)} entered."
    )
    if not report.cases:
        return
    page.heading("Stations")
    put_table(
        page,
        ("cases", "open", "handed over", "repeats", "time", "station"),
        [
            (
                *map(str, (one.cases, one.open, one.handed_over, one.repeats)),
                *(_minutes(one.minutes), one.station),
            )
            for one in report.stations
        ],
        right=(0, 1, 2, 3, 4),
    )
    page.heading("Faults by station")
    put_table(
        page,
        ("cases", "proved", "came back", "time", "station", "fault"),
        [
            (
                *map(str, (one.cases, one.proved, one.came_back)),
                *(_minutes(one.minutes), one.station, one.title),
            )
            for one in report.faults
        ],
        right=(0, 1, 2, 3),
    )
    _put_bars(page, report)
    if report.handed_over:
        page.heading("Handed over")
        put_table(
            page,
            ("case", "to", "state", "station", "complaint"),
            [
                (one.case_id, one.to, _STATES[one.state], one.station, one.complaint)
                for one in report.handed_over
            ],
        )


def _put_bars(page: Page, report: FleetReport) -> None:
    counts: dict[str, int] = {}
    for row in report.faults:
        if row.fault is not None:
            counts[row.title] = counts.get(row.title, 0) + row.cases
    if not counts:
        return
    page.heading("Cases by fault, all stations")
    most = max(counts.values())
    longest = min(_LONGEST_BAR, page.width // 3)
    ordered: Sequence[tuple[str, int]] = sorted(counts.items(), key=lambda row: (-row[1], row[0]))
    for title, cases in ordered[:_MOST_BARS]:
        drawn = bar(cases / most, longest, page.encoding)
        page.put(f"{cases}  {title}", mark=drawn)
    if len(ordered) > _MOST_BARS:
        page.put(f"and {len(ordered) - _MOST_BARS} more")


def _count(number: int, what: str) -> str:
    return f"{number} {what}" + ("" if number == 1 else "s")


def _minutes(minutes: float) -> str:
    return minutes_in_words(minutes) if minutes else "0 min"
