"""Volts left at the arc, feed against current, transfer, and what stubs and burns back."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.reckon.arc import (
    LOAD_LINES,
    arc_voltage_v,
    conventional_load,
    held_in_window,
    load_line_v,
    running_window,
    short_arc,
)
from diagnose.reckon.melting import (
    feed_current,
    in_min_from_mm_s,
    melting_current_a,
    melting_feed_mm_s,
    mm_s_from_in_min,
    shop_rule_current_a,
)
from diagnose.reckon.transfer import spray_above_a, transfer
from knowledge.errors import QuantityError

DIAMETERS = st.floats(0.6, 1.6)
WIRE_MM = 0.035 * 25.4
FEED_MM_S = mm_s_from_in_min(300.0)


def test_canonical_wire_stubs_at_14_v() -> None:
    found = short_arc(17.0, 3.0, FEED_MM_S, WIRE_MM)
    assert found.result.value == pytest.approx(14.0)
    assert found.behaviour == "stubs"
    assert found.result.verdict == "bad"
    assert "stubs" in found.result.says
    assert 140.0 < found.current_a < 165.0


def test_the_same_wire_runs_once_the_leads_are_mended() -> None:
    assert short_arc(18.0, 0.5, FEED_MM_S, WIRE_MM).behaviour == "runs"


def test_too_many_volts_burn_back() -> None:
    assert short_arc(24.0, 0.5, FEED_MM_S, WIRE_MM).behaviour == "burns_back"


def test_pure_co2_wants_more_volts_than_a_mix() -> None:
    mix = short_arc(19.0, 0.0, FEED_MM_S, WIRE_MM, co2_share=0.25).result
    pure = short_arc(19.0, 0.0, FEED_MM_S, WIRE_MM, co2_share=1.0).result
    assert pure.limits[0].value == pytest.approx(mix.limits[0].value + 2.0)


def test_more_lost_than_given_is_refused() -> None:
    with pytest.raises(QuantityError, match="more than"):
        arc_voltage_v(17.0, 18.0)


@pytest.mark.parametrize("process", list(LOAD_LINES))
def test_caps_of_the_load_lines_are_marked_as_memory(process: str) -> None:
    found = conventional_load(700.0, process)  # type: ignore[arg-type]
    assert found.value == found.limits[0].value
    assert found.limits[0].basis == "from_memory"


@given(current=st.floats(0.0, 1000.0), more=st.floats(0.0, 300.0))
def test_load_lines_never_fall(current: float, more: float) -> None:
    assert load_line_v(current + more) >= load_line_v(current)


@given(current=st.floats(20.0, 400.0), diameter=DIAMETERS, extension=st.floats(3.0, 40.0))
def test_melting_and_feed_undo_each_other(
    current: float, diameter: float, extension: float
) -> None:
    feed = melting_feed_mm_s(current, diameter, extension)
    assert melting_current_a(feed, diameter, extension) == pytest.approx(current)


@given(
    feed=st.floats(10.0, 300.0),
    diameter=DIAMETERS,
    extension=st.floats(3.0, 40.0),
    more=st.floats(0.0, 20.0),
)
def test_longer_stick_out_never_draws_more(
    feed: float, diameter: float, extension: float, more: float
) -> None:
    longer = melting_current_a(feed, diameter, extension + more)
    assert longer <= melting_current_a(feed, diameter, extension) * (1 + 1e-12)


@given(feed=st.floats(0.0, 1000.0))
def test_feed_units_round_trip(feed: float) -> None:
    assert mm_s_from_in_min(in_min_from_mm_s(feed)) == pytest.approx(feed)


def test_the_text_shows_the_spread_and_what_the_figure_is_good_for() -> None:
    found = feed_current(FEED_MM_S, WIRE_MM, 10.0)
    assert "shop rule 188 A" in found.says
    assert "Good for" in found.notes[0]
    assert any("says too much" in note for note in found.notes)
    assert found.how_sure.relative == 0.20


def test_a_wire_without_a_shop_rule_gets_none() -> None:
    assert shop_rule_current_a(100.0, 1.6) is None
    assert "shop rule" not in feed_current(100.0, 1.6, 15.0).says


@pytest.mark.parametrize(
    ("current", "volts", "argon", "expected"),
    [
        (120.0, 18.0, 0.75, "short_circuit"),
        (250.0, 28.0, 0.75, "globular"),
        (250.0, 28.0, 0.90, "spray"),
        (150.0, 28.0, 0.90, "globular"),
        (250.0, 19.0, 0.90, "globular"),
        (250.0, 28.0, 0.0, "globular"),
    ],
)
def test_transfer_of_a_0_9_mm_steel_wire(
    current: float, volts: float, argon: float, expected: str
) -> None:
    assert transfer(current, volts, 0.9, argon).transfer == expected


def test_aluminium_is_sprayed() -> None:
    assert transfer(160.0, 24.0, 1.2, 1.0, "aluminium").transfer == "spray"
    assert "too little" in transfer(80.0, 18.0, 1.2, 1.0, "aluminium").result.says


@given(diameter=st.floats(0.6, 1.9), more=st.floats(0.0, 0.1))
def test_thicker_wire_never_sprays_earlier(diameter: float, more: float) -> None:
    assert spray_above_a(diameter + more) >= spray_above_a(diameter) - 1e-9


def test_windows_of_cored_wire() -> None:
    assert held_in_window("cored_gas_steel", 1.2, 26.0).verdict == "good"
    assert held_in_window("cored_gas_steel", 1.2, 23.5).verdict == "good"
    assert held_in_window("cored_gas_steel", 1.2, 20.0).verdict == "suspect"
    with pytest.raises(QuantityError, match="no window"):
        running_window("cored_gas_steel", 0.6)
