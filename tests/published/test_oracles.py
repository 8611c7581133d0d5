"""Published networks, worked exactly: first the oracle against the figures, then our code.

The networks and their parameters are written down from memory of the sources named; the figures with
many digits were worked out exactly from those parameters and agree with the two or three digits that the
books print. What is noisy-OR is run by the ranking code itself. The others (burglar alarm, chest clinic, a
printer) check the oracles: the enumerator, and the reference library. Last, our own network against that
library.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import combinations, product
from pathlib import Path
from typing import Any

import networkx as nx
import pytest
from ruamel.yaml import YAML

from diagnose.case import Case
from diagnose.evidence import Evidence
from diagnose.graph import Graph
from diagnose.rank import PRIOR_SUM, Ranker, weigh
from diagnose.reason import Reasoned, reason
from diagnose.walk import Walk, Weighing, chance
from knowledge.loader import Knowledge

YES, NO = "yes", "no"


@dataclass
class Net:
    """Discrete nodes in causal order, each with its parents and its table."""

    states: dict[str, tuple[str, ...]] = field(default_factory=dict)
    parents: dict[str, tuple[str, ...]] = field(default_factory=dict)
    tables: dict[str, dict[tuple[str, ...], tuple[Fraction, ...]]] = field(default_factory=dict)

    def add(
        self,
        node: str,
        parents: tuple[str, ...],
        rows: Mapping[tuple[str, ...], str],
        states: tuple[str, ...] = (YES, NO),
    ) -> None:
        """Add a node; a row lists the chances of its states, the last one taken as the rest."""
        self.states[node], self.parents[node] = states, parents
        self.tables[node] = {}
        for key, row in rows.items():
            chances = [Fraction(number) for number in row.split()]
            self.tables[node][key] = (*chances, 1 - sum(chances, Fraction(0)))

    def worlds(self) -> Iterator[tuple[dict[str, str], Fraction]]:
        for values in product(*self.states.values()):
            world = dict(zip(self.states, values, strict=True))
            weight = Fraction(1)
            for node, table in self.tables.items():
                row = table[tuple(world[parent] for parent in self.parents[node])]
                weight *= row[self.states[node].index(world[node])]
            yield world, weight

    def chance(self, wanted: Mapping[str, str], **given: str) -> Fraction:
        """Return P(wanted | given), exactly, by adding up every state of every node."""
        known, both = Fraction(0), Fraction(0)
        for world, weight in self.worlds():
            if all(world[node] == value for node, value in given.items()):
                known += weight
                if all(world[node] == value for node, value in wanted.items()):
                    both += weight
        return both / known


def alarm(burglary: str, earthquake: str) -> Net:
    """Return the burglar alarm of Russell and Norvig's textbook."""
    net = Net()
    net.add("b", (), {(): burglary})
    net.add("e", (), {(): earthquake})
    rows = {(YES, YES): "0.95", (YES, NO): "0.94", (NO, YES): "0.29", (NO, NO): "0.001"}
    net.add("a", ("b", "e"), rows)
    net.add("j", ("a",), {(YES,): "0.90", (NO,): "0.05"})
    net.add("m", ("a",), {(YES,): "0.70", (NO,): "0.01"})
    return net


def chest_clinic() -> Net:
    """Return the chest clinic of Lauritzen and Spiegelhalter, 1988."""
    net = Net()
    net.add("asia", (), {(): "0.01"})
    net.add("smoke", (), {(): "0.5"})
    net.add("tub", ("asia",), {(YES,): "0.05", (NO,): "0.01"})
    net.add("lung", ("smoke",), {(YES,): "0.1", (NO,): "0.01"})
    net.add("bronc", ("smoke",), {(YES,): "0.6", (NO,): "0.3"})
    either = {(t, s): "0" if t == s == NO else "1" for t, s in product((YES, NO), repeat=2)}
    net.add("either", ("tub", "lung"), either)
    net.add("xray", ("either",), {(YES,): "0.98", (NO,): "0.05"})
    rows = {(YES, YES): "0.9", (YES, NO): "0.8", (NO, YES): "0.7", (NO, NO): "0.1"}
    net.add("dysp", ("bronc", "either"), rows)
    return net


