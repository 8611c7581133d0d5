"""What the next check is worth: minutes to the true fault on our own network, by policy.

Run by hand: python -m tests.bench.next_check [--cases N] [--nets N]

Exactly one fault is true, drawn by prevalence; what it brings about is drawn from the network, and the
complaint is one or two of its symptoms. A remedy of the true fault ends the case, one of another fault
costs its minutes. Results of checks are drawn once for a case, so that all policies meet the same answers.
Nobody hands over, and whoever works may do everything; tools and places are paid once.
"""

from __future__ import annotations

import argparse
import math
import statistics
import time
from collections.abc import Callable, Iterable, Mapping, Sequence, Set
from dataclasses import dataclass
from functools import cached_property

import networkx as nx
import numpy as np

from diagnose.advice import Adviser, Option, Prices, paid_outfits, price, unpaid_outfits
from diagnose.ahead import LATER, LEADS, first_option
from diagnose.case import Case
from diagnose.evidence import Evidence, symptom_evidence
from diagnose.graph import Graph, finding_id
from diagnose.rank import Ranker, Ranking
from diagnose.reason import finding_evidence, reason, results_of
from diagnose.worlds import Worlds
from knowledge.loader import Knowledge, load
from knowledge.models import Check

Numbers = np.ndarray
NEVER_HANDS_OVER_MIN = 1e6
LIVE = 1e-5
"""A fault under this share of what is left is not looked at any more."""


@dataclass(frozen=True)
class Table:
    """Every world of every single fault, with what each check and question would show in it.

    `prior` and `fault_of` run over worlds; `shows[world, column]` is the chance of a result, the
    columns of check c being `columns[c]`; `noticed[world, symptom]` is the chance of a symptom.
    """

    knowledge: Knowledge
    graph: Graph
    faults: tuple[str, ...]
    checks: tuple[Check, ...]
    symptoms: tuple[str, ...]
    fault_of: Numbers
    prior: Numbers
    shows: Numbers
    noticed: Numbers

    @cached_property
    def columns(self) -> list[slice]:
        ends = np.cumsum([len(results_of(check)) for check in self.checks])
        return [
            slice(int(e) - len(results_of(c)), int(e))
            for c, e in zip(self.checks, ends, strict=True)
        ]

    @cached_property
    def check_of_column(self) -> Numbers:
        return np.repeat(np.arange(len(self.checks)), [len(results_of(c)) for c in self.checks])

    @cached_property
    def remedy_min(self) -> Numbers:
        return np.array([self.knowledge.faults[fault].remedy.minutes for fault in self.faults])

    @cached_property
    def starts(self) -> Numbers:
        return np.searchsorted(self.fault_of, np.arange(len(self.faults)))

    def mass(self, weights: Numbers) -> Numbers:
        """Return the weight of each fault; `weights` runs over worlds, or worlds by columns."""
        return np.add.reduceat(weights, self.starts, axis=0)

    @cached_property
    def _minutes(self) -> dict[frozenset[int], Numbers]:
        return {}

    def check_minutes(self, answered: frozenset[int]) -> Numbers:
        """Return the minutes of each check with what the answered ones have paid for."""
        if answered not in self._minutes:
            paid = paid_outfits(self.knowledge, [self.checks[index].id for index in answered])
            row = [price(self.knowledge, check, paid) for check in self.checks]
            self._minutes[answered] = np.array(row)
        return self._minutes[answered]

    def of(self, faults: Sequence[int], checks: Sequence[int], weights: Numbers) -> Table:
        """Return the part for some faults and checks, with `weights` as the prior that sums to one."""
        kept = np.isin(self.fault_of, faults)
        renumber = {fault: index for index, fault in enumerate(sorted(faults))}
        return Table(
            self.knowledge,
            self.graph,
            tuple(self.faults[fault] for fault in sorted(faults)),
            tuple(self.checks[check] for check in checks),
            self.symptoms,
            np.array([renumber[fault] for fault in self.fault_of[kept]]),
            weights[kept] / weights[kept].sum(),
            np.hstack([self.shows[kept, self.columns[check]] for check in checks]),
            self.noticed[kept],
        )


