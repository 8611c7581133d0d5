"""Supply: primary current, sizes, cords, and the three line voltages."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.reckon.phases import line_voltages
from diagnose.reckon.supply import (
    cord,
    cord_drop_v,
    protective_conductor_limit_ohm,
    supply_under_load,
)
from diagnose.reckon.wiring import (
    Machine,
    duty_factor,
    effective_primary_a,
    group_ampacity,
    overcurrent_limit,
    standard_fuse_up_a,
)
from knowledge.errors import QuantityError


@pytest.mark.parametrize(
    ("lines", "state", "verdict"),
    [
        ((480.0, 240.0, 240.0), "phase_lost", "bad"),
        ((240.0, 480.0, 241.0), "phase_lost", "bad"),
        ((478.0, 222.0, 251.0), "phase_lost", "bad"),
        ((480.0, 0.0, 3.0), "phase_lost", "bad"),
        ((480.0, 478.0, 239.0), "read_again", "no_limit"),
        ((480.0, 120.0, 200.0), "read_again", "no_limit"),
        ((480.0, 480.0, 0.0), "read_again", "no_limit"),
        ((4800.0, 4800.0, 4800.0), "read_again", "no_limit"),
        ((480.0, 478.0, 482.0), "sound", "good"),
        ((480.0, 470.0, 445.0), "unbalanced", "suspect"),
        ((400.0, 405.0, 398.0), "low", "suspect"),
        ((0.0, 1.0, 0.0), "no_supply", "bad"),
    ],
)
def test_three_line_voltages(lines: tuple[float, float, float], state: str, verdict: str) -> None:
    found = line_voltages(*lines, nominal_v=480.0)
    assert (found.state, found.result.verdict) == (state, verdict)


def test_the_open_phase_is_the_one_the_full_pair_does_not_touch() -> None:
    assert "open one is C" in line_voltages(480.0, 240.0, 240.0, 480.0).result.says
    assert "open one is A" in line_voltages(240.0, 480.0, 240.0, 480.0).result.says
    assert "open one is B" in line_voltages(240.0, 240.0, 480.0, 480.0).result.says


def test_one_low_pair_alone_asks_for_the_reading_again() -> None:
    assert "no lost phase" in line_voltages(480.0, 478.0, 239.0, 480.0).result.says


def test_full_without_load_proves_little() -> None:
    found = line_voltages(480.0, 480.0, 480.0, 480.0, under_load=False)
    assert "read under load" in found.result.says


@given(
    lines=st.tuples(*[st.floats(0.0, 600.0)] * 3),
    turn=st.integers(0, 2),
)
def test_the_names_of_the_phases_do_not_matter(
    lines: tuple[float, float, float], turn: int
) -> None:
    turned = (lines[turn:] + lines[:turn])[:3]
    a, b, c = turned
    assert (
        line_voltages(a, b, c, nominal_v=480.0).state
        == line_voltages(*lines, nominal_v=480.0).state
    )


def test_impossible_line_voltages_are_refused() -> None:
    with pytest.raises(QuantityError):
        line_voltages(-480.0, 480.0, 480.0, 480.0)


@given(current=st.floats(1.0, 100.0), duty=st.floats(0.0, 1.0), idle=st.floats(0.01, 1.0))
def test_effective_current_lies_between_idle_and_full(
    current: float, duty: float, idle: float
) -> None:
    effective = effective_primary_a(current, duty, idle)
    assert idle * 0.999 <= effective <= current * 1.000001


@given(duty=st.floats(0.0, 1.0), more=st.floats(0.0, 1.0), generator=st.booleans())
def test_more_duty_never_needs_less_wire(duty: float, more: float, generator: bool) -> None:
    later = min(1.0, duty + more)
    assert duty_factor(later, motor_generator=generator) >= duty_factor(
        duty, motor_generator=generator
    )


def test_group_order_does_not_matter() -> None:
    machines = (Machine(40.0, 0.6), Machine(80.0, 1.0), Machine(25.0, 0.4), Machine(60.0, 0.7))
    assert group_ampacity(machines).value == pytest.approx(group_ampacity(machines[::-1]).value)


def test_the_conductor_may_set_the_fuse() -> None:
    found = overcurrent_limit(50.0, 20.0)
    assert found.value == 40.0
    assert found.verdict == "no_limit"
    assert found.limits[2].basis == "from_memory"


@given(current=st.floats(0.1, 600.0))
def test_a_standard_size_is_never_below(current: float) -> None:
    assert standard_fuse_up_a(current) >= current - 1e-6


@given(
    current=st.floats(1.0, 60.0),
    length=st.floats(1.0, 60.0),
    area=st.floats(1.0, 9.0),
    warm=st.floats(0.0, 70.0),
)
def test_a_longer_thinner_warmer_cord_never_drops_less(
    current: float, length: float, area: float, warm: float
) -> None:
    base = cord_drop_v(current, length, area, temperature_c=20.0)
    assert cord_drop_v(current, length * 1.5, area, temperature_c=20.0) >= base
    assert cord_drop_v(current, length, area * 0.7, temperature_c=20.0) >= base
    assert cord_drop_v(current, length, area, temperature_c=20.0 + warm) >= base


def test_a_cord_that_takes_everything_is_refused() -> None:
    with pytest.raises(QuantityError):
        cord(200.0, 300.0, 1.5, 120.0)
    assert cord(30.0, 60.0, 2.08, 120.0).verdict == "bad"


def test_three_phases_drop_less_than_one() -> None:
    one = cord_drop_v(30.0, 30.0, 4.0)
    assert cord_drop_v(30.0, 30.0, 4.0, phases=3) == pytest.approx(one * 3**0.5 / 2)


@pytest.mark.parametrize(
    ("idle", "load", "verdict"),
    [(480.0, 465.0, "good"), (480.0, 445.0, "suspect"), (480.0, 420.0, "bad")],
)
def test_supply_under_load(idle: float, load: float, verdict: str) -> None:
    assert supply_under_load(idle, load, 480.0).verdict == verdict


def test_more_under_load_than_idle_is_a_swapped_reading() -> None:
    with pytest.raises(QuantityError, match="more than"):
        supply_under_load(430.0, 480.0, 480.0)


def test_protective_conductor_is_capped() -> None:
    assert protective_conductor_limit_ohm(5.0) == pytest.approx(0.3)
    assert protective_conductor_limit_ohm(200.0) == 1.0