def car_start() -> Net:
    """Return the car that will not start, of Jensen's textbook."""
    net = Net()
    net.add("fuel", (), {(): "0.98"})
    net.add("plugs", (), {(): "0.96"})
    rows = {(YES, YES): "0.99", (YES, NO): "0.01", (NO, YES): "0", (NO, NO): "0"}
    net.add("start", ("fuel", "plugs"), rows)
    meter = {(YES,): "0.39 0.60", (NO,): "0.001 0.001"}
    net.add("meter", ("fuel",), meter, ("full", "half", "empty"))
    return net


def test_burglar_alarm() -> None:
    net = alarm("0.001", "0.002")
    assert net.chance({"b": YES}, j=YES, m=YES) == Fraction(592242590, 2084100239)
    assert round(float(net.chance({"b": YES}, j=YES, m=YES)), 3) == 0.284
    assert net.chance({"b": YES}, a=YES) == Fraction(156670, 419407)
    assert net.chance({"b": YES}, a=YES, e=YES) == Fraction(95, 29066)


def test_burglar_alarm_with_ten_times_the_priors() -> None:
    net = alarm("0.01", "0.02")
    for node, wanted in (("b", 0.556522062157), ("e", 0.351769361290), ("a", 0.953781657755)):
        assert float(net.chance({node: YES}, j=YES, m=YES)) == pytest.approx(wanted, abs=1e-12)


def test_chest_clinic_before_any_evidence() -> None:
    wanted = {"tub": "0.0104", "lung": "0.055", "bronc": "0.45", "either": "0.064828"}
    wanted |= {"xray": "0.11029004", "dysp": "0.4359706"}
    net = chest_clinic()
    assert {node: net.chance({node: YES}) for node in wanted} == {
        node: Fraction(number) for node, number in wanted.items()
    }


@pytest.mark.parametrize(
    ("given", "tub", "lung", "bronc"),
    [
        ({"asia": YES, "dysp": YES}, 0.087750964983, 0.099525145095, 0.811402071589),
        (
            {"asia": YES, "dysp": YES, "xray": NO},
            0.002248695312,
            0.002550418987,
            0.862760773047,
        ),
        (
            {"asia": YES, "smoke": NO, "dysp": YES, "xray": YES},
            0.632329456552,
            0.126465891310,
            0.458960137265,
        ),
    ],
)
def test_chest_clinic(given: dict[str, str], tub: float, lung: float, bronc: float) -> None:
    net = chest_clinic()
    for node, wanted in (("tub", tub), ("lung", lung), ("bronc", bronc)):
        assert float(net.chance({node: YES}, **given)) == pytest.approx(wanted, abs=1e-12)


def test_chest_clinic_chance_of_the_evidence() -> None:
    assert chest_clinic().chance({"asia": YES, "dysp": YES}) == Fraction("0.004501375")


CAR_FIGURES = [
    (None, 0.293186349244, 0.580626246042),
    ("half", 0.000690855832, 0.804349628320),
    ("empty", 0.976413451416, 0.058040833258),
]


@pytest.mark.parametrize(("meter", "no_fuel", "dirty_plugs"), CAR_FIGURES)
def test_car_will_not_start(meter: str | None, no_fuel: float, dirty_plugs: float) -> None:
    net, given = car_start(), {"start": NO} | ({"meter": meter} if meter else {})
    assert float(net.chance({"fuel": NO}, **given)) == pytest.approx(no_fuel, abs=1e-12)
    assert float(net.chance({"plugs": NO}, **given)) == pytest.approx(dirty_plugs, abs=1e-12)


