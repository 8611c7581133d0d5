"""The engine: order, hash seed, threads, exceptions, and a brute-force matcher beside it."""

from __future__ import annotations

import inspect
import itertools
import os
import random
import subprocess
import sys
import threading
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from knowledge import vocabulary as v
from knowledge.conclusions import Firing, Known
from knowledge.expert import (
    MATCH,
    NOT,
    TEST,
    Expert,
    Fact,
    L,
    P,
    RuleBook,
    RuleError,
    W,
    known,
    one_of,
    slots_of,
    think,
)
from knowledge.loader import load
from knowledge.rules import BOOKS


class Told(Fact):
    x: str


class Also(Fact):
    x: str


class Figure(Fact):
    name: str
    value: float


class Order(Fact):
    first: float
    second: float
    third: float


class Step(Fact):
    x: str


class End(Fact):
    x: str


# brute force


def _slot_matches(wanted: Any, value: Any, bound: dict[str, Any]) -> bool:
    """Test one slot; write what it captures into `bound`."""
    if isinstance(wanted, L):
        matched = wanted.value == value
    elif isinstance(wanted, P):
        matched = bool(wanted.match(value))
    elif isinstance(wanted, W):
        matched = True
    elif type(wanted).__name__ == "ANDFC":
        return all(_slot_matches(part, value, bound) for part in wanted)
    else:
        return bool(wanted == value)
    name = wanted.__bind__
    return matched and (name is None or bound.setdefault(name, value) == value)


def _bindings(pattern: Fact, fact: Fact, bound: dict[str, Any]) -> dict[str, Any] | None:
    found = dict(bound)
    for slot, wanted in pattern.items():
        if slot == "__bind__":
            continue
        if not _slot_matches(wanted, fact[slot], found):
            return None
    return found


def _matches(rule: Any, facts: Mapping[type[Fact], Sequence[Fact]]) -> Iterator[dict[str, Any]]:
    """Yield every binding of a rule by nested loops over all facts of the kinds it names."""
    frontier: list[dict[str, Any]] = [{}]
    for condition in rule:
        grown: list[dict[str, Any]] = []
        for bound in frontier:
            if isinstance(condition, TEST):
                names = inspect.signature(condition[0]).parameters
                if condition[0](**{name: bound[name] for name in names}):
                    grown.append(bound)
            elif isinstance(condition, NOT):
                refused = facts.get(type(condition[0]), ())
                if not any(_bindings(condition[0], fact, bound) is not None for fact in refused):
                    grown.append(bound)
            else:
                for fact in facts.get(type(condition), ()):
                    found = _bindings(condition, fact, bound)
                    if found is not None:
                        grown.append(found | {condition["__bind__"]: fact})
        frontier = grown
    yield from frontier


class _Collector:
    """Stands in for the engine when a rule of experta is called by hand."""

    def __init__(self) -> None:
        self.reasons: dict[Known, set[Firing]] = {}
        self.new: list[Fact] = []

    def conclude(self, rule: Any, because: tuple[Known, ...], fact: Fact) -> None:
        self.new.append(fact)
        firing = Firing(rule.id, rule.reason, because)
        self.reasons.setdefault(known(fact), set()).add(firing)


def _brute(expert: Expert, told: Sequence[Fact]) -> dict[Known, set[Firing]]:
    """Run the rules of `expert` by brute force: highest salience first, each binding once."""
    facts = {known(fact): fact for fact in told}
    rules = sorted(expert.rules, key=lambda rule: -rule.salience)
    fired: set[tuple[str, tuple[Known, ...]]] = set()
    collector = _Collector()

    def next_to_fire() -> tuple[Any, dict[str, Any], tuple[str, tuple[Known, ...]]] | None:
        by_kind: dict[type[Fact], list[Fact]] = {}
        for fact in facts.values():
            by_kind.setdefault(type(fact), []).append(fact)
        for rule in rules:
            for bound in _matches(rule, by_kind):
                support = tuple(known(fact) for fact in bound.values() if isinstance(fact, Fact))
                if (rule.__name__, support) not in fired:
                    return rule, bound, (rule.__name__, support)
        return None

    while (turn := next_to_fire()) is not None:
        rule, bound, key = turn
        fired.add(key)
        collector.new = []
        rule._wrapped(collector, **bound)
        for fact in collector.new:
            facts.setdefault(known(fact), fact)
    return collector.reasons


