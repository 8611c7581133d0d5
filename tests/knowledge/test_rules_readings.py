"""What a measured quantity speaks of, and that no limit convicts just past it."""

from __future__ import annotations

from typing import Any

import pytest

from knowledge.expert import think
from knowledge.loader import load
from knowledge.rules import readings
from knowledge.vocabulary import Measured, Station

QUANTITIES = sorted(
    {
        str(pattern["quantity"])
        for rule in readings.BOOK.rules
        for pattern in rule.patterns
        if isinstance(pattern, Measured)
    }
)


@pytest.mark.parametrize("quantity", QUANTITIES)
def test_a_measured_quantity_bears_on_nodes_with_its_own_likelihoods(quantity: str) -> None:
    fact = Measured(quantity=quantity, value=0.0, if_fault=0.8, if_sound=0.2, item="readings[0]")
    shown = think([Station(name="s"), fact]).all("Shows", item="readings[0]")
    assert shown
    findings = {f"{c.id}:{r.result}" for c in load().checks.values() for r in c.looks_for}
    known = {*load().faults, *load().mechanisms, *findings}
    assert {row.word("node") for row in shown} <= known
    assert all(row.number("on") > row.number("off") for row in shown)


def test_measured_names_every_quantity_that_a_reading_comes_to() -> None:
    from diagnose.readings.drops import QUANTITIES as OF_DROPS
    from diagnose.readings.others import JOINTS

    drops = {q for q in OF_DROPS.values() if q != "gun_and_socket_ohm"}
    assert drops | {quantity for quantity, _ in JOINTS.values()} <= set(QUANTITIES)


@pytest.mark.parametrize(
    ("reckoned", "station", "node"),
    [
        ({"leads_drop_v": 4.1}, {}, "lead_too_thin_or_long"),
        ({"supply_cord_drop_pct": 5.2}, {}, "extension_cord_too_thin"),
        ({"duty_used_over_allowed": 1.05}, {}, "duty_exceeded"),
        (
            {"arc_v_least": 17.0, "arc_v_most": 20.0},
            {"settings": {"arc_v": 16.9}},
            "voltage_too_low",
        ),
        (
            {"gas_flow_least_l_min": 9.0, "gas_flow_most_l_min": 18.0},
            {"gas": {"flow_l_min": 8.9}},
            "flow_set_low",
        ),
        (
            {"gas_flow_least_l_min": 9.0, "gas_flow_most_l_min": 18.0},
            {"gas": {"flow_l_min": 8.9, "measured_at": "nozzle"}},
            "gas_flow_low",
        ),
        (
            {"gas_flow_least_l_min": 9.0, "gas_flow_most_l_min": 18.0},
            {"gas": {"flow_l_min": 18.1}},
            "flow_set_high",
        ),
    ],
)
def test_just_past_a_limit_moves_less_than_a_factor_of_two(
    judge: Any, shown: Any, reckoned: dict[str, float], station: dict[str, Any], node: str
) -> None:
    result = judge(station, reckoned=reckoned)
    on, off = shown(result)[node]
    assert 1.0 < on / off < 2.0
    assert result.all("Established") == ()


def test_enough_gas_at_the_nozzle_clears_what_lies_before_it(judge: Any, shown: Any) -> None:
    window = {"gas_flow_least_l_min": 9.0, "gas_flow_most_l_min": 18.0}
    table = shown(judge({"gas": {"flow_l_min": 15, "measured_at": "nozzle"}}, reckoned=window))
    for node in ("gas_absent", "gas_flow_low"):
        on, off = table[node]
        assert on < 0.2 * off
    assert "flow_set_low" not in table  # one look at the flow counts once


def test_a_meter_scaled_for_another_gas(judge: Any, established: Any) -> None:
    assert established(judge(reckoned={"gas_meter_factor": 3.2})) == {"meter_wrong_scale"}
    assert established(judge(reckoned={"gas_meter_factor": 0.95})) == set()


def test_gross_duty_is_established(judge: Any, established: Any) -> None:
    assert established(judge(reckoned={"duty_used_over_allowed": 2.0})) == {"duty_exceeded"}
