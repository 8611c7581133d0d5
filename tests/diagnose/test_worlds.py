"""The worlds that a hypothesis leaves open: exact with pruning off, and close with it on."""

from __future__ import annotations

import math
from collections.abc import Set
from itertools import combinations

import pytest
from brute_force import Network, networks, of_kind, worlds
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.case import Case
from diagnose.evidence import Evidence
from diagnose.rank import weigh
from diagnose.reason import Reasoned, reason
from diagnose.worlds import Worlds, folded
from knowledge.loader import Knowledge

exact = settings(deadline=None, max_examples=100)


def expected(worlds_: Worlds, node: str, faults: tuple[str, ...]) -> float:
    return sum(p * worlds_.chance(node, world, faults) for world, p in worlds_.of(faults).items())


@exact
@given(networks())
def test_chance_of_every_node_given_the_evidence_equals_enumeration(network: Network) -> None:
    graph = network.graph
    exactly = Worlds(graph, weigh(network.evidence), negligible=0.0)
    for faults in [*((f,) for f in network.faults), *combinations(network.faults, 2)]:
        states = [(on, p * _weight(network, on)) for on, p in worlds(graph, faults)]
        total = sum(weight for _, weight in states)
        # a leaf that has been seen is not asked for again: the worlds are of mechanisms only
        for node in of_kind(graph, "mechanism", "symptom", "finding"):
            if any(item.node == node for item in network.evidence) and graph.out_degree(node) == 0:
                continue
            wanted = sum(weight for on, weight in states if node in on) / total
            assert expected(exactly, node, faults) == pytest.approx(wanted, abs=1e-9)


@exact
@given(networks(), st.data())
def test_evidence_foretold_equals_the_ratio_of_two_walks(
    network: Network, data: st.DataObject
) -> None:
    """P(node | H, E) from the worlds, against P(E, node | H) / P(E | H) from the ranker."""
    seen = {item.node for item in network.evidence}
    open_ = [leaf for leaf in network.leaves if leaf not in seen]
    if not open_:
        return
    node = data.draw(st.sampled_from(open_))
    exactly = Worlds(network.graph, weigh(network.evidence), negligible=0.0)
    found = network.seeing(*network.evidence, Evidence("found", node, 1.0, 0.0)).ranker()
    before, leak = network.ranker(), network.graph.nodes[node]["leak"]
    for faults in [*((f,) for f in network.faults), *combinations(network.faults, 2)]:
        ratio = leak * found.likelihood(*faults) / before.likelihood(*faults)
        assert expected(exactly, node, faults) == pytest.approx(ratio, rel=1e-9)


@exact
@given(networks())
def test_worlds_sum_to_one_and_folding_keeps_their_weight(network: Network) -> None:
    exactly = Worlds(network.graph, weigh(network.evidence), negligible=0.0)
    for fault in network.faults:
        found = exactly.of((fault,))
        assert sum(found.values()) == pytest.approx(1.0, abs=1e-12)
        for leaf in network.leaves:
            mask = exactly.mask(leaf)
            by_part = folded(found, mask)
            assert sum(by_part.values()) == pytest.approx(1.0, abs=1e-12)
            told_apart = sum(p * exactly.chance(leaf, w, (fault,)) for w, p in by_part.items())
            assert told_apart == pytest.approx(expected(exactly, leaf, (fault,)), abs=1e-12)


def _weight(network: Network, on: Set[str]) -> float:
    return math.prod(item.on if item.node in on else item.off for item in network.evidence)


@pytest.fixture(scope="module")
def reasoned(knowledge: Knowledge) -> Reasoned:
    case = {"said": ["wire feeds but no arc", "clamp gets hot"], "station": {"process": "GMAW"}}
    return reason(Case.model_validate(case), knowledge)


def test_on_our_network_the_worlds_without_pruning_equal_the_walk(reasoned: Reasoned) -> None:
    ranker, graph = reasoned.ranker, reasoned.cut.graph
    exactly = Worlds(graph, weigh(reasoned.evidence), negligible=0.0)
    seen = {item.node for item in ranker.evidence}
    leading = reasoned.ranking.order()[:6]
    nodes = [n for n in of_kind(graph, "symptom", "finding") if n not in seen][::12]
    before = {fault: ranker.likelihood(fault) for fault in leading}
    for node in nodes:
        more = [*ranker.evidence, Evidence("found", node, 1.0, 0.0)]
        after = type(ranker)(graph, ranker.per_thousand, more)
        for fault in leading:
            ratio = graph.nodes[node]["leak"] * after.likelihood(fault) / before[fault]
            assert expected(exactly, node, (fault,)) == pytest.approx(ratio, rel=1e-9)


def test_pruning_moves_no_chance_by_a_percent(reasoned: Reasoned) -> None:
    graph, weighings = reasoned.cut.graph, weigh(reasoned.evidence)
    exactly, pruned = Worlds(graph, weighings, negligible=0.0), Worlds(graph, weighings)
    for fault in reasoned.ranking.order()[:6]:
        assert len(pruned.of((fault,))) <= len(exactly.of((fault,)))
        for node in of_kind(graph, "symptom", "finding"):
            whole = expected(exactly, node, (fault,))
            assert expected(pruned, node, (fault,)) == pytest.approx(whole, abs=0.01)
