"""Why: the likeliest path, the factor of each item, and what one would see."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import networkx as nx
import pytest
from brute_force import Network, chance_on, graphs, likelihood, networks, of_kind
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from diagnose.answer import diagnose
from diagnose.case import Case
from diagnose.evidence import Evidence
from diagnose.explain import expected_signs, factors, path_in_words, path_to
from diagnose.graph import Graph
from diagnose.in_words import lower_first
from diagnose.reason import reason
from diagnose.worlds import Worlds
from knowledge.loader import Knowledge

exact = settings(deadline=None, max_examples=100)


@exact
@given(graphs(faults=2, mechanisms=5), st.data())
def test_path_is_the_one_with_the_largest_product_of_strengths(
    graph: Graph, data: st.DataObject
) -> None:
    fault = data.draw(st.sampled_from(of_kind(graph, "fault")))
    leaves = of_kind(graph, "symptom", "finding")
    effects = data.draw(st.lists(st.sampled_from([*leaves, "no_such_node"]), min_size=1))
    ways = [
        path
        for effect in set(effects) & set(leaves)
        for path in nx.all_simple_paths(graph, fault, effect)
    ]
    path = path_to(graph, fault, effects)
    if not ways:
        assert path == []
        return
    assert path[0] == fault
    assert path[-1] in effects
    assert _product(graph, path) == pytest.approx(max(_product(graph, way) for way in ways))


def _product(graph: Graph, path: list[str]) -> float:
    return math.prod(graph.edges[a, b]["strength"] for a, b in pairwise(path))


@exact
@given(networks())
def test_factor_is_what_leaving_the_item_out_does_to_the_odds_over_the_singles(
    network: Network,
) -> None:
    """Worked again from enumeration: once with all items, once with all but one."""
    assume(len(network.faults) > 1)
    with_all = _odds(network)
    found = factors(network.ranker(), network.faults)
    items = {e.item for e in network.evidence} | {s.item for s in network.starts}
    for rows in found.values():
        assert {item for item, _ in rows} == items
        assert [-abs(math.log(f)) for _, f in rows] == sorted(-abs(math.log(f)) for _, f in rows)
    for item in items:
        left_out = replace(
            network,
            evidence=tuple(e for e in network.evidence if e.item != item),
            starts=tuple(s for s in network.starts if s.item != item),
        )
        before = _odds(left_out)
        for fault, rows in found.items():
            assert dict(rows)[item] == pytest.approx(with_all[fault] / before[fault], rel=1e-9)


def _odds(network: Network) -> dict[str, float]:
    odds = network.ranker().odds
    weights = {
        fault: odds[fault]
        * likelihood(network.graph, (fault,), network.evidence)
        * math.prod(start.lift[fault] for start in network.starts)
        for fault in network.faults
    }
    return {
        fault: weight / math.fsum(w for other, w in weights.items() if other != fault)
        for fault, weight in weights.items()
    }


def test_a_lone_fault_has_no_odds_and_its_items_no_factor() -> None:
    graph: Graph = nx.DiGraph()
    graph.add_node("f", kind="fault")
    graph.add_node("s", kind="symptom", leak=0.1)
    graph.add_edge("f", "s", strength=0.5)
    lone = Network(graph, {"f": 10.0}, (Evidence("symptom:s", "s", 0.9, 0.1),))
    assert factors(lone.ranker(), ["f"]) == {"f": []}


def test_overwhelming_evidence_still_has_a_finite_factor() -> None:
    graph: Graph = nx.DiGraph()
    graph.add_nodes_from(("f", "g"), kind="fault")
    graph.add_node("s", kind="symptom", leak=0.1)
    graph.add_edge("f", "s", strength=0.5)
    items = [Evidence(f"reading:{i}", "f", 0.999, 1e-6) for i in range(4)]
    sure = Network(graph, {"f": 10.0, "g": 10.0}, tuple(items))
    for _, factor in factors(sure.ranker(), ["f"])["f"]:
        assert factor == pytest.approx(0.999 / 1e-6)


@exact
@given(graphs(), st.data())
def test_expected_signs_equal_enumeration_and_the_worlds(graph: Graph, data: st.DataObject) -> None:
    faults = of_kind(graph, "fault")
    odds = {fault: data.draw(st.floats(0.001, 1.0)) for fault in faults}
    nodes = of_kind(graph, "mechanism", "symptom", "finding")
    assume(all(chance_on(graph, n, (f,)) > 0.0 for n in nodes for f in faults))
    fault = data.draw(st.sampled_from(faults))
    exactly = Worlds(graph, {}, negligible=0.0)
    signs = expected_signs(graph, odds, fault, nodes)
    assert [(-s.chance, s.node) for s in signs] == sorted((-s.chance, s.node) for s in signs)
    for sign in signs:
        wanted = chance_on(graph, sign.node, (fault,))
        mean = sum(odds[f] * chance_on(graph, sign.node, (f,)) for f in faults) / sum(odds.values())
        assert sign.chance == pytest.approx(wanted, rel=1e-9)
        assert sign.lift == pytest.approx(wanted / mean, rel=1e-9)
        by_worlds = sum(
            p * exactly.chance(sign.node, world, (fault,))
            for world, p in exactly.of((fault,)).items()
        )
        assert sign.chance == pytest.approx(by_worlds, rel=1e-9)


def test_a_node_that_no_fault_brings_about_has_no_lift() -> None:
    graph: Graph = nx.DiGraph()
    graph.add_node("f", kind="fault")
    graph.add_node("m", kind="mechanism", leak=None)
    sign = expected_signs(graph, {"f": 0.1}, "f", ["m"])[0]
    assert (sign.chance, sign.lift) == (0.0, 1.0)


def test_the_path_of_the_leading_fault_reads_from_cause_to_what_is_noticed(
    knowledge: Knowledge,
) -> None:
    case = {"said": ["wire feeds but no arc"], "station": {"process": "GMAW"}}
    reasoned = reason(Case.model_validate(case), knowledge)
    fault = reasoned.ranking.order()[0]
    path = path_to(reasoned.cut.graph, fault, reasoned.seen_yes)
    words = path_in_words(knowledge, path)
    titles = [knowledge.title(node).lower() for node in path]
    places = [words.lower().find(title) for title in titles]
    assert min(places) >= 0
    assert places == sorted(places)
    assert path_in_words(knowledge, []) == ""


def test_set_up_that_speaks_for_another_fault_says_so(knowledge: Knowledge) -> None:
    polarity = {"electrode": "positive", "known": "looked"}
    station = {"wire": {"class": "E71T-11"}, "polarity": polarity}
    case = {"said": ["pops and spatters"], "station": station}
    first, second, *_ = diagnose(Case.model_validate(case), knowledge).faults
    says = {fault.id: {row.item: row.says for row in fault.evidence} for fault in (first, second)}
    assert says[first.id]["station.polarity"].startswith("The lead was traced to the wrong stud")
    assert says[second.id]["station.polarity"].startswith("points elsewhere: the lead was traced")


@pytest.mark.parametrize(
    ("title", "inside"),
    [
        ("A joint", "a joint"),
        ("Arc is weak", "arc is weak"),
        ("DC", "DC"),
        ("RCD trips", "RCD trips"),
    ],
)
def test_a_title_inside_a_sentence(title: str, inside: str) -> None:
    assert lower_first(title) == inside
