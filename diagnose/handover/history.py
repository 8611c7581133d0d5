"""What was entered in a case, as the sheet tells it: checks, readings, remedies and proofs in order."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from diagnose.case import Case, Reading
from diagnose.handover.sheet import Done
from diagnose.session.answers import BETTER, DONE, IN_ORDER, PASSED, history_of
from diagnose.session.history import History, stale_checks
from knowledge.loader import PROOF_WELD, Knowledge

_NO_RESULT = {"cannot_do": "could not be done", "not_sure": "not sure"}
CURED = "it cured"
_PROOF = "A bead like the one that failed"
_READ_AS = {
    "drop": "Voltage drop",
    "line_voltage": "Line voltage",
    "open_circuit": "Open-circuit voltage",
    "arc_voltage": "Arc voltage",
    "flow": "Gas flow",
    "temperature": "Temperature",
    "feed": "Wire feed",
    "current": "Current",
    "pressure": "Pressure",
}


@dataclass(frozen=True)
class Noted:
    """One entry of a case that counts: its kind, its body, who made it and when (UTC)."""

    kind: str
    body: Mapping[str, Any] = field(default_factory=dict)
    at: datetime | None = None
    who: str | None = None


def noted_of(case: Case) -> tuple[Noted, ...]:
    """Return a case that was kept by nobody as its one and only entry."""
    body = case.model_dump(mode="json", by_alias=True, exclude_unset=True)
    return (Noted("reported", body),)


def done_of(noted: Sequence[Noted], knowledge: Knowledge) -> list[Done]:
    """Return what was done, oldest first, in words. Ids that the knowledge lost are shown as they are."""
    history = history_of((entry.kind, entry.body) for entry in noted)
    stale = stale_checks(history.happened, knowledge)
    rows = []
    for entry, kind, body in _single(noted):
        if kind not in _TELL or not _counts(kind, body, history):
            continue
        what, name, outcome = _TELL[kind](knowledge, body)
        note = body.get("note")
        rows.append(
            Done(
                kind=_KINDS[kind],
                id=name,
                what=what,
                outcome=outcome,
                at=entry.at,
                who=entry.who,
                minutes=body.get("minutes"),
                note=note if note != outcome else None,
                stale=kind == "found" and name in stale,
            )
        )
    return rows


def _counts(kind: str, body: Mapping[str, Any], history: History) -> bool:
    """Return whether an entry was done. Of what was advised: a remedy passed over or awaiting its proof.

    Once the proof is there, the entry that brought it tells of the remedy.
    """
    if kind != "advised":
        return True
    mark = body.get("why")
    waits = mark == DONE and body.get("id") == history.awaiting_proof
    return body["step"] == "remedy" and (waits or mark == PASSED)


def _single(noted: Iterable[Noted]) -> Iterator[tuple[Noted, str, Mapping[str, Any]]]:
    """Return each entry, a report taken apart into the findings, readings and remedies in it."""
    for entry in noted:
        if entry.kind != "reported":
            yield entry, entry.kind, entry.body
            continue
        for part, kind in (("readings", "read"), ("findings", "found"), ("remedied", "remedied")):
            for body in entry.body.get(part, ()):
                yield entry, kind, body


def _found(knowledge: Knowledge, body: Mapping[str, Any]) -> tuple[str, str, str]:
    name, result = body["check"], body["result"]
    check = knowledge.checks.get(name)
    if check is None:
        return _plain(name), name, _plain(result)
    says = {row.result: row.says for row in check.looks_for}
    says[check.nothing_found.result] = check.nothing_found.says
    return check.title, name, says.get(result) or _NO_RESULT.get(result, _plain(result))


def _read(_knowledge: Knowledge, body: Mapping[str, Any]) -> tuple[str, str, str]:
    names = set(Reading.model_fields) | {"from"}
    reading = Reading.model_validate({k: v for k, v in body.items() if k in names})
    points = " to ".join(_plain(point) for point in (reading.from_, reading.to) if point)
    what = _READ_AS[reading.what] + (f", {points}" if points else "")
    return what, reading.what, _value(reading)


def _value(reading: Reading) -> str:
    """Return a reading as it was taken: nobody should have to guess what the meter showed."""
    at = f" at {reading.at_current_a:g} A" if reading.at_current_a else ""
    return f"{reading.value:g} {reading.unit}{at}"


def _remedied(knowledge: Knowledge, body: Mapping[str, Any]) -> tuple[str, str, str]:
    what = f"Put right: {title_of(knowledge, body['fault'])}"
    if body["cured"]:
        return what, body["fault"], CURED
    marked = body.get("note") in (BETTER, IN_ORDER)
    return what, body["fault"], body["note"] if marked else "it did not cure"


def _advised(knowledge: Knowledge, body: Mapping[str, Any]) -> tuple[str, str, str]:
    return f"Put right: {title_of(knowledge, body['id'])}", body["id"], body["why"]


def _proved(knowledge: Knowledge, body: Mapping[str, Any]) -> tuple[str, str, str]:
    what = f"Proof: {proof_title(knowledge, body['check'])}"
    return what, body["check"], "good" if body["good"] else "not good"


def proof_title(knowledge: Knowledge, check: str) -> str:
    """Return what proves a remedy, in words."""
    if check == PROOF_WELD:
        return _PROOF
    return knowledge.checks[check].title if check in knowledge.checks else _plain(check)


def title_of(knowledge: Knowledge, fault: str) -> str:
    """Return the title of a fault; its id in words where the knowledge does not hold it."""
    return knowledge.faults[fault].title if fault in knowledge.faults else _plain(fault)


def _plain(name: str) -> str:
    return name.replace("_", " ")


_TELL = {
    "found": _found,
    "read": _read,
    "advised": _advised,
    "remedied": _remedied,
    "proved": _proved,
}
_KINDS: Mapping[str, Any] = {
    "found": "check",
    "read": "reading",
    "advised": "remedy",
    "remedied": "remedy",
    "proved": "proof",
}
