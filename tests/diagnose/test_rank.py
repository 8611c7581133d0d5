"""The ranking is exact: against enumeration, and as the theorems of noisy-OR have it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import replace
from itertools import combinations
from random import Random
from typing import Any

import networkx as nx
import pytest
from brute_force import (
    Network,
    evidence_on,
    graphs,
    likelihood,
    networks,
    of_kind,
    posterior,
    strengths,
    weights_off_0_and_1,
)
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from diagnose.case import Case
from diagnose.evidence import Evidence
from diagnose.graph import Graph
from diagnose.rank import Ranking, prior_odds, weigh
from diagnose.reason import reason
from knowledge.loader import Knowledge

exact = settings(deadline=None, max_examples=120)


@exact
@given(networks())
def test_posterior_equals_enumeration_of_every_state_of_every_node(network: Network) -> None:
    ranking = network.ranker().rank()
    wanted, other = posterior(network)
    found: dict[tuple[str, ...], float] = {(fault,): p for fault, p in ranking.singles.items()}
    found.update(ranking.pairs)
    assert found.keys() == wanted.keys()
    for hypothesis, probability in wanted.items():
        assert found[hypothesis] == pytest.approx(probability, rel=1e-9)
    assert ranking.not_in_list == pytest.approx(other, rel=1e-9)


@exact
@given(networks(faults=3), st.data())
def test_likelihood_of_any_number_of_faults_equals_enumeration(
    network: Network, data: st.DataObject
) -> None:
    faults = tuple(sorted(data.draw(st.sets(st.sampled_from(network.faults)))))
    wanted = likelihood(network.graph, faults, network.evidence)
    nothing = likelihood(network.graph, (), network.evidence)
    assert network.ranker().likelihood(*faults) == pytest.approx(wanted / nothing, rel=1e-9)


@exact
@given(networks())
def test_singles_pairs_and_not_in_our_list_sum_to_one(network: Network) -> None:
    assert _sum(network.ranker().rank()) == pytest.approx(1.0, abs=1e-12)


@exact
@given(networks(), st.data())
def test_evidence_with_equal_weights_changes_nothing(network: Network, data: st.DataObject) -> None:
    node = data.draw(st.sampled_from(sorted(network.graph)))
    weight = data.draw(weights_off_0_and_1)
    says_nothing = Evidence("item:equal", node, weight, weight)
    more = network.seeing(*network.evidence, says_nothing)
    _assert_same(network.ranker().rank(), more.ranker().rank())


@exact
@given(networks(), st.randoms(use_true_random=False))
def test_order_of_evidence_starts_and_prevalences_does_not_change_a_bit(
    network: Network, random: Random
) -> None:
    def shuffled(items: Iterable[Any]) -> list[Any]:
        listed = list(items)
        random.shuffle(listed)
        return listed

    other = replace(
        network,
        evidence=tuple(shuffled(network.evidence)),
        starts=tuple(shuffled(network.starts)),
        per_thousand=dict(shuffled(network.per_thousand.items())),
        graph=_rebuilt(network, shuffled),
    )
    assert network.ranker().rank() == other.ranker().rank()


@exact
@given(networks(), st.data(), st.floats(1.0, 20.0))
def test_raising_a_prevalence_never_lowers_that_fault_within_our_list(
    network: Network, data: st.DataObject, times: float
) -> None:
    """Every weight with the fault grows by one factor and no other weight moves, whatever was seen.

    "Not in our list" is left out of the sum: it takes the average of our faults for its rates, so it
    moves with them, and with several items of evidence it can outgrow a fault.
    """
    fault = data.draw(st.sampled_from(network.faults))
    raised = min(200.0, network.per_thousand[fault] * times)
    more = replace(network, per_thousand={**network.per_thousand, fault: raised})
    assert _in_list(more, fault) >= _in_list(network, fault) * (1.0 - 1e-12)


@exact
@given(networks(), st.data(), st.floats(1.0, 20.0))
def test_raising_a_prevalence_never_lowers_that_fault_at_all_with_one_item_of_evidence(
    network: Network, data: st.DataObject, times: float
) -> None:
    """The weight of "not in our list" grows by no more than the fault's for each node with evidence."""
    fault = data.draw(st.sampled_from(network.faults))
    less = network.seeing(*network.evidence[:1])
    raised = min(200.0, network.per_thousand[fault] * times)
    more = replace(less, per_thousand={**less.per_thousand, fault: raised})
    before, after = less.ranker().rank().on[fault], more.ranker().rank().on[fault]
    assert after >= before * (1.0 - 1e-12)


@exact
@given(graphs(), st.data(), strengths, st.booleans())
def test_raising_a_link_of_a_fault_moves_it_the_way_the_evidence_below_points(
    graph: Graph, data: st.DataObject, strength: float, seen: bool
) -> None:
    """A fault's own link is used by no hypothesis without the fault.

    So where all evidence at or below its effect speaks for its node (on >= off) the fault never falls
    within our list, and where all of it speaks against (on <= off) the fault never rises. With
    evidence of both signs below there is no such theorem.
    """
    network = _drawn(graph, data)
    own = [(a, b) for a, b in network.graph.edges if a in network.faults]
    assume(own)
    cause, effect = data.draw(st.sampled_from(sorted(own)))
    network = _pointing(network, seen)
    more = network.with_strength(
        cause, effect, max(strength, network.graph.edges[cause, effect]["strength"])
    )
    before, after = _in_list(network, cause), _in_list(more, cause)
    if seen:
        assert after >= before * (1.0 - 1e-12)
    else:
        assert after <= before * (1.0 + 1e-12)


