"""Cause charts: what can bring a symptom about, and what a fault brings about, as a tree to teach from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from diagnose.evidence import symptom_evidence
from diagnose.graph import Cut, Graph
from diagnose.rank import Ranker
from knowledge.loader import Knowledge

Direction = Literal["causes", "effects"]


@dataclass(frozen=True)
class Branch:
    """One node of a chart: how strong its link to the node above is, and what hangs on it.

    `strength` is the chance that the cause alone brings the effect about, None at the root; `share` is,
    for a fault, its probability when nothing but the symptom at the root is known.
    """

    node: str
    title: str
    kind: str
    strength: float | None
    share: float | None
    branches: tuple[Branch, ...]


def causes_of(
    knowledge: Knowledge, cut: Cut, node: str, per_thousand: Mapping[str, float], deepest: int = 5
) -> Branch:
    """Return the tree of what can bring a symptom or mechanism about, likeliest first.

    Raises
    ------
    KeyError : the node is not in the graph of this station
    """
    if node not in cut.graph:
        raise KeyError(node)
    shares: Mapping[str, float] = {}
    if node in knowledge.symptoms:
        seen = symptom_evidence(node, "yes", "tried_it", knowledge.symptoms[node].leak.chance)
        shares = Ranker(cut.graph, per_thousand, [seen] if seen else []).rank().on
    return _branch(
        knowledge, cut.graph, node, None, shares=shares, direction="causes", deepest=deepest
    )


def effects_of(knowledge: Knowledge, cut: Cut, node: str, deepest: int = 5) -> Branch:
    """Return the tree of what a fault or mechanism brings about, strongest first.

    Raises
    ------
    KeyError : the node is not in the graph of this station
    """
    if node not in cut.graph:
        raise KeyError(node)
    return _branch(
        knowledge, cut.graph, node, None, shares={}, direction="effects", deepest=deepest
    )


def _branch(
    knowledge: Knowledge,
    graph: Graph,
    node: str,
    strength: float | None,
    *,
    shares: Mapping[str, float],
    direction: Direction,
    deepest: int,
) -> Branch:
    links = graph.pred[node] if direction == "causes" else graph.succ[node]
    branches = [
        _branch(
            knowledge,
            graph,
            other,
            link["strength"],
            shares=shares,
            direction=direction,
            deepest=deepest - 1,
        )
        for other, link in links.items()
        if deepest > 0 and graph.nodes[other]["kind"] != "finding"
    ]
    branches.sort(key=lambda one: (-_weight(one), -(one.strength or 0.0), one.node))
    kind = str(graph.nodes[node]["kind"])
    share = shares.get(node) if kind == "fault" else None
    return Branch(node, knowledge.title(node), kind, strength, share, tuple(branches))


def _weight(branch: Branch) -> float:
    """Return the share that hangs on a branch: its own, or that of the faults below."""
    return branch.share or sum(_weight(one) for one in branch.branches)


def as_dot(chart: Branch, direction: Direction) -> str:
    """Return the chart in the DOT language, each node and link once, arrows from cause to effect."""
    shapes = {"fault": "box", "mechanism": "ellipse", "symptom": "hexagon"}
    nodes: set[str] = set()
    links: set[str] = set()
    pending = [chart]
    while pending:
        branch = pending.pop()
        label = branch.title.replace("\\", "\\\\").replace('"', '\\"')
        nodes.add(f'  {branch.node} [label="{label}", shape={shapes[branch.kind]}];')
        for one in branch.branches:
            cause, effect = (one, branch) if direction == "causes" else (branch, one)
            links.add(f'  {cause.node} -> {effect.node} [label="{one.strength:.2f}"];')
        pending.extend(branch.branches)
    return (
        "\n".join(["digraph causes {", "  rankdir=LR;", *sorted(nodes), *sorted(links), "}"]) + "\n"
    )
