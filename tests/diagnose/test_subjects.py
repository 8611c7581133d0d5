"""The sums by subject: the canonical ones, units in and out, and refusals that help."""

from __future__ import annotations

import re
from typing import Any

import pytest

from diagnose.subjects.answers import SUBJECTS, reckon, reckoned
from diagnose.subjects.inputs import short_name
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


METRIC = re.compile(r"\d (?:mm²?|m|L/min|L|m/min|mm/s|m/s|kPa|bar|°C|kg)(?![\w/²³])")


@pytest.mark.parametrize("name", list(SUBJECTS))
def test_nothing_metric_is_left_in_an_answer_for_a_us_reader(
    knowledge: Knowledge, name: str
) -> None:
    for row in reckoned(name, told(*SUBJECTS[name].example), knowledge, "us").results:
        shown = [row.says, *row.notes, row.how_sure.text, *(limit.name for limit in row.limits)]
        assert not METRIC.search(" | ".join(shown))
        assert not METRIC.search(f"1 {row.unit}")
        assert all(not METRIC.search(f"1 {limit.unit}") for limit in row.limits)
        for step in row.working:  # SI is worked in, with the US figure beside it
            assert len(METRIC.findall(step)) <= step.count("(")


def test_a_us_reader_gets_his_cable_as_a_gauge(knowledge: Knowledge) -> None:
    words = told("current=200A", "work_length=150ft", "area=2AWG", "temperature=75C")
    _, cable = reckoned("circuit", words, knowledge, "us").results
    assert cable.says == "1/0 AWG copper is the smallest that meets 4 V."
    assert (cable.unit, cable.value) == ("kcmil", pytest.approx(105.6, rel=1e-3))
    words = told("current=200A", "work_length=45.72m", "area=35mm2", "temperature=75C")
    _, cable = reckoned("circuit", words, knowledge, "metric").results
    assert cable.says == "70 mm² copper is the smallest that meets 4 V."


def test_every_length_of_both_leads_and_every_joint(knowledge: Knowledge) -> None:
    words = told(
        "current=200A",
        "leads=electrode 30m 35mm2, work 20 m 2/0 AWG 60C, work 10m 50mm2 aluminium",
        "joints=work clamp 10 mohm, work lug 0.3mohm",
    )
    total = reckon("circuit", words, knowledge)[0]
    electrode = 0.554e-3 * 30.0
    work = 0.0967 / 304.8 / 1.21615 * 1.1572 * 20.0 + 1.02 * 0.028264 / 50.0 * 10.0
    assert total.value == pytest.approx(200.0 * (electrode + work + 0.0103), rel=1e-4)
    assert "work clamp: V = I R = 200 A x 10.00 mΩ = 2.00 V; P = I² R = 400 W" in total.working
    assert "cable at 60 °C" in total.says
    as_json = {
        "current": "200 A",
        "leads": [
            {"side": "electrode", "length": "98.4252 ft", "area": 35},
            {"side": "work", "length": 20, "area": "2/0 AWG", "temperature": "140 degF"},
            {"side": "work", "length": 10, "area": 50, "metal": "aluminium"},
        ],
        "joints": [{"name": "work clamp", "ohm": 0.010}, {"name": "work lug", "ohm": "0.3 mohm"}],
    }
    assert reckon("circuit", as_json, knowledge)[0].value == pytest.approx(total.value, rel=1e-5)


def test_ways_home_from_point_to_point(knowledge: Knowledge) -> None:
    ways = "clamp work-lug 10mohm, lead lug-source 16.62 mohm, chain work-beam 8mohm"
    tied = {"current": 200, "ways": ways + ", building_steel beam-source 12mohm"}
    (result,) = reckon("network", tied, knowledge)
    assert result.value == pytest.approx(114.2, abs=0.05)
    assert "Must carry none at all: chain work-beam." in result.notes
    assert "strays: 114.2 of 200 A = 57%" in result.working
    (loose,) = reckon("network", {"current": 200, "ways": ways}, knowledge)
    assert (loose.value, loose.verdict) == (0.0, "good")


@pytest.mark.parametrize("drop", ["0.1V", "0.2V", "0.25V", "0.3V"])
def test_a_sound_clamp_is_not_convicted(knowledge: Knowledge, drop: str) -> None:
    verdicts = [
        row.verdict for row in reckon("joint", told(f"drop={drop}", "current=200A"), knowledge)
    ]
    assert verdicts == ["good", "no_limit"]


def test_a_co2_cylinder_is_weighed(knowledge: Knowledge) -> None:
    words = {"flow": "35 cfh", "gas": "CO2"}
    with pytest.raises(CaseError, match="gauge of a CO2 cylinder"):
        reckon("gas", {**words, "cylinder": 43, "pressure": "800 psi"}, knowledge)
    (life,) = reckon("gas", {**words, "contents": "50 lb"}, knowledge)
    assert life.value == pytest.approx(50 * 8.74 / 35.0, rel=1e-3)


def test_helium_is_no_argon(knowledge: Knowledge) -> None:
    words = told("volts=25", "feed=14", "diameter=0.9", "gas=90He/7.5Ar/2.5CO2")
    assert reckon("arc", words, knowledge)[2].says.startswith("globular")


def test_a_gauge_has_a_rating_between_the_listed_sizes(knowledge: Knowledge) -> None:
    words = told("rated=250", "rated_duty=60", "current=200", "area=2AWG")
    cable = reckon("duty", words, knowledge)[2]
    assert 103.0 < cable.limits[0].value ** 0.5 * 200.0 < 129.0
    assert cable.limits[0].basis == "judgement"


def test_the_protective_earth_is_held_against_its_cord(knowledge: Knowledge) -> None:
    (earth,) = reckon("supply", told("earth=0.4ohm", "cord_length=20m"), knowledge)
    assert (earth.verdict, earth.limits[0].value) == ("good", pytest.approx(0.5))


def test_heat_input_by_the_watch(knowledge: Knowledge) -> None:
    words = told("volts=25", "lost=1", "feed=9", "diameter=1.2", "current=200A", "travel=5mm/s")
    heat = reckon("arc", words, knowledge)[-1]
    assert (heat.quantity, heat.value) == ("heat input", pytest.approx(0.768))
    us = reckoned("arc", words, knowledge, "us").results[-1]
    assert (us.unit, us.value) == ("kJ/in", pytest.approx(0.768 * 25.4))


def test_supply_wires_by_their_gauge(knowledge: Knowledge) -> None:
    words = told("primary=40A", "duty=50%", "conductor_area=12AWG", "breaker=60A")
    _, wires, fuse = reckon("supply", words, knowledge)
    assert (wires.value, wires.verdict) == (25.0, "bad")
    assert (fuse.value, fuse.verdict) == (50.0, "bad")


def test_another_wire_is_held_against_its_window(knowledge: Knowledge) -> None:
    words = told("volts=22", "lost=1", "feed=9", "diameter=1.2", "window=cored_gas_steel")
    (window,) = reckon("arc", words, knowledge)
    assert (window.value, window.verdict) == (21.0, "suspect")


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
        ("circuit", {"current": 200, "leads": "work 3m"}, CaseError, "write it like"),
        ("circuit", {"current": 200, "leads": "work 3m 5V"}, CaseError, "no length, size"),
        ("circuit", {"current": 200, "joints": "clamp"}, CaseError, "write it like"),
        ("network", {"current": 200, "ways": "rope a-b"}, CaseError, "write it like"),
        ("network", {"current": 200}, CaseError, "give steel and tied, or ways"),
        ("supply", {"earth": 0.2}, CaseError, "cord_length"),
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
