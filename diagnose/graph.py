"""The cause graph: faults to mechanisms to symptoms and findings, cut to what applies to a station."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Set
from dataclasses import dataclass, field
from functools import lru_cache
from typing import TypeAlias

import networkx as nx

from knowledge.loader import Knowledge
from knowledge.models import When

Graph: TypeAlias = "nx.DiGraph[str]"
"""Nodes carry `kind` (fault, mechanism, symptom, finding) and leaves `leak`; edges carry `strength`."""

Station = Mapping[str, Set[str]]
"""What is known of a station: attribute -> the values that hold. An attribute not there is not known."""


def finding_id(check: str, result: str) -> str:
    """Return the id of the finding node for one result of a check."""
    return f"{check}:{result}"


@lru_cache(maxsize=4)
def cause_graph(knowledge: Knowledge) -> Graph:
    """Return the whole cause graph of the knowledge: every entry, whatever its `when` says."""
    graph: Graph = nx.DiGraph()
    for name, fault in knowledge.faults.items():
        graph.add_node(name, kind="fault", when=fault.when)
    for name, mechanism in knowledge.mechanisms.items():
        graph.add_node(name, kind="mechanism", when=mechanism.when)
    for name, symptom in knowledge.symptoms.items():
        graph.add_node(name, kind="symptom", when=symptom.when, leak=symptom.leak.chance)
    for cause, links in (
        *((name, fault.leads_to) for name, fault in knowledge.faults.items()),
        *((name, mechanism.leads_to) for name, mechanism in knowledge.mechanisms.items()),
    ):
        for link in links:
            _add_link(graph, cause, link.effect, link.strength, link.when)
    for name, check in knowledge.checks.items():
        for result in check.looks_for:
            node = finding_id(name, result.result)
            graph.add_node(node, kind="finding", when=check.when, leak=result.mistaken)
            for cause_id, chance in result.shows.items():
                _add_link(graph, cause_id, node, chance, {})
    return graph


def _add_link(graph: Graph, cause: str, effect: str, strength: float, when: When) -> None:
    links = graph.edges[cause, effect]["links"] if graph.has_edge(cause, effect) else ()
    graph.add_edge(cause, effect, links=(*links, (strength, when)))


def applies(when: When, station: Station) -> bool | None:
    """Return whether `when` holds on the station: True, False, or None where it is not known.

    >>> applies({"shielding": "gas"}, {"shielding": {"none"}})
    False
    >>> applies({"shielding": "gas"}, {}) is None
    True
    """
    verdict: bool | None = True
    for attribute, wanted in when.items():
        if attribute not in station:
            verdict = None
        elif station[attribute].isdisjoint([wanted] if isinstance(wanted, str) else wanted):
            return False
    return verdict


@dataclass(frozen=True)
class Cut:
    """The graph that is left on a station, what was cut away, and what is not known."""

    graph: Graph
    gone: Mapping[str, str]
    """Fault that cannot be -> the attribute that rules it out."""
    unknown: Mapping[str, frozenset[str]]
    """Attribute not known -> the faults that depend on it."""
    share: Mapping[str, float]
    """Fault -> how common such stations are, as far as it is not known whether this is one."""
    _below: dict[str, frozenset[str]] = field(default_factory=dict, repr=False)

    def below(self, node: str) -> frozenset[str]:
        """Return everything that can come about from a node."""
        if node not in self._below:
            self._below[node] = frozenset(nx.descendants(self.graph, node))
        return self._below[node]


def cut(knowledge: Knowledge, station: Station) -> Cut:
    """Return the cause graph cut to what applies to the station.

    An entry whose `when` is not known stays; `share` says how common the stations are where it holds.
    A link whose `when` is not known is as much weaker; of several conditions not ruled out the strongest
    stays.
    """
    whole = cause_graph(knowledge)
    graph: Graph = nx.DiGraph()
    gone: dict[str, str] = {}
    unknown: dict[str, set[str]] = {}
    share: dict[str, float] = {}
    for node, about in whole.nodes(data=True):
        verdict = applies(about["when"], station)
        if verdict is False:
            if about["kind"] == "fault":
                gone[node] = _ruling_attribute(about["when"], station)
            continue
        graph.add_node(node, kind=about["kind"], leak=about.get("leak"))
        if about["kind"] == "fault":
            share[node] = _share_of_unknown(knowledge, about["when"], station)
            for attribute in about["when"]:
                if attribute not in station:
                    unknown.setdefault(attribute, set()).add(node)
    for cause, effect, about in whole.edges(data=True):
        if cause in graph and effect in graph:
            strengths = [
                strength * _share_of_unknown(knowledge, when, station)
                for strength, when in about["links"]
                if applies(when, station) is not False
            ]
            if strengths:
                graph.add_edge(cause, effect, strength=max(strengths))
    waiting = {attribute: frozenset(faults) for attribute, faults in unknown.items()}
    return Cut(graph, gone, waiting, share)


def _share_of_unknown(knowledge: Knowledge, when: When, station: Station) -> float:
    """Return how common the stations are where the unknown part of `when` holds."""
    share = 1.0
    for attribute, wanted in when.items():
        if attribute not in station:
            share *= _share(knowledge, attribute, wanted)
    return share


def _share(knowledge: Knowledge, attribute: str, wanted: str | list[str]) -> float:
    shares = knowledge.attributes[attribute].shares
    if shares is None:
        return 1.0
    return sum(shares.of[value] for value in ([wanted] if isinstance(wanted, str) else wanted))


def _ruling_attribute(when: When, station: Station) -> str:
    for attribute, wanted in when.items():
        values = [wanted] if isinstance(wanted, str) else wanted
        if attribute in station and station[attribute].isdisjoint(values):
            return attribute
    raise AssertionError("a fault was cut that nothing rules out")


def upstream(graph: Graph, nodes: Iterable[str]) -> frozenset[str]:
    """Return the faults from which any of the nodes can come about, the nodes included."""
    reached: set[str] = set()
    for node in nodes:
        if node in graph and node not in reached:
            reached |= nx.ancestors(graph, node) | {node}
    return frozenset(node for node in reached if graph.nodes[node]["kind"] == "fault")
