"""One joint: what convicts it, what does not, and what an impossible temperature says instead."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.reckon.joint import (
    MELTING_V,
    against_neighbours,
    against_own_cable,
    joint_heat_w,
    joint_in_service,
    joint_resistance_ohm,
    joint_spot_temperature_k,
    spot_temperature,
    type_test_limit,
)
from knowledge.errors import QuantityError


def test_canonical_clamp_of_ten_milliohm() -> None:
    found = joint_in_service(2.0, 200.0, "clamp")
    assert joint_resistance_ohm(2.0, 200.0) == pytest.approx(0.010)
    assert joint_heat_w(2.0, 200.0) == pytest.approx(400.0)
    assert found.verdict == "bad"
    assert "arcing, film or several joints" in found.says


@pytest.mark.parametrize("drop_v", [0.1, 0.15, 0.2, 0.25, 0.3])
def test_a_sound_clamp_in_service_is_not_convicted_by_the_type_test(drop_v: float) -> None:
    found = joint_in_service(drop_v, 200.0, "clamp")
    tested = [limit for limit in found.limits if limit.source == "iec_60974_13"]
    assert [limit.value for limit in tested] == [pytest.approx(0.08)]
    assert drop_v > tested[0].value
    assert found.verdict == "good"


@pytest.mark.parametrize(
    ("kind", "good_v", "look_v", "repair_v"),
    [("clamp", 0.3, 0.5, 1.2), ("bolted", 0.1, 0.2, 0.4), ("gun", 1.5, 2.1, 3.5)],
)
def test_each_kind_against_what_sound_ones_drop(
    kind: str, good_v: float, look_v: float, repair_v: float
) -> None:
    known = {"clamp": "clamp", "bolted": "bolted", "gun": "gun"}[kind]
    verdicts = [
        joint_in_service(volts, 200.0, known).verdict  # type: ignore[arg-type]
        for volts in (good_v, look_v, repair_v)
    ]
    assert verdicts == ["good", "suspect", "bad"]


def test_just_past_the_repair_limit_is_only_suspect() -> None:
    assert joint_in_service(1.01, 200.0, "clamp").verdict == "suspect"
    assert joint_in_service(1.04, 200.0, "clamp").verdict == "suspect"
    assert joint_in_service(1.04, 200.0, "clamp", relative=0.0).verdict == "bad"


def test_limits_scale_with_the_current() -> None:
    assert joint_in_service(0.6, 400.0, "clamp").verdict == "good"
    assert joint_in_service(0.6, 200.0, "clamp").verdict == "suspect"


@pytest.mark.parametrize("metal", ["copper", "steel"])
def test_no_temperature_above_the_melting_voltage(metal: str) -> None:
    contact = "copper" if metal == "copper" else "steel"
    melting_v = MELTING_V["copper" if metal == "copper" else "steel"]
    above = spot_temperature(melting_v, contact)  # type: ignore[arg-type]
    below = spot_temperature(melting_v * 0.99, contact)  # type: ignore[arg-type]
    assert above.value is None
    assert "arcing, film or several joints" in above.says
    assert below.value is not None
    assert below.value < 2000.0


def test_two_volts_never_becomes_thousands_of_degrees() -> None:
    found = spot_temperature(2.0)
    assert found.value is None
    assert "does not hold" in found.working[0]
    assert "°C" not in " ".join((found.says, *found.working, *found.notes))


@given(drop=st.floats(0.0, 0.42), more=st.floats(0.0, 0.4), ambient=st.floats(250.0, 400.0))
def test_more_drop_is_never_cooler(drop: float, more: float, ambient: float) -> None:
    cool = joint_spot_temperature_k(drop, ambient)
    assert joint_spot_temperature_k(drop + more, ambient) >= cool >= ambient * 0.999999


def test_against_its_own_cable_a_sound_lug_passes_and_a_bad_clamp_stands_out() -> None:
    assert against_own_cable(0.01, 200.0, 0.10, 35.0).value == pytest.approx(0.90, abs=0.01)
    assert against_own_cable(0.10, 200.0, 0.10, 35.0).verdict == "good"
    assert against_own_cable(2.0, 200.0, 0.10, 35.0).verdict == "suspect"


def test_neighbours_differ_only_beyond_the_meter() -> None:
    assert against_neighbours(0.03, (0.005, 0.006)).verdict == "good"
    assert against_neighbours(0.45, (0.08, 0.10, 0.09)).verdict == "suspect"
    with pytest.raises(QuantityError, match="no neighbour"):
        against_neighbours(0.1, ())


@pytest.mark.parametrize(("drop_v", "current_a"), [(-0.1, 200.0), (0.1, 0.0), (0.1, -5.0)])
def test_impossible_readings_are_refused(drop_v: float, current_a: float) -> None:
    with pytest.raises(QuantityError):
        joint_in_service(drop_v, current_a, "clamp")


def test_three_clamps_were_never_tested() -> None:
    with pytest.raises(QuantityError):
        type_test_limit(200.0, clamps=3)
