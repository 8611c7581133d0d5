"""What else would be seen: the worlds a hypothesis leaves open after the evidence, and what each shows.

A world is the set of mechanisms that are on. Without leaks on mechanisms only descendants of the faults
can be on, so a hypothesis has a short list of worlds, and given a world every symptom and finding is
independent of every other.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import networkx as nx

from diagnose.graph import Graph
from diagnose.walk import Weighing

NEGLIGIBLE = 1e-4
"""Worlds under this share are dropped as they arise: advice weighs minutes, not the ninth decimal."""


@dataclass(frozen=True)
class Hypothesis:
    """Exactly these faults are on, with this probability."""

    faults: tuple[str, ...]
    probability: float


class Worlds:
    """The worlds of some hypotheses on one graph, weighed by what is known of its nodes.

    Worlds under the share `negligible` are dropped as they arise; with 0 the worlds are exact.
    """

    def __init__(
        self, graph: Graph, weighings: Mapping[str, Weighing], negligible: float = NEGLIGIBLE
    ) -> None:
        self._graph = graph
        self._negligible = negligible
        order = [
            node
            for node in nx.lexicographical_topological_sort(graph)
            if graph.nodes[node]["kind"] == "mechanism"
        ]
        self._bits = {node: 1 << index for index, node in enumerate(order)}
        self._order = order
        self._descendants: dict[str, frozenset[str]] = {}
        self._weighings = weighings
        self._causes = {
            node: [(cause, 1.0 - about["strength"]) for cause, about in graph.pred[node].items()]
            for node in order
        }

    def of(self, faults: Sequence[str]) -> dict[int, float]:
        """Return world (mechanisms on, as bits) -> P(world | these faults, the evidence)."""
        below = frozenset[str]().union(*(self._below(fault) for fault in faults))
        worlds = {0: 1.0}
        for node in self._order:
            if node in below:
                worlds = self._split(node, worlds, faults)
        seen = [n for n in self._weighings if n not in self._bits and n in below]
        weights = {}
        for world, weight in worlds.items():
            weights[world] = weight
            for node in seen:
                on, off = self._weighings[node]
                weights[world] *= off + (on - off) * self.chance(node, world, faults)
        weights = self._without_negligible(weights)
        total = sum(weights.values())
        return {world: weight / total for world, weight in weights.items()}

    def _split(
        self, node: str, worlds: Mapping[int, float], faults: Sequence[str]
    ) -> dict[int, float]:
        on, off = self._weighings.get(node, Weighing(1.0, 1.0))
        bit = self._bits[node]
        causes = [
            (self._bits.get(cause, 0), miss)
            for cause, miss in self._causes[node]
            if cause in self._bits or cause in faults
        ]
        after: dict[int, float] = {}
        for world, weight in worlds.items():
            p_off = 1.0
            for cause_bit, miss in causes:
                if not cause_bit or world & cause_bit:
                    p_off *= miss
            if p_off < 1.0:
                after[world | bit] = weight * (1.0 - p_off) * on
            after[world] = weight * p_off * off
        return self._without_negligible(after)

    def touches(self, faults: Sequence[str], nodes: Iterable[str]) -> bool:
        """Return whether any of the faults can bring any of the nodes about."""
        return any(not self._below(fault).isdisjoint(nodes) for fault in faults)

    def _below(self, fault: str) -> frozenset[str]:
        if fault not in self._descendants:
            self._descendants[fault] = frozenset(nx.descendants(self._graph, fault))
        return self._descendants[fault]

    def _without_negligible(self, worlds: dict[int, float]) -> dict[int, float]:
        least = self._negligible * sum(worlds.values())
        return {world: weight for world, weight in worlds.items() if weight > least}

    def mask(self, node: str) -> int:
        """Return the mechanisms that bear on a node: its own bit, or its causes'."""
        if node in self._bits:
            return self._bits[node]
        return sum(self._bits.get(cause, 0) for cause in self._graph.pred[node])

    def chance(self, node: str, world: int, faults: Sequence[str]) -> float:
        """Return P(node on) in a world of these faults."""
        if node in self._bits:
            return 1.0 if world & self._bits[node] else 0.0
        about = self._graph.nodes[node]
        if about["kind"] == "fault":
            return 1.0 if node in faults else 0.0
        p_off = 1.0 - float(about["leak"] or 0.0)
        for cause, link in self._graph.pred[node].items():
            bit = self._bits.get(cause)
            if (world & bit) if bit else cause in faults:
                p_off *= 1.0 - link["strength"]
        return 1.0 - p_off


def folded(worlds: Mapping[int, float], mask: int) -> dict[int, float]:
    """Return the worlds told apart only by the mechanisms in `mask`."""
    after: dict[int, float] = {}
    for world, weight in worlds.items():
        part = world & mask
        if part in after:
            after[part] += weight
        else:
            after[part] = weight
    return after
