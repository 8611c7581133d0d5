"""Why: the causal path in words, what speaks for and against, and what one would see."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import networkx as nx

from diagnose.graph import Graph
from diagnose.in_words import lower_first
from diagnose.rank import Ranker
from diagnose.walk import chance
from knowledge.loader import Knowledge

WORTH_SAYING = 1.15
"""A factor on the odds smaller than this, either way, is not worth a line."""


def path_to(graph: Graph, fault: str, effects: Sequence[str]) -> list[str]:
    """Return the likeliest causal path from the fault to one of the effects; empty if there is none.

    The likeliest path is the one whose strengths have the largest product.
    """
    best: list[str] = []
    best_cost = math.inf
    for effect in sorted(set(effects)):
        if effect not in graph or not nx.has_path(graph, fault, effect):
            continue
        path = [str(node) for node in nx.shortest_path(graph, fault, effect, weight=_surprise)]
        cost = sum(_surprise(a, b, graph.edges[a, b]) for a, b in pairwise(path))
        if cost < best_cost:
            best_cost, best = cost, path
    return best


def _surprise(_cause: str, _effect: str, link: Mapping[str, Any]) -> float:
    return -math.log(link["strength"])


def path_in_words(knowledge: Knowledge, path: Sequence[str]) -> str:
    """Return a causal path as sentences: the fault, the physics of each mechanism, what is noticed."""
    if not path:
        return ""
    sentences = [f"{knowledge.title(path[0])}."]
    for node in path[1:-1]:
        mechanism = knowledge.mechanisms[node]
        sentences.append(f"{mechanism.title}: {lower_first(mechanism.physics)}")
    if len(path) > 1:
        sentences.append(f"What is noticed: {lower_first(knowledge.title(path[-1]))}.")
    return " ".join(sentences)


def factors(ranker: Ranker, faults: Sequence[str]) -> Mapping[str, list[tuple[str, float]]]:
    """Return fault -> (item, factor on its odds), by leaving each item out, over the singles.

    Strongest first, then by item. Where there is one fault only it has no odds, and no item a factor.
    """
    found: dict[str, list[tuple[str, float]]] = {fault: [] for fault in faults}
    if len(ranker.faults) < 2:
        return found
    with_all = ranker.single_weights()
    after = {fault: _single_odds(with_all, fault) for fault in faults}
    for item in sorted({e.item for e in ranker.evidence} | {s.item for s in ranker.starts}):
        left_out = ranker.without(item).single_weights()
        for fault in faults:
            found[fault].append((item, after[fault] / _single_odds(left_out, fault)))
    for rows in found.values():
        rows.sort(key=lambda row: (-abs(math.log(row[1])), row[0]))
    return found


def _single_odds(weights: Mapping[str, float], fault: str) -> float:
    """Return the odds of one weight against the others, added up without it: no difference of sums."""
    return weights[fault] / math.fsum(w for other, w in weights.items() if other != fault)


@dataclass(frozen=True)
class Expected:
    """What one would see of a node if a fault were the only thing wrong."""

    node: str
    chance: float
    lift: float
    """How many times as often as over all faults: the telling ones stand out."""


def expected_signs(
    graph: Graph, odds: Mapping[str, float], fault: str, nodes: Sequence[str]
) -> list[Expected]:
    """Return what would be seen with this fault, likeliest first, then by id."""
    faults = sorted(odds)
    total = sum(odds.values())
    signs = []
    for node in sorted(set(nodes)):
        by_fault = chance(graph, node, faults)
        average = sum(odds[other] * by_fault[other] for other in faults) / total
        lift = by_fault[fault] / average if average else 1.0
        signs.append(Expected(node, by_fault[fault], lift))
    return sorted(signs, key=lambda sign: (-sign.chance, sign.node))
