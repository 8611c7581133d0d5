"""Duty: the square law, the cable's own period, and welding on within the running ten minutes."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.reckon.duty import (
    Spell,
    cable_duty,
    cable_rating_a,
    current_at_duty,
    duty_at_current,
    machine_duty,
    restart,
)
from knowledge.errors import QuantityError


@given(rated=st.floats(50.0, 600.0), duty=st.floats(0.2, 1.0), current=st.floats(50.0, 600.0))
def test_duty_and_current_undo_each_other(rated: float, duty: float, current: float) -> None:
    allowed = duty_at_current(rated, duty, current)
    if allowed < 1.0:
        assert current_at_duty(rated, duty, allowed) == pytest.approx(current)


@given(rated=st.floats(50.0, 600.0), current=st.floats(50.0, 600.0), more=st.floats(1.0, 2.0))
def test_more_current_never_allows_more_duty(rated: float, current: float, more: float) -> None:
    assert duty_at_current(rated, 0.6, current * more) <= duty_at_current(rated, 0.6, current)


def test_just_past_the_allowed_duty_is_suspect_and_far_past_bad() -> None:
    verdicts = [machine_duty(250.0, 0.60, 250.0, used).verdict for used in (0.6, 0.64, 0.8)]
    assert verdicts == ["good", "suspect", "bad"]


def test_the_cable_counts_five_minutes_and_the_machine_ten() -> None:
    assert "of 5 minutes" in cable_duty(35.0, 200.0, 0.4).says
    assert "of 10 minutes" in machine_duty(250.0, 0.6, 200.0, 0.4).says


@pytest.mark.parametrize("area_mm2", [10.0, 150.0])
def test_a_cable_without_a_known_rating_is_not_guessed(area_mm2: float) -> None:
    with pytest.raises(QuantityError, match="no rating"):
        cable_rating_a(area_mm2, 0.6)


@given(one=st.floats(16.0, 120.0), other=st.floats(16.0, 120.0))
def test_a_thicker_cable_never_bears_less(one: float, other: float) -> None:
    thin, thick = sorted((one, other))
    assert cable_rating_a(thin, 1.0) <= cable_rating_a(thick, 1.0) * (1 + 1e-12)


def test_a_size_between_the_listed_ones_is_judgement() -> None:
    assert cable_duty(53.5, 200.0, 0.3).limits[0].basis == "judgement"
    assert 167.0 < cable_rating_a(53.5, 1.0) < 205.0


def test_the_misprinted_cell_does_not_pass_as_published() -> None:
    assert cable_duty(16.0, 100.0, 0.3).limits[0].basis == "judgement"
    assert cable_duty(25.0, 100.0, 0.3).limits[0].basis == "published"


def test_from_cold_the_whole_rated_time_is_left() -> None:
    assert restart(200.0, 0.60, 200.0, ()).value == pytest.approx(360.0)
    assert restart(200.0, 0.60, 150.0, ()).value == pytest.approx(600.0)


def test_after_the_full_rated_time_nothing_is_left_until_it_falls_out_of_the_window() -> None:
    assert restart(200.0, 0.60, 200.0, (Spell(360.0, 360.0, 200.0),)).value == 0.0
    rested = restart(200.0, 0.60, 200.0, (Spell(600.0, 360.0, 200.0),))
    assert rested.value == pytest.approx(360.0)
    assert restart(200.0, 0.60, 200.0, (Spell(601.0, 1.0, 200.0),)).value == pytest.approx(360.0)


@given(
    ago=st.floats(0.0, 900.0),
    share=st.floats(0.0, 1.0),
    before=st.floats(50.0, 400.0),
    now=st.floats(50.0, 400.0),
)
def test_no_ten_minutes_ever_exceed_the_plate(
    ago: float, share: float, before: float, now: float
) -> None:
    spell = Spell(ago, ago * share, before)
    left = restart(200.0, 0.60, now, (spell,)).value
    assert left is not None
    assert 0.0 <= left <= 600.0
    budget = 0.60 * 200.0**2 * 600.0
    ended = ago - spell.lasted_s
    for part in range(21):
        ahead = left * part / 20.0
        old = max(0.0, min(ago, 600.0 - ahead) - ended) * before**2
        assert old + now**2 * ahead <= max(budget, old) * (1 + 1e-6)


@given(ago=st.floats(10.0, 900.0), longer=st.floats(0.0, 300.0))
def test_a_longer_rest_never_leaves_less(ago: float, longer: float) -> None:
    lasted = min(ago, 200.0)
    soon = restart(200.0, 0.60, 250.0, (Spell(ago, lasted, 200.0),)).value
    later = restart(200.0, 0.60, 250.0, (Spell(ago + longer, lasted, 200.0),)).value
    assert soon is not None
    assert later is not None
    assert later >= soon - 1e-6


@pytest.mark.parametrize(
    "spells",
    [
        (Spell(100.0, 200.0, 200.0),),
        (Spell(-1.0, 0.0, 200.0),),
        (Spell(300.0, 200.0, 200.0), Spell(200.0, 50.0, 200.0)),
    ],
)
def test_impossible_spells_are_refused(spells: tuple[Spell, ...]) -> None:
    with pytest.raises(QuantityError):
        restart(200.0, 0.60, 200.0, spells)


@pytest.mark.parametrize("duty", [0.0, 1.2, -0.1, float("inf")])
def test_impossible_duty_is_refused(duty: float) -> None:
    with pytest.raises(QuantityError):
        duty_at_current(200.0, duty, 200.0)
