"""The casebook: one object a program, safe from several threads and beside other programs."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import IO, Any

from sqlalchemy.exc import IntegrityError

from api.casebook import case_rows, station_rows
from api.casebook.backup import back_up
from api.casebook.database import Database, make_folder
from api.casebook.events import Event, Kind, State, checked_body
from api.casebook.ids import IdSource, random_key, random_sayable
from api.casebook.place import address
from api.casebook.records import (
    Carried,
    CaseLine,
    Forgotten,
    Outcome,
    Page,
    StoredCase,
    StoredStation,
    checked_key,
    checked_who,
)
from api.casebook.schema import bring_up_to_date, is_there
from api.casebook.transfer import exported, import_lines
from api.casebook_place import default_place
from api.errors import EntryRefused, StorageError, VersionConflict
from diagnose.case import Case, Station

Clock = Callable[[], datetime]
_TRIES_FOR_AN_ID = 8
_LONGEST_PAGE = 500


def utc_now() -> datetime:
    """Return the time of the machine, in UTC."""
    return datetime.now(UTC)


class Casebook:
    """Stations, cases and their entries in an SQLite file or on a PostgreSQL server.

    Every write is on the disk when the method returns. Made by `Casebook.open`.
    """

    def __init__(
        self, database: Database, *, clock: Clock, new_id: IdSource, new_key: IdSource
    ) -> None:
        self._database = database
        self._clock = clock
        self._new_id = new_id
        self._new_key = new_key

    @classmethod
    def open(
        cls,
        where: str | Path | None = None,
        *,
        clock: Clock = utc_now,
        new_id: IdSource = random_sayable,
        new_key: IdSource = random_key,
        wait_s: float = 10.0,
    ) -> Casebook:
        """Open the casebook at a path or URL, making or migrating it where needed.

        Parameters
        ----------
        where : path of a file, or postgresql://...; None for the user's own place
        clock : gives the time of each entry, with its zone
        new_id, new_key : give ids of cases and stations, and keys of entries nobody named
        wait_s : how long to wait for another program's lock, seconds

        Raises
        ------
        BadAddress, StorageError : with what to do next
        """
        place = default_place(os.environ, platform=sys.platform, home=Path.home())
        database = Database(address(place if where is None else where), wait_s)
        if database.file is not None:
            make_folder(database.file)
        try:
            bring_up_to_date(database)
        except BaseException:
            database.close()
            raise
        return cls(database, clock=clock, new_id=new_id, new_key=new_key)

    @classmethod
    def open_existing(cls, where: str | Path | None = None) -> Casebook | None:
        """Open the casebook at a path or URL as `open` does, or return None where there is none.

        Raises BadAddress, StorageError.
        """
        place = default_place(os.environ, platform=sys.platform, home=Path.home())
        database = Database(address(place if where is None else where), 10.0)
        try:
            there = is_there(database)
        finally:
            database.close()
        return cls.open(where) if there else None

    @property
    def where(self) -> str:
        """The place of this casebook, without secrets."""
        return self._database.where

    def close(self) -> None:
        """Let go of the file or the server."""
        self._database.close()

    def __enter__(self) -> Casebook:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def add_station(self, plate: Station, *, key: str | None = None) -> StoredStation:
        """Keep a new station under its name. The same `key` again gives the stored one back.

        Raises EntryRefused without a name, NameTaken, KeyConflict.
        """
        name, plate = station_rows.named_plate(plate)
        if key is not None:
            checked_key(key)
        for _ in range(_TRIES_FOR_AN_ID):
            now = self._now()
            station = StoredStation(self._new_id(), name, plate, now, now, 1)
            try:
                with self._database.writing() as connection:
                    return station_rows.add(connection, station, key)
            except IntegrityError:
                continue
        raise self._no_free_id()

    def edit_station(self, station: str, plate: Station, *, expected: int) -> StoredStation:
        """Replace the plate of a station, named by id or name, that stands at version `expected`.

        Raises NotFound, VersionConflict, NameTaken, EntryRefused.
        """
        try:
            with self._database.writing() as connection:
                return station_rows.edit(connection, station, plate, expected, self._now())
        except IntegrityError:
            # Another writer took the name first; looking again says so.
            with self._database.writing() as connection:
                return station_rows.edit(connection, station, plate, expected, self._now())

    def remove_station(self, station: str, *, expected: int) -> StoredStation:
        """Remove a station, named by id or name, that stands at version `expected`; return it.

        Raises NotFound, VersionConflict, StationInUse while any case is about it.
        """
        try:
            with self._database.writing() as connection:
                return station_rows.remove(connection, station, expected)
        except IntegrityError:
            raise station_rows.in_use(self.station(station)) from None

    def station(self, station: str) -> StoredStation:
        """Return a station by id or name. Raises NotFound with the nearest name."""
        with self._database.reading() as connection:
            return station_rows.get(connection, station)

    def stations(self, *, limit: int = 50, cursor: str | None = None) -> Page[StoredStation]:
        """Return a page of stations by name, 1 to 500 at once. Raises BadCursor, EntryRefused."""
        _check_limit(limit)
        with self._database.reading() as connection:
            return station_rows.page(connection, limit, cursor)

    def open_case(
        self,
        case: Case,
        *,
        station: str | None = None,
        who: str | None = None,
        key: str | None = None,
    ) -> StoredCase:
        """Keep a new case; its first entry is everything in `case`, laid over the station's plate.

        The plate is copied, so that the case stays as it was when the station is changed later. Where no
        station is given, the case belongs to the kept one that it names; its plate is as it was told.
        The same `key` again gives the stored case back.

        Raises NotFound for the station, KeyConflict, EntryRefused.
        """
        who = checked_who(who)
        key = None if key is None else checked_key(key)
        given = case.model_dump(mode="json", by_alias=True, exclude_unset=True)
        for _ in range(_TRIES_FOR_AN_ID):
            try:
                return self._open_case(given, station, who, key)
            except IntegrityError:
                continue
        raise self._no_free_id()

    def _open_case(
        self, given: dict[str, Any], station: str | None, who: str | None, key: str | None
    ) -> StoredCase:
        first_key = self._new_key() if key is None else key
        with self._database.writing() as connection:
            kept = None if station is None else station_rows.get(connection, station)
            station_id = kept.id if kept else None
            if key and (known := case_rows.opened_with(connection, key, given, station_id, who)):
                return known
            body = station_rows.on_plate(kept, given) if kept else given
            body = checked_body("reported", body)
            first = Event(self._new_id(), 1, first_key, "reported", self._now(), who, body)
            if kept is None and (name := given.get("station", {}).get("name")):
                station_id = station_rows.id_of(connection, name)
            return case_rows.open_case(connection, first, station_id, key)

    def append(
        self,
        case_id: str,
        kind: Kind,
        body: Mapping[str, Any],
        *,
        expected: int,
        event_id: str | None = None,
        who: str | None = None,
    ) -> Event:
        """Add an entry to a case whose last entry is number `expected`, and return it as stored.

        The same `event_id` with the same content again gives the stored entry back, whatever came
        after it; so a writer that does not know whether it was heard simply says it again.

        Raises
        ------
        NotFound : no such case
        VersionConflict : another entry was added since
        KeyConflict : the `event_id` stored something else
        EntryRefused, CaseClosed : the entry does not fit the case
        """
        new = Event(
            case_id=case_id,
            seq=expected + 1,
            event_id=checked_key(event_id or self._new_key(), "event_id"),
            kind=kind,
            at=self._now(),
            who=checked_who(who),
            body=checked_body(kind, body),
        )
        try:
            with self._database.writing() as connection:
                return case_rows.append(connection, new, expected)
        except IntegrityError:
            return self._after_losing(new, expected)

    def _after_losing(self, new: Event, expected: int) -> Event:
        """Another writer took the number or the key between our look and our write."""
        with self._database.reading() as connection:
            actual = case_rows.version(connection, new.case_id)
            if known := case_rows.same_key(connection, new):
                return known
        raise VersionConflict(f"case {new.case_id}", expected=expected, actual=actual)

    def events(self, case_id: str, *, after: int = 0) -> list[Event]:
        """Return the entries of a case in order, those after number `after`. Raises NotFound."""
        with self._database.reading() as connection:
            case_rows.version(connection, case_id)
            return case_rows.entries(connection, case_id, after)

    def case(self, case_id: str) -> StoredCase:
        """Return a case as it stands, with its version. Raises NotFound with the nearest id."""
        with self._database.reading() as connection:
            return case_rows.get(connection, case_id)

    def version(self, case_id: str) -> int:
        """Return the number of the last entry of a case. Raises NotFound with the nearest id."""
        with self._database.reading() as connection:
            return case_rows.version(connection, case_id)

    def cases(
        self,
        *,
        station: str | None = None,
        state: State | None = None,
        since: datetime | None = None,
        limit: int = 50,
        cursor: str | None = None,
    ) -> Page[CaseLine]:
        """Return a page of cases, newest first, 1 to 500 at once.

        Parameters
        ----------
        station : only those on this station, by id or name
        state : only open, closed or handed_over ones
        since : only those opened at this moment or later; needs a time zone

        Raises
        ------
        NotFound, BadCursor, EntryRefused
        """
        _check_limit(limit)
        since = _in_utc(since)
        with self._database.reading() as connection:
            station_id = None if station is None else station_rows.get(connection, station).id
            return case_rows.page(
                connection,
                station_id=station_id,
                state=state,
                since=since,
                limit=limit,
                cursor=cursor,
            )

    def causes(self) -> dict[str, int]:
        """Return cause -> cases that were closed as cured with it and whose last proof was good.

        A cause is one fault, or several in order of their ids, parted by blanks.
        """
        with self._database.reading() as connection:
            return case_rows.causes(connection)

    def outcomes(self, *, since: datetime | None = None) -> list[Outcome]:
        """Return what every case opened at `since` or later came to, oldest first.

        `since` needs a time zone. Raises EntryRefused.
        """
        since = _in_utc(since)
        with self._database.reading() as connection:
            return case_rows.outcomes(connection, since)

    def forget(self, case_id: str, *, expected: int | None = None) -> Forgotten:
        """Erase a case for good and say what was erased, without its content.

        Raises NotFound; VersionConflict when `expected` is given and another version stands.
        """
        with self._database.writing() as connection:
            gone = case_rows.forget(connection, case_id, expected)
        return replace(gone, remains=self._database.clear_traces())

    def export(self, to: IO[str]) -> int:
        """Write the casebook as it is at this moment as JSON Lines; return how many lines."""
        lines = 0
        with self._database.reading() as connection:
            for line in exported(connection):
                to.write(line)
                lines += 1
        return lines

    def import_(self, lines: Iterable[str]) -> Carried:
        """Take in an export; what is here already is passed over. Raises ImportRefused."""
        return import_lines(self._database, lines)

    def backup(self, to: str | Path) -> Path:
        """Write a consistent copy of the file, under load too. Raises BackupRefused."""
        return back_up(self._database, Path(to))

    def _now(self) -> datetime:
        return self._clock().astimezone(UTC)

    def _no_free_id(self) -> StorageError:
        return StorageError(
            "no free id was found",
            where=self.where,
            next_step="Try again, or look at the id source",
        )


def _in_utc(since: datetime | None) -> datetime | None:
    if since is not None and since.tzinfo is None:
        raise EntryRefused(
            "the time has no time zone", where="since", next_step="Add Z or an offset"
        )
    return None if since is None else since.astimezone(UTC)


def _check_limit(limit: int) -> None:
    if not 1 <= limit <= _LONGEST_PAGE:
        raise EntryRefused(
            f"a page has 1 to {_LONGEST_PAGE} lines",
            where="limit",
            next_step="Ask for fewer at once",
        )
