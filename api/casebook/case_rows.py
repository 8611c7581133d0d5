"""Cases and their entries as rows: every function works inside a transaction it is given."""

from __future__ import annotations

import difflib
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, Row, bindparam, delete, func, insert, or_, select, tuple_, update

from api.casebook.cursor import mark, position
from api.casebook.events import Body, Event, State, check_next, laid_over
from api.casebook.records import (
    CaseLine,
    Forgotten,
    Outcome,
    Page,
    StoredCase,
    case_row,
    event_of,
    event_row,
    stored_case,
)
from api.casebook.summary import summary
from api.casebook.tables import cases, events, stations
from api.errors import BadCursor, KeyConflict, NotFound, VersionConflict


def open_case(
    connection: Connection, first: Event, station_id: str | None, key: str | None
) -> StoredCase:
    """Store a new case with its first entry.

    Raises IntegrityError when another writer was first or the id is taken.
    """
    values = case_row(summary([first]))
    connection.execute(
        insert(cases).values(id=first.case_id, station_id=station_id, key=key, **values)
    )
    connection.execute(insert(events).values(event_row(first)))
    return stored_case(first.case_id, station_id, [first])


def opened_with(
    connection: Connection, key: str, report: Body, station_id: str | None, who: str | None
) -> StoredCase | None:
    """Return the case that `key` opened. Raises KeyConflict when it was about something else.

    The plate may have been edited since, so of the station only what `report` says is compared.
    """
    row = connection.execute(select(cases).where(cases.c.key == key)).first()
    if row is None:
        return None
    known = stored_case(row.id, row.station_id, entries(connection, row.id))
    first = known.events[0]
    stored = {"station": {}} | dict(first.body)
    told = {**report, "station": laid_over(stored["station"], report.get("station", {}))}
    by_name = station_id is None and "name" in report.get("station", {})
    same_station = by_name or known.station_id == station_id
    if not same_station or (first.who, stored) != (who, told):
        raise KeyConflict(
            "this key opened another case",
            where=f"case {known.id}",
            next_step="Use a new key for a new case",
        )
    return known


def append(connection: Connection, new: Event, expected: int) -> Event:
    """Store `new` after entry number `expected`, or give back the entry its key has stored already.

    Raises NotFound, KeyConflict, VersionConflict, EntryRefused, CaseClosed; IntegrityError when
    another writer took the number first.
    """
    last_seq = _row(connection, new.case_id).last_seq
    if known := same_key(connection, new):
        return known
    if last_seq != expected:
        raise VersionConflict(f"case {new.case_id}", expected=expected, actual=last_seq)
    earlier = entries(connection, new.case_id)
    event = replace(new, seq=expected + 1)
    check_next(earlier, event)
    connection.execute(insert(events).values(event_row(event)))
    values = case_row(summary([*earlier, event]))
    connection.execute(update(cases).where(cases.c.id == event.case_id).values(values))
    return event


def same_key(connection: Connection, new: Event) -> Event | None:
    """Return what the key of `new` stored. Raises KeyConflict when that says something else."""
    here = (events.c.case_id == new.case_id) & (events.c.event_id == new.event_id)
    row = connection.execute(select(events).where(here)).first()
    if row is None:
        return None
    known = event_of(row)
    if not known.same_content(new.kind, new.who, new.body):
        raise KeyConflict(
            f"this key stored entry {known.seq}, which says something else",
            where=f"case {new.case_id}",
            next_step="Use a new key for a new entry",
        )
    return known


def version(connection: Connection, case_id: str) -> int:
    """Return the number of the last entry. Raises NotFound."""
    return int(_row(connection, case_id).last_seq)


def entries(connection: Connection, case_id: str, after: int = 0) -> list[Event]:
    """Return the entries of a case in order, from the one after number `after` on."""
    here = (events.c.case_id == case_id) & (events.c.seq > after)
    return [
        event_of(row)
        for row in connection.execute(select(events).where(here).order_by(events.c.seq))
    ]


def get(connection: Connection, case_id: str) -> StoredCase:
    """Return a case. Raises NotFound with the nearest id."""
    row = _row(connection, case_id)
    return stored_case(case_id, row.station_id, entries(connection, case_id))


