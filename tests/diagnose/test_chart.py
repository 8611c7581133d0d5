"""Cause charts: every link of the graph that leads there, no other, likeliest branch first."""

from __future__ import annotations

from collections.abc import Iterator

import networkx as nx
import pytest

from diagnose.chart import Branch, as_dot, causes_of, effects_of
from diagnose.evidence import symptom_evidence
from diagnose.graph import cut
from diagnose.rank import Ranker
from knowledge.loader import Knowledge


def _all(branch: Branch) -> Iterator[Branch]:
    yield branch
    for one in branch.branches:
        yield from _all(one)


def _shares(knowledge: Knowledge) -> dict[str, float]:
    left = cut(knowledge, {})
    return {
        name: fault.prevalence.per_thousand * left.share[name]
        for name, fault in knowledge.faults.items()
    }


@pytest.mark.parametrize("symptom", ["no_arc", "porosity", "birds_nest"])
def test_causes_are_the_ancestors_with_their_links(knowledge: Knowledge, symptom: str) -> None:
    left = cut(knowledge, {})
    chart = causes_of(knowledge, left, symptom, _shares(knowledge), deepest=20)
    assert {one.node for one in _all(chart)} == {symptom} | nx.ancestors(left.graph, symptom)
    for branch in _all(chart):
        for one in branch.branches:
            assert one.strength == left.graph.edges[one.node, branch.node]["strength"]


def test_share_of_a_fault_is_its_posterior_on_the_symptom_alone(knowledge: Knowledge) -> None:
    left = cut(knowledge, {})
    leak = knowledge.symptoms["no_arc"].leak.chance
    seen = symptom_evidence("no_arc", "yes", "tried_it", leak)
    assert seen
    on = Ranker(left.graph, _shares(knowledge), [seen]).rank().on
    chart = causes_of(knowledge, left, "no_arc", _shares(knowledge))
    faults = [one for one in _all(chart) if one.kind == "fault"]
    assert faults
    assert all(one.share == pytest.approx(on[one.node]) for one in faults)
    assert all(one.share is None for one in _all(chart) if one.kind != "fault")


def test_effects_are_the_descendants_without_findings(knowledge: Knowledge) -> None:
    left = cut(knowledge, {})
    chart = effects_of(knowledge, left, "work_clamp_off", deepest=20)
    below = {
        node
        for node in nx.descendants(left.graph, "work_clamp_off")
        if left.graph.nodes[node]["kind"] != "finding"
    }
    assert {one.node for one in _all(chart)} == {"work_clamp_off"} | below


def test_depth_is_kept_and_unknown_nodes_are_refused(knowledge: Knowledge) -> None:
    left = cut(knowledge, {})
    flat = causes_of(knowledge, left, "no_arc", _shares(knowledge), deepest=1)
    assert flat.branches
    assert all(not one.branches for one in flat.branches)
    with pytest.raises(KeyError):
        effects_of(knowledge, left, "no_such_fault")


def test_dot_has_each_node_and_link_once_pointing_from_cause_to_effect(
    knowledge: Knowledge,
) -> None:
    left = cut(knowledge, {})
    lines = as_dot(effects_of(knowledge, left, "work_clamp_off"), "effects").splitlines()
    assert lines[0] == "digraph causes {"
    assert lines[-1] == "}"
    assert len(lines) == len(set(lines))
    assert any(line.startswith("  work_clamp_off -> weld_circuit_open ") for line in lines)
    upward = as_dot(causes_of(knowledge, left, "no_arc", _shares(knowledge)), "causes")
    assert "  weld_circuit_open -> no_arc " in upward
