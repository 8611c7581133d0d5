"""Stations as rows: every function works inside a transaction it is given."""

from __future__ import annotations

import difflib
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, delete, insert, or_, select, update

from api.casebook.cursor import mark, position
from api.casebook.events import Body, laid_over
from api.casebook.records import Page, StoredStation, checked_name, plate_of, plate_text
from api.casebook.tables import stations
from api.errors import (
    EntryRefused,
    KeyConflict,
    NameTaken,
    NotFound,
    StationInUse,
    VersionConflict,
)
from diagnose.case import Station

_LIST = ("stations",)


def name_key(name: str) -> str:
    """Return the name as it is compared: 'Bay  3' and 'bay 3' are one station."""
    return " ".join(name.split()).casefold()


def named_plate(plate: Station) -> tuple[str, Station]:
    """Return the tidied name and the plate under it. Raises EntryRefused without a name."""
    if plate.name is None:
        raise EntryRefused(
            "a station needs a name", where="station.name", next_step="Name it as the shop does"
        )
    name = checked_name(plate.name, "station.name")
    return name, plate.model_copy(update={"name": name})


def add(connection: Connection, station: StoredStation, key: str | None) -> StoredStation:
    """Store a new station; the same key with the same plate gives the stored one back.

    Raises KeyConflict, NameTaken; IntegrityError when another writer was first.
    """
    if key is not None and (row := _by(connection, stations.c.key == key)):
        if row.plate != plate_text(station.plate):
            raise KeyConflict("this key added another station", where=f"station {row.id}")
        return _station(row)
    _check_name_free(connection, station.name)
    values = _values(station) | {"key": key, "created_at": station.created_at}
    connection.execute(insert(stations).values(id=station.id, **values))
    return station


def edit(
    connection: Connection, station_id: str, plate: Station, expected: int, now: datetime
) -> StoredStation:
    """Replace the plate of a station. Raises NotFound, VersionConflict, NameTaken."""
    old = get(connection, station_id)
    name, plate = named_plate(plate)
    if old.version != expected:
        raise VersionConflict(f"station {old.name}", expected=expected, actual=old.version)
    if name_key(name) != name_key(old.name):
        _check_name_free(connection, name)
    new = StoredStation(old.id, name, plate, old.created_at, now, expected + 1)
    here = (stations.c.id == old.id) & (stations.c.version == expected)
    if connection.execute(update(stations).where(here).values(_values(new))).rowcount != 1:
        actual = get(connection, old.id).version
        raise VersionConflict(f"station {old.name}", expected=expected, actual=actual)
    return new


def remove(connection: Connection, station_id: str, expected: int) -> StoredStation:
    """Remove a station. Raises NotFound, VersionConflict; IntegrityError while cases are about it."""
    old = get(connection, station_id)
    here = (stations.c.id == old.id) & (stations.c.version == expected)
    if connection.execute(delete(stations).where(here)).rowcount != 1:
        raise VersionConflict(f"station {old.name}", expected=expected, actual=old.version)
    return old


def in_use(station: StoredStation) -> StationInUse:
    """Return the error that says cases are about the station."""
    return StationInUse(
        f"cases are about the station '{station.name}'",
        where=f"station {station.id}",
        next_step="Forget those cases first, or give the station another name",
    )


def id_of(connection: Connection, name: str) -> str | None:
    """Return the id of the station of this name, or None where none is kept."""
    row = _by(connection, stations.c.name_key == name_key(name))
    return None if row is None else str(row.id)


def get(connection: Connection, id_or_name: str) -> StoredStation:
    """Return a station by id or by name. Raises NotFound with the nearest name."""
    named = stations.c.name_key == name_key(id_or_name)
    row = _by(connection, or_(stations.c.id == id_or_name, named))
    if row is None:
        raise NotFound(
            f"there is no station '{id_or_name}'",
            where="stations",
            next_step=_nearest(connection, id_or_name),
        )
    return _station(row)


def page(connection: Connection, limit: int, cursor: str | None) -> Page[StoredStation]:
    """Return stations by name. Raises BadCursor."""
    query = select(stations).order_by(stations.c.name_key).limit(limit + 1)
    if cursor is not None:
        query = query.where(stations.c.name_key > position(_LIST, cursor, 1)[0])
    rows = connection.execute(query).all()
    more = mark(_LIST, [rows[limit - 1].name_key]) if len(rows) > limit else None
    return Page(tuple(_station(row) for row in rows[:limit]), more)


def on_plate(station: StoredStation, report: Body) -> dict[str, Any]:
    """Return a report with what it says of the station laid over the station's plate."""
    plate = station.plate.model_dump(mode="json", by_alias=True, exclude_none=True)
    return dict(report) | {"station": laid_over(plate, report.get("station", {}))}


def _values(station: StoredStation) -> dict[str, Any]:
    return {
        "name": station.name,
        "name_key": name_key(station.name),
        "plate": plate_text(station.plate),
        "updated_at": station.updated_at,
        "version": station.version,
    }


def _by(connection: Connection, condition: Any) -> Row[Any] | None:
    return connection.execute(select(stations).where(condition)).first()


def _check_name_free(connection: Connection, name: str) -> None:
    if row := _by(connection, stations.c.name_key == name_key(name)):
        raise NameTaken(
            f"there is a station '{row.name}' already",
            where=f"station {row.id}",
            next_step="Edit that one, or give this one another name",
        )


def _station(row: Row[Any]) -> StoredStation:
    return StoredStation(
        row.id, row.name, plate_of(row.plate), row.created_at, row.updated_at, row.version
    )


def _nearest(connection: Connection, wanted: str) -> str:
    names = {row.name_key: row.name for row in connection.execute(select(stations).limit(5000))}
    near = difflib.get_close_matches(name_key(wanted), names, n=1)
    return f"Nearest: '{names[near[0]]}'" if near else "List the stations to see their names"
