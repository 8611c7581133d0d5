"""The case of a session: kept in the casebook as it grows, or only in memory.

Every answer is one group of entries, so that it is taken back as one.
"""

from __future__ import annotations

import secrets
from abc import ABC, abstractmethod
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any, cast

from api.casebook.events import Event, Kind, check_next, checked_body, replay, standing
from diagnose.case import Case
from diagnose.session.answers import Entry, history_of
from diagnose.session.history import History

if TYPE_CHECKING:
    from api.casebook import Casebook

_MARK = "chase"
LONGEST_MINUTES = 240.0


class CaseLog(ABC):
    """The entries of one case so far, and how to add to them."""

    case_id: str | None = None

    def __init__(self, events: Sequence[Event], who: str | None) -> None:
        self.events = list(events)
        self.who = who

    @property
    def case(self) -> Case:
        """The case as its entries leave it."""
        return replay(self.events)

    @property
    def history(self) -> History:
        """What has happened, in order."""
        return history_of((event.kind, event.body) for event in standing(self.events))

    @property
    def closed(self) -> Event | None:
        """The entry that closed the case, where it is closed."""
        closing = [event for event in standing(self.events) if event.kind == "closed"]
        return closing[-1] if closing else None

    def add(self, entries: Sequence[Entry], who: str | None = None) -> None:
        """Add the entries of one answer, each on the disk before this returns.

        Raises VersionConflict, CaseClosed, EntryRefused, StorageError.
        """
        group = secrets.token_hex(8)
        for number, entry in enumerate(entries):
            body = checked_body(entry.kind, entry.body)
            key = f"{_MARK}.{group}.{number}"
            self.events.append(self._append(cast("Kind", entry.kind), body, key, who or self.who))

    def undo(self) -> list[Event]:
        """Take the last answer back, whole; return what was taken back, empty where nothing is left.

        The first report is not taken back: without it there is no case.
        """
        group: list[Event] = []
        for event in reversed(standing(self.events)[1:]):
            if group and _group_of(event) != _group_of(group[0]):
                break
            group.append(event)
        self.add([Entry("undone", {"seq": event.seq}) for event in group])
        return group

    @abstractmethod
    def _append(self, kind: Kind, body: Mapping[str, Any], key: str, who: str | None) -> Event: ...

    @abstractmethod
    def reload(self) -> None:
        """Read again what others may have added."""


def _group_of(event: Event) -> str:
    """Return the answer an entry belongs to; an entry from elsewhere stands for itself."""
    mark, *rest = event.event_id.split(".")
    return rest[0] if mark == _MARK and len(rest) == 2 else event.event_id


class KeptLog(CaseLog):
    """A case in the casebook."""

    def __init__(self, book: Casebook, case_id: str, who: str | None) -> None:
        stored = book.case(case_id)
        super().__init__(stored.events, who)
        self.case_id = stored.id
        self._book = book

    def _append(self, kind: Kind, body: Mapping[str, Any], key: str, who: str | None) -> Event:
        last = self.events[-1].seq
        return self._book.append(
            str(self.case_id), kind, body, expected=last, event_id=key, who=who
        )

    def reload(self) -> None:
        """Read again what others may have added."""
        self.events = list(self._book.events(str(self.case_id)))


class LooseLog(CaseLog):
    """A case that is gone when the session ends."""

    def __init__(self, case: Case, who: str | None) -> None:
        body = checked_body(
            "reported", case.model_dump(mode="json", by_alias=True, exclude_unset=True)
        )
        first = Event("", 1, "first", "reported", datetime.now(UTC), who, body)
        super().__init__([first], who)

    def _append(self, kind: Kind, body: Mapping[str, Any], key: str, who: str | None) -> Event:
        event = Event("", self.events[-1].seq + 1, key, kind, datetime.now(UTC), who, body)
        check_next(self.events, event)
        return event

    def reload(self) -> None:
        """Nobody else can have added anything."""


def minutes_since(events: Sequence[Event], expected: float | None, back: int = 1) -> float | None:
    """Return the minutes since the `back`-th last entry, or None when the pause says nothing.

    A pause far longer than the step takes was a break, or another day.
    """
    if len(events) < back or expected is None:
        return None
    minutes = (datetime.now(UTC) - events[-back].at).total_seconds() / 60.0
    if not 0.05 <= minutes <= min(LONGEST_MINUTES, 4.0 * expected + 10.0):
        return None
    return round(minutes, 1)