def table(knowledge: Knowledge, graph: Graph, per_thousand: Mapping[str, float]) -> Table:
    """Return the table of a whole network, worlds exact."""
    odds = Ranker(graph, per_thousand).odds
    worlds = Worlds(graph, {}, negligible=0.0)
    checks = [
        check
        for name, check in sorted(knowledge.checks.items())
        if finding_id(name, check.looks_for[0].result) in graph
    ]
    symptoms = sorted(name for name in knowledge.symptoms if name in graph)
    nodes = [[finding_id(c.id, found.result) for found in c.looks_for] for c in checks]
    rows, noticed, prior, fault_of = [], [], [], []
    untouched: dict[str, float] = {}
    for number, fault in enumerate(sorted(odds)):
        below = nx.descendants(graph, fault)
        for world, share in worlds.of((fault,)).items():

            def chance(
                node: str, world: int = world, fault: str = fault, below: set[str] = below
            ) -> float:
                if node in below:
                    return worlds.chance(node, world, (fault,))
                if node not in untouched:
                    untouched[node] = worlds.chance(node, 0, ())
                return untouched[node]

            rows.append([p for of_check in nodes for p in _in_turn(map(chance, of_check))])
            noticed.append([chance(symptom) for symptom in symptoms])
            prior.append(odds[fault] * share)
            fault_of.append(number)
    weights = np.array(prior)
    return Table(
        knowledge,
        graph,
        tuple(sorted(odds)),
        tuple(checks),
        tuple(symptoms),
        np.array(fault_of),
        weights / weights.sum(),
        np.array(rows),
        np.array(noticed),
    )


def _in_turn(found: Iterable[float]) -> list[float]:
    row, left = [], 1.0
    for p in found:
        row.append(left * p)
        left *= 1.0 - p
    return [*row, left]


@dataclass(frozen=True)
class Move:
    """A remedy of a fault, or a check; `number` is its place in the table."""

    kind: str
    number: int


Policy = Callable[[Table, Numbers, frozenset[int]], Move]
"""From what is left (weights over worlds) and the checks answered to the next move."""


def plan_minutes(mass: Numbers, minutes: Numbers) -> Numbers:
    """Return the expected minutes of remedies in order of probability over price, by row.

    Rows are weights of faults, not normalised; so is the result.
    """
    order = np.argsort(-mass / minutes, axis=-1, kind="stable")
    ordered = np.take_along_axis(mass, order, axis=-1)
    tails = ordered[..., ::-1].cumsum(axis=-1)[..., ::-1]
    return (minutes[order] * tails).sum(axis=-1)


def first_remedy(mass: Numbers, minutes: Numbers) -> Move:
    return Move("remedy", int(np.argmax(mass / minutes)))


def by_probability_over_price(left: Table, weights: Numbers, _: frozenset[int]) -> Move:
    """Remedies only, by probability given the complaint over price."""
    return first_remedy(left.mass(weights), left.remedy_min)


def minutes_saved_per_minute(left: Table, weights: Numbers, answered: frozenset[int]) -> Move:
    """The check that saves most minutes for each it costs, if more than one; else the remedy."""
    mass, rates = saving_rates(left, weights, answered)
    best = int(np.argmax(rates)) if len(rates) else -1
    if best >= 0 and rates[best] > 1.0:
        return Move("check", best)
    return first_remedy(mass, left.remedy_min)


def saving_rates(
    left: Table, weights: Numbers, answered: frozenset[int]
) -> tuple[Numbers, Numbers]:
    """Return the weight of each fault, and what each check saves for a minute it costs."""
    mass = left.mass(weights)
    after = left.mass(weights[:, None] * left.shows).T
    by_check = _sum_by_check(left, plan_minutes(after, left.remedy_min))
    saves = (plan_minutes(mass, left.remedy_min) - by_check) / mass.sum()
    rates = saves / left.check_minutes(answered)
    rates[list(answered)] = -1.0
    return mass, rates


