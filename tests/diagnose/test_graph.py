"""The cause graph, and the cut to what applies to a station."""

from __future__ import annotations

from math import prod

import networkx as nx
import pytest

from diagnose.graph import Graph, applies, cause_graph, cut, finding_id, upstream
from knowledge.loader import Knowledge


def test_every_link_of_the_knowledge_is_in_the_graph(knowledge: Knowledge) -> None:
    graph = cause_graph(knowledge)
    assert nx.is_directed_acyclic_graph(graph)
    for entries in (knowledge.faults, knowledge.mechanisms):
        for name, entry in entries.items():
            for link in entry.leads_to:  # type: ignore[attr-defined]
                assert (link.strength, link.when) in graph.edges[name, link.effect]["links"]
    for name, check in knowledge.checks.items():
        for looked in check.looks_for:
            node = finding_id(name, looked.result)
            assert graph.nodes[node]["leak"] == looked.mistaken
            assert set(graph.pred[node]) == set(looked.shows)


def test_only_leaves_have_leaks_and_all_of_them_do(knowledge: Knowledge) -> None:
    for _, about in cause_graph(knowledge).nodes(data=True):
        leaf = about["kind"] in ("symptom", "finding")
        assert (about.get("leak") is not None) == leaf
        assert not leaf or 0.0 < about["leak"] < 1.0


@pytest.mark.parametrize(
    ("when", "station", "verdict"),
    [
        ({}, {}, True),
        ({"a": "x"}, {"a": {"x"}}, True),
        ({"a": "x"}, {"a": {"x", "y"}}, True),
        ({"a": ["x", "y"]}, {"a": {"y"}}, True),
        ({"a": "x"}, {"a": {"y"}}, False),
        ({"a": "x"}, {}, None),
        ({"a": "x", "b": "z"}, {"a": {"x"}}, None),
        ({"b": "z", "a": "x"}, {"a": {"y"}}, False),
        ({"a": "x", "b": "z"}, {"b": {"w"}}, False),
    ],
)
def test_when_is_three_valued(
    when: dict[str, str | list[str]], station: dict[str, set[str]], verdict: bool | None
) -> None:
    assert applies(when, station) is verdict


def test_cut_keeps_what_is_not_known_and_weighs_it_down(knowledge: Knowledge) -> None:
    nothing_known = cut(knowledge, {})
    assert not nothing_known.gone
    assert set(nothing_known.share) == set(knowledge.faults)
    for name, fault in knowledge.faults.items():
        wanted = 1.0
        for attribute, value in fault.when.items():
            if shares := knowledge.attributes[attribute].shares:
                wanted *= sum(shares.of[v] for v in ([value] if isinstance(value, str) else value))
        assert nothing_known.share[name] == pytest.approx(wanted)
        waiting = {
            attribute for attribute, faults in nothing_known.unknown.items() if name in faults
        }
        assert waiting == set(fault.when)


@pytest.mark.parametrize("process", ["GMAW", "FCAW-G", "FCAW-S"])
def test_cut_takes_out_exactly_what_the_station_rules_out(
    knowledge: Knowledge, process: str
) -> None:
    station = {"process": {process}, "shielding": {"none" if process == "FCAW-S" else "gas"}}
    left = cut(knowledge, station)
    for name, fault in knowledge.faults.items():
        out = applies(fault.when, station) is False
        assert (name in left.gone) == out == (name not in left.graph)
        if out:
            assert applies({left.gone[name]: fault.when[left.gone[name]]}, station) is False
        elif applies(fault.when, station):
            assert left.share[name] == 1.0
    for cause, effect, about in left.graph.edges(data=True):
        links = cause_graph(knowledge).edges[cause, effect]["links"]
        possible = [
            strength
            * prod(_common(knowledge, a, wanted) for a, wanted in when.items() if a not in station)
            for strength, when in links
            if applies(when, station) is not False
        ]
        assert about["strength"] == pytest.approx(max(possible))


def _common(knowledge: Knowledge, attribute: str, wanted: str | list[str]) -> float:
    """How common the stations are where the attribute is as wanted."""
    shares = knowledge.attributes[attribute].shares
    values = [wanted] if isinstance(wanted, str) else wanted
    return sum(shares.of[value] for value in values) if shares else 1.0


def test_a_link_under_a_condition_goes_with_the_condition(knowledge: Knowledge) -> None:
    whole = cause_graph(knowledge)
    tried = 0
    for cause, effect, about in whole.edges(data=True):
        for _, when in about["links"]:
            for attribute, wanted in when.items():
                values = {wanted} if isinstance(wanted, str) else set(wanted)
                others = set(knowledge.attributes[attribute].answers) - values
                station = {attribute: others}
                if len(about["links"]) == 1 and others:
                    assert not cut(knowledge, station).graph.has_edge(cause, effect)
                    tried += 1
        if tried >= 12:
            break
    assert tried


def test_upstream_is_the_faults_that_can_bring_a_node_about(knowledge: Knowledge) -> None:
    graph = cut(knowledge, {}).graph
    for symptom in sorted(knowledge.symptoms)[::10]:
        wanted = {f for f in knowledge.faults if nx.has_path(graph, f, symptom)}
        assert upstream(graph, [symptom]) == wanted
    assert upstream(graph, ["no_such_node"]) == frozenset()
    fault = min(knowledge.faults)
    assert upstream(graph, [fault]) == {fault}


def test_below_is_everything_that_can_come_about() -> None:
    from diagnose.graph import Cut

    graph: Graph = nx.DiGraph([("f", "m"), ("m", "s"), ("g", "s")])
    left = Cut(graph, {}, {}, {})
    assert left.below("f") == {"m", "s"}
    assert left.below("g") == {"s"}
