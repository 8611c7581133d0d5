"""A case in one line: for lists, the fleet view and learning. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from api.casebook.events import Event, State, standing

_COMPLAINT_LENGTH = 160


@dataclass(frozen=True, slots=True)
class Summary:
    """A case in one line. Times are UTC; `minutes` sums what the entries say they took."""

    state: State
    complaint: str
    opened_at: datetime
    changed_at: datetime
    last_seq: int
    outcome: str | None
    faults: tuple[str, ...]
    proved: bool
    handed_to: str | None
    minutes: float


def summary(events: Iterable[Event]) -> Summary:
    """Return the case in one line. Raises ValueError when there is no entry at all."""
    entries = list(events)
    if not entries:
        raise ValueError("a case has at least one entry")
    counted = standing(entries)
    closing = _last(counted, "closed")
    handing = _last(counted, "handed_over")
    proof = _last(counted, "proved")
    return Summary(
        state="closed" if closing else "handed_over" if handing else "open",
        complaint=_complaint(counted),
        opened_at=entries[0].at,
        changed_at=entries[-1].at,
        last_seq=entries[-1].seq,
        outcome=closing.body["outcome"] if closing else None,
        faults=tuple(closing.body.get("faults", ())) if closing else (),
        proved=bool(proof and proof.body["good"]),
        handed_to=handing.body["to"] if handing else None,
        minutes=sum(event.body.get("minutes") or 0.0 for event in counted),
    )


def _last(events: list[Event], kind: str) -> Event | None:
    return next((event for event in reversed(events) if event.kind == kind), None)


def _complaint(counted: list[Event]) -> str:
    reports = [event.body for event in counted if event.kind == "reported"]
    words = [words for body in reports for words in body.get("said", [])]
    if not words:
        seen = [one for body in reports for one in body.get("symptoms", [])]
        words = [one["id"].replace("_", " ") for one in seen if one["seen"] == "yes"]
    text = "; ".join(words)
    line = " ".join("".join(sign if sign.isprintable() else " " for sign in text).split())
    return line if len(line) <= _COMPLAINT_LENGTH else line[: _COMPLAINT_LENGTH - 1] + "…"
