"""Two steps ahead: what an answer leaves, and the first move against the best of all plans."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import pytest

from diagnose.advice import Adviser, Option, Prices
from diagnose.ahead import first_option
from diagnose.case import Case
from diagnose.graph import finding_id
from diagnose.rank import Ranker, Ranking
from diagnose.reason import Reasoned, finding_evidence, reason, results_of
from knowledge.loader import Knowledge
from knowledge.models import Check

NEVER_HANDS_OVER_MIN = 1e6
FAULTS = 5
CHECKS = 3
COMPLAINTS = (
    ("GMAW", ["wire feeds but no arc", "clamp gets hot"]),
    ("GMAW", ["porosity"]),
    ("GMAW", ["wire won't feed"]),
    ("FCAW-S", ["pops and spatters, no penetration"]),
)
Options = Sequence[Option]
Told = frozenset[tuple[str, str]]
"""The answers given so far, and the faults that their remedies cleared."""
Minutes = Callable[[Adviser, Options, Told], float]


class Bench:
    """The likeliest faults of a complaint and the checks that save most, with nothing dropped."""

    def __init__(self, knowledge: Knowledge, process: str, said: Sequence[str]) -> None:
        case = Case.model_validate({"said": list(said), "station": {"process": process}})
        self.knowledge = knowledge
        self.reasoned: Reasoned = reason(case, knowledge)
        best = sorted(self.reasoned.ranking.singles.items(), key=lambda row: -row[1])[:FAULTS]
        total = sum(p for _, p in best)
        self.shares = {fault: p / total for fault, p in best}
        minutes = {fault: knowledge.faults[fault].remedy.minutes for fault in self.shares}
        self.adviser = Adviser(
            self.reasoned.cut.graph,
            self.reasoned.evidence,
            Ranking(self.shares, {}, 0.0),
            Prices(minutes, NEVER_HANDS_OVER_MIN),
            mass=1.1,
            most=1000,
            negligible=0.0,
        )
        here = [c for n, c in sorted(knowledge.checks.items()) if self._applies(c)]
        options = [self.adviser.check(check, {}) for check in here]
        options.sort(key=lambda option: (-option.rate, option.id))
        self.options = options[:CHECKS]
        self._least: dict[Told, float] = {}

    def _applies(self, check: Check) -> bool:
        nodes = [finding_id(check.id, result.result) for result in check.looks_for]
        return all(node in self.reasoned.cut.graph for node in nodes)

    def shares_after(self, findings: Sequence[tuple[str, str]]) -> dict[str, float]:
        """Return fault -> share by a new ranking with these findings in it."""
        old = self.reasoned.ranker
        items = list(old.evidence)
        for check, result in findings:
            items += finding_evidence(self.knowledge.checks[check], result)
        ranker = Ranker(old.graph, old.per_thousand, items, old.starts)
        weights = ranker.single_weights()
        total = sum(weights[fault] for fault in self.shares)
        return {fault: weights[fault] / total for fault in self.shares}

    def ranked(self, adviser: Adviser, left: Options) -> list[Option]:
        options = [adviser.option(option.probe, option.minutes) for option in left]
        worth = [option for option in options if option.rate > 1.0]
        return sorted(worth, key=lambda option: (-option.rate, option.id))

    def minutes_of_ours(self, adviser: Adviser, left: Options, told: Told = frozenset()) -> float:
        """Return the expected minutes when every move is ours, over all answers."""
        if adviser.plan.first is None:
            return 0.0
        first = first_option(adviser, self.ranked(adviser, left))
        if first:
            return self._with_check(adviser, first, left, told, self.minutes_of_ours)
        return self._with_remedy(adviser, adviser.plan.first, left, told, self.minutes_of_ours)

    def least_minutes(self, adviser: Adviser, left: Options, told: Told = frozenset()) -> float:
        """Return the fewest expected minutes of all plans there are, by trying every move."""
        if not left:
            # of remedies alone the order by probability over price is the best (Kadane and Simon)
            return adviser.plan.minutes if adviser.shares else 0.0
        if told not in self._least:
            then = self.least_minutes
            moves = [self._with_check(adviser, one, left, told, then) for one in left]
            moves += [self._with_remedy(adviser, f, left, told, then) for f in adviser.shares]
            self._least[told] = min(moves) if adviser.shares else 0.0
        return self._least[told]

    def _with_remedy(
        self, adviser: Adviser, fault: str, left: Options, told: Told, then: Minutes
    ) -> float:
        minutes, after = adviser.remedy_min(fault), 1.0 - adviser.shares[fault]
        if after < 1e-6:
            return minutes
        return minutes + after * then(adviser.without(fault), left, told | {(fault, "cleared")})

    def _with_check(
        self, adviser: Adviser, option: Option, left: Options, told: Told, then: Minutes
    ) -> float:
        others = [other for other in left if other.id != option.id]
        return option.minutes + sum(
            a.probability
            * then(adviser.given(option.probe, a.result), others, told | {(option.id, a.result)})
            for a in adviser.after(option.probe)
        )


@pytest.mark.parametrize(("process", "said"), COMPLAINTS)
def test_what_two_answers_foretell_is_what_the_ranking_then_says(
    knowledge: Knowledge, process: str, said: list[str]
) -> None:
    bench = Bench(knowledge, process, said)
    first, second = bench.options[:2]
    for answer in bench.adviser.after(first.probe):
        given = bench.adviser.given(first.probe, answer.result)
        for later in given.after(second.probe):
            findings = [(first.id, answer.result), (second.id, later.result)]
            shares = bench.shares_after(findings)
            kept = {fault: share for fault, share in shares.items() if fault in later.shares}
            assert later.shares == pytest.approx(kept, abs=2e-4)
            assert sum(kept.values()) > 1.0 - 1e-3


def test_order_of_two_answers_does_not_matter(knowledge: Knowledge) -> None:
    bench = Bench(knowledge, *COMPLAINTS[0])
    one, two = (option.probe for option in bench.options[:2])
    for a in one.answers:
        for b in two.answers:
            this = bench.adviser.given(one, a).given(two, b).shares
            that = bench.adviser.given(two, b).given(one, a).shares
            for fault in this.keys() & that.keys():
                assert this[fault] == pytest.approx(that[fault], abs=1e-3)


def test_without_a_fault_the_others_share_what_it_had(knowledge: Knowledge) -> None:
    bench = Bench(knowledge, *COMPLAINTS[0])
    leader = max(bench.shares, key=bench.shares.__getitem__)
    left = bench.adviser.without(leader).shares
    rest = 1.0 - bench.shares[leader]
    assert left == pytest.approx({f: p / rest for f, p in bench.shares.items() if f != leader})


@pytest.mark.slow
@pytest.mark.parametrize(("process", "said"), COMPLAINTS)
def test_minutes_are_near_the_fewest_of_all_plans(
    knowledge: Knowledge, process: str, said: list[str]
) -> None:
    """Ours against every plan of remedies and checks there is: within 10 % on each of these."""
    bench = Bench(knowledge, process, said)
    ours = bench.minutes_of_ours(bench.adviser, bench.options)
    least = bench.least_minutes(bench.adviser, bench.options)
    assert least * (1.0 - 1e-3) <= ours <= 1.10 * least


def test_nothing_worth_its_price_leaves_the_first_move_to_the_plan(knowledge: Knowledge) -> None:
    bench = Bench(knowledge, *COMPLAINTS[0])
    assert first_option(bench.adviser, []) is None


def test_where_nothing_may_be_put_right_a_check_that_is_worth_it_comes_first(
    reasoned_hands_over: tuple[Adviser, list[Option]],
) -> None:
    adviser, ranked = reasoned_hands_over
    assert adviser.plan.first is None
    assert first_option(adviser, ranked) in ranked[:2]


@pytest.fixture
def reasoned_hands_over(knowledge: Knowledge) -> tuple[Adviser, list[Option]]:
    bench = Bench(knowledge, *COMPLAINTS[0])
    adviser = Adviser(
        bench.reasoned.cut.graph, bench.reasoned.evidence, bench.reasoned.ranking, Prices({})
    )
    return adviser, bench.options


def test_a_likely_fault_is_put_right_unless_a_check_gains_enough(knowledge: Knowledge) -> None:
    bench = Bench(knowledge, *COMPLAINTS[1])
    ranked = bench.ranked(bench.adviser, bench.options)
    assert first_option(bench.adviser, ranked) is not None
    assert first_option(bench.adviser, ranked, least_gain_min=1e6) is None


def test_results_are_those_of_the_check(knowledge: Knowledge) -> None:
    bench = Bench(knowledge, *COMPLAINTS[0])
    for option in bench.options:
        assert list(option.probe.answers) == list(results_of(knowledge.checks[option.id]))
