"""Several drops: the joint that is out is found, the spread is honest, contradictions are named."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.reckon.contradiction import Instrument, Reading, Step, resistance_spread_ohm
from diagnose.reckon.localise import Located, localise
from knowledge.errors import QuantityError

POINTS = ("stud", "lug", "plug", "clamp", "work")
STEPS = (
    Step("stud lug", "bolted_joint_resistance"),
    Step("work lead", expected_ohm=0.0166),
    Step("plug", "bolted_joint_resistance"),
    Step("work clamp", "work_clamp_resistance"),
)
SOUND_V = (0.05, 3.3, 0.06, 0.2)


def found_with(**changed: float) -> Located:
    """Locate with the sound drops, some of them replaced by the step's name."""
    readings = tuple(
        Reading(POINTS[at], POINTS[at + 1], changed.get(step.name.replace(" ", "_"), sound), 200.0)
        for at, (step, sound) in enumerate(zip(STEPS, SOUND_V, strict=True))
    )
    return localise(POINTS, STEPS, readings)


@pytest.mark.parametrize(
    ("name", "volts"),
    [("stud_lug", 0.6), ("work_lead", 7.0), ("plug", 0.5), ("work_clamp", 2.0)],
)
def test_the_joint_that_is_out_comes_first(name: str, volts: float) -> None:
    found = found_with(**{name: volts})
    first = found.candidates[0]
    assert first.name == name.replace("_", " ")
    assert found.result.verdict == "bad"
    assert first.low_ohm < volts / 200.0 < first.high_ohm
    assert not found.contradictions


def test_sound_drops_convict_nobody() -> None:
    found = found_with()
    assert found.result.verdict == "good"
    assert found.none_out > 0.5
    assert found.result.says.startswith("None of the 4")


def test_a_reading_just_past_the_good_mark_convicts_nobody() -> None:
    assert found_with(work_clamp=0.33).result.verdict == "good"
    assert found_with(work_clamp=0.5).result.verdict == "suspect"


def test_two_bad_joints_are_both_named() -> None:
    found = found_with(work_clamp=2.0, stud_lug=1.0)
    assert found.result.verdict == "bad"
    assert len([one for one in found.candidates if one.likelihoods.if_fault > 0.9]) == 2
    assert any(note.startswith("Also out") for note in found.result.notes)


def test_probabilities_sum_to_one() -> None:
    found = found_with(work_clamp=0.6)
    assert found.none_out + sum(one.probability for one in found.candidates) == pytest.approx(1.0)


def test_spread_follows_the_meter() -> None:
    fine = resistance_spread_ohm(Reading("a", "b", 0.2, 200.0), Instrument(0.001, 0.001, 0.005))[1]
    rough = resistance_spread_ohm(Reading("a", "b", 0.2, 200.0), Instrument())[1]
    assert rough > 10 * fine


@pytest.mark.parametrize(
    ("readings", "what"),
    [
        (
            (Reading("clamp", "work", 2.0, 200.0), Reading("work", "clamp", 0.2, 200.0)),
            "clamp to work read twice",
        ),
        (
            (
                Reading("stud", "lug", 0.05, 200.0),
                Reading("lug", "plug", 3.3, 200.0),
                Reading("stud", "plug", 6.0, 200.0),
            ),
            "stud to plug against its parts",
        ),
        ((Reading("lug", "plug", 0.4, 200.0),), "under half of what copper"),
        ((Reading("clamp", "work", 60.0, 200.0),), "more than the source gives"),
    ],
)
def test_contradictions_are_named_and_blame_no_joint(
    readings: tuple[Reading, ...], what: str
) -> None:
    found = localise(POINTS, STEPS, readings, open_circuit_v=40.0)
    assert any(what in line for line in found.contradictions)
    assert found.result.verdict == "no_limit"
    assert found.result.value is None


def test_a_whole_that_matches_its_parts_is_no_contradiction() -> None:
    readings = (
        Reading("stud", "lug", 0.05, 200.0),
        Reading("lug", "plug", 3.3, 200.0),
        Reading("plug", "clamp", 0.06, 200.0),
        Reading("clamp", "work", 2.0, 200.0),
        Reading("stud", "work", 5.45, 200.0),
    )
    found = localise(POINTS, STEPS, readings)
    assert not found.contradictions
    assert found.candidates[0].name == "work clamp"


def test_only_a_long_span_asks_for_single_ones() -> None:
    found = localise(POINTS, STEPS, (Reading("stud", "work", 5.4, 200.0),))
    assert found.candidates == ()
    assert "each joint on its own" in found.result.says


@given(volts=st.floats(0.2, 6.0), more=st.floats(0.0, 6.0))
def test_more_drop_never_clears_a_joint(volts: float, more: float) -> None:
    def chance(drop: float) -> float:
        found = found_with(work_clamp=drop)
        return next(one.probability for one in found.candidates if one.name == "work clamp")

    assert chance(volts + more) >= chance(volts) - 1e-6


@pytest.mark.parametrize(
    ("points", "steps", "readings"),
    [
        (POINTS[:-1], STEPS, ()),
        (POINTS, STEPS, (Reading("stud", "moon", 0.1, 200.0),)),
        (POINTS, STEPS, (Reading("stud", "stud", 0.1, 200.0),)),
        (POINTS, STEPS, (Reading("stud", "lug", -0.1, 200.0),)),
        (("a", "b"), (Step("odd", "no_such_kind"),), (Reading("a", "b", 0.1, 200.0),)),
        (("a", "b"), (Step("bare"),), (Reading("a", "b", 0.1, 200.0),)),
    ],
)
def test_impossible_set_ups_are_refused(
    points: tuple[str, ...], steps: tuple[Step, ...], readings: tuple[Reading, ...]
) -> None:
    with pytest.raises(QuantityError):
        localise(points, steps, readings)
