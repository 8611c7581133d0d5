"""P(evidence | exactly these faults are on), exact, under independent causes (noisy-OR).

P(n off | causes) = (1 − leak) Π (1 − strength), with leaks on symptoms and findings only. So given the
faults only their descendants can be on, and the likelihood is a walk over the relevant nodes in
topological order that keeps a table {mechanisms on: weight}. A bit is dropped as soon as nothing further
on needs it, and states that then agree are merged: variable elimination along the order, in plain Python.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from copy import copy
from typing import NamedTuple

import networkx as nx

from diagnose.graph import Graph


class Weighing(NamedTuple):
    """How likely what is known of a node is when the node is on, and when it is off."""

    on: float
    off: float


class _Step(NamedTuple):
    """One node in the order: its bit, its parents, its leak, the bits needed after it."""

    bit: int
    mask: int
    links: tuple[tuple[int, float], ...]
    no_leak: float
    keep: int


class Walk:
    """The relevant part of a graph laid out for one set of weighings (node -> Weighing).

    With `relative` the weight of each node is over its weight when no fault is on, so that what a fault
    cannot reach counts as one; that needs evidence off 0 and 1.
    """

    def __init__(
        self, graph: Graph, weighings: Mapping[str, Weighing], relative: bool = True
    ) -> None:
        order = _relevant_order(graph, weighings)
        self.position = {node: index for index, node in enumerate(order)}
        self.end = len(order)
        self._graph = graph
        self._relative = relative
        self._steps = _steps(graph, order)
        self._memo: list[dict[int, float]] = [{0: 1.0} for _ in order]
        self._weighings = self._weights(weighings)
        self._below = self._reach_below(order)

    def _weights(self, weighings: Mapping[str, Weighing]) -> tuple[Weighing, ...]:
        weights = []
        for node, step in zip(self.position, self._steps, strict=True):
            on, off = weighings.get(node, Weighing(1.0, 1.0))
            base = on + (off - on) * step.no_leak if self._relative else 1.0
            weights.append(Weighing(on / base, off / base))
        return tuple(weights)

    def reweighed(self, weighings: Mapping[str, Weighing]) -> Walk:
        """Return the same order with other weighings on its nodes; what it has learned is shared."""
        new = copy(self)
        new._weighings = new._weights(weighings)
        return new

    def direct(self, fault: str) -> Mapping[int, float]:
        """Return step -> chance that the fault does not bring that node about directly."""
        return {
            self.position[effect]: 1.0 - about["strength"]
            for effect, about in self._graph.succ[fault].items()
            if effect in self.position
        }

    def reach(self, node: str) -> int:
        """Return the steps that a fault or mechanism can touch, as bits."""
        if node in self.position:
            return self._below[self.position[node]]
        return self._reach_from(node, self._below)

    def _reach_from(self, node: str, below: Sequence[int]) -> int:
        reach = 0
        for effect in self._graph.succ[node]:
            if effect in self.position:
                index = self.position[effect]
                reach |= 1 << index | below[index]
        return reach

    def _reach_below(self, order: Sequence[str]) -> list[int]:
        below = [0] * len(order)
        for index in reversed(range(len(order))):
            below[index] = self._reach_from(order[index], below)
        return below

    def reach_of_state(self, state: int) -> int:
        """Return the steps that the mechanisms on in a state can touch, as bits."""
        reach = 0
        while state:
            low = state & -state
            state ^= low
            reach |= self._below[low.bit_length() - 1]
        return reach

    def likelihood(self, direct: Sequence[Mapping[int, float]], reach: int) -> float:
        """Return the weight of the steps in `reach` when the faults with these direct links are on."""
        return sum(self.advance({0: 1.0}, direct, reach).values())

    def advance(
        self, states: dict[int, float], direct: Sequence[Mapping[int, float]], reach: int
    ) -> dict[int, float]:
        """Return the states after the steps in `reach`, from `states` before them.

        A state is the set of mechanisms on that are still needed, as bits; its value is a weight.
        """
        while reach:
            low = reach & -reach
            reach ^= low
            index = low.bit_length() - 1
            bit, mask, links, off, keep = self._steps[index]
            weigh_on, weigh_off = self._weighings[index]
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
        return states


def chance(graph: Graph, node: str, faults: Sequence[str]) -> dict[str, float]:
    """Return fault -> P(node on | that fault alone).

    The node may be a mechanism, symptom or finding of the graph.
    """
    walk = Walk(graph, {node: Weighing(1.0, 0.0)}, relative=False)
    leak = float(graph.nodes[node].get("leak") or 0.0)
    own = 1 << walk.position[node]
    found: dict[str, float] = {}
    for fault in faults:
        reach = walk.reach(fault)
        found[fault] = walk.likelihood([walk.direct(fault)], reach) if reach & own else leak
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


def _steps(graph: Graph, order: Sequence[str]) -> tuple[_Step, ...]:
    bits = {node: 1 << index for index, node in enumerate(order)}
    needed_until = dict.fromkeys(order, -1)
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
                keep=sum(bits[n] for n in order if needed_until[n] > index),
            )
        )
    return tuple(steps)
