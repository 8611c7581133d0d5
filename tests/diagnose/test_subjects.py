"""The sums by subject: the canonical ones, units in and out, and refusals that help."""

from __future__ import annotations

from typing import Any

import pytest

from diagnose.subject_inputs import short_name
from diagnose.subjects import SUBJECTS, reckon, reckoned
from knowledge.errors import CaseError, QuantityError, UnknownId
from knowledge.loader import Knowledge


def told(*words: str) -> dict[str, object]:
    return dict(word.split("=", 1) for word in words)


@pytest.mark.parametrize("name", list(SUBJECTS))
def test_every_example_is_answered_with_working_and_limits(knowledge: Knowledge, name: str) -> None:
    results = reckon(name, told(*SUBJECTS[name].example), knowledge)
    assert results
    assert all(result.says and result.how_sure.text for result in results)
    assert any(result.working for result in results)


@pytest.mark.parametrize("name", list(SUBJECTS))
def test_every_input_has_one_short_name(name: str) -> None:
    fields = SUBJECTS[name].takes.model_fields
    assert len({short_name(field) for field in fields}) == len(fields)
    assert all(
        about.description or field in ("phases_", "phases") for field, about in fields.items()
    )


@pytest.mark.parametrize(
    ("subject", "words", "at", "value"),
    [
        (
            "circuit",
            ("current=200", "electrode_length=30", "work_length=30", "area=35"),
            0,
            6.648,
        ),
        (
            "network",
            (
                *("current=200A", "work_length=30m", "area=35mm2", "clamp=10mohm"),
                *("steel=20mohm", "tied=yes"),
            ),
            0,
            114.2,
        ),
        ("arc", ("volts=17", "lost=3", "feed=300ipm", "diameter=0.035in"), 0, 14.0),
        ("gas", ("flow=15", "gas=CO2", "bore=12.7", "tip=8", "run=short_arc"), 1, 1833.0),
        (
            "supply",
            ("machines=80A 100%, 70A 90% mg, 60A 70%, 50A 80%, 4x 40A 60% mg, 4x 25A 40%",),
            0,
            336.75,
        ),
        ("duty", ("rated=300", "rated_duty=60", "current=350"), 1, 232.4),
    ],
)
def test_canonical_sums(
    knowledge: Knowledge, subject: str, words: tuple[str, ...], at: int, value: float
) -> None:
    result = reckon(subject, told(*words), knowledge)[at]
    assert result.value == pytest.approx(value, rel=1e-3)


def test_a_clamp_past_its_melting_voltage_has_no_temperature(knowledge: Knowledge) -> None:
    service, spot = reckon("joint", told("drop=2V", "current=200A"), knowledge)
    assert service.verdict == "bad"
    assert "400 W" in service.says
    assert spot.value is None
    assert "arcing, film or several joints" in spot.says


def test_the_ring_is_no_finding(knowledge: Knowledge) -> None:
    flow, ring = reckon("gas", told(*SUBJECTS["gas"].example), knowledge)
    assert (flow.verdict, ring.verdict) == ("good", "no_limit")


def test_steel_without_a_tie_carries_nothing(knowledge: Knowledge) -> None:
    words = [w for w in SUBJECTS["network"].example if not w.startswith("tied")]
    (result,) = reckon("network", told(*words, "tied=no"), knowledge)
    assert result.value == 0.0
    assert "Nothing strays" in result.says


@pytest.mark.parametrize(
    ("lines", "says"),
    [("480/240/240", "a phase lost under load"), ("480/478/239", "read that pair again")],
)
def test_line_voltages(knowledge: Knowledge, lines: str, says: str) -> None:
    (result,) = reckon("supply", {"lines": lines, "supply": "480 V"}, knowledge)
    assert says in result.says


def test_the_joint_that_is_out(knowledge: Knowledge) -> None:
    (result,) = reckon("localise", told(*SUBJECTS["localise"].example), knowledge)
    assert result.says.startswith("jaws on the work")
    assert result.verdict == "bad"


def test_units_at_the_door_come_to_the_same(knowledge: Knowledge) -> None:
    metric = reckon("gas", {"flow": "16.518 l/min", "run": "short_arc"}, knowledge)[0]
    us = reckon("gas", {"flow": "35 cfh", "run": "short_arc"}, knowledge)[0]
    assert us.value == pytest.approx(metric.value, rel=1e-3)
    full = reckon("gas", {"flow_l_min": 16.518, "run": "short_arc"}, knowledge)[0]
    assert full.value == metric.value


def test_units_out(knowledge: Knowledge) -> None:
    found = reckoned("gas", {"flow": "35 cfh", "run": "short_arc"}, knowledge, "us").results[0]
    assert (found.unit, found.value) == ("cfh", pytest.approx(35.0))
    assert all(limit.unit == "cfh" for limit in found.limits)


@pytest.mark.parametrize(
    ("subject", "inputs", "error", "says"),
    [
        ("jint", {}, UnknownId, "joint"),
        ("joint", {"drp": 2}, CaseError, "nearest: 'drop'"),
        ("joint", {"drop": 2}, CaseError, "needs 'current'"),
        ("joint", {"drop": "two", "current": 200}, CaseError, "not a number"),
        ("joint", {"drop": "2 A", "current": 200}, CaseError, "does not measure"),
        ("joint", {"drop": -2, "current": 200}, CaseError, "greater than or equal to 0"),
        ("gas", {"flow": 15, "gas": "CO3"}, UnknownId, "CO2"),
        ("gas", {}, CaseError, "give flow"),
        ("supply", {}, CaseError, "nothing was given"),
        ("supply", {"phases": [1]}, CaseError, "1 or 3"),
        ("localise", {"current": 200, "work_lug-wrk": 2}, CaseError, "nearest: 'work'"),
        ("arc", {"volts": 17, "feed": 7, "diameter": 0.9, "lost": 20}, QuantityError, "more than"),
        ("circuit", {"current": 200, "work_length": 3}, CaseError, "give area"),
    ],
)
def test_refusals_say_what_next(
    knowledge: Knowledge,
    subject: str,
    inputs: dict[str, Any],
    error: type[Exception],
    says: str,
) -> None:
    with pytest.raises(error) as refused:
        reckon(subject, inputs, knowledge)
    assert says in str(refused.value)
