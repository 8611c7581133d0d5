"""What has happened in a guided session, and what of the case still holds after a remedy.

A finding or a reading tells how things stood when it was taken. Once the fault it showed has been put
right and the complaint is still there, it tells nothing any more: the check is worth doing again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from diagnose.case import Case
from knowledge.loader import Knowledge

Kind = Literal["told", "found", "read", "remedied", "done", "not_good", "passed"]

READINGS_OF_AREA: Mapping[str, frozenset[str]] = {
    "connections": frozenset({"drop", "temperature", "arc_voltage", "current"}),
    "work_return": frozenset({"drop", "temperature", "arc_voltage", "current"}),
    "gas": frozenset({"flow", "pressure"}),
    "wire_feed": frozenset({"feed", "current"}),
    "supply": frozenset({"line_voltage", "open_circuit", "arc_voltage"}),
    "power_source": frozenset({"open_circuit", "arc_voltage", "current"}),
    "settings": frozenset({"arc_voltage", "feed", "current", "open_circuit"}),
}
"""Area of a fault -> the kinds of reading that its remedy changes."""


@dataclass(frozen=True)
class Happened:
    """One thing that happened, in the order it did.

    `told` is a report: the complaint first, then an answer each. `about` is a check for `found`, a fault
    for `remedied`, `done` (carried out, proof still to come) and `not_good` (the proving check is not
    good yet), a question, a card or a fault for `passed`. `detail` is the result of the check, or whether
    the remedy cured, did better, or did not.
    """

    kind: Kind
    about: str = ""
    detail: str = ""


@dataclass(frozen=True)
class History:
    """What the next step depends on beside the case."""

    happened: tuple[Happened, ...] = ()

    @property
    def passed(self) -> frozenset[str]:
        """Questions (as `plain_id`), cards (as stop_…) and remedies that the user passed over."""
        return frozenset(one.about for one in self.happened if one.kind == "passed")

    @property
    def questions_put(self) -> int:
        """How many questions have been put: answered after the first report, or passed over."""
        told = sum(one.kind == "told" for one in self.happened)
        return max(0, told - 1) + sum(one.kind == "passed" for one in self.happened)

    @property
    def awaiting_proof(self) -> str | None:
        """The fault whose remedy was carried out last and is not proved yet."""
        waiting: str | None = None
        for one in self.happened:
            if one.kind == "done":
                waiting = one.about
            elif one.kind in ("remedied", "not_good", "passed") and one.about == waiting:
                waiting = None
        return waiting

    @property
    def not_good_yet(self) -> str | None:
        """The fault whose remedy has to be carried out again, since its check is not good."""
        again: str | None = None
        for one in self.happened:
            if one.kind == "not_good":
                again = one.about
            elif one.kind in ("done", "remedied", "passed") and one.about == again:
                again = None
        return again

    @property
    def cured(self) -> str | None:
        """The fault whose remedy cured."""
        cured = [o.about for o in self.happened if o.kind == "remedied" and o.detail == "cured"]
        return cured[-1] if cured else None

    @property
    def faults_to_name(self) -> tuple[str, ...]:
        """The faults that turned out to be there: the one cured, and those that made it better."""
        there = [o for o in self.happened if o.kind == "remedied" and o.detail != "no"]
        return tuple(dict.fromkeys(one.about for one in there))


def plain_id(question: str) -> str:
    """Return the id of a question as an entry of the case can hold it.

    >>> plain_id("station.wire.class")
    'station_wire_class'
    """
    return question.replace(".", "_")


def as_it_stands(case: Case, history: History, knowledge: Knowledge) -> Case:
    """Return the case without the findings and readings that a remedy has made stale."""
    stale = stale_checks(history.happened, knowledge)
    before = _readings_before_a_remedy(history.happened, knowledge)
    readings = [
        reading
        for index, reading in enumerate(case.readings)
        if reading.what not in before.get(index, frozenset())
    ]
    findings = [finding for finding in case.findings if finding.check not in stale]
    return case.model_copy(update={"findings": findings, "readings": readings})


def stale_checks(happened: Sequence[Happened], knowledge: Knowledge) -> frozenset[str]:
    """Return the checks whose latest result showed a fault that was put right after it."""
    latest: dict[str, str] = {}
    for one in happened:
        if one.kind == "found":
            latest[one.about] = one.detail
        elif one.kind == "remedied" and one.detail != "cured":
            for check, result in list(latest.items()):
                if one.about in _shown(knowledge, check, result):
                    del latest[check]
    ever = {one.about for one in happened if one.kind == "found"}
    return frozenset(ever - latest.keys())


def _shown(knowledge: Knowledge, check: str, result: str) -> frozenset[str]:
    if check not in knowledge.checks:
        return frozenset()
    shown = [r.shows for r in knowledge.checks[check].looks_for if r.result == result]
    return frozenset(node for shows in shown for node in shows)


def _readings_before_a_remedy(
    happened: Sequence[Happened], knowledge: Knowledge
) -> dict[int, frozenset[str]]:
    """Return place of a reading in the case -> the kinds that later remedies have changed."""
    after: dict[int, frozenset[str]] = {}
    taken = 0
    for one in happened:
        if one.kind == "read":
            taken += 1
        elif one.kind == "remedied" and one.detail != "cured" and one.about in knowledge.faults:
            kinds = READINGS_OF_AREA.get(knowledge.faults[one.about].area, frozenset())
            for index in range(taken):
                after[index] = after.get(index, frozenset()) | kinds
    return after