def _same(expert: Expert, told: Sequence[Fact]) -> None:
    want = _brute(expert, told)
    got = expert.think(told)
    assert set(got.derived) == set(want)
    assert {fact: set(firings) for fact, firings in got.firings.items()} == want


# random facts over the words and figures that the rules look at

_ANSWERS = {
    name: tuple(attribute.answers)
    for name, attribute in load().attributes.items()
    if attribute.path
}
_DETAILS = {
    "settings.mode": ("wire", "stick"),
    "feeder.groove": ("V", "U", "knurled"),
    "gas.measured_at": ("meter", "nozzle"),
    "leads.coiled": ("yes", "no"),
}
_SIZES = ("wire.diameter_mm", "gun.tip_mm", "gun.liner_mm", "feeder.roll_mm")
_CURRENTS = (
    "clamp.rated_a",
    "gun.rated_a",
    "settings.current_a",
    "source.rated_a",
    "source.breaker_a",
    "source.rated_primary_a",
)
_RECKONED = (
    ("leads_drop_v", (1.0, 3.0, 4.5, 6.0)),
    ("supply_cord_drop_pct", (1.0, 3.0, 6.0, 9.0)),
    ("duty_used_over_allowed", (0.8, 1.2, 2.0)),
    ("cable_duty_over_allowed", (0.5, 1.5, 3.0)),
    ("clamp_bears_less_a", (120.0,)),
    ("gas_meter_factor", (0.95, 1.3)),
    ("gas_flow_least_l_min", (8.0,)),
    ("gas_flow_most_l_min", (20.0,)),
    ("arc_v_least", (16.0,)),
    ("arc_v_most", (20.0,)),
)
_MEASURED = tuple(
    (str(pattern["quantity"]), (0.1, 12.0, 20.0, 40.0))
    for rule in next(book for book in BOOKS if book.name == "readings").rules
    for pattern in rule.patterns
    if isinstance(pattern, v.Measured) and isinstance(pattern.get("quantity"), str)
)
_CLASSES = (
    ("E71T-11", "flux_cored", "carbon_steel", "FCAW-S", "none", "negative", "multi", ""),
    ("E71T-GS", "flux_cored", "carbon_steel", "open", "open", "open", "single", ""),
    ("E71T-X", "flux_cored", "carbon_steel", "open", "none", "positive", "multi", ""),
    ("E71T-Y", "flux_cored", "carbon_steel", "open", "gas", "either", "open", "C1"),
    ("ER70S-6", "solid", "carbon_steel", "GMAW", "gas", "positive", "multi", "C1 M2"),
    ("ER70S-G", "solid", "carbon_steel", "GMAW", "gas", "open", "open", ""),
    ("ER308L", "solid", "stainless", "GMAW", "gas", "positive", "multi", ""),
    ("ER4043", "solid", "aluminium", "GMAW", "gas", "positive", "multi", "I1"),
)
_GASES = (("ar", "I1", "inert"), ("co2", "C1", "co2"), ("mix", "M21", "mixed"))
_CARDS = ("tingle", "unwell")
_COMPLAINTS = ("porosity", "no_arc", "dead", "tingle", "large_drops")


