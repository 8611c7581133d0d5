"""The network: against networkx, against ngspice where it is installed, and the canonical stray."""

from __future__ import annotations

import re
import shutil
import subprocess

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.reckon.conductor import metric, resistance_ohm
from diagnose.reckon.network import (
    Way,
    linear_solution,
    network,
    potentials_v,
    shared_current,
    stray_current,
)
from knowledge.errors import QuantityError

WORK_LEAD_OHM = resistance_ohm(metric(35.0), 30.0, 20.0)
HOME = (
    Way("work clamp", "work", "lug", 0.010, intended=True, kind="clamp"),
    Way("work lead", "lug", "source", WORK_LEAD_OHM, intended=True),
)
STEEL = (
    Way("bench on beam", "work", "beam", 0.004, kind="building_steel"),
    Way("beam", "beam", "case", 0.011, kind="building_steel"),
    Way("case bond", "case", "source", 0.005, kind="building_steel"),
)
CROSSED = (
    *HOME,
    *STEEL,
    Way("hoist chain", "work", "rail", 0.050, kind="chain"),
    Way("rail", "rail", "case", 0.020, kind="building_steel"),
    Way("rail to beam", "rail", "beam", 0.015, kind="building_steel"),
    Way("loose hook", "rail", "floor", 0.030, kind="building_steel"),
)


def test_canonical_57_percent_or_114_a_strays() -> None:
    found = shared_current((*HOME, *STEEL), 200.0)
    assert found.result.value == pytest.approx(114.2, abs=0.05)
    assert round(found.share, 2) == 0.57
    assert found.result.verdict == "bad"
    assert "57%" in found.result.says
    assert found.tied


def test_without_the_tie_nothing_strays_and_that_is_said() -> None:
    found = shared_current((*HOME, *STEEL[:2]), 200.0)
    assert found.result.value == 0.0
    assert found.result.verdict == "good"
    assert found.result.says.startswith("Nothing strays")
    assert not found.tied
    assert {flow.name: flow.current_a for flow in found.flows}["beam"] == 0.0


@pytest.mark.parametrize("tied", [True, False])
def test_the_short_form_equals_the_network(tied: bool) -> None:
    steel = STEEL if tied else STEEL[:2]
    short = stray_current(200.0, 0.010 + WORK_LEAD_OHM, 0.020, tied=tied)
    assert short.result.value == pytest.approx(shared_current((*HOME, *steel), 200.0).result.value)


def test_a_chain_that_carries_anything_is_bad_and_named() -> None:
    chain = Way("hoist chain", "work", "source", 2.0, kind="chain")
    found = shared_current((*HOME, chain), 200.0)
    assert found.share < 0.05
    assert found.result.verdict == "bad"
    assert any("hoist chain" in note for note in found.result.notes)


def test_resistance_agrees_with_networkx() -> None:
    graph = network(CROSSED)
    expected = nx.resistance_distance(graph, "work", "source", weight="ohm", invert_weight=True)
    assert shared_current(CROSSED, 200.0).resistance_ohm == pytest.approx(expected, rel=1e-9)


def test_current_is_conserved_at_every_point() -> None:
    found = shared_current(CROSSED, 200.0)
    net = dict.fromkeys(("work", "lug", "beam", "case", "rail", "floor", "source"), 0.0)
    for way, flow in zip(CROSSED, found.flows, strict=True):
        net[way.a] += flow.current_a
        net[way.b] -= flow.current_a
    assert net.pop("work") == pytest.approx(200.0)
    assert net.pop("source") == pytest.approx(-200.0)
    assert list(net.values()) == pytest.approx([0.0] * 5, abs=1e-9)


def test_heat_of_all_ways_is_what_the_source_puts_in() -> None:
    found = shared_current(CROSSED, 200.0)
    total_w = sum(flow.power_w for flow in found.flows)
    assert total_w == pytest.approx(200.0**2 * found.resistance_ohm)


@given(
    st.lists(
        st.tuples(st.integers(0, 5), st.integers(0, 5), st.floats(1e-4, 10.0)),
        min_size=1,
        max_size=14,
    )
)
def test_random_networks_agree_with_networkx(edges: list[tuple[int, int, float]]) -> None:
    ways = tuple(
        Way(f"w{number}", f"p{a}", f"p{b}", ohm)
        for number, (a, b, ohm) in enumerate([*edges, (0, 1, 1.0)])
        if a != b
    )
    graph = network(ways)
    joined = graph.subgraph(nx.node_connected_component(graph, "p0"))
    expected = nx.resistance_distance(joined, "p0", "p1", weight="ohm", invert_weight=True)
    assert potentials_v(ways, 1.0, "p0", "p1")["p0"] == pytest.approx(expected, rel=1e-6)


@given(worse=st.floats(1.0, 100.0))
def test_a_worse_clamp_never_strays_less(worse: float) -> None:
    sound = stray_current(200.0, 0.02, 0.02, tied=True).result.value
    bad = stray_current(200.0, 0.02 * worse, 0.02, tied=True).result.value
    assert sound is not None
    assert bad is not None
    assert bad >= sound - 1e-9


def test_ngspice_gives_the_same_voltages() -> None:
    spice = shutil.which("ngspice")
    if spice is None:
        pytest.skip("ngspice is not installed: apt-get install ngspice")
    points = {point: point for way in CROSSED for point in (way.a, way.b)} | {"source": "0"}
    lines = ["welding circuit", "I1 0 work DC 200"]
    lines += [
        f"R{number} {points[way.a]} {points[way.b]} {way.resistance_ohm!r}"
        for number, way in enumerate(CROSSED)
    ]
    asked = sorted(set(points) - {"source"})
    prints = [f"print v({point})" for point in asked]
    lines += [".control", "set numdgt=10", "op", *prints, "quit", ".endc", ".end"]
    run = subprocess.run(
        [spice, "-b", "/dev/stdin"],
        input="\n".join(lines) + "\n",
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    shown = {name: float(value) for name, value in re.findall(r"v\((\w+)\) = (\S+)", run.stdout)}
    ours = potentials_v(CROSSED, 200.0, "work", "source")
    assert sorted(shown) == asked, run.stdout + run.stderr
    for point in asked:
        assert ours[point] == pytest.approx(shown[point], rel=1e-7)


@pytest.mark.parametrize(
    ("ways", "what"),
    [
        ((Way("lead", "work", "source", 0.0, intended=True),), "above zero"),
        ((Way("lead", "work", "work", 0.1, intended=True),), "starts and ends"),
        ((Way("lead", "work", "lug", 0.1, intended=True),), "no way leads"),
        ((Way("lead", "work", "source", 0.1),), "intended"),
        ((Way("w", "work", "source", 0.1, intended=True),) * 2, "two ways"),
        ((), "intended"),
    ],
)
def test_impossible_networks_are_refused(ways: tuple[Way, ...], what: str) -> None:
    with pytest.raises(QuantityError, match=what):
        shared_current(ways, 200.0)


def test_elimination_pivots_and_refuses_a_singular_matrix() -> None:
    assert linear_solution([[0.0, 1.0], [1.0, 0.0]], [3.0, 5.0]) == [5.0, 3.0]
    with pytest.raises(QuantityError):
        linear_solution([[1.0, 1.0], [1.0, 1.0]], [1.0, 2.0])
