"""What the casebook hands out, and the rows it is made from."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Generic, TypeVar

from sqlalchemy import Row

from api.casebook.events import Event, State, replay, written
from api.casebook.summary import Summary, summary
from api.errors import EntryRefused
from diagnose.case import Case, Station, Who

T = TypeVar("T")
_KEY = re.compile(r"[A-Za-z0-9._:-]{1,64}\Z")


@dataclass(frozen=True, slots=True)
class StoredStation:
    """A station of the casebook. `version` goes up by one with every edit; times are UTC."""

    id: str
    name: str
    plate: Station
    created_at: datetime
    updated_at: datetime
    version: int


@dataclass(frozen=True, slots=True)
class CaseLine:
    """A case in a list. `version` is the number of its last entry; times are UTC."""

    id: str
    station_id: str | None
    station_name: str | None
    state: State
    opened_at: datetime
    changed_at: datetime
    version: int
    complaint: str


@dataclass(frozen=True, slots=True)
class Outcome(CaseLine):
    """A case in a list, and what it came to.

    `faults` are those a cured case was closed with; `minutes` are what its entries say they took.
    """

    faults: tuple[str, ...]
    proved: bool
    handed_to: Who | None
    minutes: float


@dataclass(frozen=True, slots=True)
class StoredCase:
    """A case with all its entries, what they add up to, and the version to write against."""

    id: str
    station_id: str | None
    version: int
    case: Case
    summary: Summary
    events: tuple[Event, ...]


@dataclass(frozen=True, slots=True)
class Page(Generic[T]):
    """One page of a list, and the mark that asks for the next one; None on the last."""

    items: tuple[T, ...]
    next: str | None


@dataclass(frozen=True, slots=True)
class Forgotten:
    """What was erased, without its content, and where traces can remain."""

    case_id: str
    station_id: str | None
    opened_at: datetime
    entries: int
    kinds: dict[str, int]
    remains: str


@dataclass(frozen=True, slots=True)
class Carried:
    """How much an export wrote or an import added; `known` counts the cases that were there."""

    stations: int
    cases: int
    events: int
    known: int = 0


def stored_case(case_id: str, station_id: str | None, events: Iterable[Event]) -> StoredCase:
    """Return the case that `events`, in order and at least one, add up to."""
    entries = tuple(events)
    return StoredCase(
        id=case_id,
        station_id=station_id,
        version=entries[-1].seq,
        case=replay(entries),
        summary=summary(entries),
        events=entries,
    )


def event_of(row: Row[Any]) -> Event:
    """Return the entry in a row of `events`."""
    return Event(
        row.case_id, row.seq, row.event_id, row.kind, row.at, row.who, json.loads(row.body)
    )


def event_row(event: Event) -> dict[str, Any]:
    """Return the row of `events` for an entry."""
    return {
        "case_id": event.case_id,
        "seq": event.seq,
        "event_id": event.event_id,
        "kind": event.kind,
        "at": event.at,
        "who": event.who,
        "body": written(event.body),
    }


def case_row(line: Summary) -> dict[str, Any]:
    """Return the columns of `cases` that repeat what the entries say, for listing."""
    return {
        "state": line.state,
        "complaint": line.complaint,
        "opened_at": line.opened_at,
        "changed_at": line.changed_at,
        "last_seq": line.last_seq,
        "cause": _cause(line),
        "proved": line.proved,
        "handed_to": line.handed_to,
        "minutes": line.minutes,
    }


def _cause(line: Summary) -> str | None:
    """Return the faults a cured case turned out to be, parted by blanks, in order of their ids."""
    return (" ".join(sorted(set(line.faults))) or None) if line.outcome == "cured" else None


def checked_key(key: str, where: str = "key") -> str:
    """Return an idempotency key as it is. Raises EntryRefused when it is long or has odd signs."""
    if not _KEY.match(key):
        raise EntryRefused(
            "a key has 1 to 64 letters, digits and . _ : -",
            where=where,
            next_step="Make another key",
        )
    return key


def checked_name(name: str, where: str, longest: int = 80) -> str:
    """Return a name, tidied. Raises EntryRefused when it is empty, too long or unprintable."""
    tidy = " ".join(name.split())
    if not tidy or len(tidy) > longest or not tidy.isprintable():
        raise EntryRefused(
            f"a name has 1 to {longest} printable signs", where=where, next_step="Give another name"
        )
    return tidy


def checked_who(who: str | None) -> str | None:
    """Return who made an entry, tidied; nobody has to say. Raises as `checked_name`."""
    return None if who is None or not who.strip() else checked_name(who, "who")


def plate_of(text: str) -> Station:
    """Return the station whose plate was stored as `text`."""
    return Station.model_validate_json(text)


def plate_text(plate: Station) -> str:
    """Return the canonical JSON of a station's plate: only what is known, SI inside."""
    return written(plate.model_dump(mode="json", by_alias=True, exclude_none=True))