@pytest.mark.parametrize(("meter", "no_fuel", "dirty_plugs"), CAR_FIGURES)
def test_car_will_not_start_by_our_ranking(
    meter: str | None, no_fuel: float, dirty_plugs: float
) -> None:
    """P(no start | causes) is a noisy-OR, and the meter is soft evidence on a fault itself.

    The textbook also weighs "nothing is wrong", which a complaint never is for us: its weight is one
    here, as all our weights are over it.
    """
    graph: Graph = nx.DiGraph()
    graph.add_nodes_from(("no_fuel", "dirty_plugs"), kind="fault")
    graph.add_node("no_start", kind="symptom", leak=0.01)
    graph.add_edge("no_fuel", "no_start", strength=1.0)
    graph.add_edge("dirty_plugs", "no_start", strength=1.0 - 0.01 / 0.99)
    evidence = [Evidence("found:no_start", "no_start", 1.0, 0.0)]
    if meter:
        on, off = {"half": (0.001, 0.60), "empty": (0.998, 0.01)}[meter]
        evidence.append(Evidence("meter", "no_fuel", on, off))
    priors = {"no_fuel": 0.02, "dirty_plugs": 0.04}
    per_thousand = {name: 1000.0 * p / PRIOR_SUM for name, p in priors.items()}
    ranker = Ranker(graph, per_thousand, evidence)
    singles = ranker.single_weights()
    both = ranker.pair_weights()["dirty_plugs", "no_fuel"]
    total = 1.0 + sum(singles.values()) + both
    assert (singles["no_fuel"] + both) / total == pytest.approx(no_fuel, abs=1e-12)
    assert (singles["dirty_plugs"] + both) / total == pytest.approx(dirty_plugs, abs=1e-12)


@pytest.mark.parametrize(
    ("causes", "fever"),
    [
        (("cold",), 0.4),
        (("flu",), 0.8),
        (("malaria",), 0.9),
        (("cold", "flu"), 0.88),
        (("cold", "malaria"), 0.94),
        (("flu", "malaria"), 0.98),
        (("cold", "flu", "malaria"), 0.988),
    ],
)
def test_fever_by_our_walk(causes: tuple[str, ...], fever: float) -> None:
    """The noisy-OR table of Russell and Norvig's textbook: inhibited with 0.6, 0.2 and 0.1."""
    graph: Graph = nx.DiGraph()
    graph.add_node("fever", kind="symptom", leak=0.0)
    for cause, inhibited in (("cold", 0.6), ("flu", 0.2), ("malaria", 0.1)):
        graph.add_node(cause, kind="fault")
        graph.add_edge(cause, "fever", strength=1.0 - inhibited)
    walk = Walk(graph, {"fever": Weighing(1.0, 0.0)}, relative=False)
    found = walk.likelihood([walk.direct(cause) for cause in causes], walk.reach("cold"))
    assert found == pytest.approx(fever, abs=1e-15)
    if len(causes) == 1:
        assert chance(graph, "fever", causes)[causes[0]] == pytest.approx(fever, abs=1e-15)


def by_library(net: Net, wanted: str, **given: str) -> float:
    """Return P(wanted is not sound, or no | given) as the reference library has it."""
    gum = pytest.importorskip("pyagrum", reason="pyAgrum is the reference; it is not installed")
    copy = gum.BayesNet()
    for node, states in net.states.items():
        copy.add(gum.LabelizedVariable(node, node, list(states)))
    for node, parents in net.parents.items():
        for parent in parents:
            copy.addArc(parent, node)
        for key, row in net.tables[node].items():
            copy.cpt(node)[dict(zip(parents, key, strict=True))] = [float(chance) for chance in row]
    engine = gum.LazyPropagation(copy)
    engine.setEvidence(given)
    return float(engine.posterior(wanted)[{wanted: net.states[wanted][-1]}])


@pytest.mark.parametrize(
    ("net", "given"),
    [
        (alarm("0.001", "0.002"), {"j": YES, "m": YES}),
        (alarm("0.01", "0.02"), {"j": YES, "m": YES}),
        (chest_clinic(), {"asia": YES, "dysp": YES}),
        (chest_clinic(), {"asia": YES, "dysp": YES, "xray": NO}),
        (car_start(), {"start": NO, "meter": "half"}),
    ],
)
def test_the_library_agrees_with_enumeration(net: Net, given: dict[str, str]) -> None:
    for node in net.states.keys() - given.keys():
        wanted = float(net.chance({node: net.states[node][-1]}, **given))
        assert by_library(net, node, **given) == pytest.approx(wanted, abs=1e-12)


