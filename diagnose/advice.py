"""The next step: expected minutes to a working station saved, per minute spent.

A remedy, a check and handing over are all priced in minutes. Safety is a filter before any price: what
this user may not do is not offered, and nothing on a live weld circuit while a stop card is not lifted.
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterable, Mapping, Sequence, Set
from dataclasses import dataclass, field, replace
from typing import Self, get_args

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


Chances = Callable[[int, Sequence[str]], Sequence[float]]
"""A world and the faults of a hypothesis -> the chance of each answer, in order; they sum to one."""


@dataclass(frozen=True)
class Probe:
    """A check or a question: its answers in order, and their chances.

    They are chances of `nodes`, which hang on the mechanisms in `mask`; of a question that is no node
    of the graph they hang on the faults alone, and `nodes` is None.
    """

    id: str
    answers: tuple[str, ...]
    chances: Chances
    nodes: tuple[str, ...] | None = None
    mask: int = 0


@dataclass(frozen=True)
class Option:
    """A check or a question with what it is worth: minutes saved per minute spent.

    `outfits` are the minutes, among `minutes`, for tools and places that are not paid yet.
    """

    probe: Probe
    minutes: float
    saves_min: float
    outcomes: tuple[Outcome, ...]
    outfits: Mapping[str, float] = field(default_factory=dict)

    @property
    def id(self) -> str:
        """The id of the check or the question."""
        return self.probe.id

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
        self._of: list[Mapping[int, float]] = [
            self._worlds.of(hypothesis.faults) for hypothesis in self._hypotheses
        ]
        self.shares = _shares(self._hypotheses, [1.0] * len(self._hypotheses))
        self.plan = prices.plan(self.shares)

    def check(self, check: Check, outfits: Mapping[str, float]) -> Option:
        """Return what a check is worth, with the minutes of the tools and places it has to pay for."""
        minutes = check.minutes + sum(outfits.values())
        return replace(self.option(self.check_probe(check), minutes), outfits=outfits)

    def question(self, symptom: str, minutes: float = ASK_MINUTES) -> Option:
        """Return what it is worth to ask the welder about a symptom."""
        return self.option(self.question_probe(symptom), minutes)

    def check_probe(self, check: Check) -> Probe:
        """Return a check; its results are tried in order, and the first one found is the result."""
        nodes = tuple(finding_id(check.id, result.result) for result in check.looks_for)
        names = tuple(result.result for result in check.looks_for)

        def chances(world: int, faults: Sequence[str]) -> list[float]:
            row, left = [], 1.0
            for node in nodes:
                p_found = self._worlds.chance(node, world, faults)
                row.append(left * p_found)
                left *= 1.0 - p_found
            return [*row, left]

        return self._of_nodes(check.id, (*names, check.nothing_found.result), nodes, chances)

    def question_probe(self, symptom: str) -> Probe:
        """Return the question about a symptom.

        A yes is weighed as evidence will weigh it; a no is what is left of one.
        """
        said_on, said_off = WELDER_YES
        said_off = min(said_off, float(self._graph.nodes[symptom]["leak"]))

        def chances(world: int, faults: Sequence[str]) -> tuple[float, float]:
            yes = said_off + (said_on - said_off) * self._worlds.chance(symptom, world, faults)
            return yes, 1.0 - yes

        return self._of_nodes(symptom, ("yes", "no"), (symptom,), chances)

    def _of_nodes(
        self, name: str, answers: tuple[str, ...], nodes: tuple[str, ...], chances: Chances
    ) -> Probe:
        mask = 0
        for node in nodes:
            mask |= self._worlds.mask(node)
        return Probe(name, answers, chances, nodes, mask)

    def option(self, probe: Probe, minutes: float) -> Option:
        """Return what a check or a question is worth at this price in minutes."""
        expected, outcomes = 0.0, []
        for answer in self.after(probe):
            expected += answer.probability * self._prices.plan(answer.shares).minutes
            leads = max(sorted(answer.shares), key=answer.shares.__getitem__)
            outcomes.append(Outcome(answer.result, answer.probability, leads, answer.shares[leads]))
        return Option(probe, minutes, self.plan.minutes - expected, tuple(outcomes))

    def after(self, probe: Probe) -> list[Answer]:
        """Return the answers there can be, in order, with what would be left after each."""
        rows = self._rows(probe)
        known = sum(hypothesis.probability for hypothesis in self._hypotheses)
        answers = []
        for index, result in enumerate(probe.answers):
            column = [row[index] for row in rows]
            joint = sum(h.probability * c for h, c in zip(self._hypotheses, column, strict=True))
            if joint > 0.0:
                # what is not in our list answers as the rest does on average
                average = joint / known
                shares = _shares(self._hypotheses, [chance / average for chance in column])
                answers.append(Answer(result, average, shares))
        return answers

    def _rows(self, probe: Probe) -> list[Sequence[float]]:
        """Return the chance of each answer, for each hypothesis."""
        untouched = probe.chances(0, ()) if probe.nodes else ()
        return [
            untouched
            if self._out_of_reach(probe, hypothesis)
            else self._row(probe, hypothesis.faults, worlds)
            for hypothesis, worlds in zip(self._hypotheses, self._of, strict=True)
        ]

    def _row(
        self, probe: Probe, faults: Sequence[str], worlds: Mapping[int, float]
    ) -> Sequence[float]:
        if probe.nodes is None:
            return probe.chances(0, faults)
        row = [0.0] * len(probe.answers)
        for world, weight in folded(worlds, probe.mask).items():
            for index, chance in enumerate(probe.chances(world, faults)):
                row[index] += weight * chance
        return row

    def _out_of_reach(self, probe: Probe, hypothesis: Hypothesis) -> bool:
        return probe.nodes is not None and not self._worlds.touches(hypothesis.faults, probe.nodes)

    def given(self, probe: Probe, answer: str) -> Self:
        """Return the adviser as it would be after an answer, on the same hypotheses."""
        index = probe.answers.index(answer)
        rows = self._rows(probe)
        joint = sum(h.probability * r[index] for h, r in zip(self._hypotheses, rows, strict=True))
        average = joint / sum(hypothesis.probability for hypothesis in self._hypotheses)
        hypotheses, of = [], []
        for hypothesis, worlds, row in zip(self._hypotheses, self._of, rows, strict=True):
            probability = hypothesis.probability * row[index] / average
            if probability > NEGLIGIBLE:
                hypotheses.append(Hypothesis(hypothesis.faults, probability))
                of.append(self._answered(probe, index, hypothesis, worlds))
        return self._left_with(hypotheses, of)

    def _answered(
        self, probe: Probe, index: int, hypothesis: Hypothesis, worlds: Mapping[int, float]
    ) -> Mapping[int, float]:
        if probe.nodes is None or self._out_of_reach(probe, hypothesis):
            return worlds
        chance = {
            part: probe.chances(part, hypothesis.faults)[index]
            for part in {world & probe.mask for world in worlds}
        }
        weights = {world: w * chance[world & probe.mask] for world, w in worlds.items()}
        total = sum(weights.values())
        return {world: weight / total for world, weight in weights.items() if weight > 0.0}

    def without(self, fault: str) -> Self:
        """Return the adviser as it would be were this fault known not to be there."""
        kept = [i for i, one in enumerate(self._hypotheses) if fault not in one.faults]
        total = 1.0 - sum(h.probability for h in self._hypotheses if fault in h.faults)
        if total < NEGLIGIBLE:
            return self._left_with([], [])
        hypotheses = [
            Hypothesis(self._hypotheses[i].faults, self._hypotheses[i].probability / total)
            for i in kept
        ]
        return self._left_with(hypotheses, [self._of[i] for i in kept])

    def _left_with(
        self, hypotheses: list[Hypothesis], worlds: Sequence[Mapping[int, float]]
    ) -> Self:
        left = copy.copy(self)
        left._hypotheses, left._of = hypotheses, list(worlds)
        left.shares = _shares(hypotheses, [1.0] * len(hypotheses))
        left.plan = self._prices.plan(left.shares)
        return left

    def remedy_min(self, fault: str) -> float:
        """Return the minutes of a remedy; KeyError where it is not this user's."""
        return self._prices.remedy_min[fault]


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
    return check.minutes + sum(unpaid_outfits(knowledge, check, paid).values())


def unpaid_outfits(knowledge: Knowledge, check: Check, paid: Set[str]) -> dict[str, float]:
    """Return the minutes of the tools and places that a check needs and that are not paid yet."""
    needed = {*check.tools, *([check.opens] if check.opens else [])} - paid
    return {name: knowledge.outfits[name].minutes for name in sorted(needed)}


def paid_outfits(knowledge: Knowledge, done: Iterable[str]) -> frozenset[str]:
    """Return the tools and places that the checks already done have paid for."""
    paid: set[str] = set()
    for name in done:
        if name in knowledge.checks:
            check = knowledge.checks[name]
            paid |= {*check.tools, *([check.opens] if check.opens else [])}
    return frozenset(paid)
