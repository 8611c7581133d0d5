"""What looks the same, and what tells it apart: faults that share a main symptom, by expected signs."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations
from typing import Literal

from diagnose.graph import Cut, Graph, finding_id
from diagnose.starts import start_chance
from diagnose.walk import Walk, Weighing, chance
from knowledge.loader import FACETS, Knowledge
from knowledge.models import Check

__all__ = ["LookAlike", "Separator", "Signs", "not_told_apart"]

Kind = Literal["symptom", "result", "start"]

SHARED = 0.2
"""Chance from which a fault counts as one that brings a symptom too."""
MAIN = 0.4
TELLS = 0.35
TELLS_BY_START = 3.0
WORTH_TELLING = 0.15
"""A main symptom of two faults; the difference between chances that tells them apart; the ratio of two
chances of a kind of start that does, the larger being at least `WORTH_TELLING` (judgement)."""


@dataclass(frozen=True)
class Separator:
    """One sign and its chance with this fault and with the other.

    `id` is a symptom, 'check:result' or 'facet.kind' of a start.
    """

    kind: Kind
    id: str
    here: float
    there: float

    @property
    def strength(self) -> float:
        """Expected weight of evidence, in nats, whichever of the two it is (J-divergence).

        Source: H. Jeffreys, Theory of Probability, 1939.
        """
        here, there = (min(max(p, 0.005), 0.995) for p in (self.here, self.there))
        odds = (here / (1 - here)) / (there / (1 - there))
        return (here - there) * math.log(odds)

    @property
    def ratio(self) -> float:
        """Return how many times as often with this fault as with the other, or the other way round."""
        low, high = sorted((self.here, self.there))
        return high / max(low, 0.005)


@dataclass(frozen=True)
class LookAlike:
    """A fault that looks like another: how alike (0 to 1), and what tells the two apart, best first."""

    fault: str
    likeness: float
    separators: tuple[Separator, ...]


class Signs:
    """What each fault alone would show on a station: symptoms, results of checks, kinds of start.

    Everything is reckoned once, when first asked for.
    """

    def __init__(self, knowledge: Knowledge, left: Cut) -> None:
        self._knowledge = knowledge
        self._graph = left.graph
        self.faults = [name for name in knowledge.faults if name in left.graph]

    @cached_property
    def symptoms(self) -> Mapping[str, Mapping[str, float]]:
        """Symptom -> fault -> chance."""
        names = [name for name in self._knowledge.symptoms if name in self._graph]
        return {name: chance(self._graph, name, self.faults) for name in names}

    @cached_property
    def results(self) -> Mapping[str, Mapping[str, float]]:
        """'check:result' -> fault -> chance; those of one check sum to one."""
        found: dict[str, Mapping[str, float]] = {}
        for check in self._knowledge.checks.values():
            if finding_id(check.id, check.looks_for[0].result) in self._graph:
                found.update(result_chances(self._graph, check, self.faults))
        return found

    @cached_property
    def starts(self) -> Mapping[str, Mapping[str, float]]:
        """'facet.kind' -> fault -> chance; those of one facet sum to one."""
        rows = self._knowledge.starts
        found = {}
        for facet in FACETS:
            bases = {name: row.base for name, row in rows.items() if row.facet == facet}
            for kind in bases:
                found[f"{facet}.{kind}"] = {
                    fault: start_chance(self._knowledge.faults[fault].starts, facet, kind, bases)
                    for fault in self.faults
                }
        return found

    def separators(self, fault: str, other: str) -> list[Separator]:
        """Return everything that speaks differently of the two, best first, then by id."""
        kinds: Sequence[tuple[Kind, Mapping[str, Mapping[str, float]]]] = (
            ("symptom", self.symptoms),
            ("result", self.results),
            ("start", self.starts),
        )
        rows = [
            Separator(kind, name, by_fault[fault], by_fault[other])
            for kind, table in kinds
            for name, by_fault in table.items()
            if by_fault[fault] != by_fault[other]
        ]
        return sorted(rows, key=lambda row: (-row.strength, row.id))

    def main_symptom(self, fault: str) -> str | None:
        """Return the likeliest symptom of a fault, or None where it brings none that stands out."""
        best = max(self.symptoms, key=lambda name: (self.symptoms[name][fault], name), default=None)
        return best if best and self.symptoms[best][fault] >= SHARED else None

    def likeness(self, fault: str, other: str) -> float:
        """Return how alike two faults show themselves: common over joint chance of all symptoms.

        Source: M. Ruzicka's index, 1958.
        """
        pairs = [(row[fault], row[other]) for row in self.symptoms.values()]
        joint = sum(max(pair) for pair in pairs)
        return sum(min(pair) for pair in pairs) / joint if joint else 0.0

    def look_alikes(self, fault: str, most: int = 5, separators: int = 3) -> list[LookAlike]:
        """Return the faults that share the main symptom, the most alike first, then by id."""
        main = self.main_symptom(fault)
        if main is None:
            return []
        by_fault = self.symptoms[main]
        others = [
            (self.likeness(fault, other), other)
            for other in self.faults
            if other != fault and by_fault[other] >= SHARED and self.can_both_be(fault, other)
        ]
        others.sort(key=lambda row: (-row[0], row[1]))
        return [
            LookAlike(other, likeness, tuple(_best(self.separators(fault, other), separators)))
            for likeness, other in others[:most]
        ]

    def can_both_be(self, fault: str, other: str) -> bool:
        """Return whether there is a station on which either of the two may be wrong."""
        one, two = (self._knowledge.faults[name].when for name in (fault, other))
        return not any(
            _values(one[attribute]).isdisjoint(_values(two[attribute]))
            for attribute in one.keys() & two.keys()
            if not self._knowledge.attributes[attribute].many
        )


def _values(wanted: str | list[str]) -> set[str]:
    return {wanted} if isinstance(wanted, str) else set(wanted)


def _best(rows: Sequence[Separator], most: int) -> Iterator[Separator]:
    """Yield the best rows, one of each check and of each facet."""
    used: set[str] = set()
    for row in rows:
        whole = row.id.split(":")[0] if row.kind == "result" else row.id
        whole = row.id.split(".")[0] if row.kind == "start" else whole
        if whole not in used:
            used.add(whole)
            yield row
        if len(used) == most:
            return


def result_chances(
    graph: Graph, check: Check, faults: Sequence[str]
) -> dict[str, dict[str, float]]:
    """Return 'check:result' -> fault -> chance of that result, that fault alone being on.

    Of what a check looks for the first that is there is its result, so each result needs those before
    it not to be there.
    """
    nodes = [finding_id(check.id, looked.result) for looked in check.looks_for]
    nodes = [node for node in nodes if node in graph]
    outcomes = [*nodes, finding_id(check.id, check.nothing_found.result)]
    found: dict[str, dict[str, float]] = {}
    for number, outcome in enumerate(outcomes):
        weighings = dict.fromkeys(nodes[:number], Weighing(0.0, 1.0))
        if number < len(nodes):
            weighings[outcome] = Weighing(1.0, 0.0)
        found[outcome] = _chances(graph, weighings, faults)
    return found


def _chances(
    graph: Graph, weighings: Mapping[str, Weighing], faults: Sequence[str]
) -> dict[str, float]:
    walk = Walk(graph, weighings, relative=False)
    leaks = {node: float(graph.nodes[node].get("leak") or 0.0) for node in weighings}
    found: dict[str, float] = {}
    for fault in faults:
        reach = walk.reach(fault)
        product = walk.likelihood([walk.direct(fault)], reach) if reach else 1.0
        for node, (on, off) in weighings.items():
            if not reach >> walk.position[node] & 1:
                product *= on * leaks[node] + off * (1.0 - leaks[node])
        found[fault] = product
    return found


def not_told_apart(signs: Signs) -> list[tuple[str, str]]:
    """Return the pairs with a main symptom in common that no symptom, check or start tells apart."""
    pairs = []
    for one, two in combinations(signs.faults, 2):
        shared = any(row[one] >= MAIN and row[two] >= MAIN for row in signs.symptoms.values())
        if shared and signs.can_both_be(one, two) and not _told_apart(signs, one, two):
            pairs.append((min(one, two), max(one, two)))
    return sorted(pairs)


def _told_apart(signs: Signs, one: str, two: str) -> bool:
    for table in (signs.symptoms, signs.results):
        if any(abs(row[one] - row[two]) >= TELLS for row in table.values()):
            return True
    for row in signs.starts.values():
        low, high = sorted((row[one], row[two]))
        if high >= WORTH_TELLING and high >= TELLS_BY_START * low:
            return True
    return False
