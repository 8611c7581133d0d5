"""Words that both forms of the sheet share: headings, times, people, lines."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime

from diagnose.handover.sheet import (
    Done,
    HandoverSheet,
    LeftOver,
    Noticed,
    Opened,
    RuledOut,
    StopCardState,
)

PEOPLE: Mapping[str, str] = {
    "operator": "Operator",
    "maintenance": "Maintenance",
    "electrician": "Electrician",
    "service": "Service",
}
ONLY: Mapping[str, str] = {
    "electrician": "For a qualified electrician only. Nobody else takes a cover off or touches the supply.",
    "service": "For service only. Nobody else opens the power source.",
}
HAZARDS: Mapping[str | None, str] = {
    None: "",
    "look": "look only",
    "touch_machine_off": "machine off",
    "live_weld_circuit": "LIVE weld circuit",
    "covers_off_or_supply": "COVERS OFF or supply side",
}
STATES: Mapping[str, str] = {
    "stands": "STANDS",
    "perhaps": "PERHAPS: to be looked into first",
    "made_safe": "made safe",
}
SEEN: Mapping[str, str] = {"yes": "", "no": "not: ", "not_sure": "not sure: "}
CASE_STATES: Mapping[str, str] = {
    "open": "open",
    "closed": "closed",
    "handed_over": "handed over",
}


def moment(at: datetime | None) -> str:
    """Return a time as people write it, with its zone said.

    >>> moment(datetime(2031, 5, 4, 9, 12, tzinfo=UTC)), moment(None)
    ('2031-05-04 09:12 UTC', '')
    """
    return "" if at is None else at.astimezone(UTC).strftime("%Y-%m-%d %H:%M UTC")


def clock(at: datetime | None) -> str:
    """Return the day and the time of an entry, short.

    >>> clock(datetime(2031, 5, 4, 9, 12, tzinfo=UTC))
    '05-04 09:12'
    """
    return "" if at is None else at.astimezone(UTC).strftime("%m-%d %H:%M")


def by(opened: Opened) -> str:
    """Return when and by whom, as far as it is known."""
    return ", ".join(part for part in (moment(opened.at), opened.who) if part)


def noticed(row: Noticed) -> str:
    """Return a symptom with its answer."""
    return f"{SEEN[row.seen]}{row.title}{' (tried)' if row.tried else ''}"


def card_state(card: StopCardState) -> str:
    """Return how a stop card stands, and by whom it was lifted."""
    lifted = f" by {PEOPLE[card.lifted_by].lower()}" if card.lifted_by else ""
    return STATES[card.state] + lifted


def done_line(row: Done) -> str:
    """Return what came of one step, with everything that bears on it."""
    stale = "before a later remedy" if row.stale else ""
    took = f"{row.minutes:g} min" if row.minutes is not None else ""
    extra = ", ".join(part for part in (stale, took, row.note) if part)
    return row.outcome + (f" ({extra})" if extra else "")


def left_note(row: LeftOver) -> str:
    """Return what became of the remedy of a fault that is left; '' where it was not tried."""
    if row.to_be_proved:
        return " (put right, not proved yet)"
    return " (put right once, did not cure)" if row.tried else ""


def ruled_out_line(row: RuledOut) -> str:
    """Return the faults of a line, the number of those not named behind them."""
    return "; ".join(row.faults) + (f"; and {row.more} more" if row.more else "")


def facts(sheet: HandoverSheet) -> list[tuple[str, str]]:
    """Return the head of the sheet: what case, which station, who and when."""
    handed = sheet.handed_over
    rows = [
        ("Case", sheet.case_id or "not kept in a casebook"),
        ("Station", sheet.station or "not named"),
        ("State", sheet.ended or CASE_STATES[sheet.state]),
        ("Opened", by(sheet.opened)),
        ("Last entry", moment(sheet.changed_at)),
        ("Time spent", f"{sheet.minutes_spent:g} min" if sheet.minutes_spent else ""),
    ]
    if handed:
        rows.append(("Handed to", ", ".join(p for p in (PEOPLE[handed.to], by(handed)) if p)))
        rows.append(("With the words", handed.note or ""))
    return [(name, text) for name, text in rows if text]