def _sum_by_check(left: Table, of_results: Numbers) -> Numbers:
    return np.bincount(left.check_of_column, weights=of_results, minlength=len(left.checks))


def two_steps_ahead(left: Table, weights: Numbers, answered: frozenset[int]) -> Move:
    """Ours: of the best few checks by rate and the first remedy, that with the fewest minutes to come.

    It counts on the best of a few checks, or on none, after it, as `diagnose.ahead` does.
    """
    mass, rates = saving_rates(left, weights, answered)
    ranked = [int(i) for i in np.argsort(-rates, kind="stable") if rates[i] > 1.0]
    remedy = first_remedy(mass, left.remedy_min)
    if not ranked:
        return remedy
    later = np.isin(left.check_of_column, ranked[:LATER])
    without = np.where(left.fault_of == remedy.number, 0.0, weights)
    minutes = float(left.remedy_min[remedy.number] * mass.sum())
    moves = [(minutes + _minutes_one_step_ahead(left, without, answered, later), remedy)]
    for check in ranked[:LEADS]:
        minutes = float(left.check_minutes(answered)[check] * mass.sum())
        columns = left.columns[check]
        for column in range(columns.start, columns.stop):
            after = weights * left.shows[:, column]
            minutes += _minutes_one_step_ahead(left, after, answered | {check}, later)
        moves.append((minutes, Move("check", check)))
    return min(moves, key=lambda move: move[0])[1]


def _minutes_one_step_ahead(
    left: Table, weights: Numbers, answered: frozenset[int], columns: Numbers
) -> float:
    """Return the minutes, times the weight, of remedies alone or after the best of some checks."""
    mass = left.mass(weights)
    least = float(plan_minutes(mass, left.remedy_min))
    checks = left.check_of_column[columns]
    if not len(checks):
        return least
    after = left.mass(weights[:, None] * left.shows[:, columns]).T
    plans = np.bincount(
        checks, weights=plan_minutes(after, left.remedy_min), minlength=len(left.checks)
    )
    open_checks = [check for check in set(checks.tolist()) if check not in answered]
    totals = left.check_minutes(answered) * mass.sum() + plans
    return min([least, *(float(totals[check]) for check in open_checks)])


def information_per_minute(left: Table, weights: Numbers, answered: frozenset[int]) -> Move:
    """The check or remedy that takes away most entropy for each minute it costs."""
    mass = left.mass(weights)
    total = mass.sum()
    before = _entropy_times_weight(mass[None, :])[0] / total
    after = left.mass(weights[:, None] * left.shows).T
    left_over = _sum_by_check(left, _entropy_times_weight(after)) / total
    gains = (before - left_over) / left.check_minutes(answered)
    gains[list(answered)] = -1.0
    without = np.where(np.eye(len(mass), dtype=bool), 0.0, mass[None, :])
    remedies = (before - _entropy_times_weight(without) / total) / left.remedy_min
    remedies[mass <= 0.0] = -1.0
    if len(gains) and gains.max() > remedies.max():
        return Move("check", int(np.argmax(gains)))
    return Move("remedy", int(np.argmax(remedies)))


def _entropy_times_weight(rows: Numbers) -> Numbers:
    totals = rows.sum(axis=1, keepdims=True)
    shares = np.divide(rows, totals, out=np.zeros_like(rows), where=totals > 0.0)
    logs = np.log(shares, out=np.zeros_like(shares), where=shares > 0.0)
    return -(shares * logs).sum(axis=1) * totals[:, 0]


OURS = "ours, two steps ahead"
POLICIES: dict[str, Policy] = {
    "probability over price": by_probability_over_price,
    "information per minute": information_per_minute,
    "minutes saved per minute": minutes_saved_per_minute,
    OURS: two_steps_ahead,
}


@dataclass(frozen=True)
class Drawn:
    """One case: the true fault, what was complained of, and what each check would find."""

    fault: str
    complaint: tuple[str, ...]
    results: Mapping[str, int]
    shuffled: tuple[str, ...]


