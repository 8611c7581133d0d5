"""P(evidence | exactly these faults are on), exact, under independent causes (noisy-OR).

P(n off | causes) = (1 − leak) Π (1 − strength), with leaks on symptoms and findings only. So given the
faults only their descendants can be on, and the likelihood is a walk over the relevant nodes in
topological order that keeps a table {mechanisms on: weight}. A bit is dropped as soon as nothing further
on needs it, and states that then agree are merged: variable elimination along the order, in plain Python.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import networkx as nx

from diagnose.graph import Graph


class Weighing(NamedTuple):
    """How likely what is known of a node is when the node is on, and when it is off."""

    on: float
    off: float


class _Step(NamedTuple):
    """One node in the order: its bit, its parents, its leak, its weighing, the bits needed after it."""

    bit: int
    mask: int
    links: tuple[tuple[int, float], ...]
    no_leak: float
    weighing: Weighing
    keep: int


class Walk:
    """The relevant part of a graph laid out for one set of weighings (node -> Weighing)."""

    def __init__(self, graph: Graph, weighings: Mapping[str, Weighing]) -> None:
        order = _relevant_order(graph, weighings)
        self.position = {node: index for index, node in enumerate(order)}
        self._steps = _steps(graph, order, weighings)
        self._memo: list[dict[int, float]] = [{0: 1.0} for _ in order]
        self._graph = graph
        self._bases: dict[int, float] = {}

    def reweighed(self, weighings: Mapping[str, Weighing]) -> Walk:
        """Return the same order with other weighings on its nodes; what it has learned is shared."""
        new = Walk.__new__(Walk)
        new.position, new._graph, new._memo, new._bases = self.position, self._graph, self._memo, {}
        nothing = Weighing(1.0, 1.0)
        new._steps = tuple(
            step._replace(weighing=weighings.get(node, nothing))
            for node, step in zip(self.position, self._steps, strict=True)
        )
        return new

    def direct(self, fault: str) -> Mapping[int, float]:
        """Return step -> chance that the fault does not bring that node about directly."""
        return {
            self.position[effect]: 1.0 - about["strength"]
            for effect, about in self._graph.succ[fault].items()
            if effect in self.position
        }

    def reach(self, fault: str) -> int:
        """Return the steps that the fault can touch, as bits."""
        position = self.position
        below = nx.descendants(self._graph, fault)
        return sum(1 << position[node] for node in below if node in position)

    def base(self, reach: int) -> float:
        """Return the weight of the steps in `reach` when no fault is on."""
        if reach not in self._bases:
            value = 1.0
            for index, step in enumerate(self._steps):
                if reach >> index & 1:
                    on, off = step.weighing
                    value *= on + (off - on) * step.no_leak
            self._bases[reach] = value
        return self._bases[reach]

    def value(self, direct: Sequence[Mapping[int, float]], reach: int) -> float:
        """Return the weight of the steps in `reach` when the faults with these direct links are on."""
        states = {0: 1.0}
        while reach:
            low = reach & -reach
            reach ^= low
            index = low.bit_length() - 1
            bit, mask, links, off, (weigh_on, weigh_off), keep = self._steps[index]
            for one in direct:
                if index in one:
                    off *= one[index]
            memo = self._memo[index]
            after: dict[int, float] = {}
            for state, weight in states.items():
                seen = state & mask
                if seen not in memo:
                    memo[seen] = _product(links, seen)
                p_off = off * memo[seen]
                kept = state & keep
                if bit & keep:
                    if p_off < 1.0:
                        on = weight * (1.0 - p_off) * weigh_on
                        after[kept | bit] = after.get(kept | bit, 0.0) + on
                    after[kept] = after.get(kept, 0.0) + weight * p_off * weigh_off
                else:
                    factor = weigh_on + (weigh_off - weigh_on) * p_off
                    after[kept] = after.get(kept, 0.0) + weight * factor
            states = after
        return sum(states.values())


def chance(graph: Graph, node: str, faults: Sequence[str]) -> dict[str, float]:
    """Return fault -> P(node on | that fault alone).

    The node may be a mechanism, symptom or finding of the graph.
    """
    walk = Walk(graph, {node: Weighing(1.0, 0.0)})
    leak = float(graph.nodes[node].get("leak") or 0.0)
    own = 1 << walk.position[node]
    found: dict[str, float] = {}
    for fault in faults:
        reach = walk.reach(fault)
        found[fault] = walk.value([walk.direct(fault)], reach) if reach & own else leak
    return found


def _product(links: tuple[tuple[int, float], ...], seen: int) -> float:
    value = 1.0
    for parent, miss in links:
        if parent & seen:
            value *= miss
    return value


def _relevant_order(graph: Graph, weighings: Mapping[str, Weighing]) -> list[str]:
    relevant = set(weighings)
    for node in weighings:
        relevant |= nx.ancestors(graph, node)
    return [
        node
        for node in nx.lexicographical_topological_sort(graph.subgraph(relevant))
        if graph.nodes[node]["kind"] != "fault"
    ]


def _steps(
    graph: Graph, order: Sequence[str], weighings: Mapping[str, Weighing]
) -> tuple[_Step, ...]:
    bits = {node: 1 << index for index, node in enumerate(order)}
    needed_until = {node: -1 for node in order}
    for index, node in enumerate(order):
        for parent in graph.pred[node]:
            if parent in bits:
                needed_until[parent] = index
    steps = []
    for index, node in enumerate(order):
        links = tuple(
            (bits[parent], 1.0 - about["strength"])
            for parent, about in sorted(graph.pred[node].items())
            if parent in bits
        )
        steps.append(
            _Step(
                bit=bits[node],
                mask=sum(bit for bit, _ in links),
                links=links,
                no_leak=1.0 - float(graph.nodes[node].get("leak") or 0.0),
                weighing=weighings.get(node, Weighing(1.0, 1.0)),
                keep=sum(bits[n] for n in order if needed_until[n] > index),
            )
        )
    return tuple(steps)
