"""The walk over states, and its sharing between pairs, against adding up every state of every node."""

from __future__ import annotations

import math
from itertools import combinations

import pytest
from brute_force import Network, chance_on, graphs, networks, of_kind, worlds
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.graph import Graph
from diagnose.pairs import PairWalk
from diagnose.rank import weigh
from diagnose.walk import Walk, Weighing, chance

exact = settings(deadline=None, max_examples=100)


def _nodes(graph: Graph) -> list[str]:
    return of_kind(graph, "mechanism", "symptom", "finding")


def _weighings(network: Network) -> dict[str, Weighing]:
    faults = set(network.faults)
    return {n: w for n, w in weigh(network.evidence).items() if n not in faults}


def _by_enumeration(graph: Graph, weighings: dict[str, Weighing], faults: tuple[str, ...]) -> float:
    return math.fsum(
        weight * math.prod(w.on if node in on else w.off for node, w in weighings.items())
        for on, weight in worlds(graph, faults)
    )


@exact
@given(graphs(), st.data())
def test_chance_of_a_node_with_each_fault_alone(graph: Graph, data: st.DataObject) -> None:
    node = data.draw(st.sampled_from(_nodes(graph)))
    faults = of_kind(graph, "fault")
    wanted = {fault: chance_on(graph, node, (fault,)) for fault in faults}
    assert chance(graph, node, faults) == pytest.approx(wanted, abs=1e-12)


@exact
@given(networks())
def test_absolute_weight_is_the_chance_of_the_evidence(network: Network) -> None:
    weighings = _weighings(network)
    walk = Walk(network.graph, weighings, relative=False)
    every_step = (1 << walk.end) - 1
    for faults in [(), *((f,) for f in network.faults), *combinations(network.faults, 2)]:
        direct = [walk.direct(fault) for fault in faults]
        wanted = _by_enumeration(network.graph, weighings, faults)
        assert walk.likelihood(direct, every_step) == pytest.approx(wanted, rel=1e-9)


@exact
@given(networks())
def test_steps_out_of_reach_weigh_one(network: Network) -> None:
    walk = Walk(network.graph, _weighings(network))
    every_step = (1 << walk.end) - 1
    for fault in network.faults:
        direct = [walk.direct(fault)]
        whole = walk.likelihood(direct, every_step)
        assert walk.likelihood(direct, walk.reach(fault)) == pytest.approx(whole, rel=1e-12)


@exact
@given(networks(faults=4, mechanisms=5))
def test_pairs_that_share_heads_and_tails_equal_the_plain_walk(network: Network) -> None:
    walk = Walk(network.graph, _weighings(network))
    together = PairWalk(walk, network.faults)
    for first, second in combinations(network.faults, 2):
        direct = [walk.direct(first), walk.direct(second)]
        wanted = walk.likelihood(direct, walk.reach(first) | walk.reach(second))
        assert together.likelihood(first, second) == pytest.approx(wanted, rel=1e-12)
        assert together.likelihood(second, first) == pytest.approx(wanted, rel=1e-12)


@exact
@given(networks(), st.data())
def test_reweighed_equals_a_new_walk_over_the_same_nodes(
    network: Network, data: st.DataObject
) -> None:
    before = _weighings(network)
    after = {node: Weighing(data.draw(st.floats(0.1, 0.9)), 0.3) for node in before}
    old = Walk(network.graph, before)
    kept = {f: old.likelihood([old.direct(f)], old.reach(f)) for f in network.faults}
    new, fresh = old.reweighed(after), Walk(network.graph, after)
    for fault in network.faults:
        reach = new.reach(fault)
        assert new.likelihood([new.direct(fault)], reach) == fresh.likelihood(
            [fresh.direct(fault)], reach
        )
        assert old.likelihood([old.direct(fault)], reach) == kept[fault]


@exact
@given(graphs(), st.data())
def test_a_state_reaches_what_its_mechanisms_can_bring_about(
    graph: Graph, data: st.DataObject
) -> None:
    leaves = of_kind(graph, "symptom", "finding")
    walk = Walk(graph, {leaf: Weighing(0.9, 0.1) for leaf in leaves})
    mechanisms = [n for n in of_kind(graph, "mechanism") if n in walk.position]
    chosen = data.draw(st.sets(st.sampled_from(mechanisms))) if mechanisms else set()
    state = sum(1 << walk.position[name] for name in chosen)
    wanted = 0
    for name in chosen:
        wanted |= walk.reach(name)
    assert walk.reach_of_state(state) == wanted