def draw(world: Table, random: np.random.Generator) -> Drawn:
    """Draw a fault by prevalence, a complaint of one or two of its symptoms, all results."""
    while True:
        row = int(random.choice(len(world.prior), p=world.prior))
        seen = np.flatnonzero(random.random(len(world.symptoms)) < world.noticed[row])
        count = int(random.integers(1, 3))
        if len(seen):
            break
    complaint = random.choice(seen, size=min(count, len(seen)), replace=False)
    results = {
        check.id: int(random.choice(columns.stop - columns.start, p=world.shows[row, columns]))
        for check, columns in zip(world.checks, world.columns, strict=True)
    }
    return Drawn(
        world.faults[world.fault_of[row]],
        tuple(sorted(world.symptoms[index] for index in complaint)),
        results,
        tuple(world.faults[i] for i in random.permutation(len(world.faults))),
    )


def complained(model: Table, complaint: Sequence[str]) -> Numbers:
    """Return the weights over worlds once the complaint is heard."""
    weights = model.prior.copy()
    for symptom in complaint:
        said = said_yes(model.graph, symptom)
        seen = model.noticed[:, model.symptoms.index(symptom)]
        weights *= said.off + (said.on - said.off) * seen
    return weights / weights.sum()


def said_yes(graph: Graph, symptom: str) -> Evidence:
    said = symptom_evidence(symptom, "yes", "welder", graph.nodes[symptom]["leak"])
    assert said
    return said


def minutes_in_order(order: Sequence[str], case: Drawn, knowledge: Knowledge) -> float:
    """Return the minutes of doing remedies in a fixed order until the true one."""
    done = order[: order.index(case.fault) + 1]
    return sum(knowledge.faults[fault].remedy.minutes for fault in done)


def minutes_by_policy(model: Table, case: Drawn, policy: Policy) -> float:
    """Return the minutes until the true fault is put right."""
    weights = complained(model, case.complaint)
    left, weights = narrowed(model, weights)
    answered: dict[str, int] = {}
    tried: set[str] = set()
    spent = 0.0
    while True:
        numbers = frozenset(i for i, check in enumerate(left.checks) if check.id in answered)
        move = policy(left, weights, numbers)
        if move.kind == "check":
            check = left.checks[move.number]
            spent += float(left.check_minutes(numbers)[move.number])
            answered[check.id] = case.results[check.id]
            weights = weights * left.shows[:, left.columns[move.number].start + answered[check.id]]
        else:
            fault = left.faults[move.number]
            spent += float(left.remedy_min[move.number])
            if fault == case.fault:
                return spent
            tried.add(fault)
            weights = np.where(left.fault_of == move.number, 0.0, weights)
        if weights.sum() > 0.0:
            left, weights = narrowed(left, weights)
        if not weights.sum() > 0.0 or len(tried) >= len(left.faults):
            return spent + _what_was_left_out(model, case, tried)


def _what_was_left_out(model: Table, case: Drawn, tried: set[str]) -> float:
    order = [fault for fault in chart(model) if fault not in tried]
    return minutes_in_order(order, case, model.knowledge)


def narrowed(left: Table, weights: Numbers) -> tuple[Table, Numbers]:
    """Return what is left without the faults that hardly can be any more."""
    mass = left.mass(weights)
    live = np.flatnonzero(mass > LIVE * mass.sum())
    if len(live) > 0.7 * len(left.faults):
        return left, weights / weights.sum()
    smaller = left.of([int(i) for i in live], range(len(left.checks)), weights)
    return smaller, smaller.prior


def chart(model: Table) -> list[str]:
    """Return the faults in the order of a fixed chart: prevalence over price of the remedy."""
    worth = model.mass(model.prior) / model.remedy_min
    return [model.faults[int(i)] for i in np.argsort(-worth, kind="stable")]