def _random_case(pick: random.Random, chance: float) -> list[Fact]:
    """Return a random heap of facts; `chance` says how much of the station is told."""

    def told() -> bool:
        return pick.random() < chance

    facts: list[Fact] = [v.Station(name="station")]
    for name, answers in _ANSWERS.items():
        if told():
            facts.append(v.Word(name=name, value=pick.choice(answers)))
        if name in ("surface", "bonded_to") and told():
            facts.append(v.Listed(name=name))
    facts += [v.Detail(name=n, value=pick.choice(w)) for n, w in _DETAILS.items() if told()]
    facts += [
        v.Number(name=name, value=pick.choice((0.8, 0.9, 1.2, 3.0))) for name in _SIZES if told()
    ]
    facts += [
        v.Number(name=name, value=pick.choice((20.0, 60.0, 200.0))) for name in _CURRENTS if told()
    ]
    for name, values in [
        ("place.wind_m_s", (1.0, 3.0, 12.0)),
        ("work.thickness_mm", (1.0, 4.0, 8.0, 20.0)),
        ("gun.length_m", (3.0, 4.5)),
        ("gas.flow_l_min", (5.0, 7.0, 12.0, 22.0, 30.0)),
        ("settings.arc_v", (14.0, 15.5, 18.0, 20.5, 24.0)),
        ("source.rated_duty_pct", (20.0, 60.0, 100.0)),
    ]:
        if told():
            facts.append(v.Number(name=name, value=pick.choice(values)))
    facts += [v.Reckoned(quantity=q, value=pick.choice(w)) for q, w in _RECKONED if told()]
    facts += [
        v.Measured(
            quantity=q, value=pick.choice(w), if_fault=0.8, if_sound=0.2, item=f"readings[{n}]"
        )
        for n, (q, w) in enumerate(_MEASURED)
        if pick.random() < min(chance, 0.15)
    ]
    if told():
        facts.append(v.Looked(name="electrode_polarity", how=pick.choice(("looked", "told"))))
    if told():
        row = pick.choice(_CLASSES)
        facts.append(v.WireClass(designator=row[0]))
        slots = (
            "designator",
            "form",
            "metal",
            "process",
            "shielding",
            "polarity",
            "passes",
            "groups",
        )
        facts += [v.ClassRow(**dict(zip(slots, row, strict=True)))] if pick.random() < 0.9 else []
    if told():
        name, iso, group = pick.choice((*_GASES, ("none", "", "")))
        facts.append(v.GasName(name=name))
        if iso and pick.random() < 0.9:
            facts.append(v.GasRow(name=name, id=name, iso=iso, group=group))
    for symptom in _COMPLAINTS:
        if told():
            seen = pick.choice(("yes", "no", "not_sure"))
            facts.append(v.Symptom(id=symptom, seen=seen, by="welder"))
        state = pick.choice(("power", "trigger", "feed", "arc", "bead"))
        facts += [v.Presupposes(symptom=symptom, state=state)] if told() else []
        facts += [v.MeansNo(symptom=symptom, state=state)] if told() else []
    for card in _CARDS:
        facts += [v.RaisedBy(card=card, symptom=card)] if told() else []
        facts += [v.DangerWord(card=card, sure=pick.choice(("yes", "perhaps")))] if told() else []
        facts += (
            [v.CardWho(card=card, who=pick.choice(("operator", "electrician")))] if told() else []
        )
        facts += (
            [v.MadeSafe(card=card, by=pick.choice(("operator", "electrician")))] if told() else []
        )
    return facts


@pytest.fixture(scope="module")
def expert() -> Expert:
    return Expert(BOOKS)


@given(pick=st.randoms(use_true_random=False), chance=st.floats(0.05, 0.6))
@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
def test_the_rule_base_concludes_what_brute_force_concludes(
    expert: Expert, pick: random.Random, chance: float
) -> None:
    _same(expert, _random_case(pick, chance))


def test_every_rule_fires_on_some_case_and_then_agrees_with_brute_force(expert: Expert) -> None:
    pick = random.Random(20)  # noqa: S311
    silent = {rule.id for rule in expert.written}
    for _ in range(900):
        told = _random_case(pick, pick.uniform(0.1, 0.7))
        result = expert.think(told)
        fired = {firing.rule for firings in result.firings.values() for firing in firings}
        if fired & silent:
            _same(expert, told)
            silent -= fired
    assert silent == set()


def test_one_item_says_one_thing_about_one_node(expert: Expert) -> None:
    # Two strengths for one node from one item would count a single look at the station twice.
    pick = random.Random(7)  # noqa: S311
    for _ in range(120):
        shown: dict[tuple[str, str], Known] = {}
        case = _random_case(pick, pick.uniform(0.2, 0.8))
        for fact in expert.think(case).all("Shows"):
            key = (fact.word("node"), fact.word("item"))
            assert shown.setdefault(key, fact) == fact
            assert 0.0 < fact.number("on") < 1.0
            assert 0.0 < fact.number("off") < 1.0


