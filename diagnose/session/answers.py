"""What an answer means: the entries it adds to the case, and the history that entries add up to.

The kinds of entry are those of the casebook; nothing is stored here.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

from diagnose.session.history import Happened, History, Kind, plain_id
from diagnose.session.steps import Step
from diagnose.station_path import part_at, value_at

PASSED = "passed over"
DONE = "carried out, not proved yet"
BETTER = "better, but still not right"
IN_ORDER = "was in order, nothing to put right"
_MARKS: Mapping[str, Kind] = {PASSED: "passed", DONE: "done"}
SKIP, UNKNOWN = "skip", "unknown"
"""Answers that every step takes: it cannot be done, and nobody knows."""


class Entry(NamedTuple):
    """One entry for the casebook: its kind and its body."""

    kind: str
    body: dict[str, Any]


def entries_of(
    step: Step, answer: str, history: History, *, proved_by: str = "", text: str = ""
) -> list[Entry]:
    """Return what an answer adds to the case.

    Parameters
    ----------
    answer : key of one of the step's choices, SKIP or UNKNOWN; empty when `text` is the answer
    proved_by : for a proof, the check that proves it or the proof weld
    text : what was typed where the step takes text

    Raises
    ------
    ValueError : the step does not take this answer
    """
    if answer in (SKIP, UNKNOWN):
        return _not_answered(step, answer)
    if text and step.takes_text:
        return [_reported(_by_text(step, text))]
    if answer not in {choice.key for choice in step.choices}:
        raise ValueError(f"'{answer}' is no answer to {step.kind} {step.id}")
    return _ANSWERS[step.kind](step, answer, history, proved_by)


def _reported(body: dict[str, Any]) -> Entry:
    return Entry("reported", body)


def _not_answered(step: Step, answer: str) -> list[Entry]:
    if step.kind == "check":
        result = "cannot_do" if answer == SKIP else "not_sure"
        return [Entry("found", {"check": step.id, "result": result})]
    if step.kind == "symptom" and answer == UNKNOWN:
        return [_reported({"symptoms": [{"id": step.id, "seen": "not_sure"}]})]
    if step.kind in ("symptom", "station", "started"):
        return [Entry("advised", {"step": "ask", "id": plain_id(step.id), "why": PASSED})]
    if step.kind == "stop":
        return [Entry("advised", {"step": "ask", "id": f"stop_{step.id}", "why": PASSED})]
    if step.kind == "remedy":
        return [Entry("advised", {"step": "remedy", "id": step.id, "why": PASSED})]
    return []


def _by_text(step: Step, text: str) -> dict[str, Any]:
    return {"said": [text]} if step.kind == "words" else {"station": part_at(step.id, text)}


def _check(step: Step, answer: str, history: History, proved_by: str) -> list[Entry]:
    return [Entry("found", {"check": step.id, "result": answer})]


def _symptom(step: Step, answer: str, history: History, proved_by: str) -> list[Entry]:
    return [_reported({"symptoms": [{"id": step.id, "seen": answer}]})]


def _words(step: Step, answer: str, history: History, proved_by: str) -> list[Entry]:
    return [_reported({"symptoms": [{"id": answer, "seen": "yes"}]})]


def _station(step: Step, answer: str, history: History, proved_by: str) -> list[Entry]:
    if step.id == "station.polarity":
        electrode, known = answer.split(".")
        return [_reported({"station": {"polarity": {"electrode": electrode, "known": known}}})]
    return [_reported({"station": part_at(step.id, value_at(step.id, answer))})]


def _started(step: Step, answer: str, history: History, proved_by: str) -> list[Entry]:
    facet = step.id.removeprefix("started.")
    return [_reported({"started": {facet: [answer] if facet == "change" else answer}})]


def _remedy(step: Step, answer: str, history: History, proved_by: str) -> list[Entry]:
    if answer == "done":
        return [Entry("advised", {"step": "remedy", "id": step.id, "why": DONE})]
    return [Entry("remedied", {"fault": step.id, "cured": False, "note": IN_ORDER})]


def _proof(step: Step, answer: str, history: History, proved_by: str) -> list[Entry]:
    if answer == "cured":
        cured = Entry("remedied", {"fault": step.id, "cured": True})
        return [cured, *closing(step.id, history, proved_by)]
    if answer == "not_good":
        return [Entry("proved", {"check": proved_by, "good": False, "fault": step.id})]
    body: dict[str, Any] = {"fault": step.id, "cured": False}
    return [Entry("remedied", body | ({"note": BETTER} if answer == "better" else {}))]


def closing(fault: str, history: History, proved_by: str) -> list[Entry]:
    """Return the entries that close a case after a cure."""
    faults = list(dict.fromkeys([*history.faults_to_name, fault]))
    return [
        Entry("proved", {"check": proved_by, "good": True, "fault": fault}),
        Entry("closed", {"outcome": "cured", "faults": faults}),
    ]


def _hand_over(step: Step, answer: str, history: History, proved_by: str) -> list[Entry]:
    if answer == "close":
        return [Entry("closed", {"outcome": "not_in_our_list"})]
    return [Entry("handed_over", {"to": answer})]


def _stop(step: Step, answer: str, history: History, proved_by: str) -> list[Entry]:
    return [_reported({"made_safe": [{"stop_card": step.id, "by": answer}]})]


_ANSWERS = {
    "check": _check,
    "symptom": _symptom,
    "words": _words,
    "station": _station,
    "started": _started,
    "remedy": _remedy,
    "proof": _proof,
    "hand_over": _hand_over,
    "not_in_our_list": _hand_over,
    "stop": _stop,
}


def history_of(entries: Iterable[tuple[str, Mapping[str, Any]]]) -> History:
    """Return the history that the entries that count, in order, add up to.

    >>> history_of([("advised", {"step": "remedy", "id": "cylinder_empty", "why": DONE})]).awaiting_proof
    'cylinder_empty'
    """
    happened: list[Happened] = []
    for kind, body in entries:
        happened += _happened(kind, body)
    return History(tuple(happened))


def _happened(kind: str, body: Mapping[str, Any]) -> list[Happened]:
    match kind:
        case "reported":
            found = [Happened("found", f["check"], f["result"]) for f in body.get("findings", ())]
            tried = [_remedied(one) for one in body.get("remedied", ())]
            read = [Happened("read") for _ in body.get("readings", ())]
            happened = [Happened("told"), *read, *found, *tried]
        case "found":
            happened = [Happened("found", body["check"], body["result"])]
        case "read":
            happened = [Happened("read")]
        case "remedied":
            happened = [_remedied(body)]
        case "proved" if not body["good"] and body.get("fault"):
            happened = [Happened("not_good", body["fault"])]
        case "advised" if body.get("id") and body.get("why") in _MARKS:
            happened = [Happened(_MARKS[body["why"]], body["id"])]
        case _:
            happened = []
    return happened


def _remedied(body: Mapping[str, Any]) -> Happened:
    worse = "better" if body.get("note") == BETTER else "no"
    return Happened("remedied", body["fault"], "cured" if body["cured"] else worse)
