"""A station with one known fault that answers every step of a session as it truly is.

It says what is likeliest under that fault alone: a symptom is there when it comes in most such cases, a
check finds what it finds most often, a start is the one that stands out. It knows nothing of the ranking.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from diagnose.case import Case
from diagnose.graph import Cut, cut, finding_id
from diagnose.reason import reason
from diagnose.session.steps import Step
from diagnose.starts import start_chance
from diagnose.walk import chance
from knowledge.loader import Knowledge


@dataclass
class TruthfulStation:
    """The station of one case: its true fault, and what is true of it beyond what the case says."""

    knowledge: Knowledge
    case: Case
    fault: str
    cured: bool = False
    minutes: float = 0.0
    asked: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        station = dict(reason(self.case, self.knowledge).station)
        for attribute, wanted in self.knowledge.faults[self.fault].when.items():
            if attribute not in station:
                station[attribute] = {wanted if isinstance(wanted, str) else wanted[0]}
        self._station = station
        self._cut: Cut = cut(self.knowledge, station)

    def answer(self, step: Step) -> str:
        """Return the key of the true answer to a step; empty where nobody knows."""
        self.asked.append(f"{step.kind}:{step.id}")
        self.minutes += step.minutes or 0.0
        by_kind: dict[str, Any] = {
            "check": self._found,
            "symptom": self._seen,
            "station": self._is,
            "started": self._started,
            "remedy": lambda fault: "done" if fault == self.fault else "in_order",
            "proof": lambda fault: "cured" if fault == self.fault else "as_before",
        }
        key = str(by_kind[step.kind](step.id)) if step.kind in by_kind else ""
        if step.kind == "proof" and key == "cured":
            self.cured = True
        return key

    def _chance(self, node: str) -> float:
        if node not in self._cut.graph:
            return 0.0
        return chance(self._cut.graph, node, [self.fault])[self.fault]

    def _seen(self, symptom: str) -> str:
        return "yes" if self._chance(symptom) >= 0.5 else "no"

    def _found(self, check: str) -> str:
        entry = self.knowledge.checks[check]
        left, best, result = 1.0, 0.0, entry.nothing_found.result
        for looked in entry.looks_for:
            found = left * self._chance(finding_id(check, looked.result))
            left -= found
            if found > best:
                best, result = found, looked.result
        return result if best > left else entry.nothing_found.result

    def _started(self, facet_id: str) -> str:
        facet = facet_id.removeprefix("started.")
        bases = {n: row.base for n, row in self.knowledge.starts.items() if row.facet == facet}
        starts = self.knowledge.faults[self.fault].starts
        return max(sorted(bases), key=lambda kind: start_chance(starts, facet, kind, bases))

    def _is(self, path: str) -> str:
        for row in self.knowledge.attributes.values():
            if row.path == path and row.id in self._station:
                return sorted(self._station[row.id])[0]
            if row.path == path and row.shares:
                return max(sorted(row.shares.of), key=row.shares.of.__getitem__)
        return ""