@pytest.fixture(scope="module")
def printer() -> Net:
    """Return the part of a published printer network that bears on two of its complaints."""
    net = Net()
    rows = YAML(typ="safe", pure=True).load(Path(__file__).with_name("printer_network.yaml"))
    for row in rows:
        ways = product((YES, NO), repeat=len(row["parents"]))
        chances = zip(ways, row["not"], strict=True)
        table = {way: str(1 - Fraction(str(chance))) for way, chance in chances}
        net.add(row["node"], tuple(row["parents"]), table)
    return net


@pytest.mark.parametrize(
    ("complaint", "cause", "prior", "after"),
    [
        ({"Problem1": NO}, "FllCrrptdBffr", 0.15, 0.277973761683),
        ({"Problem1": NO}, "PrtOn", 0.10, 0.184208447425),
        ({"Problem1": NO}, "PrtDriver", 0.10, 0.166820026747),
        ({"Problem1": NO}, "NetPrint", 0.20, 0.252256458293),
        ({"Problem1": NO}, "PTROFFLINE", 0.30, 0.338604202966),
        ({"Problem3": YES}, "PgOrnttnOK", 0.05, 0.430882542351),
        ({"Problem3": YES}, "PrtMem", 0.05, 0.309933670708),
    ],
)
def test_printer_by_the_library(
    printer: Net, complaint: dict[str, str], cause: str, prior: float, after: float
) -> None:
    """The figures are another library's, worked to twelve digits; the tables are not noisy-OR.

    "Yes" is the first state of a node: normal output for the one complaint, "no" for the other.
    """
    assert by_library(printer, cause) == pytest.approx(prior, abs=1e-12)
    assert by_library(printer, cause, **complaint) == pytest.approx(after, abs=1e-9)


COMPLAINTS: list[dict[str, Any]] = [
    {"said": ["wire feeds but no arc"], "station": {"process": "GMAW"}},
    {
        "said": ["porosity"],
        "symptoms": [{"id": "wire_stubs", "seen": "no"}],
        "station": {"process": "GMAW", "place": {"outdoors": True}},
        "started": {"change": ["new_spool"], "pattern": "at_once"},
    },
    {
        "said": ["bird nest at the rolls", "arc is erratic"],
        "findings": [{"check": "look_at_work_clamp", "result": "cannot_do"}],
        "station": {"process": "FCAW-S", "wire": {"class": "E71T-11"}},
    },
    {
        "symptoms": [
            {"id": "clamp_hot", "seen": "yes", "by": "tried_it"},
            {"id": "porosity", "seen": "no", "by": "tried_it"},
        ],
        "remedied": [{"fault": "clamp_on_paint", "cured": False}],
    },
    {
        "said": ["pops and spatters", "no penetration"],
        "station": {"wire": {"class": "E71T-11"}, "polarity": {"electrode": "positive"}},
    },
]


@pytest.fixture(scope="module")
def cases(knowledge: Knowledge) -> list[Reasoned]:
    """Return the complaints reasoned, each but one with what two of its checks found."""
    reasoned = []
    for number, complaint in enumerate(COMPLAINTS):
        two = [knowledge.checks[name] for name in sorted(knowledge.checks)[number::40][:2]]
        found = [
            {
                "check": check.id,
                "result": check.looks_for[-1].result if turn else check.nothing_found.result,
            }
            for turn, check in enumerate(two)
        ]
        whole = {**complaint, "findings": [*complaint.get("findings", ()), *found]}
        reasoned.append(reason(Case.model_validate(whole if number else complaint), knowledge))
    return reasoned