def perturbed(
    graph: Graph, per_thousand: Mapping[str, float], random: np.random.Generator, sd: float = 0.7
) -> tuple[Graph, dict[str, float]]:
    """Return the network with every strength, leak and prevalence wrong by `sd` in log-odds."""

    def wrong(p: float) -> float:
        return 1.0 / (1.0 + math.exp(-(math.log(p / (1.0 - p)) + random.normal(0.0, sd))))

    other: Graph = graph.copy()
    for _, _, about in other.edges(data=True):
        about["strength"] = wrong(about["strength"])
    for _, about in other.nodes(data=True):
        if about["leak"]:
            about["leak"] = wrong(about["leak"])
    return other, {fault: 1000.0 * wrong(n / 1000.0) for fault, n in per_thousand.items()}


def optimum(small: Table) -> float:
    """Return the least expected minutes there can be, by dynamic programming.

    A state is the answer to each check (or none yet) and the set of faults cleared by their remedies;
    values are minutes times the weight of the state.
    """
    sizes = [columns.stop - columns.start + 1 for columns in small.columns]
    n = len(small.faults)
    weights = small.prior[None, :]
    for columns in small.columns:
        with_none = np.hstack([small.shows[:, columns], np.ones((len(small.prior), 1))])
        weights = (weights[:, None, :] * with_none.T[None, :, :]).reshape(-1, len(small.prior))
    mass = small.mass(weights.T).T
    sets = np.arange(1 << n)
    standing = 1.0 - ((sets[:, None] >> np.arange(n)) & 1)
    value = np.full((len(mass), 1 << n), np.inf)
    places = np.stack(np.unravel_index(np.arange(len(mass)), sizes), axis=1)
    stride = np.array([math.prod(sizes[i + 1 :]) for i in range(len(sizes))])
    unanswered = places == np.array(sizes) - 1
    for count in range(len(sizes) + 1):
        level = np.flatnonzero(unanswered.sum(axis=1) == count)
        total = mass[level] @ standing.T
        best = np.full_like(total, np.inf)
        for row, state in enumerate(level):
            open_checks = np.flatnonzero(unanswered[state])
            minutes = small.check_minutes(frozenset(np.flatnonzero(~unanswered[state]).tolist()))
            for check in open_checks:
                back = state - stride[check] * np.arange(1, sizes[check])
                with_check = minutes[check] * total[row] + value[back].sum(axis=0)
                np.minimum(best[row], with_check, out=best[row])
        best[:, -1] = 0.0
        for cleared in range((1 << n) - 2, -1, -1):
            for fault in range(n):
                if not cleared >> fault & 1:
                    remedy = small.remedy_min[fault] * total[:, cleared]
                    np.minimum(
                        best[:, cleared],
                        remedy + best[:, cleared | 1 << fault],
                        out=best[:, cleared],
                    )
        value[level] = best
    return float(value[-1, 0])


def expected_by_policy(small: Table, policy: Policy) -> float:
    """Return the expected minutes of a policy, over all answers and all faults."""

    def from_here(weights: Numbers, answered: frozenset[int]) -> float:
        total = float(weights.sum())
        if total < 1e-12:
            return 0.0
        move = policy(small, weights / total, answered)
        if move.kind == "remedy":
            without = np.where(small.fault_of == move.number, 0.0, weights)
            return float(small.remedy_min[move.number]) * total + from_here(without, answered)
        minutes = float(small.check_minutes(answered)[move.number]) * total
        columns = small.columns[move.number]
        return minutes + sum(
            from_here(weights * small.shows[:, column], answered | {move.number})
            for column in range(columns.start, columns.stop)
        )

    return from_here(small.prior, frozenset())


