"""Gas and metal: what the class or the metal asks for against the cylinder."""

from __future__ import annotations

from typing import Any

import pytest


@pytest.mark.parametrize(
    ("wire", "gas", "suits"),
    [
        ("ER70S-6", "75/25", True),  # everyday
        ("ER70S-6", "CO2", True),
        ("ER70S-6", "argon", False),  # tall bead, wandering arc
        ("ER4043", "argon", True),
        ("ER4043", "75/25", False),  # black mess
        ("ER308LSi", "CO2", False),  # carbon into stainless
        ("ER308LSi", "98/2", True),
        ("E71T-1C", "CO2", True),
        ("E71T-1M", "75 Ar / 25 CO2", True),
        ("E71T-1M", "CO2", False),
        ("E71T-1C", "75/25", False),
    ],
)
def test_gas_against_class(
    *, judge: Any, shown: Any, established: Any, wire: str, gas: str, suits: bool
) -> None:
    result = judge({"wire": {"class": wire}, "gas": {"name": gas}})
    on, off = shown(result)["wrong_gas"]
    assert (on < off) is suits
    assert ("wrong_gas" in established(result)) is not suits


@pytest.mark.parametrize(
    ("metal", "gas", "suits"),
    [
        ("aluminium", "CO2", False),
        ("aluminium", "argon", True),
        ("carbon_steel", "argon", False),
        ("carbon_steel", "75/25", True),
        (
            "stainless",
            "75/25",
            None,
        ),  # poor for solid wire, right for cored: the metal alone can't say
    ],
)
def test_gas_against_metal_where_no_class_is_known(
    judge: Any, shown: Any, metal: str, gas: str, suits: bool | None
) -> None:
    result = judge({"process": "GMAW", "work": {"metal": metal}, "gas": {"name": gas}})
    table = shown(result)
    assert ("wrong_gas" in table) is (suits is not None)
    if suits is not None:
        on, off = table["wrong_gas"]
        assert (on < off) is suits


def test_solid_stainless_under_carbon_dioxide(judge: Any, established: Any) -> None:
    station = {"wire": {"form": "solid"}, "work": {"metal": "stainless"}, "gas": {"name": "CO2"}}
    assert "wrong_gas" in established(judge(station))


def test_a_gas_wire_without_gas(judge: Any, established: Any, shown: Any) -> None:
    # Somebody put solid wire on a station that had run self-shielded.
    result = judge({"wire": {"class": "ER70S-6"}, "gas": {"name": "none"}})
    assert established(result) == {"gas_hose_not_connected"}
    assert {"gas_hose_not_connected", "wire_wrong_class"} <= set(shown(result))


def test_gas_on_a_self_shielded_wire_is_a_caution_not_a_fault(
    judge: Any, established: Any, shown: Any
) -> None:
    result = judge({"wire": {"class": "E71T-11"}, "gas": {"name": "75/25"}})
    assert any("makes its own shield" in fact.word("text") for fact in result.all("Caution"))
    assert "wrong_gas" not in shown(result)
    assert established(result) == set()


def test_an_unknown_gas_is_asked_for(judge: Any) -> None:
    result = judge({"wire": {"class": "ER70S-6"}, "gas": {"name": "the blue one"}})
    assert {fact.word("id") for fact in result.all("Ask")} >= {"station.gas.name"}


@pytest.mark.parametrize(
    ("flow", "where", "node"),
    [
        (5.0, "meter", "flow_set_low"),
        (5.0, None, "flow_set_low"),
        (5.0, "nozzle", "gas_flow_low"),  # may be lost on the way: the mechanism, not the dial
        (35.0, "meter", "flow_set_high"),
    ],
)
def test_flow_outside_its_window(
    judge: Any, shown: Any, flow: float, where: str | None, node: str
) -> None:
    gas = {"flow_l_min": flow} | ({"measured_at": where} if where else {})
    window = {"gas_flow_least_l_min": 9.0, "gas_flow_most_l_min": 20.0}
    on, off = shown(judge({"gas": gas}, reckoned=window))[node]
    assert on > off


def test_flow_is_not_judged_without_a_window(judge: Any, shown: Any) -> None:
    assert shown(judge({"gas": {"flow_l_min": 5.0}})) == {}


def test_flow_windows_share_one_whole(judge: Any, shown: Any) -> None:
    # Far below, just below, inside and above are all there is, so a node's chances sum to one.
    window = {"gas_flow_least_l_min": 9.0, "gas_flow_most_l_min": 20.0}
    for node, flows in (("flow_set_low", (5, 8, 12, 30)), ("flow_set_high", (5, 12, 22, 30))):
        rows = [shown(judge({"gas": {"flow_l_min": f}}, reckoned=window))[node] for f in flows]
        assert sum(on for on, _ in rows) == pytest.approx(1.0)
        assert sum(off for _, off in rows) == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("wire", "metal", "proven"),
    [
        ("ER4043", "carbon_steel", True),
        ("ER70S-6", "stainless", True),
        ("ER309L", "carbon_steel", False),  # done on purpose, to join the two
        ("ER70S-6", "carbon_steel", False),
    ],
)
def test_metal_of_the_wire_against_the_work(
    judge: Any, established: Any, wire: str, metal: str, proven: bool
) -> None:
    result = judge({"wire": {"class": wire}, "work": {"metal": metal}})
    assert ("wire_wrong_class" in established(result)) is proven


def test_a_single_pass_wire_is_a_hint_and_a_caution(
    judge: Any, shown: Any, established: Any
) -> None:
    # Whether a second pass was laid is not known from the label.
    result = judge({"wire": {"class": "E71T-GS"}})
    on, off = shown(result)["single_pass_wire_multipass"]
    assert on > off
    assert established(result) == set()
    on, off = shown(judge({"wire": {"class": "E71T-11"}}))["single_pass_wire_multipass"]
    assert on < off
