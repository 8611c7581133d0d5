"""Advice: the cheapest order of remedies, what a check would tell, and who may do what."""

from __future__ import annotations

import math
from itertools import permutations
from typing import get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.advice import (
    MAY,
    MOST,
    Adviser,
    Option,
    Prices,
    Probe,
    allowed_checks,
    likely_hypotheses,
    open_hazards,
    paid_outfits,
    price,
)
from diagnose.case import Case
from diagnose.evidence import symptom_evidence
from diagnose.graph import finding_id
from diagnose.rank import Ranker, Ranking
from diagnose.reason import Reasoned, finding_evidence, reason, results_of
from knowledge.loader import Knowledge
from knowledge.models import Check, Who

ROLES = get_args(Who)


@st.composite
def priced(draw: st.DrawFn) -> tuple[dict[str, float], Prices]:
    """Draw up to six faults with shares that sum to one at most, some of them not this user's."""
    names = [f"f{i}" for i in range(draw(st.integers(1, 6)))]
    parts = [draw(st.floats(0.01, 1.0)) for _ in names]
    known = draw(st.floats(0.2, 1.0))
    on = {name: known * part / sum(parts) for name, part in zip(names, parts, strict=True)}
    own = draw(st.sets(st.sampled_from(names)))
    remedies = {name: draw(st.floats(0.5, 200.0)) for name in sorted(own)}
    return on, Prices(remedies, draw(st.floats(1.0, 400.0)))


def expected_minutes(order: tuple[str, ...], on: dict[str, float], prices: Prices) -> float:
    """Return the mean minutes of doing these remedies in order until one cures, then handing over."""
    left, minutes = 1.0, 0.0
    for fault in order:
        minutes += left * prices.remedy_min[fault]
        left -= on[fault]
    return minutes + left * prices.hand_over_min


@settings(deadline=None, max_examples=60)
@given(priced())
def test_plan_is_the_best_of_all_orders_of_all_subsets_before_handing_over(
    drawn: tuple[dict[str, float], Prices],
) -> None:
    on, prices = drawn
    own = sorted(prices.remedy_min)
    orders = [o for n in range(len(own) + 1) for o in permutations(own, n)]
    best = min(orders, key=lambda order: expected_minutes(order, on, prices))
    plan = prices.plan(on)
    assert plan.minutes == pytest.approx(expected_minutes(best, on, prices), rel=1e-9)
    starting = [o for o in orders if o[:1] == ((plan.first,) if plan.first else ())]
    reached = min(expected_minutes(order, on, prices) for order in starting)
    assert reached == pytest.approx(plan.minutes, rel=1e-9)


def test_a_dear_remedy_of_an_unlikely_fault_is_handed_over() -> None:
    plan = Prices({"cheap": 5.0, "dear": 200.0}, 60.0).plan({"cheap": 0.5, "dear": 0.1})
    assert plan.first == "cheap"
    assert plan.minutes == pytest.approx(5.0 + 0.5 * 60.0)
    assert Prices({"dear": 200.0}, 60.0).plan({"dear": 0.5}).first is None


@pytest.fixture(scope="module")
def reasoned(knowledge: Knowledge) -> Reasoned:
    case = {"said": ["wire feeds but no arc", "clamp gets hot"], "station": {"process": "GMAW"}}
    return reason(Case.model_validate(case), knowledge)


@pytest.fixture(scope="module")
def singles(reasoned: Reasoned) -> Ranking:
    """Return the ranking over the eight likeliest single faults, which sum to one."""
    best = sorted(reasoned.ranking.singles.items(), key=lambda row: -row[1])[:8]
    total = sum(p for _, p in best)
    return Ranking({fault: p / total for fault, p in best}, {}, 0.0)


@pytest.fixture(scope="module")
def exactly(reasoned: Reasoned, singles: Ranking, knowledge: Knowledge) -> Adviser:
    """Return an adviser that drops nothing."""
    prices = Prices({name: f.remedy.minutes for name, f in knowledge.faults.items()})
    return Adviser(
        reasoned.cut.graph,
        reasoned.evidence,
        singles,
        prices,
        mass=1.1,
        most=1000,
        negligible=0.0,
    )


def checks_here(reasoned: Reasoned) -> list[Check]:
    return [
        check
        for name, check in sorted(reasoned.knowledge.checks.items())
        if finding_id(name, check.looks_for[0].result) in reasoned.cut.graph
    ]


def test_results_of_every_check_sum_to_one_for_every_hypothesis(
    reasoned: Reasoned, knowledge: Knowledge
) -> None:
    """One hypothesis at a time: the chances of all results of all checks, each fault alone."""
    graph = reasoned.cut.graph
    prices = Prices({})
    checks = checks_here(reasoned)
    for fault in sorted(reasoned.ranking.singles)[::4]:
        alone = Adviser(graph, (), Ranking({fault: 1.0}, {}, 0.0), prices)
        for check in checks:
            answers = alone.after(alone.check_probe(check))
            assert math.fsum(a.probability for a in answers) == pytest.approx(1.0, abs=1e-12)
            assert {a.result for a in answers} <= set(results_of(check))


def test_what_a_check_foretells_is_what_the_ranking_then_says(
    reasoned: Reasoned, singles: Ranking, exactly: Adviser
) -> None:
    """P(fault | evidence, result) from the worlds, against a new ranking with the finding in it."""
    for check in checks_here(reasoned)[::3]:
        for answer in exactly.after(exactly.check_probe(check)):
            found = finding_evidence(check, answer.result)
            after = _shares_then(reasoned, singles, found)
            assert answer.shares == pytest.approx(after, rel=1e-9)


