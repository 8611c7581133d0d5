"""The exact posterior over every single fault, every pair, and "not in our list".

A hypothesis says exactly which faults are on. Its prior odds are the product of p/(1 − p) with
p = 0.3 n / 1000, n the prevalence; never renormalised after the cut. All weights are over that of no
fault at all.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence, Set
from copy import copy
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations

from diagnose.evidence import Evidence, StartEvidence
from diagnose.graph import Graph
from diagnose.pairs import PairWalk
from diagnose.walk import Walk, Weighing, chance

PRIOR_SUM = 0.3
"""Sum of the fault priors: about one complaint in eight is then a double, and the cut at two faults
stays unbiased."""
NOT_IN_LIST_PER_THOUSAND = 40.0
"""Complaints of 1,000 whose cause is not in our list (judgement)."""


def prior_odds(per_thousand: float) -> float:
    """Return p/(1 − p) with p = 0.3 n / 1000, n complaints of 1,000.

    >>> round(prior_odds(42), 5)
    0.01276
    """
    p = PRIOR_SUM * per_thousand / 1000.0
    return p / (1.0 - p)


@dataclass(frozen=True)
class Ranking:
    """The normalised posterior. Singles, pairs and `not_in_list` sum to one."""

    singles: Mapping[str, float]
    pairs: Mapping[tuple[str, str], float]
    not_in_list: float

    @cached_property
    def on(self) -> Mapping[str, float]:
        """Fault -> probability that it is on, alone or in a pair."""
        on = dict(self.singles)
        for (first, second), share in self.pairs.items():
            on[first] += share
            on[second] += share
        return on

    def of_what_explains(self, explains: Set[str]) -> Ranking:
        """Return the ranking with only the faults in `explains` held to account.

        A pair of which one explains counts as that one alone: the other may be wrong too, but is not
        what the complaint is about. What none of `explains` accounts for counts as not in our list.
        """
        singles = {fault: share for fault, share in self.singles.items() if fault in explains}
        pairs: dict[tuple[str, str], float] = {}
        for pair, share in self.pairs.items():
            first, second = pair
            if first in singles and second in singles:
                pairs[pair] = share
            elif first in singles or second in singles:
                singles[first if first in singles else second] += share
        held = sum(singles.values()) + sum(pairs.values())
        return Ranking(singles, pairs, max(0.0, 1.0 - held))

    def order(self) -> list[str]:
        """Return the faults, most probable first, then by id."""
        return sorted(self.on, key=lambda fault: (-self.on[fault], fault))


class Ranker:
    """Weights and posteriors on one graph under one set of evidence.

    Parameters
    ----------
    graph : the cut cause graph, edges with `strength`, leaves with `leak`
    per_thousand : fault -> complaints of 1,000 that are this fault
    evidence : items on nodes; those on nodes that are not in the graph count for nothing
    starts : how it started, by facet
    excludes : pairs of faults that cannot be on together
    """

    def __init__(
        self,
        graph: Graph,
        per_thousand: Mapping[str, float],
        evidence: Iterable[Evidence] = (),
        starts: Sequence[StartEvidence] = (),
        excludes: Iterable[frozenset[str]] = (),
    ) -> None:
        self.graph = graph
        self.per_thousand = per_thousand
        self.evidence = tuple(sorted(item for item in evidence if item.node in graph))
        self.starts = tuple(sorted(starts, key=lambda start: start.item))
        self.excludes = frozenset(excludes)
        self.faults = tuple(
            sorted(n for n, about in graph.nodes(data=True) if about["kind"] == "fault")
        )
        self.odds = {fault: prior_odds(per_thousand[fault]) for fault in self.faults}
        self._on_fault, self._on_node = self._split(self.evidence)
        self._walk = Walk(graph, self._on_node)
        self._direct = {fault: self._walk.direct(fault) for fault in self.faults}
        self._reach = {fault: self._walk.reach(fault) for fault in self.faults}

    def _split(
        self, evidence: Iterable[Evidence]
    ) -> tuple[dict[str, Weighing], dict[str, Weighing]]:
        on_node = weigh(evidence)
        on_fault = {fault: on_node.pop(fault) for fault in self.faults if fault in on_node}
        return on_fault, on_node

    def likelihood(self, *faults: str) -> float:
        """Return P(evidence | exactly these faults), over that of no fault at all."""
        reach, own = 0, 1.0
        for fault in faults:
            reach |= self._reach[fault]
            own *= _ratio(self._on_fault.get(fault))
        return own * self._walk.likelihood([self._direct[fault] for fault in faults], reach)

    def start_factor(self, *faults: str) -> float:
        """Return how well the start fits, over the base: averaged within a pair, times over facets."""
        value = 1.0
        for start in self.starts:
            value *= sum(start.lift.get(fault, 1.0) for fault in faults) / len(faults)
        return value

    def single_weights(self) -> dict[str, float]:
        """Return fault -> weight of the hypothesis that it is the only one on."""
        return {
            fault: self.odds[fault] * self.likelihood(fault) * self.start_factor(fault)
            for fault in self.faults
        }

    def pair_weights(self) -> dict[tuple[str, str], float]:
        """Return pair -> weight of the hypothesis that exactly these two are on."""
        alone = {fault: self.likelihood(fault) for fault in self.faults}
        own = {fault: _ratio(self._on_fault.get(fault)) for fault in self.faults}
        together = PairWalk(self._walk, self.faults)
        weights: dict[tuple[str, str], float] = {}
        for pair in combinations(self.faults, 2):
            first, second = pair
            if self.excludes and frozenset(pair) in self.excludes:
                continue
            if self._reach[first] & self._reach[second]:
                value = own[first] * own[second] * together.likelihood(first, second)
            else:  # nothing that both touch: independent
                value = alone[first] * alone[second]
            weights[pair] = self.odds[first] * self.odds[second] * value * self.start_factor(*pair)
        return weights

    def not_in_list_weight(self) -> float:
        """Return the weight of a fault that is not in our list.

        It is taken to show each node as often as our faults do on average, by prevalence, one node
        independent of the next.
        """
        value, total = prior_odds(NOT_IN_LIST_PER_THOUSAND), sum(self.odds.values())
        for node, (on, off) in sorted(self._on_node.items()):
            by_fault = chance(self.graph, node, self.faults)
            rate = sum(self.odds[fault] * by_fault[fault] for fault in self.faults) / total
            leak = float(self.graph.nodes[node].get("leak") or 0.0)
            value *= (off + (on - off) * rate) / (off + (on - off) * leak)
        return value

    def rank(self) -> Ranking:
        """Return the posterior over every single fault, every pair, and "not in our list"."""
        singles, pairs, other = (
            self.single_weights(),
            self.pair_weights(),
            self.not_in_list_weight(),
        )
        total = sum(singles.values()) + sum(pairs.values()) + other
        return Ranking(
            singles={fault: weight / total for fault, weight in singles.items()},
            pairs={pair: weight / total for pair, weight in pairs.items()},
            not_in_list=other / total,
        )

    def without(self, item: str) -> Ranker:
        """Return the ranker with one item of evidence, or one facet of the start, left out."""
        new = copy(self)
        new.evidence = tuple(one for one in self.evidence if one.item != item)
        new.starts = tuple(one for one in self.starts if one.item != item)
        new._on_fault, new._on_node = self._split(new.evidence)
        new._walk = self._walk.reweighed(new._on_node)
        return new


def _ratio(weighing: Weighing | None) -> float:
    return weighing.on / weighing.off if weighing else 1.0


def weigh(evidence: Iterable[Evidence]) -> dict[str, Weighing]:
    """Return node -> the product of all evidence on it."""
    weighings: dict[str, Weighing] = {}
    for item in evidence:
        on, off = weighings.get(item.node, Weighing(1.0, 1.0))
        weighings[item.node] = Weighing(on * item.on, off * item.off)
    return weighings
