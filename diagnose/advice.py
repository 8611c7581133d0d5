"""The next step: expected minutes to a working station saved, per minute spent.

A remedy, a check and handing over are all priced in minutes. Safety is a filter before any price: what
this user may not do is not offered, and nothing on a live weld circuit while a stop card is not lifted.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass
from typing import get_args

from diagnose.evidence import WELDER_YES, Evidence
from diagnose.graph import Graph, Station, applies, finding_id
from diagnose.rank import Ranking, weigh
from diagnose.worlds import NEGLIGIBLE, Hypothesis, Worlds, folded
from knowledge.loader import Knowledge
from knowledge.models import Check, Hazard, Who

HAND_OVER_MINUTES = 120.0
"""What a call to service or an electrician costs until the station works again (judgement)."""
ASK_MINUTES = 0.3
"""What it costs to ask the welder one question (common practice)."""
MAY: Mapping[Who, frozenset[Who]] = {
    "operator": frozenset({"operator"}),
    "maintenance": frozenset({"operator", "maintenance"}),
    "electrician": frozenset({"operator", "maintenance", "electrician"}),
    "service": frozenset({"operator", "maintenance", "service"}),
}
"""Who may do whose steps."""
ANY_HAZARD: frozenset[Hazard] = frozenset(get_args(Hazard))
MASS = 0.95
MOST = 24
"""How much of the probability advice looks at, and in how many hypotheses at the most."""


@dataclass(frozen=True)
class Outcome:
    """One result of a check or an answer: its chance, and what would lead then."""

    result: str
    probability: float
    leads: str
    leads_probability: float


@dataclass(frozen=True)
class Option:
    """A check or a question with what it is worth: minutes saved per minute spent."""

    id: str
    minutes: float
    saves_min: float
    outcomes: tuple[Outcome, ...]

    @property
    def rate(self) -> float:
        """Minutes saved per minute spent; a remedy done at once scores 1."""
        return self.saves_min / self.minutes


@dataclass(frozen=True)
class Plan:
    """The expected minutes to a working station by remedies alone, and the first of them."""

    minutes: float
    first: str | None
    """The fault whose remedy comes first; None when handing over is the cheapest first move."""


@dataclass(frozen=True)
class Prices:
    """What the remedies cost this user; a fault that is not in `remedy_min` must be handed over."""

    remedy_min: Mapping[str, float]
    hand_over_min: float = HAND_OVER_MINUTES

    def plan(self, on: Mapping[str, float]) -> Plan:
        """Return the cheapest order: remedies by probability over price, then hand over.

        `on` maps fault -> share; the shares need not sum to one, what is missing can only be handed
        over. Optimal for one fault, independent perfect actions and fixed prices (Kadane and Simon).
        """
        own = sorted(
            (fault for fault in on if fault in self.remedy_min and on[fault] > 0.0),
            key=lambda fault: (-on[fault] / self.remedy_min[fault], fault),
        )
        tail, spent = 1.0, 0.0
        best, first = self.hand_over_min, None
        for fault in own:
            spent += self.remedy_min[fault] * tail
            tail = max(0.0, tail - on[fault])
            if spent + tail * self.hand_over_min < best:
                best, first = spent + tail * self.hand_over_min, own[0]
        return Plan(best, first)


@dataclass(frozen=True)
class Answer:
    """One result of a check, or one answer: its chance, and fault -> share of the probability then."""

    result: str
    probability: float
    shares: Mapping[str, float]


class Adviser:
    """Prices checks and questions against what the ranking leaves open.

    It looks at the likeliest hypotheses that hold `mass` of the probability, at most `most` of them,
    and drops their worlds under the share `negligible`.
    """

    def __init__(
        self,
        graph: Graph,
        evidence: Iterable[Evidence],
        ranking: Ranking,
        prices: Prices,
        *,
        mass: float = MASS,
        most: int = MOST,
        negligible: float = NEGLIGIBLE,
    ) -> None:
        self._graph = graph
        self._prices = prices
        self._hypotheses = likely_hypotheses(ranking, mass, most)
        self._worlds = Worlds(graph, weigh(evidence), negligible)
        self._of = [self._worlds.of(hypothesis.faults) for hypothesis in self._hypotheses]
        self.plan = prices.plan(_shares(self._hypotheses, [1.0] * len(self._hypotheses)))

    def check(self, check: Check, minutes: float) -> Option:
        """Return what a check is worth at this price in minutes."""
        return self._option(check.id, minutes, self.after_check(check))

    def question(self, symptom: str, minutes: float = ASK_MINUTES) -> Option:
        """Return what it is worth to ask the welder about a symptom."""
        return self._option(symptom, minutes, self.after_question(symptom))

    def after_check(self, check: Check) -> list[Answer]:
        """Return the results a check can have, in its order, with what would be left after each."""
        nodes = [finding_id(check.id, result.result) for result in check.looks_for]
        names = [result.result for result in check.looks_for] + [check.nothing_found.result]
        return self._answers(names, self._ordered_results(nodes))

    def after_question(self, symptom: str) -> list[Answer]:
        """Return the answers yes and no, with what would be left after each.

        A yes is weighed as evidence will weigh it; a no is what is left of one.
        """
        said_on, said_off = WELDER_YES
        said_off = min(said_off, float(self._graph.nodes[symptom]["leak"]))
        chances = []
        for hypothesis, worlds in zip(self._hypotheses, self._of, strict=True):
            p_on = self._chance(symptom, worlds, hypothesis.faults)
            yes = said_off + (said_on - said_off) * p_on
            chances.append((yes, 1.0 - yes))
        return self._answers(["yes", "no"], chances)

    def _chance(self, node: str, worlds: Mapping[int, float], faults: Sequence[str]) -> float:
        if not self._worlds.touches(faults, (node,)):
            return self._worlds.chance(node, 0, ())
        by_bits = folded(worlds, self._worlds.mask(node))
        return sum(w * self._worlds.chance(node, world, faults) for world, w in by_bits.items())

    def _ordered_results(self, nodes: Sequence[str]) -> list[tuple[float, ...]]:
        mask = 0
        for node in nodes:
            mask |= self._worlds.mask(node)
        untouched = self._row(nodes, {0: 1.0}, ())
        return [
            self._row(nodes, folded(worlds, mask), hypothesis.faults)
            if self._worlds.touches(hypothesis.faults, nodes)
            else untouched
            for hypothesis, worlds in zip(self._hypotheses, self._of, strict=True)
        ]

    def _row(
        self, nodes: Sequence[str], worlds: Mapping[int, float], faults: Sequence[str]
    ) -> tuple[float, ...]:
        """Return the chance of each result in turn, and of none: the first one found is the result."""
        row = [0.0] * (len(nodes) + 1)
        for world, weight in worlds.items():
            left = weight
            for index, node in enumerate(nodes):
                p_found = self._worlds.chance(node, world, faults)
                row[index] += left * p_found
                left *= 1.0 - p_found
            row[-1] += left
        return tuple(row)

    def _answers(self, results: Sequence[str], chances: Sequence[Sequence[float]]) -> list[Answer]:
        known = sum(hypothesis.probability for hypothesis in self._hypotheses)
        answers = []
        for index, result in enumerate(results):
            column = [row[index] for row in chances]
            joint = sum(h.probability * c for h, c in zip(self._hypotheses, column, strict=True))
            if joint > 0.0:
                # what is not in our list answers as the rest does on average
                average = joint / known
                shares = _shares(self._hypotheses, [chance / average for chance in column])
                answers.append(Answer(result, average, shares))
        return answers

    def _option(self, name: str, minutes: float, answers: Sequence[Answer]) -> Option:
        expected, outcomes = 0.0, []
        for answer in answers:
            expected += answer.probability * self._prices.plan(answer.shares).minutes
            leads = max(sorted(answer.shares), key=answer.shares.__getitem__)
            outcomes.append(Outcome(answer.result, answer.probability, leads, answer.shares[leads]))
        return Option(name, minutes, self.plan.minutes - expected, tuple(outcomes))


def likely_hypotheses(ranking: Ranking, mass: float = MASS, most: int = MOST) -> list[Hypothesis]:
    """Return the likeliest singles and pairs that hold `mass` of the probability, at most `most`."""
    everything = [Hypothesis((fault,), p) for fault, p in ranking.singles.items()]
    everything += [Hypothesis(pair, p) for pair, p in ranking.pairs.items() if p > 1e-4]
    everything.sort(key=lambda hypothesis: (-hypothesis.probability, hypothesis.faults))
    held, chosen = ranking.not_in_list, []
    for hypothesis in everything[:most]:
        chosen.append(hypothesis)
        held += hypothesis.probability
        if held >= mass:
            break
    return chosen


def _shares(hypotheses: Sequence[Hypothesis], factors: Sequence[float]) -> dict[str, float]:
    """Return fault -> share of the probability; a pair counts half for each of its two."""
    shares: dict[str, float] = {}
    for hypothesis, factor in zip(hypotheses, factors, strict=True):
        part = hypothesis.probability * factor / len(hypothesis.faults)
        for fault in hypothesis.faults:
            shares[fault] = shares.get(fault, 0.0) + part
    return shares


def open_hazards(card_states: Iterable[str]) -> frozenset[Hazard]:
    """Return the hazard classes open under the stop cards: only looks while one stands.

    With a card that is only perhaps, nothing is energised but a machine that is off may be touched.

    >>> sorted(open_hazards(["made_safe", "perhaps"]))
    ['look', 'touch_machine_off']
    """
    states = set(card_states)
    if "stands" in states:
        return frozenset({"look"})
    if "perhaps" in states:
        return frozenset({"look", "touch_machine_off"})
    return ANY_HAZARD


def allowed_checks(
    knowledge: Knowledge,
    station: Station,
    *,
    may: Who,
    tools: Set[str] | None,
    done: Set[str],
    hazards: Set[Hazard] = ANY_HAZARD,
) -> list[Check]:
    """Return the checks this user may do now, by id. A filter before any price.

    `tools` None means the usual ones are at hand; `done` are checks that have been answered; `hazards`
    are the classes open now (see `open_hazards`).
    """
    chosen = []
    for name in sorted(knowledge.checks):
        check = knowledge.checks[name]
        if name in done or check.who not in MAY[may]:
            continue
        if check.hazard not in hazards:
            continue
        if tools is not None and not set(check.tools) <= tools:
            continue
        if applies(check.when, station) is not False:
            chosen.append(check)
    return chosen


def price(knowledge: Knowledge, check: Check, paid: Set[str]) -> float:
    """Return the minutes of a check with the tools and places that are not paid yet."""
    outfits = {*check.tools, *([check.opens] if check.opens else [])} - paid
    return check.minutes + sum(knowledge.outfits[name].minutes for name in outfits)


def paid_outfits(knowledge: Knowledge, done: Iterable[str]) -> frozenset[str]:
    """Return the tools and places that the checks already done have paid for."""
    paid: set[str] = set()
    for name in done:
        if name in knowledge.checks:
            check = knowledge.checks[name]
            paid |= {*check.tools, *([check.opens] if check.opens else [])}
    return frozenset(paid)
