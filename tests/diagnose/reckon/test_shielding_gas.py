"""Gas: units, meter, regime, window, wind, cylinder and leak."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.reckon.cylinder import cylinder_life, leak, leak_l_min
from diagnose.reckon.flow import flow_window, nozzle_against_meter, wind
from diagnose.reckon.gas import (
    MOLAR_KG,
    VISCOSITY_PA_S,
    cfh_from_l_min,
    density_kg_m3,
    float_meter_l_min,
    l_min_from_cfh,
    nozzle_regime,
    reynolds_open_bore,
    reynolds_ring,
    viscosity_pa_s,
)
from knowledge.errors import QuantityError

CO2 = {"CO2": 1.0}
GASES = st.sampled_from(sorted(VISCOSITY_PA_S))


def test_canonical_co2_nozzle_is_no_finding() -> None:
    found = nozzle_regime(15.0, 12.7, 8.0, CO2)
    assert found.value == pytest.approx(1830.0, abs=5.0)
    assert reynolds_open_bore(15.0, 12.7, CO2) == pytest.approx(2987.0, abs=0.5)
    assert found.verdict == "no_limit"
    assert flow_window(15.0, "short_arc", 12.7).verdict == "good"


@given(flow=st.floats(0.0, 80.0), gas=GASES)
def test_no_flow_whatever_is_a_finding_by_its_reynolds_number(flow: float, gas: str) -> None:
    assert nozzle_regime(flow, 9.5, 6.0, {gas: 1.0}).verdict == "no_limit"


@given(flow=st.floats(0.0, 1000.0))
def test_flow_units_round_trip(flow: float) -> None:
    assert l_min_from_cfh(cfh_from_l_min(flow)) == pytest.approx(flow)


@given(flow=st.floats(0.1, 50.0), scale=GASES, gas=GASES)
def test_float_meter_corrections_undo_each_other(flow: float, scale: str, gas: str) -> None:
    there = float_meter_l_min(flow, {scale: 1.0}, {gas: 1.0})
    assert float_meter_l_min(there, {gas: 1.0}, {scale: 1.0}) == pytest.approx(flow)


@given(scale=GASES, gas=GASES)
def test_a_heavier_gas_than_the_scale_flows_less_than_it_reads(scale: str, gas: str) -> None:
    true = float_meter_l_min(10.0, {scale: 1.0}, {gas: 1.0})
    assert (true <= 10.0) == (MOLAR_KG[gas] >= MOLAR_KG[scale])


@given(share=st.floats(0.0, 1.0))
def test_a_mix_lies_between_its_gases_in_density(share: float) -> None:
    mix = density_kg_m3({"Ar": 1.0 - share, "CO2": share})
    assert density_kg_m3({"Ar": 1.0}) <= mix * (1 + 1e-9)
    assert mix <= density_kg_m3(CO2) * (1 + 1e-9)


@given(gas=GASES, share=st.floats(0.01, 0.99))
def test_a_gas_mixed_with_itself_keeps_its_viscosity(gas: str, share: float) -> None:
    assert viscosity_pa_s({gas: 1.0}) == pytest.approx(VISCOSITY_PA_S[gas])
    argon_co2 = viscosity_pa_s({"Ar": share, "CO2": 1.0 - share})
    assert VISCOSITY_PA_S["CO2"] * 0.99 <= argon_co2 <= VISCOSITY_PA_S["Ar"] * 1.01


@given(flow=st.floats(1.0, 40.0), tip=st.floats(1.0, 12.0))
def test_the_ring_is_calmer_than_the_open_bore(flow: float, tip: float) -> None:
    assert reynolds_ring(flow, 12.7, tip, CO2) < reynolds_open_bore(flow, 12.7, CO2)


@pytest.mark.parametrize(
    ("flow", "duty", "verdict"),
    [
        (3.0, "short_arc", "bad"),
        (6.0, "short_arc", "suspect"),
        (8.0, "short_arc", "good"),
        (12.0, "short_arc", "good"),
        (19.0, "short_arc", "suspect"),
        (4.0, "spray_or_cored", "bad"),
        (10.0, "spray_or_cored", "suspect"),
        (18.0, "spray_or_cored", "good"),
        (26.0, "spray_or_cored", "suspect"),
    ],
)
def test_flow_window(flow: float, duty: str, verdict: str) -> None:
    assert flow_window(flow, duty).verdict == verdict  # type: ignore[arg-type]


def test_a_narrow_nozzle_crowds_sooner() -> None:
    assert flow_window(20.0, "spray_or_cored", 15.9).verdict == "good"
    assert flow_window(20.0, "spray_or_cored", 9.5).verdict == "suspect"


def test_self_shielded_wire_wants_no_gas_and_has_no_wind_clause() -> None:
    assert flow_window(15.0, "self_shielded").verdict == "no_limit"
    assert wind(6.0, gas_shielded=False).verdict == "no_limit"
    assert wind(6.0, gas_shielded=False).limits == ()


def test_wind_just_past_the_clause_is_suspect() -> None:
    verdicts = [wind(speed, gas_shielded=True).verdict for speed in (1.5, 2.3, 3.5)]
    assert verdicts == ["good", "suspect", "bad"]


def test_what_is_missing_at_the_nozzle() -> None:
    verdicts = [nozzle_against_meter(flow, 15.0).verdict for flow in (13.2, 12.0, 11.0, 6.0)]
    assert verdicts == ["good", "suspect", "suspect", "bad"]


def test_more_at_the_nozzle_than_at_the_meter_is_not_a_leak() -> None:
    found = nozzle_against_meter(19.0, 15.0)
    assert found.verdict == "suspect"
    assert "scales" in found.notes[0]


def test_a_leak_is_judged_only_against_the_users_own_limit() -> None:
    assert leak(0.5, 1.0, 2.0).verdict == "no_limit"
    assert leak(0.5, 1.0, 2.0, limit_l_min=0.5).verdict == "good"
    assert leak(0.5, 1.0, 2.0, limit_l_min=0.1).verdict == "bad"


def test_a_co2_cylinder_freezes_by_its_draw_and_its_gauge_tells_nothing() -> None:
    assert cylinder_life(5000.0, 20.0, liquid_co2=True).verdict == "suspect"
    assert cylinder_life(5000.0, 12.0, liquid_co2=True).verdict == "good"
    assert "vapour pressure" in cylinder_life(5000.0, 12.0, liquid_co2=True).notes[0]


@given(volume=st.floats(0.1, 10.0), fall=st.floats(0.01, 5.0), minutes=st.floats(0.5, 60.0))
def test_leak_gives_back_the_fall(volume: float, fall: float, minutes: float) -> None:
    rate = leak_l_min(volume, fall, minutes)
    assert rate * minutes / volume * 1.01325 == pytest.approx(fall)


@pytest.mark.parametrize(
    "mix", [{"Ar": 0.5}, {"Ar": 1.2, "CO2": -0.2}, {"argon": 1.0}, {}, {"Ar": float("nan")}]
)
def test_impossible_mixes_are_refused(mix: dict[str, float]) -> None:
    with pytest.raises(QuantityError):
        density_kg_m3(mix)


def test_a_tip_cannot_fill_the_nozzle() -> None:
    with pytest.raises(QuantityError):
        reynolds_ring(15.0, 12.7, 12.7, CO2)
