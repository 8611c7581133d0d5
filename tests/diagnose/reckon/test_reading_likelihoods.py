"""Readings as evidence: smooth, monotone, bounded, and just past a limit convicts nobody."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.reckon.evidence import (
    STATIONS,
    Meter,
    Spread,
    Stations,
    likelihoods,
)
from knowledge.errors import QuantityError


def odds(reading: float, name: str, meter: Meter | None = None) -> float:
    """Return the odds factor of a reading for the fault."""
    found = likelihoods(reading, STATIONS[name], meter)
    return found.if_fault / found.if_sound


def drop_odds(volts: float, kind: str) -> float:
    """Return the odds factor of a drop at 200 A."""
    return odds(volts / 200.0, kind, Meter(0.03, 0.02 / 200.0))


@pytest.mark.parametrize(
    ("kind", "good_v", "look_v", "repair_v"),
    [
        ("work_clamp_resistance", 0.3, 0.5, 1.0),
        ("bolted_joint_resistance", 0.1, 0.2, 0.3),
        ("gun_resistance", 1.2, 2.0, 3.0),
    ],
)
def test_the_bench_figures_of_a_joint(
    kind: str, good_v: float, look_v: float, repair_v: float
) -> None:
    assert drop_odds(good_v, kind) < 0.6
    assert drop_odds(good_v * 1.1, kind) < 1.0
    assert 2.0 < drop_odds(look_v, kind) < 15.0
    assert drop_odds(repair_v, kind) > 20.0


@pytest.mark.parametrize(
    ("name", "good", "suspect"),
    [
        ("nozzle_over_meter_flow", 0.9, 0.8),
        ("feed_over_dial", 0.95, 0.9),
        ("supply_sag", 0.05, 0.1),
        ("joint_rise", 15.0, 25.0),
        ("liner_pull", 20.0, 40.0),
        ("lead_over_expected", 1.2, 1.5),
    ],
)
def test_good_figures_speak_against_and_suspect_ones_for(
    name: str, good: float, suspect: float
) -> None:
    assert odds(good, name) < 0.7
    assert odds(suspect, name) > 1.5


@pytest.mark.parametrize("name", sorted(STATIONS))
def test_no_reading_is_ever_certain(name: str) -> None:
    for reading in (1e-6, 0.01, 1.0, 1e3):
        found = likelihoods(reading, STATIONS[name])
        assert 0.001 < found.if_fault < 0.999
        assert found.if_fault + found.if_sound == pytest.approx(1.0)


@given(
    name=st.sampled_from(sorted(STATIONS)),
    at=st.floats(-0.5, 1.5),
    step=st.floats(0.0, 0.5),
    error=st.floats(0.0, 0.1),
)
def test_towards_the_fault_the_odds_never_fall(
    name: str, at: float, step: float, error: float
) -> None:
    sound, fault = STATIONS[name].sound.centre, STATIONS[name].fault.centre
    if STATIONS[name].sound.kind == "lognormal":
        near, far = (sound * (fault / sound) ** share for share in (at, at + step))
    else:
        near, far = (sound + (fault - sound) * share for share in (at, at + step))
    meter = Meter(relative=error)
    assert odds(far, name, meter) >= odds(near, name, meter) * (1 - 1e-9)


@given(volts=st.floats(0.05, 3.0), kind=st.sampled_from(["work_clamp_resistance"]))
def test_a_hair_more_reading_is_a_hair_more_evidence(volts: float, kind: str) -> None:
    assert abs(math.log(drop_odds(volts * 1.005, kind) / drop_odds(volts, kind))) < 0.1


def test_a_worse_meter_says_less() -> None:
    sharp = odds(2.4e-3, "work_clamp_resistance", Meter(0.01))
    blunt = odds(2.4e-3, "work_clamp_resistance", Meter(0.8))
    assert abs(math.log(blunt)) < abs(math.log(sharp))


def test_units_and_spreads_that_cannot_be_are_refused() -> None:
    with pytest.raises(QuantityError):
        likelihoods(0.0, STATIONS["liner_pull"])
    with pytest.raises(QuantityError):
        likelihoods(-0.001, STATIONS["gun_resistance"])
    narrow = Stations("x", "V", Spread("normal", 0.0, 2.0), Spread("normal", 1.0, 1.0))
    with pytest.raises(QuantityError):
        likelihoods(0.5, narrow)