def page(
    connection: Connection,
    *,
    station_id: str | None,
    state: State | None,
    since: datetime | None,
    limit: int,
    cursor: str | None,
) -> Page[CaseLine]:
    """Return cases, newest first, that were opened at `since` or later. Raises BadCursor."""
    of = ("cases", station_id, state, since.isoformat() if since else None)
    query = select(cases, stations.c.name.label("station_name")).outerjoin(stations)
    if station_id is not None:
        query = query.where(cases.c.station_id == station_id)
    if state is not None:
        query = query.where(cases.c.state == state)
    if since is not None:
        query = query.where(cases.c.opened_at >= since)
    if cursor is not None:
        query = query.where(tuple_(cases.c.opened_at, cases.c.id) < _position(of, cursor))
    query = query.order_by(cases.c.opened_at.desc(), cases.c.id.desc()).limit(limit + 1)
    rows = connection.execute(query).all()
    last = rows[limit - 1] if len(rows) > limit else None
    more = mark(of, [last.opened_at.isoformat(), last.id]) if last else None
    return Page(tuple(_line(row) for row in rows[:limit]), more)


def causes(connection: Connection) -> dict[str, int]:
    """Return cause -> cases closed with it and proved: one pass over an index, no entry is read."""
    counted = cases.c.proved & cases.c.cause.is_not(None)
    query = select(cases.c.cause, func.count()).where(counted).group_by(cases.c.cause)
    return {cause: int(number) for cause, number in connection.execute(query)}


def outcomes(connection: Connection, since: datetime | None) -> list[Outcome]:
    """Return what the cases came to, in the order they were opened."""
    query = select(cases, stations.c.name.label("station_name")).outerjoin(stations)
    if since is not None:
        query = query.where(cases.c.opened_at >= since)
    rows = connection.execute(query.order_by(cases.c.opened_at, cases.c.id))
    return [_outcome(row) for row in rows]


def _outcome(row: Row[Any]) -> Outcome:
    faults = tuple((row.cause or "").split())
    return Outcome(
        *(row.id, row.station_id, row.station_name, row.state, row.opened_at, row.changed_at),
        *(row.last_seq, row.complaint, faults, row.proved, row.handed_to, row.minutes),
    )


def forget(connection: Connection, case_id: str, expected: int | None) -> Forgotten:
    """Erase a case and its entries. Raises NotFound, VersionConflict."""
    row = connection.execute(select(cases).where(cases.c.id == case_id).with_for_update()).first()
    if row is None:
        raise _not_found(connection, case_id)
    if expected is not None and row.last_seq != expected:
        raise VersionConflict(f"case {case_id}", expected=expected, actual=row.last_seq)
    kinds = Counter(event.kind for event in entries(connection, case_id))
    connection.execute(delete(events).where(events.c.case_id == case_id))
    connection.execute(delete(cases).where(cases.c.id == case_id))
    return Forgotten(
        case_id, row.station_id, row.opened_at, sum(kinds.values()), dict(sorted(kinds.items())), ""
    )


def _position(of: Sequence[object], cursor: str) -> Any:
    opened_at, case_id = position(of, cursor, 2)
    try:
        moment = datetime.fromisoformat(opened_at).astimezone(UTC)
    except (ValueError, OverflowError):
        raise BadCursor("this page mark cannot be read", where="cursor") from None
    return tuple_(_bound(cases.c.opened_at, moment), _bound(cases.c.id, case_id))


def _bound(column: Any, value: object) -> Any:
    return bindparam(None, value, type_=column.type)


def _line(row: Row[Any]) -> CaseLine:
    return CaseLine(
        row.id,
        row.station_id,
        row.station_name,
        row.state,
        row.opened_at,
        row.changed_at,
        row.last_seq,
        row.complaint,
    )


def _row(connection: Connection, case_id: str) -> Row[Any]:
    row = connection.execute(select(cases).where(cases.c.id == case_id)).first()
    if row is None:
        raise _not_found(connection, case_id)
    return row


def _not_found(connection: Connection, case_id: str) -> NotFound:
    first, _, second = case_id.partition("-")
    alike = or_(
        cases.c.id.startswith(first, autoescape=True), cases.c.id.endswith(second, autoescape=True)
    )
    ids = list(connection.scalars(select(cases.c.id).where(alike).limit(1000))) if second else []
    near = difflib.get_close_matches(case_id, ids, n=1)
    return NotFound(
        f"there is no case '{case_id}'",
        where="cases",
        next_step=f"Nearest: '{near[0]}'" if near else "List the cases to see their ids",
    )
