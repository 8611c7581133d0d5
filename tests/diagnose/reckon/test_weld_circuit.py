"""Leads and joints: the canonical circuit, the cable that meets a target, monotonic physics."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from ruamel.yaml import YAML

from diagnose.reckon.circuit import (
    Joint,
    Lead,
    drop_v,
    lead_ohm,
    smallest_cable,
    weld_circuit,
)
from diagnose.reckon.conductor import (
    CLASS_5_6_OHM_KM_20C,
    NEC_OHM_KFT_75C,
    awg,
    awg_area_mm2,
    by_geometry,
    circular_mils,
    metric,
    of_area,
    resistance_ohm,
    temperature_factor,
)
from knowledge.errors import QuantityError

SIZES = sorted(CLASS_5_6_OHM_KM_20C)
GAUGES = list(NEC_OHM_KFT_75C)
THERE_AND_BACK = (
    Lead("electrode lead", "electrode", 30.0, 35.0),
    Lead("work lead", "work", 30.0, 35.0),
)
CLAMP = Joint("work clamp", "work", 0.010)


def test_canonical_circuit_of_200_a_and_thirty_metres_each_way() -> None:
    found = weld_circuit(200.0, THERE_AND_BACK, (CLAMP,))
    assert [round(part.drop_v, 2) for part in found.parts] == [3.32, 3.32, 2.0]
    assert found.parts[2].power_w == pytest.approx(400.0)
    assert found.total.value == pytest.approx(8.648, abs=0.001)
    assert found.total.verdict == "bad"
    assert "20 °C" in found.total.says


def test_parts_sum_to_the_total_and_power_is_volts_times_amperes() -> None:
    found = weld_circuit(150.0, THERE_AND_BACK, (CLAMP,))
    assert sum(part.drop_v for part in found.parts) == pytest.approx(found.total.value)
    assert all(part.power_w == pytest.approx(part.drop_v * 150.0) for part in found.parts)


def test_warm_cable_is_said_and_counts() -> None:
    warm = tuple(Lead(lead.name, lead.side, 30.0, 35.0, 60.0) for lead in THERE_AND_BACK)
    cold_v = weld_circuit(200.0, THERE_AND_BACK).total.value
    found = weld_circuit(200.0, warm).total
    assert cold_v is not None
    assert found.value == pytest.approx(cold_v * temperature_factor(60.0))
    assert "60 °C" in found.says


def test_smallest_cable_leaves_room_for_the_joints() -> None:
    alone = smallest_cable(200.0, THERE_AND_BACK)
    beside_a_bad_joint = smallest_cable(200.0, THERE_AND_BACK, 2.0)
    assert (alone.value, beside_a_bad_joint.value) == (70.0, 120.0)


def test_smallest_cable_says_so_when_none_fits() -> None:
    found = smallest_cable(600.0, (Lead("both", "work", 200.0, 95.0),))
    assert found.value is None
    assert "No listed size" in found.says


@pytest.mark.parametrize("sizes", ["metric", "awg"])
def test_the_smallest_cable_really_meets_the_target_and_the_next_one_down_does_not(
    sizes: str,
) -> None:
    leads = (Lead("both", "work", 50.0, 35.0, 75.0),)
    area = smallest_cable(200.0, leads, sizes="awg" if sizes == "awg" else "metric").value
    assert area is not None
    table = [awg(g).area_mm2 for g in GAUGES] if sizes == "awg" else SIZES
    smaller = table[table.index(area) - 1]
    fits, fails = (
        drop_v(200.0, lead_ohm(Lead("both", "work", 50.0, size, 75.0))) for size in (area, smaller)
    )
    assert fits <= 4.0 < fails


@pytest.mark.parametrize(
    "lead",
    [
        Lead("l", "work", -1.0, 35.0),
        Lead("l", "work", 10.0, 0.0),
        Lead("l", "work", 10.0, 35.0, 900.0),
        Lead("l", "work", float("nan"), 35.0),
    ],
)
def test_impossible_leads_are_refused(lead: Lead) -> None:
    with pytest.raises(QuantityError) as caught:
        weld_circuit(200.0, (lead,))
    assert caught.value.where
    assert caught.value.exit_code == 4


@given(
    size=st.sampled_from(SIZES[:-1]),
    length_m=st.floats(1.0, 100.0),
    current_a=st.floats(10.0, 600.0),
    warm_c=st.floats(-20.0, 90.0),
)
def test_thicker_cable_never_drops_more(
    size: float, length_m: float, current_a: float, warm_c: float
) -> None:
    thicker = SIZES[SIZES.index(size) + 1]
    assert drop_v(current_a, resistance_ohm(metric(thicker), length_m, warm_c)) <= drop_v(
        current_a, resistance_ohm(metric(size), length_m, warm_c)
    )


@given(area=st.floats(1.0, 300.0), more=st.floats(1.03, 4.0))
def test_thicker_is_better_whatever_table_it_comes_from(area: float, more: float) -> None:
    # IEC gives the greatest resistance of a nominal area, up to 14 % above geometry's.
    assert of_area(area * more).ohm_km_20c <= of_area(area).ohm_km_20c * 1.14
    assert by_geometry(area * more).ohm_km_20c < by_geometry(area).ohm_km_20c


@given(
    gauge=st.sampled_from(GAUGES),
    cold_c=st.floats(-20.0, 80.0),
    rise_k=st.floats(0.0, 80.0),
    length_m=st.floats(0.0, 100.0),
)
def test_hotter_never_drops_less(gauge: str, cold_c: float, rise_k: float, length_m: float) -> None:
    cold = resistance_ohm(awg(gauge), length_m, cold_c)
    assert resistance_ohm(awg(gauge), length_m, cold_c + rise_k) >= cold


@given(area=st.floats(0.5, 400.0))
def test_circular_mils_round_trip(area: float) -> None:
    assert circular_mils(area) * 0.0254**2 * 0.7853981633974483 == pytest.approx(area)


@pytest.mark.parametrize("gauge", GAUGES)
def test_a_gauge_given_as_area_finds_its_own_table_again(gauge: str) -> None:
    assert of_area(round(awg_area_mm2(gauge), 2)).name == f"{gauge} AWG"


@pytest.mark.parametrize("gauge", ["5/0", "0/0", "41", "-1", "thick", "", "1/2"])
def test_what_is_no_gauge_is_refused(gauge: str) -> None:
    with pytest.raises(QuantityError):
        awg(gauge)


def test_the_tables_agree_with_the_knowledge_entries() -> None:
    rows = YAML(typ="safe").load(Path("knowledge/entries/cables.yaml").read_text("utf-8"))
    assert len(rows) >= len(SIZES) + len(GAUGES)
    for row in rows:
        assert of_area(row["area_mm2"]).ohm_km_20c == pytest.approx(row["ohm_per_km_20c"], rel=1e-3)
