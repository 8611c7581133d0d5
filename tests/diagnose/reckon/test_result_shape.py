"""Every result: a sentence, how sure, limits with a known source, and plain enough for JSON."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path

import pytest
from ruamel.yaml import YAML

from diagnose.reckon.arc import conventional_load, held_in_window, short_arc
from diagnose.reckon.circuit import Joint, Lead, weld_circuit
from diagnose.reckon.contradiction import Reading, Step
from diagnose.reckon.cylinder import cylinder_life, leak
from diagnose.reckon.duty import cable_duty, machine_duty, restart
from diagnose.reckon.flow import flow_window, nozzle_against_meter, wind
from diagnose.reckon.gas import float_meter, nozzle_regime
from diagnose.reckon.joint import (
    against_neighbours,
    against_own_cable,
    joint_in_service,
    spot_temperature,
)
from diagnose.reckon.localise import localise
from diagnose.reckon.melting import feed_current
from diagnose.reckon.network import stray_current
from diagnose.reckon.phases import line_voltages
from diagnose.reckon.result import SHOP, Result
from diagnose.reckon.supply import cord, supply_under_load
from diagnose.reckon.transfer import transfer
from diagnose.reckon.wiring import Machine, group_ampacity, overcurrent_limit
from knowledge.errors import QuantityError, WontweldError

CIRCUIT = weld_circuit(
    200.0, (Lead("work lead", "work", 30.0, 35.0),), (Joint("clamp", "work", 0.01),)
)
LOCATED = localise(
    ("clamp", "work"),
    (Step("clamp", "work_clamp_resistance"),),
    (Reading("clamp", "work", 2.0, 200.0),),
)
RESULTS: tuple[Result, ...] = (
    CIRCUIT.total,
    CIRCUIT.smallest_cable,
    LOCATED.result,
    stray_current(200.0, 0.027, 0.02, tied=True).result,
    stray_current(200.0, 0.027, 0.02, tied=False).result,
    joint_in_service(2.0, 200.0, "clamp"),
    spot_temperature(2.0),
    spot_temperature(0.1, "steel"),
    against_own_cable(0.2, 200.0, 0.1, 35.0),
    against_neighbours(0.2, (0.1, 0.1)),
    machine_duty(250.0, 0.6, 200.0, 0.5),
    cable_duty(35.0, 200.0, 0.5),
    restart(250.0, 0.6, 200.0, ()),
    conventional_load(200.0),
    held_in_window("spray_stainless", 1.2, 26.0),
    short_arc(17.0, 3.0, 127.0, 0.889).result,
    feed_current(127.0, 0.889, 10.0),
    transfer(200.0, 24.0, 1.2, 0.8).result,
    float_meter(15.0, {"Ar": 1.0}, {"CO2": 1.0}),
    nozzle_regime(15.0, 12.7, 8.0, {"CO2": 1.0}),
    flow_window(15.0, "short_arc", 12.7),
    wind(3.0, gas_shielded=True),
    nozzle_against_meter(10.0, 15.0),
    cylinder_life(8000.0, 15.0),
    leak(0.5, 1.0, 2.0, 0.1),
    group_ampacity((Machine(40.0, 0.5),)),
    overcurrent_limit(40.0, 30.0, 60.0),
    cord(30.0, 30.0, 4.0, 230.0),
    supply_under_load(480.0, 460.0, 480.0),
    line_voltages(480.0, 240.0, 240.0, 480.0).result,
)
RECKONED = tuple(result for result in RESULTS if result.value is not None)


@pytest.mark.parametrize("result", RESULTS, ids=lambda result: str(result.quantity))
def test_every_result_explains_itself(result: Result) -> None:
    known = {
        row["id"]
        for row in YAML(typ="safe").load(Path("knowledge/entries/sources.yaml").read_text("utf-8"))
    }
    assert result.says.endswith(".")
    assert result.how_sure.text.endswith(".")
    assert result.how_sure.relative >= 0.0
    assert result.value is None or result.unit
    for limit in result.limits:
        assert limit.source in known
        assert limit.basis != "published" or limit.source != SHOP
    if result.verdict in {"suspect", "bad"}:
        assert result.limits
    again = json.loads(json.dumps(asdict(result)))
    assert again["quantity"] == result.quantity


@pytest.mark.parametrize("result", RECKONED, ids=lambda result: str(result.quantity))
def test_every_number_shows_its_working(result: Result) -> None:
    assert result.working
    assert any(character.isdigit() for character in " ".join(result.working))


def test_errors_say_what_where_and_what_next() -> None:
    with pytest.raises(WontweldError) as caught:
        joint_in_service(-1.0, 200.0, "clamp")
    error = caught.value
    assert isinstance(error, QuantityError)
    assert (error.exit_code, error.problem_type) == (4, "/problems/quantity")
    assert error.where == "drop_v"
    assert str(error) == f"{error.where}: {error.what}\n  {error.next_step}"