def sub_network(
    world: Table, case: Drawn, faults: int, random: np.random.Generator, checks: int = 6
) -> Table:
    """Return the likeliest faults after a complaint, with checks of two or three results.

    Half of the checks are those that save most for a minute, half are any that save something.
    """
    weights = complained(world, case.complaint)
    live = [int(i) for i in np.argsort(-world.mass(weights), kind="stable")[:faults]]
    small = world.of(live, range(len(world.checks)), weights)
    _, rates = saving_rates(small, small.prior, frozenset())
    usable = [i for i, c in enumerate(small.checks) if len(results_of(c)) <= 3 and rates[i] > 1e-6]
    usable.sort(key=lambda i: -rates[i])
    best, rest = usable[: checks // 2], usable[checks // 2 :]
    more = random.choice(rest, size=min(checks - len(best), len(rest)), replace=False)
    chosen = sorted([*best, *(int(i) for i in more)])
    return small.of(range(len(small.faults)), chosen, small.prior)


def assert_table_agrees_with_the_adviser(world: Table, case: Drawn) -> None:
    """Check that the table prices every check, and moves first, as `diagnose` does on the likeliest."""
    weights = complained(world, case.complaint)
    live = [int(i) for i in np.argsort(-world.mass(weights), kind="stable")[:12]]
    small = world.of(live, range(len(world.checks)), weights)
    shares = dict(zip(small.faults, small.mass(small.prior).tolist(), strict=True))
    evidence = [said_yes(world.graph, symptom) for symptom in case.complaint]
    adviser = Adviser(
        world.graph,
        evidence,
        Ranking(shares, {}, 0.0),
        all_remedies(world.knowledge),
        mass=2.0,
        most=len(live),
        negligible=0.0,
    )
    _, rates = saving_rates(small, small.prior, frozenset())
    options = checks_of(adviser, small, frozenset())
    for option, rate in zip(options, rates, strict=True):
        if abs(option.rate - rate) > 1e-6 * max(1.0, abs(rate)):
            raise SystemExit(f"{option.id}: table {rate}, adviser {option.rate}")
    move = two_steps_ahead(small, small.prior, frozenset())
    ours = small.checks[move.number].id if move.kind == "check" else small.faults[move.number]
    if ours != (theirs := first_move(adviser, options)):
        raise SystemExit(f"first move: table {ours}, adviser {theirs}")


def checks_of(adviser: Adviser, world: Table, done: Set[str]) -> list[Option]:
    """Return the checks of a table that are not done, as the adviser prices them, in their order."""
    paid = paid_outfits(world.knowledge, done)
    return [
        adviser.check(check, unpaid_outfits(world.knowledge, check, paid))
        for check in world.checks
        if check.id not in done
    ]


def first_move(adviser: Adviser, options: Iterable[Option]) -> str:
    """Return the id of the check, or of the fault whose remedy, comes first."""
    worth = sorted((o for o in options if o.rate > 1.0), key=lambda o: -o.rate)
    first = first_option(adviser, worth)
    return first.id if first else str(adviser.plan.first)


def all_remedies(knowledge: Knowledge) -> Prices:
    minutes = {name: fault.remedy.minutes for name, fault in knowledge.faults.items()}
    return Prices(minutes, NEVER_HANDS_OVER_MIN)


def minutes_by_the_adviser(world: Table, per_thousand: Mapping[str, float], case: Drawn) -> float:
    """Return the minutes of the shipped adviser, with all it leaves out, ranking anew each time."""
    knowledge = world.knowledge
    evidence = [said_yes(world.graph, symptom) for symptom in case.complaint]
    done: set[str] = set()
    tried: set[str] = set()
    spent = 0.0
    while True:
        weights = Ranker(world.graph, per_thousand, evidence).single_weights()
        total = sum(w for fault, w in weights.items() if fault not in tried)
        shares = {fault: w / total for fault, w in weights.items() if fault not in tried}
        adviser = Adviser(world.graph, evidence, Ranking(shares, {}, 0.0), all_remedies(knowledge))
        move = first_move(adviser, checks_of(adviser, world, done))
        if move in knowledge.checks:
            check = knowledge.checks[move]
            spent += price(knowledge, check, paid_outfits(knowledge, done))
            done.add(move)
            evidence += finding_evidence(check, results_of(check)[case.results[move]])
            continue
        spent += knowledge.faults[move].remedy.minutes
        if move == case.fault:
            return spent
        tried.add(move)


def on_the_full_network(title: str, model: Table, cases: Sequence[Drawn]) -> dict[str, list[float]]:
    knowledge, fixed = model.knowledge, chart(model)
    minutes = {
        "random order": [minutes_in_order(case.shuffled, case, knowledge) for case in cases],
        "fixed chart": [minutes_in_order(fixed, case, knowledge) for case in cases],
    }
    for name, policy in POLICIES.items():
        began = time.perf_counter()
        minutes[name] = [minutes_by_policy(model, case, policy) for case in cases]
        print(f"  ({name}: {time.perf_counter() - began:.0f} s)", flush=True)
    print(f"\n{title}: {len(cases)} cases, mean minutes to the true fault")
    ours = minutes[OURS]
    for name, row in minutes.items():
        apart = [a - b for a, b in zip(row, ours, strict=True)]
        print(
            f"  {name:26s} {statistics.fmean(row):7.1f}  +- {_error(row):4.1f}"
            f"   against ours {statistics.fmean(apart):+7.1f} +- {_error(apart):4.1f}"
        )
    share = statistics.fmean(ours) / statistics.fmean(minutes["fixed chart"])
    print(f"  ours / fixed chart = {share:.3f}")
    return minutes


def _error(row: Sequence[float]) -> float:
    return statistics.stdev(row) / math.sqrt(len(row))


def against_the_optimum(
    world: Table, cases: Sequence[Drawn], faults: int, random: np.random.Generator
) -> None:
    ratios: dict[str, list[float]] = {}
    for case in cases:
        small = sub_network(world, case, faults, random)
        least = optimum(small)
        fixed = [world.faults.index(fault) for fault in chart(world) if fault in small.faults]
        order = [small.faults.index(world.faults[number]) for number in fixed]
        mass = small.mass(small.prior)
        tails = mass[order][::-1].cumsum()[::-1]
        in_order = float((small.remedy_min[order] * tails).sum())
        ratios.setdefault("fixed chart", []).append(in_order / least)
        for name, policy in POLICIES.items():
            expected = expected_by_policy(small, policy)
            if expected < least * (1.0 - 1e-9):
                raise SystemExit(f"{name} beats the optimum: {expected} < {least}")
            ratios.setdefault(name, []).append(expected / least)
    print(
        f"\n{len(cases)} sub-networks of {faults} faults and 6 checks: minutes over the optimum's"
    )
    for name, row in ratios.items():
        print(f"  {name:26s} mean {statistics.fmean(row):.4f}  worst {max(row):.3f}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--cases", type=int, default=300)
    parser.add_argument("--nets", type=int, default=20, help="sub-networks of each size")
    parser.add_argument("--adviser", type=int, default=40, help="cases through the shipped adviser")
    parser.add_argument("--process", default="GMAW")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    knowledge = load()
    station = reason(Case.model_validate({"station": {"process": asked.process}}), knowledge)
    graph, per_thousand = station.cut.graph, station.ranker.per_thousand
    began = time.perf_counter()
    world = table(knowledge, graph, per_thousand)
    print(
        f"{asked.process}: {len(world.faults)} faults, {len(world.checks)} checks,"
        f" {len(world.prior)} worlds; table in {time.perf_counter() - began:.1f} s"
    )
    random = np.random.default_rng(asked.seed)
    cases = [draw(world, random) for _ in range(asked.cases)]
    for case in cases[:3]:
        assert_table_agrees_with_the_adviser(world, case)
    floor = statistics.fmean(knowledge.faults[case.fault].remedy.minutes for case in cases)
    print(f"the true fault's own remedy takes {floor:.1f} min on average; nothing is below that")
    for faults in (8, 10):
        against_the_optimum(world, cases[: asked.nets], faults, random)
    if len(cases) < 2:
        return
    minutes = on_the_full_network("our numbers true", world, cases)
    if asked.adviser:
        some = cases[: asked.adviser]
        shipped = [minutes_by_the_adviser(world, per_thousand, case) for case in some]
        table_row = minutes[OURS][: asked.adviser]
        print(
            f"  the shipped adviser on the first {len(some)}: {statistics.fmean(shipped):.1f};"
            f" ours from the table on the same: {statistics.fmean(table_row):.1f}"
        )
    wrong = table(knowledge, *perturbed(graph, per_thousand, random))
    on_the_full_network("every number wrong by 0.7 in log-odds", wrong, cases)


if __name__ == "__main__":
    main()