def _joins() -> Expert:
    """A small rule base with joins, NOT, TEST, derived facts and steps that need each other."""
    book = RuleBook("joins")

    @book.rule(Told(x=MATCH.x), Also(x=MATCH.x), concludes=(Step,))
    def both(conclude: Any, x: str) -> None:
        """Both say so."""
        conclude(Step(x=x))

    @book.rule(Told(x=MATCH.x), NOT(Also(x=MATCH.x)), concludes=(Step,))
    def alone(conclude: Any, x: str) -> None:
        """Only one says so."""
        conclude(Step(x=f"only_{x}"))

    @book.rule(
        Figure(name=MATCH.x, value=MATCH.low),
        Figure(name=MATCH.x, value=MATCH.high),
        TEST(lambda low, high: low < high),
        concludes=(Step,),
    )
    def rises(conclude: Any, x: str) -> None:
        """One figure is above another of the same name."""
        conclude(Step(x=x))

    @book.rule(Step(x=MATCH.x), NOT(Told(x=MATCH.x)), concludes=(Step,))
    def passes_on(conclude: Any, x: str) -> None:
        """A step that nobody told leads to the next."""
        conclude(Step(x="a"))

    @book.rule(Told(x=MATCH.x), NOT(Step(x=MATCH.x)), concludes=(End,))
    def left_over(conclude: Any, x: str) -> None:
        """Nothing came of it."""
        conclude(End(x=x))

    @book.rule(Step(x=MATCH.x), Step(x=MATCH.y), TEST(lambda x, y: x < y), concludes=(End,))
    def pairs(conclude: Any, x: str, y: str) -> None:
        """Two steps in their order."""
        conclude(End(x=f"{x}{y}"))

    return Expert([book])


_JOINS = _joins()


@given(
    st.lists(
        st.one_of(
            st.builds(lambda x: Told(x=x), st.sampled_from("abc")),
            st.builds(lambda x: Also(x=x), st.sampled_from("abc")),
            st.builds(
                lambda name, value: Figure(name=name, value=value),
                st.sampled_from("abcd"),
                st.sampled_from([1.0, 2.0, 3.0]),
            ),
        ),
        max_size=10,
    )
)
@settings(max_examples=150, deadline=None)
def test_joins_and_negation_agree_with_brute_force(told: list[Fact]) -> None:
    _same(_JOINS, told)


# what experta gets wrong


def test_an_activation_that_no_longer_holds_does_not_fire() -> None:
    # experta looks for an activation to remove only beside where bisect points and misses it when
    # several tie: here the six orders of three facts tie in one rule, and one is called off.
    for called_off in itertools.permutations((1.0, 2.0, 3.0)):
        expert = _orders_but_one(*called_off)
        ended = {
            fact.word("x") for fact in expert.think([Told(x="go"), *_ONE_TWO_THREE]).all("End")
        }
        assert len(ended) == 5
        assert "{:g},{:g},{:g}".format(*called_off) not in ended
        assert len(expert.think(_ONE_TWO_THREE).all("End")) == 6


_ONE_TWO_THREE = [Figure(name="n", value=float(value)) for value in (1, 2, 3)]


def _orders_but_one(*off: float) -> Expert:
    book = RuleBook("stale")

    @book.rule(Told(x="go"), concludes=(Order,))
    def calls_one_off(conclude: Any) -> None:
        """One order is called off before the orders get their turn."""
        conclude(Order(first=off[0], second=off[1], third=off[2]))

    @book.rule(
        Figure(value=MATCH.a),
        Figure(value=MATCH.b),
        Figure(value=MATCH.c),
        TEST(lambda a, b, c: len({a, b, c}) == 3),
        NOT(Order(first=MATCH.a, second=MATCH.b, third=MATCH.c)),
        concludes=(End,),
    )
    def goes_on(conclude: Any, a: float, b: float, c: float) -> None:
        """Each order goes on unless it is called off."""
        conclude(End(x=f"{a:g},{b:g},{c:g}"))

    return Expert([book])


_SCRIPT = """
from knowledge import vocabulary as v
from knowledge.expert import think
facts = [
    v.Station(name="bay 3"), v.WireClass(designator="E71T-11"),
    v.ClassRow(designator="E71T-11", form="flux_cored", metal="carbon_steel", process="FCAW-S",
               shielding="none", polarity="negative", passes="multi", groups=""),
    v.Word(name="process", value="GMAW"), v.Word(name="electrode_polarity", value="positive"),
    v.Looked(name="electrode_polarity", how="told"), v.Listed(name="surface"),
    v.Word(name="surface", value="rust"), v.Word(name="surface", value="paint"),
    v.Symptom(id="tingle", seen="yes", by="welder"), v.RaisedBy(card="tingle", symptom="tingle"),
]
result = think(facts[::ORDER])
for fact in result.derived:
    print("\\n".join(result.why(fact).lines()))
"""


def test_the_same_bytes_under_any_hash_seed_and_any_order() -> None:
    printed = set()
    for seed, order in itertools.product(("0", "1", "4711"), ("1", "-1")):
        run = subprocess.run(
            [sys.executable, "-c", _SCRIPT.replace("ORDER", order)],
            env=os.environ | {"PYTHONHASHSEED": seed},
            capture_output=True,
            check=True,
            text=True,
        )
        assert run.stderr == ""
        printed.add(run.stdout)
    assert len(printed) == 1
    assert "electrode_positive_wants_negative" in printed.pop()