def test_what_a_yes_foretells_is_what_the_ranking_then_says(
    reasoned: Reasoned, singles: Ranking, exactly: Adviser, knowledge: Knowledge
) -> None:
    seen = {item.node for item in reasoned.evidence}
    for name in [
        n for n in sorted(knowledge.symptoms) if n in reasoned.cut.graph and n not in seen
    ]:
        said = symptom_evidence(name, "yes", "welder", knowledge.symptoms[name].leak.chance)
        assert said
        answer = exactly.after(exactly.question_probe(name))[0]
        assert answer.shares == pytest.approx(_shares_then(reasoned, singles, [said]), rel=1e-9)


def _shares_then(reasoned: Reasoned, singles: Ranking, more: list[object]) -> dict[str, float]:
    old = reasoned.ranker
    items = [*old.evidence, *more]
    weights = Ranker(old.graph, old.per_thousand, items, old.starts).single_weights()  # type: ignore[arg-type]
    total = sum(weights[fault] for fault in singles.singles)
    return {fault: weights[fault] / total for fault in singles.singles}


def test_expected_shares_over_the_results_are_the_shares_before(
    reasoned: Reasoned, singles: Ranking, exactly: Adviser
) -> None:
    for check in checks_here(reasoned):
        answers = exactly.after(exactly.check_probe(check))
        for fault, before in singles.singles.items():
            mean = sum(a.probability * a.shares[fault] for a in answers)
            assert mean == pytest.approx(before, rel=1e-9)


def test_no_check_is_expected_to_cost_minutes_by_what_it_tells(
    reasoned: Reasoned, exactly: Adviser
) -> None:
    for check in checks_here(reasoned):
        assert exactly.check(check, {}).saves_min >= -1e-9


def test_rate_is_minutes_saved_per_minute_spent() -> None:
    assert Option(Probe("c", (), lambda *_: ()), 2.0, 5.0, ()).rate == 2.5


def test_likely_hypotheses_stop_at_the_mass_or_the_number() -> None:
    ranking = Ranking({"a": 0.6, "b": 0.2, "c": 0.1}, {("a", "b"): 0.05, ("b", "c"): 5e-5}, 0.04995)
    assert [h.faults for h in likely_hypotheses(ranking, mass=0.8)] == [("a",), ("b",)]
    assert [h.faults for h in likely_hypotheses(ranking, mass=1.0)] == [
        ("a",),
        ("b",),
        ("c",),
        ("a", "b"),
    ]
    many = Ranking({f"f{i}": 0.01 for i in range(100)}, {}, 0.0)
    assert len(likely_hypotheses(many)) == MOST


@pytest.mark.parametrize("cards", [(), ("perhaps",), ("stands", "perhaps"), ("made_safe",)])
@pytest.mark.parametrize("may", ROLES)
def test_nobody_is_offered_what_is_not_theirs_to_do(
    knowledge: Knowledge, may: Who, cards: tuple[str, ...]
) -> None:
    offered = allowed_checks(
        knowledge, {}, may=may, tools=None, done=frozenset(), hazards=open_hazards(cards)
    )
    hands_on = {"touch_machine_off", "live_weld_circuit", "covers_off_or_supply"}
    shut = {"stands": hands_on, "perhaps": hands_on - {"touch_machine_off"}}
    withheld = set().union(*(shut.get(card, set()) for card in cards))
    assert offered
    for check in offered:
        assert check.who in MAY[may]
        if may in ("operator", "maintenance"):
            assert check.hazard != "covers_off_or_supply"
        assert check.hazard not in withheld
    kept_back = knowledge.checks.keys() - {check.id for check in offered}
    for name in kept_back:
        check = knowledge.checks[name]
        assert check.who not in MAY[may] or check.hazard in withheld


def test_who_may_do_whose_steps() -> None:
    assert set(MAY) == set(ROLES)
    for role, whose in MAY.items():
        assert role in whose
        assert "operator" in whose
    for role in ("operator", "maintenance"):
        assert MAY[role].isdisjoint({"electrician", "service"})


def test_a_check_is_offered_only_with_its_tools_on_its_station_and_once(
    knowledge: Knowledge,
) -> None:
    def offered(**how: object) -> set[str]:
        usual: dict[str, object] = {"tools": None, "done": frozenset()}
        station = how.pop("station", {})
        found = allowed_checks(knowledge, station, may="service", **{**usual, **how})  # type: ignore[arg-type]
        return {check.id for check in found}

    everything = offered()
    no_tools = offered(tools=frozenset())
    assert no_tools == {name for name in everything if not knowledge.checks[name].tools}
    meter = offered(tools=frozenset({"multimeter"}))
    assert meter - no_tools
    assert all(set(knowledge.checks[name].tools) <= {"multimeter"} for name in meter)
    one = min(everything)
    assert offered(done=frozenset({one})) == everything - {one}
    without_gas = offered(station={"shielding": {"none"}})
    gone = everything - without_gas
    assert gone
    assert all(knowledge.checks[name].when["shielding"] == "gas" for name in gone)


def test_tools_and_places_are_paid_once(knowledge: Knowledge) -> None:
    shared = 0
    for check in knowledge.checks.values():
        outfits = {*check.tools, *([check.opens] if check.opens else [])}
        alone = sum(knowledge.outfits[name].minutes for name in outfits)
        assert price(knowledge, check, frozenset()) == pytest.approx(check.minutes + alone)
        paid = paid_outfits(knowledge, [check.id, "proof_weld_or_what_is_no_check"])
        assert paid == outfits
        assert price(knowledge, check, paid) == check.minutes
        shared += len(outfits) > 1
    assert shared
