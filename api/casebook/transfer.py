"""A casebook as JSON Lines: the form, then stations, then each case with its entries.

An export of the same content is the same bytes, whichever database it comes from.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, Row, insert, select, tuple_, update
from sqlalchemy.exc import IntegrityError

from api.casebook.database import Database
from api.casebook.events import Event, check_order, checked_body, replay, written
from api.casebook.records import (
    Carried,
    StoredStation,
    case_row,
    checked_key,
    checked_who,
    event_row,
    plate_of,
    plate_text,
)
from api.casebook.station_rows import name_key, named_plate
from api.casebook.summary import summary
from api.casebook.tables import cases, events, stations
from api.errors import CasebookError, ImportRefused
from diagnose.case import Station

_FORM = {"wontweld_casebook": 1}
_CASES_AT_ONCE = 500
_EVENTS_AT_ONCE = 5000
_ID = re.compile(r"[a-z0-9][a-z0-9-]{0,63}\Z")


def exported(connection: Connection) -> Iterator[str]:
    """Yield the lines of an export, each with its line end, from one moment of the casebook."""
    yield written(_FORM) + "\n"
    for row in connection.execute(select(stations).order_by(stations.c.id)):
        yield written({"station": _station_out(row)}) + "\n"
    for batch in _batches(connection):
        ids = [row.id for row in batch]
        query = select(events).where(events.c.case_id.in_(ids))
        entries: dict[str, list[Row[Any]]] = {}
        for entry in connection.execute(query.order_by(events.c.case_id, events.c.seq)):
            entries.setdefault(entry.case_id, []).append(entry)
        for row in batch:
            yield written({"case": _only_known(row, "id", "station_id", "key")}) + "\n"
            for entry in entries[row.id]:
                yield written({"event": _event_out(entry)}) + "\n"


def _batches(connection: Connection) -> Iterator[list[Row[Any]]]:
    place = tuple_(cases.c.opened_at, cases.c.id)
    query = select(cases).order_by(cases.c.opened_at, cases.c.id).limit(_CASES_AT_ONCE)
    batch = list(connection.execute(query))
    while batch:
        yield batch
        last = select(cases.c.opened_at, cases.c.id).where(cases.c.id == batch[-1].id)
        batch = list(connection.execute(query.where(place > last.scalar_subquery())))


def _station_out(row: Row[Any]) -> dict[str, Any]:
    return _only_known(row, "id", "version", "key") | {
        "plate": json.loads(row.plate),
        "created_at": _moment_out(row.created_at),
        "updated_at": _moment_out(row.updated_at),
    }


def _event_out(row: Row[Any]) -> dict[str, Any]:
    return _only_known(row, "case_id", "seq", "event_id", "kind", "who") | {
        "at": _moment_out(row.at),
        "body": json.loads(row.body),
    }


def _only_known(row: Row[Any], *names: str) -> dict[str, Any]:
    return {name: value for name in names if (value := getattr(row, name)) is not None}


def _moment_out(moment: datetime) -> str:
    return moment.isoformat(timespec="microseconds").replace("+00:00", "Z")


@dataclass(slots=True)
class _CaseIn:
    line: int
    id: str
    station_id: str | None
    key: str | None
    events: list[Event] = field(default_factory=list)


def import_lines(database: Database, lines: Iterable[str]) -> Carried:
    """Take in the lines of an export, a few thousand entries at a time, and say what was new.

    What is there already is passed over, so an import that broke off is simply run again. Each
    case comes in whole or not at all.

    Raises ImportRefused with the number of the line; the cases before it are in.
    """
    total = Carried(0, 0, 0)
    batch: list[_CaseIn] = []
    waiting = 0
    for number, kind, record in _records(lines):
        with _named_line(number):
            if kind == "station":
                total = _plus(total, _take_station(database, _station_in(record)))
            elif kind == "case":
                if waiting >= _EVENTS_AT_ONCE:
                    total = _plus(total, _take_cases(database, batch))
                    batch, waiting = [], 0
                batch.append(_case_in(number, record))
            else:
                _add_event(batch, record)
                waiting += 1
    return _plus(total, _take_cases(database, batch))


def _plus(one: Carried, other: Carried) -> Carried:
    return Carried(
        one.stations + other.stations,
        one.cases + other.cases,
        one.events + other.events,
        one.known + other.known,
    )


@contextmanager
def _named_line(number: int) -> Iterator[None]:
    """Name the line in whatever is refused inside the block; a failing database is let through."""
    try:
        yield
    except ImportRefused as error:
        if error.where:
            raise
        raise _refused(number, error.what) from None
    except CasebookError as error:
        if error.status >= 500:
            raise
        place = f"{error.where}: " if error.where else ""
        raise _refused(number, place + error.what) from None
    except (KeyError, TypeError, ValueError) as error:
        missing = f"'{error.args[0]}' is missing" if isinstance(error, KeyError) else str(error)
        raise _refused(number, missing.partition("\n")[0]) from None


def _refused(number: int, what: str) -> ImportRefused:
    return ImportRefused(
        what,
        where=f"line {number}",
        next_step="Put the line right and import again; what is in already is passed over",
    )


def _records(lines: Iterable[str]) -> Iterator[tuple[int, str, dict[str, Any]]]:
    form_seen = False
    for number, line in enumerate(lines, start=1):
        if not line.strip():
            continue
        with _named_line(number):
            record = _parsed(line)
            if not form_seen:
                _check_form(record)
                form_seen = True
                continue
            kind, content = next(iter(record.items()))
            if kind not in ("station", "case", "event") or not isinstance(content, dict):
                raise ImportRefused(f"a line is a station, a case or an event, not '{kind}'")
        yield number, kind, content


def _parsed(line: str) -> dict[str, Any]:
    try:
        record = json.loads(line)
    except (ValueError, RecursionError):
        raise ImportRefused("this line is not JSON; the file may have been cut off") from None
    if not isinstance(record, dict) or len(record) != 1:
        raise ImportRefused("a line holds one object with one name")
    return record


def _check_form(record: dict[str, Any]) -> None:
    if set(record) != set(_FORM):
        raise ImportRefused("this is no export of a casebook: its first line does not say so")
    if record != _FORM:
        raise ImportRefused("this export has a newer form than this program knows")


def _id_in(value: object) -> str:
    if not isinstance(value, str) or not _ID.match(value):
        raise ImportRefused("an id has 1 to 64 small letters, digits and -")
    return value


def _moment_in(value: object) -> datetime:
    moment = datetime.fromisoformat(value if isinstance(value, str) else "")
    if moment.tzinfo is None:
        raise ImportRefused(f"'{value}' has no time zone")
    return moment.astimezone(UTC)


def _whole_in(value: object) -> int:
    if type(value) is not int or not 1 <= value < 2**31:
        raise ImportRefused(f"'{value}' is not a whole number from 1 on")
    return value


def _key_in(record: dict[str, Any]) -> str | None:
    return checked_key(str(record["key"]), "key") if "key" in record else None


def _case_in(number: int, record: dict[str, Any]) -> _CaseIn:
    station_id = _id_in(record["station_id"]) if "station_id" in record else None
    return _CaseIn(number, _id_in(record["id"]), station_id, _key_in(record))


def _station_in(record: dict[str, Any]) -> tuple[StoredStation, str | None]:
    name, plate = named_plate(Station.model_validate(record["plate"]))
    created_at, updated_at = _moment_in(record["created_at"]), _moment_in(record["updated_at"])
    version = _whole_in(record["version"])
    station_id = _id_in(record["id"])
    station = StoredStation(station_id, name, plate, created_at, updated_at, version)
    return station, _key_in(record)


def _add_event(batch: list[_CaseIn], record: dict[str, Any]) -> None:
    if not batch or record["case_id"] != batch[-1].id:
        raise ImportRefused("an entry stands below its case")
    entries = batch[-1].events
    if _whole_in(record["seq"]) != len(entries) + 1:
        raise ImportRefused(f"entry {len(entries) + 1} is missing before this one")
    kind = record["kind"]
    event = Event(
        case_id=batch[-1].id,
        seq=len(entries) + 1,
        event_id=checked_key(str(record["event_id"]), "event_id"),
        kind=kind,
        at=_moment_in(record["at"]),
        who=checked_who(record.get("who")),
        body=checked_body(kind, record["body"]),
    )
    entries.append(event)


def _take_station(database: Database, given: tuple[StoredStation, str | None]) -> Carried:
    station, key = given
    values = {
        "name": station.name,
        "name_key": name_key(station.name),
        "plate": plate_text(station.plate),
        "updated_at": station.updated_at,
        "version": station.version,
    }
    try:
        with database.writing() as connection:
            row = connection.execute(select(stations).where(stations.c.id == station.id)).first()
            if row is None:
                values |= {"id": station.id, "created_at": station.created_at, "key": key}
                connection.execute(insert(stations).values(values))
                return Carried(1, 0, 0)
            if row.version < station.version:
                here = stations.c.id == station.id
                connection.execute(update(stations).where(here).values(values))
            elif row.version == station.version and plate_of(row.plate) != station.plate:
                raise ImportRefused(f"station {station.id} is here with another plate")
            return Carried(0, 0, 0)
    except IntegrityError:
        raise ImportRefused(
            f"the name '{station.name}' or the key belongs to another station here"
        ) from None


def _take_cases(database: Database, batch: list[_CaseIn]) -> Carried:
    for case in batch:
        with _named_line(case.line):
            _check_whole(case)
    for last_try in (False, True):
        try:
            with database.writing() as connection:
                return _write_cases(connection, batch)
        except IntegrityError:
            # Another program stored one of these cases between our look and our write: look again.
            if last_try:
                raise _refused(
                    batch[0].line,
                    "a case from here on names a station that is not here, or a key that is taken",
                ) from None
    raise AssertionError("the second try returns or raises")


def _check_whole(case: _CaseIn) -> None:
    if not case.events:
        raise ImportRefused(f"case {case.id} has no entries")
    if len({event.event_id for event in case.events}) < len(case.events):
        raise ImportRefused(f"two entries of case {case.id} have one event_id")
    check_order(case.events)
    replay(case.events)


def _write_cases(connection: Connection, batch: list[_CaseIn]) -> Carried:
    stored = _stored_entries(connection, [case.id for case in batch])
    new_cases: list[dict[str, Any]] = []
    new_events: list[dict[str, Any]] = []
    for case in batch:
        rows = [event_row(event) for event in case.events]
        known = stored.get(case.id, [])
        _check_same(case, rows, known)
        line = case_row(summary(case.events))
        if not known:
            new_cases.append(
                {"id": case.id, "station_id": case.station_id, "key": case.key, **line}
            )
        elif len(known) < len(rows):
            connection.execute(update(cases).where(cases.c.id == case.id).values(line))
        new_events += rows[len(known) :]
    if new_cases:
        connection.execute(insert(cases), new_cases)
    if new_events:
        connection.execute(insert(events), new_events)
    return Carried(0, len(new_cases), len(new_events), len(batch) - len(new_cases))


def _stored_entries(connection: Connection, ids: list[str]) -> dict[str, list[dict[str, Any]]]:
    stored: dict[str, list[dict[str, Any]]] = {}
    for start in range(0, len(ids), _CASES_AT_ONCE):
        some = events.c.case_id.in_(ids[start : start + _CASES_AT_ONCE])
        for row in connection.execute(select(events).where(some).order_by(events.c.seq)):
            stored.setdefault(row.case_id, []).append(dict(row._mapping))
    return stored


def _check_same(case: _CaseIn, given: list[dict[str, Any]], known: list[dict[str, Any]]) -> None:
    for one, other in zip(given, known, strict=False):
        if one != other:
            raise _refused(
                case.line,
                f"case {case.id} is here already, and its entry {other['seq']} says something else",
            )