def _numbered(number: int) -> list[Fact]:
    return [
        v.Station(name=str(number)),
        v.Number(name="wire.diameter_mm", value=0.6 + number % 7 / 10),
        v.Number(name="gun.tip_mm", value=0.6 + number % 5 / 10),
        v.Number(name="clamp.rated_a", value=100.0 + number),
        v.Number(name="settings.current_a", value=130.0),
        v.Word(name="process", value=("GMAW", "FCAW-S")[number % 2]),
    ]


def test_eight_threads_think_what_one_thinks() -> None:
    serial = [think(_numbered(number)) for number in range(50)]
    wrong: list[int] = []

    def work(offset: int) -> None:
        for step in range(50):
            number = (step + offset * 7) % 50
            if think(_numbered(number)) != serial[number]:
                wrong.append(number)

    threads = [threading.Thread(target=work, args=(offset,)) for offset in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert wrong == []
    assert len({result.derived for result in serial}) > 10  # the cases really differ


def test_after_an_exception_in_a_rule_the_next_case_is_thought_about_as_ever() -> None:
    book = RuleBook("trouble")

    @book.rule(Told(x=MATCH.x), concludes=(Step,))
    def steps(conclude: Any, x: str) -> None:
        """It goes on."""
        conclude(Step(x=x))

    @book.rule(Step(x="bad"), concludes=(End,))
    def breaks(conclude: Any) -> None:
        """It cannot go on."""
        raise ZeroDivisionError

    @book.rule(Step(x=MATCH.x), concludes=(End,))
    def ends(conclude: Any, x: str) -> None:
        """It comes to an end."""
        conclude(End(x=x))

    expert = Expert([book])
    before = expert.think([Told(x="good")])
    with pytest.raises(ZeroDivisionError):
        expert.think([Told(x="bad"), Told(x="other")])
    assert expert.think([Told(x="good")]) == before


def test_importing_the_engine_leaves_the_root_logger_and_collections_alone() -> None:
    code = (
        "import collections, logging, knowledge.expert; "
        "print(logging.getLogger().handlers, hasattr(collections, 'Mapping'))"
    )
    run = subprocess.run(
        [sys.executable, "-W", "error", "-c", code], capture_output=True, check=True, text=True
    )
    assert run.stdout.strip() == "[] False"


# justification


def test_one_conclusion_from_two_rules_keeps_both_reasons_down_to_what_was_told() -> None:
    book = RuleBook("twice")

    @book.rule(Told(x=MATCH.x), concludes=(Step,))
    def first(conclude: Any, x: str) -> None:
        """The first says so."""
        conclude(Step(x=x))

    @book.rule(Also(x=MATCH.x), concludes=(Step,))
    def second(conclude: Any, x: str) -> None:
        """The second says so too."""
        conclude(Step(x=x))

    @book.rule(Step(x=MATCH.x), concludes=(End,))
    def end(conclude: Any, x: str) -> None:
        """So it ends."""
        conclude(End(x=x))

    result = Expert([book]).think([Told(x="a"), Also(x="a")])
    (step,) = result.all("Step")
    assert [firing.rule for firing in result.firings[step]] == ["first", "second"]
    lines = list(result.why(result.all("End")[0]).lines())
    assert [line.strip() for line in lines] == [
        "End(x=a)",
        "end: So it ends.",
        "Step(x=a)",
        "first: The first says so.",
        "Told(x=a)",
        "second: The second says so too.",
        "Also(x=a)",
    ]


def test_facts_that_lead_to_each_other_are_still_explained_from_what_was_told() -> None:
    result = think([v.Station(name="s"), v.Word(name="process", value="FCAW-S")])
    for fact in result.derived:
        why = result.why(fact)
        assert why.firings, fact
    with pytest.raises(KeyError):
        result.why(Known("Step", (("x", "never"),)))


# what is refused when a rule is written down


def _write(*patterns: Any, concludes: Any = (End,), body: Any = None) -> None:
    def plain(conclude: Any) -> None:
        """It follows."""

    RuleBook("bad").rule(*patterns, concludes=concludes)(body or plain)


def test_rules_that_the_engine_would_get_wrong_are_refused() -> None:
    def no_reason(conclude: Any) -> None: ...

    def takes_more(conclude: Any, y: str) -> None:
        """It takes what nothing binds."""

    for patterns, body in [
        ((Told(x="a"),), no_reason),
        ((Told(x=MATCH.x),), takes_more),
        ((Told(y="a"),), None),
        ((NOT(Told(x="a")),), None),
        ((Told(x="a"), NOT(Also(x=MATCH.free))), None),
        ((Told(x="a"), NOT(Told(x="a"), Also(x="b"))), None),
        ((Told(x=MATCH.x), TEST(lambda free: free)), None),
        ((Told(x="a"), "words"), None),
        ((), None),
    ]:
        with pytest.raises(RuleError):
            _write(*patterns, body=body)


def test_not_over_facts_that_a_later_rule_can_still_bring_about_is_refused() -> None:
    book = RuleBook("late")

    @book.rule(Told(x=MATCH.x), NOT(Step(x=MATCH.x)), concludes=(End,))
    def too_early(conclude: Any, x: str) -> None:
        """Nothing came of it."""
        conclude(End(x=x))

    @book.rule(Also(x=MATCH.x), concludes=(Step,))
    def too_late(conclude: Any, x: str) -> None:
        """Something comes of it."""
        conclude(Step(x=x))

    with pytest.raises(RuleError, match=r"too_early.*too_late"):
        Expert([book])


def test_not_over_facts_that_rest_on_a_later_rule_is_refused() -> None:
    # The rule that concludes Step comes first, but a later one can still feed it.
    book = RuleBook("fed_late")

    @book.rule(Also(x=MATCH.x), concludes=(Step,))
    def steps(conclude: Any, x: str) -> None:
        """It goes on."""
        conclude(Step(x=x))

    @book.rule(Told(x=MATCH.x), NOT(Step(x=MATCH.x)), concludes=(End,))
    def ends(conclude: Any, x: str) -> None:
        """Nothing came of it."""
        conclude(End(x=x))

    @book.rule(Told(x="feed"), concludes=(Also,))
    def feeds(conclude: Any) -> None:
        """More to go on."""
        conclude(Also(x="feed"))

    with pytest.raises(RuleError, match=r"ends.*feeds"):
        Expert([book])


def test_a_rule_may_conclude_only_what_it_said() -> None:
    book = RuleBook("liar")

    @book.rule(Told(x=MATCH.x), concludes=(Step,))
    def liar(conclude: Any, x: str) -> None:
        """It concludes something else."""
        conclude(End(x=x))

    with pytest.raises(RuleError, match="did not say"):
        Expert([book]).think([Told(x="a")])


def test_a_word_and_a_number_never_meet_in_one_slot() -> None:
    for fact in (
        Told(x=1.0),
        Figure(name="a", value="b"),
        Figure(name="a", value=True),
        Told(y="a"),
    ):
        with pytest.raises(RuleError):
            known(fact)


def test_two_rules_of_one_name_are_refused() -> None:
    with pytest.raises(RuleError, match="same id"):
        Expert([BOOKS[0], BOOKS[0]])


def test_one_of_several_words_fires_once() -> None:
    book = RuleBook("words")

    @book.rule(Told(x=one_of("a", "b", bind="which")), concludes=(End,))
    def which_one(conclude: Any, which: str) -> None:
        """One of them was told."""
        conclude(End(x=which))

    result = Expert([book]).think([Told(x="a"), Told(x="b"), Told(x="c")])
    assert [fact.word("x") for fact in result.all("End")] == ["a", "b"]
    assert all(len(firings) == 1 for firings in result.firings.values())


# the shipped books


def test_the_vocabulary_is_flat_and_each_slot_holds_a_word_or_a_number() -> None:
    kinds = (*v.TOLD, *v.TABLE, *v.DERIVED)
    assert len(set(kinds)) == len(kinds)
    for kind in kinds:
        assert kind.__bases__ == (Fact,)
        assert set(slots_of(kind).values()) <= {"str", "float"}
        assert slots_of(kind)


def test_rules_conclude_derived_kinds_only_and_each_derived_kind_has_a_rule(expert: Expert) -> None:
    concluded = {kind for rule in expert.written for kind in rule.concludes}
    assert concluded == set(v.DERIVED)


def test_every_salience_is_its_own_and_falls_in_the_order_of_the_books(expert: Expert) -> None:
    saliences = [rule.salience for rule in expert.rules]
    assert saliences == sorted(set(saliences), reverse=True)
