"""Small random networks, and the same questions answered by adding up every state of every node.

Nothing here is shared with the code under test but the shape of the graph: the chance of a node is
written out again from the formula P(off) = (1 − leak) Π (1 − strength), and nothing is cut or merged.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, replace
from itertools import combinations, product

import networkx as nx
from hypothesis import strategies as st

from diagnose.evidence import Evidence, StartEvidence
from diagnose.graph import Graph
from diagnose.rank import NOT_IN_LIST_PER_THOUSAND, PRIOR_SUM, Ranker

Hypothesis = tuple[str, ...]


@dataclass(frozen=True)
class Network:
    """A graph with everything a ranker wants."""

    graph: Graph
    per_thousand: Mapping[str, float]
    evidence: tuple[Evidence, ...] = ()
    starts: tuple[StartEvidence, ...] = ()
    excludes: frozenset[frozenset[str]] = frozenset()

    @property
    def faults(self) -> list[str]:
        return of_kind(self.graph, "fault")

    @property
    def leaves(self) -> list[str]:
        return of_kind(self.graph, "symptom", "finding")

    def ranker(self) -> Ranker:
        return Ranker(self.graph, self.per_thousand, self.evidence, self.starts, self.excludes)

    def seeing(self, *items: Evidence) -> Network:
        """Return the network with these items of evidence and no others."""
        return replace(self, evidence=items)

    def with_strength(self, cause: str, effect: str, strength: float) -> Network:
        graph = self.graph.copy()
        graph.edges[cause, effect]["strength"] = strength
        return replace(self, graph=graph)


def of_kind(graph: Graph, *kinds: str) -> list[str]:
    return sorted(node for node, about in graph.nodes(data=True) if about["kind"] in kinds)


def worlds(graph: Graph, faults: Iterable[str]) -> Iterator[tuple[Set[str], float]]:
    """Yield every state of the network with exactly these faults on, as (nodes on, probability)."""
    others = [n for n, about in graph.nodes(data=True) if about["kind"] != "fault"]
    for states in product((False, True), repeat=len(others)):
        on = {*faults, *(node for node, state in zip(others, states, strict=True) if state)}
        weight = 1.0
        for node in others:
            p_off = 1.0 - (graph.nodes[node].get("leak") or 0.0)
            for cause in graph.pred[node]:
                if cause in on:
                    p_off *= 1.0 - graph.edges[cause, node]["strength"]
            weight *= 1.0 - p_off if node in on else p_off
        yield on, weight


def likelihood(graph: Graph, faults: Hypothesis, evidence: Iterable[Evidence]) -> float:
    """Return P(evidence | exactly these faults), by enumeration."""
    items = list(evidence)
    return math.fsum(
        weight * math.prod(item.on if item.node in on else item.off for item in items)
        for on, weight in worlds(graph, faults)
    )


def chance_on(graph: Graph, node: str, faults: Hypothesis) -> float:
    """Return P(node on | exactly these faults), by enumeration."""
    return math.fsum(weight for on, weight in worlds(graph, faults) if node in on)


def posterior(network: Network) -> tuple[dict[Hypothesis, float], float]:
    """Return hypothesis -> probability, and that of a fault not in the list, by enumeration."""
    graph, faults = network.graph, network.faults
    odds = {fault: _odds(network.per_thousand[fault]) for fault in faults}
    nothing = likelihood(graph, (), network.evidence)
    hypotheses: list[Hypothesis] = [(fault,) for fault in faults]
    hypotheses += [p for p in combinations(faults, 2) if frozenset(p) not in network.excludes]
    weights = {
        h: math.prod(odds[fault] for fault in h)
        * likelihood(graph, h, network.evidence)
        / nothing
        * math.prod(sum(start.lift[fault] for fault in h) / len(h) for start in network.starts)
        for h in hypotheses
    }
    other = _odds(NOT_IN_LIST_PER_THOUSAND)
    for node in sorted({item.node for item in network.evidence}):
        if graph.nodes[node]["kind"] == "fault":
            continue
        on = math.prod(item.on for item in network.evidence if item.node == node)
        off = math.prod(item.off for item in network.evidence if item.node == node)
        rate = sum(odds[f] * chance_on(graph, node, (f,)) for f in faults) / sum(odds.values())
        leak = graph.nodes[node].get("leak") or 0.0
        other *= (rate * on + (1.0 - rate) * off) / (leak * on + (1.0 - leak) * off)
    total = math.fsum(weights.values()) + other
    return {h: weight / total for h, weight in weights.items()}, other / total


def _odds(per_thousand: float) -> float:
    p = PRIOR_SUM * per_thousand / 1000.0
    return p / (1.0 - p)


strengths = st.floats(0.01, 0.99)
weights_off_0_and_1 = st.floats(0.01, 0.99)


@st.composite
def graphs(draw: st.DrawFn, faults: int = 4, mechanisms: int = 4, leaves: int = 3) -> Graph:
    """Draw a cause graph; names are dealt out so that they tell nothing about the order."""
    counts = (
        ("fault", draw(st.integers(1, faults))),
        ("mechanism", draw(st.integers(0, mechanisms))),
        ("leaf", draw(st.integers(1, leaves))),
    )
    names = draw(st.permutations([f"n{i}" for i in range(sum(n for _, n in counts))]))
    graph: Graph = nx.DiGraph()
    left = list(names)
    for kind, count in counts:
        for _ in range(count):
            named = draw(st.sampled_from(("symptom", "finding"))) if kind == "leaf" else kind
            leak = draw(st.floats(0.001, 0.5)) if kind == "leaf" else None
            graph.add_node(left.pop(), kind=named, leak=leak)
    order = list(graph)
    for earlier, later in combinations(order, 2):
        kinds = graph.nodes[earlier]["kind"], graph.nodes[later]["kind"]
        if kinds[0] not in ("fault", "mechanism") or kinds[1] == "fault":
            continue
        if draw(st.booleans()):
            graph.add_edge(earlier, later, strength=draw(strengths))
    return graph


@st.composite
def evidence_on(draw: st.DrawFn, nodes: Sequence[str], item: str = "item:0") -> Evidence:
    node = draw(st.sampled_from(nodes))
    return Evidence(item, node, draw(weights_off_0_and_1), draw(weights_off_0_and_1))


@st.composite
def networks(draw: st.DrawFn, faults: int = 4, mechanisms: int = 4, leaves: int = 3) -> Network:
    """Draw a network with evidence on nodes of every kind, certain findings, starts and exclusions."""
    graph = draw(graphs(faults, mechanisms, leaves))
    names = of_kind(graph, "fault")
    items = [
        draw(evidence_on(sorted(graph), f"item:{index}"))
        for index in range(draw(st.integers(0, 4)))
    ]
    for finding in of_kind(graph, "finding"):
        if draw(st.booleans()):
            found = float(draw(st.booleans()))
            items.append(Evidence(f"finding:{finding}", finding, found, 1.0 - found))
    starts = [
        StartEvidence(f"started.{facet}", {name: draw(st.floats(0.1, 8.0)) for name in names})
        for facet in draw(st.sampled_from(((), ("change",), ("change", "pattern"))))
    ]
    pairs = [frozenset(pair) for pair in combinations(names, 2)]
    excluded = draw(st.sets(st.sampled_from(pairs), max_size=2)) if pairs else set()
    return Network(
        graph,
        {name: draw(st.floats(0.5, 150.0)) for name in names},
        tuple(items),
        tuple(starts),
        frozenset(excluded),
    )