def by_reference(ranker: Ranker, on: tuple[str, ...]) -> float:
    """Return P(evidence | exactly these faults) as a reference library has it.

    All other faults are held off. A mechanism that only they could bring about is then off for certain
    (it has no leak), so neither is put into the net; with all in it, its families grow too large.
    """
    gum = pytest.importorskip("pyagrum", reason="pyAgrum is the reference; it is not installed")
    weighings = weigh(ranker.evidence)
    graph = ranker.graph
    nodes = set(on).union(*(nx.descendants(graph, fault) for fault in on)) | weighings.keys()
    leaves = {n for n in nodes if graph.out_degree(n) == 0} - weighings.keys()
    net = gum.BayesNet()
    own, given = 1.0, {}
    part = graph.subgraph(nodes - leaves)
    for node in nx.topological_sort(part):
        fault = graph.nodes[node]["kind"] == "fault"
        if fault and node not in on:
            own *= weighings[node].off
            continue
        variable = gum.LabelizedVariable(node, node, 2)
        if fault:
            net.add(variable)
            net.cpt(node).fillWith([0.5, 0.5])
            given[node] = 1
            own *= weighings[node].on if node in weighings else 1.0
        else:
            net.addNoisyORNet(variable, graph.nodes[node]["leak"] or 0.0)
            if node in weighings:
                given[node] = [weighings[node].off, weighings[node].on]
        for cause in part.pred[node]:
            if cause in net.names():
                net.addWeightedArc(cause, node, graph.edges[cause, node]["strength"])
    engine = gum.LazyPropagation(net)
    engine.setEvidence(given)
    return own * float(engine.evidenceProbability()) * 2.0 ** len(on)


def test_the_complaints_hold_every_kind_of_evidence(cases: list[Reasoned]) -> None:
    kinds = {
        (one.ranker.graph.nodes[item.node]["kind"], item.on > item.off)
        for one in cases
        for item in _with_mechanism(one).evidence
    }
    assert {("symptom", True), ("symptom", False), ("finding", True), ("finding", False)} <= kinds
    assert {"fault", "mechanism"} <= {kind for kind, _ in kinds}
    weights = {item.on for one in cases for item in one.ranker.evidence}
    assert weights & {0.0, 1.0}
    assert weights - {0.0, 1.0}


def _with_mechanism(one: Reasoned) -> Ranker:
    """Return the ranker with soft evidence on the mechanism that the leading fault acts through."""
    graph, leading = one.ranker.graph, one.ranking.order()[0]
    mechanisms = [n for n in sorted(graph.succ[leading]) if graph.nodes[n]["kind"] == "mechanism"]
    items = [Evidence("measured", node, 0.8, 0.15) for node in mechanisms[:1]]
    old = one.ranker
    return Ranker(graph, old.per_thousand, [*old.evidence, *items], old.starts, old.excludes)


@pytest.mark.parametrize("number", range(len(COMPLAINTS)))
def test_our_network_against_a_reference_library(cases: list[Reasoned], number: int) -> None:
    ranker = _with_mechanism(cases[number])
    _assert_agrees(ranker, pairs=100, seed=number)


def _assert_agrees(ranker: Ranker, pairs: int, seed: int) -> None:
    nothing = by_reference(ranker, ())
    choice = random.Random(seed)  # noqa: S311
    single_weights, pair_weights = ranker.single_weights(), ranker.pair_weights()
    chosen: list[tuple[str, ...]] = [(fault,) for fault in ranker.faults]
    leading = sorted(single_weights, key=lambda fault: -single_weights[fault])[:8]
    chosen += [pair for pair in combinations(sorted(leading), 2) if pair in pair_weights]
    chosen += choice.sample(sorted(pair_weights), pairs)
    ours, theirs = [], []
    for hypothesis in chosen:
        known = by_reference(ranker, hypothesis) / nothing
        assert ranker.likelihood(*hypothesis) == pytest.approx(known, rel=1e-9)
        prior = 1.0
        for fault in hypothesis:
            prior *= ranker.odds[fault]
        theirs.append(prior * known * ranker.start_factor(*hypothesis))
        pair = tuple(sorted(hypothesis))
        ours.append(single_weights[pair[0]] if len(pair) == 1 else pair_weights[pair])  # type: ignore[index]
    assert [w / sum(ours) for w in ours] == pytest.approx(
        [w / sum(theirs) for w in theirs], rel=1e-9
    )