@exact
@given(graphs(), st.data(), strengths, st.booleans())
def test_raising_any_link_moves_every_likelihood_the_way_the_evidence_points(
    graph: Graph, data: st.DataObject, strength: float, seen: bool
) -> None:
    """P(evidence | faults) is monotone in every strength when all evidence has one sign.

    The likelihood is taken itself, not over that of no fault; the latter is the same before and after,
    as no link is active with no fault on.
    """
    network = _drawn(graph, data)
    assume(network.graph.edges)
    cause, effect = data.draw(st.sampled_from(sorted(network.graph.edges)))
    network = _pointing(network, seen)
    more = network.with_strength(
        cause, effect, max(strength, network.graph.edges[cause, effect]["strength"])
    )
    before, after = network.ranker(), more.ranker()
    for faults in [(f,) for f in network.faults] + list(combinations(network.faults, 2)):
        was, now = before.likelihood(*faults), after.likelihood(*faults)
        assert now >= was * (1 - 1e-12) if seen else now <= was * (1 + 1e-12)


@exact
@given(networks(), st.data())
def test_leaving_an_item_out_equals_never_having_had_it(
    network: Network, data: st.DataObject
) -> None:
    items = [e.item for e in network.evidence] + [s.item for s in network.starts]
    assume(items)
    item = data.draw(st.sampled_from(items))
    without = replace(
        network,
        evidence=tuple(e for e in network.evidence if e.item != item),
        starts=tuple(s for s in network.starts if s.item != item),
    )
    _assert_same(network.ranker().without(item).rank(), without.ranker().rank())


def test_pairs_that_exclude_each_other_are_no_hypothesis(knowledge: Knowledge) -> None:
    reasoned = reason(Case.model_validate({"said": ["porosity"]}), knowledge)
    pairs = {frozenset(pair) for pair in reasoned.ranking.pairs}
    assert frozenset(("flow_set_low", "flow_set_high")) not in pairs
    faults = len(reasoned.ranker.faults)
    excluded = [p for p in reasoned.ranker.excludes if p <= set(reasoned.ranker.faults)]
    assert len(pairs) == faults * (faults - 1) // 2 - len(excluded)


def test_on_counts_a_fault_alone_and_in_pairs() -> None:
    ranking = Ranking({"a": 0.5, "b": 0.2}, {("a", "b"): 0.2}, 0.1)
    assert ranking.on == {"a": 0.7, "b": 0.4}
    assert ranking.order() == ["a", "b"]
    assert Ranking({"b": 0.5, "a": 0.5}, {}, 0.0).order() == ["a", "b"]


def test_several_items_on_one_node_multiply() -> None:
    items = [Evidence("x", "n", 0.9, 0.1), Evidence("y", "n", 0.5, 0.2)]
    assert weigh(items)["n"] == pytest.approx((0.45, 0.02))


def test_prior_odds_are_those_of_a_share_of_the_prior_sum() -> None:
    assert prior_odds(100.0) == pytest.approx(0.03 / 0.97)


def test_evidence_on_a_node_that_the_station_does_not_have_counts_for_nothing() -> None:
    graph: Graph = nx.DiGraph()
    graph.add_node("f", kind="fault")
    graph.add_node("s", kind="symptom", leak=0.1)
    graph.add_edge("f", "s", strength=0.5)
    seen = Evidence("symptom:s", "s", 0.9, 0.1)
    absent = Evidence("symptom:gone", "gone", 0.9, 0.1)
    plain = Network(graph, {"f": 10.0}, (seen,))
    assert plain.ranker().rank() == plain.seeing(seen, absent).ranker().rank()


def _sum(ranking: Ranking) -> float:
    return math.fsum([*ranking.singles.values(), *ranking.pairs.values(), ranking.not_in_list])


def _in_list(network: Network, fault: str) -> float:
    ranking = network.ranker().rank()
    return ranking.on[fault] / (_sum(ranking) - ranking.not_in_list)


def _assert_same(one: Ranking, other: Ranking) -> None:
    # 1 − (1 − leak) Π (1 − strength) loses digits where a node is nearly impossible: 1e-16 over a chance
    # of 1e-6 is 1e-10, so the promise is the same 1e-9 as against enumeration
    assert one.singles == pytest.approx(other.singles, rel=1e-9)
    assert one.pairs == pytest.approx(other.pairs, rel=1e-9)
    assert one.not_in_list == pytest.approx(other.not_in_list, rel=1e-9)


def _drawn(graph: Graph, data: st.DataObject) -> Network:
    nodes = of_kind(graph, "mechanism", "symptom", "finding")
    items = [data.draw(evidence_on(nodes, f"item:{index}")) for index in range(3)]
    faults = of_kind(graph, "fault")
    counts = {fault: data.draw(st.floats(1.0, 150.0)) for fault in faults}
    return Network(graph, counts, tuple(items))


def _pointing(network: Network, seen: bool) -> Network:
    """Return the network with every item turned to speak for its node, or against it."""
    turned = []
    for item in network.evidence:
        low, high = sorted((item.on, item.off))
        turned.append(replace(item, on=high if seen else low, off=low if seen else high))
    return network.seeing(*turned)


def _rebuilt(network: Network, shuffled: Callable[[Iterable[Any]], list[Any]]) -> Graph:
    graph: Graph = nx.DiGraph()
    graph.add_nodes_from(shuffled(network.graph.nodes(data=True)))
    graph.add_edges_from(shuffled(network.graph.edges(data=True)))
    return graph
