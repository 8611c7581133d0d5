"""Figures as evidence: what each reading comes to, and which readings are named and not used."""

from __future__ import annotations

import itertools
from typing import Any

import pytest

from diagnose.answer import diagnose
from diagnose.case import Case
from diagnose.diagnosis import Diagnosis
from diagnose.readings.measure import measure
from diagnose.readings.measured import Measured, Sums
from diagnose.readings.points import ALIASES, POINTS, WAYS, find_point, span_between, span_of
from diagnose.reason import reason
from knowledge.loader import Knowledge

Row = dict[str, Any]


def drop(volts: float, from_: str, to: str, current: float | None = 200.0, **more: Any) -> Row:
    row = {"what": "drop", "value": volts, "unit": "V", "from": from_, "to": to, **more}
    return row if current is None else row | {"at_current_a": current}


def line(volts: float, from_: str, to: str, load: bool = True) -> Row:
    row = {"what": "line_voltage", "value": volts, "unit": "V", "from": from_, "to": to}
    return row | {"at_current_a": 200.0} if load else row


def sums_of(knowledge: Knowledge, *readings: Row, station: Row | None = None) -> Sums:
    case = Case.model_validate({"station": station or {}, "readings": list(readings)})
    return measure(case, knowledge)


def the(sums: Sums, quantity: str) -> Measured:
    (found,) = [row for row in sums.measured if row.quantity == quantity]
    return found


LEADS = [
    {"side": "electrode", "length_m": 15, "area_mm2": 50},
    {"side": "work", "length_m": 15, "area_mm2": 50},
]


def test_every_alias_means_a_point() -> None:
    assert set(ALIASES.values()) <= set(POINTS)
    assert not set(ALIASES) & set(POINTS)
    assert all(
        find_point(point) == point or point in ("L1", "L2", "L3", "N", "PE") for point in POINTS
    )
    assert {find_point(p) for p in ("l1", "N", "PE")} == {"L1", "N", "PE"}


@pytest.mark.parametrize("side", ["electrode", "work"])
def test_every_stretch_of_the_way_is_judged(knowledge: Knowledge, side: Any) -> None:
    for low, high in itertools.combinations(WAYS[side], 2):
        sums = sums_of(knowledge, drop(1.4, low, high), station={"leads": LEADS})
        assert len(sums.measured) == 1, (low, high)
        said = f"between {low} and {high}".replace("_", " ")
        assert said in sums.says["readings[0]"]
        assert span_between(high, low) == span_between(low, high)


def test_the_worked_example_says_its_numbers(knowledge: Knowledge) -> None:
    sums = sums_of(knowledge, drop(2.0, "clamp_lug", "plate"))
    says = sums.says["readings[0]"]
    assert "2.00 V between work lug and work" in says
    assert "10 mΩ" in says
    assert "400 W" in says
    assert "arcing, film or several joints" in says
    assert the(sums, "work_clamp_ohm").value == pytest.approx(0.010)


def test_the_lead_is_held_against_its_own_copper(knowledge: Knowledge) -> None:
    # 15 m of 50 mm² have 5.8 mΩ: 1.2 V at 200 A are sound, 3 V are not.
    sound = sums_of(knowledge, drop(1.2, "work_plug", "work_lug"), station={"leads": LEADS})
    bad = sums_of(knowledge, drop(3.0, "work_plug", "work_lug"), station={"leads": LEADS})
    assert the(sound, "work_lead_ohm").if_sound > 0.8
    assert the(bad, "work_lead_ohm").if_fault > 0.9


def test_a_lead_of_unknown_size_is_judged_loosely(knowledge: Knowledge) -> None:
    told = the(
        sums_of(knowledge, drop(3.0, "work_plug", "work_lug"), station={"leads": LEADS}),
        "work_lead_ohm",
    )
    untold = the(sums_of(knowledge, drop(3.0, "work_plug", "work_lug")), "work_side_ohm")
    assert untold.if_fault < told.if_fault


def test_a_worse_drop_never_lowers_the_clamp(knowledge: Knowledge) -> None:
    words = ["clamp too hot to hold", "arc weak and stubbing"]
    clamp = ("clamp_on_paint", "clamp_jaws_loose", "clamp_braid_broken", "clamp_lug_loose")
    before = 0.0
    for volts in (0.02, 0.1, 0.3, 0.5, 0.8, 1.2, 2.0, 5.0):
        case = Case.model_validate({"said": words, "readings": [drop(volts, "work_lug", "work")]})
        on = reason(case, knowledge).ranking.on
        now = sum(on[fault] for fault in clamp)
        assert now >= before - 1e-12, volts
        before = now


def odds_moved(knowledge: Knowledge, fault: str, words: list[str], *readings: Row) -> float:
    def on(rows: list[Row]) -> float:
        case = Case.model_validate({"said": words, "readings": rows})
        return reason(case, knowledge).ranking.on[fault]

    before, after = on([]), on(list(readings))
    return (after / (1 - after)) / (before / (1 - before))


@pytest.mark.parametrize(
    ("fault", "words", "just_past", "gross"),
    [
        (
            "clamp_on_paint",
            ["arc weak"],
            drop(0.31, "work_lug", "work"),  # sound up to 0.3 V at 200 A
            drop(2.0, "work_lug", "work"),
        ),
        (
            "work_plug_loose",
            ["arc weak"],
            drop(0.11, "work_stud", "work_plug"),  # sound up to 0.1 V at 200 A
            drop(0.9, "work_stud", "work_plug"),
        ),
        (
            "gas_hose_leaks",
            ["porosity"],
            {"what": "flow", "value": 13.3, "unit": "l/min", "from": "nozzle"},  # 11 % low
            {"what": "flow", "value": 5.0, "unit": "l/min", "from": "nozzle"},
        ),
    ],
)
def test_just_past_a_limit_moves_little_and_gross_convicts(
    knowledge: Knowledge, fault: str, words: list[str], just_past: Row, gross: Row
) -> None:
    meter = {"what": "flow", "value": 15.0, "unit": "l/min", "from": "meter"}
    beside = [meter] if just_past["what"] == "flow" else []
    base = odds_moved(knowledge, fault, words, *beside)
    assert odds_moved(knowledge, fault, words, just_past, *beside) / base < 2.0
    assert odds_moved(knowledge, fault, words, gross, *beside) / base > 5.0


@pytest.mark.parametrize(
    ("volts", "quantity", "lost"),
    [((480, 240, 240), "phases_lost", True), ((480, 478, 479), "phases_lost", False)],
)
def test_three_pairs_under_load(
    knowledge: Knowledge, volts: tuple[float, ...], quantity: str, lost: bool
) -> None:
    pairs = (("L1", "L2"), ("L2", "L3"), ("L3", "L1"))
    rows = [line(v, *pair) for v, pair in zip(volts, pairs, strict=True)]
    station = {"source": {"kind": "transformer", "phases": 3, "supply_v": 480}}
    found = the(sums_of(knowledge, *rows, station=station), quantity)
    assert (found.if_fault > found.if_sound) is lost


def test_one_low_pair_alone_is_read_again(knowledge: Knowledge) -> None:
    rows = [line(480, "L1", "L2"), line(478, "L2", "L3"), line(239, "L3", "L1")]
    sums = sums_of(knowledge, *rows, station={"source": {"supply_v": 480}})
    assert [note.item for note in sums.unused] == ["readings[2]"]
    assert "read that pair again" in sums.unused[0].why
    assert not any(row.quantity == "phases_lost" for row in sums.measured)


def test_volts_at_studs_and_arc(knowledge: Knowledge) -> None:
    studs = {"what": "arc_voltage", "value": 22, "unit": "V", "from": "studs"}
    arc = {"what": "arc_voltage", "value": 16.5, "unit": "V", "from": "feeder", "to": "work"}
    lost = the(sums_of(knowledge, studs, arc), "volts_lost_v")
    assert lost.value == pytest.approx(5.5)
    assert lost.if_fault > 0.9
    impossible = sums_of(knowledge, studs, arc | {"value": 25})
    assert len(impossible.unused) == 2
    assert impossible.measured == ()


@pytest.mark.parametrize(
    ("reading", "why"),
    [
        (drop(2.0, "work_stod", "work"), "nearest: 'work_stud'"),
        (drop(-1.0, "work_lug", "work"), "below zero"),
        (drop(1.0, "work_lug", "work", None), "no current"),
        (drop(1.0, "tip", "work"), "do not lie on one side"),
        (drop(1.0, "work", "plate"), "both ends"),
        ({"what": "flow", "value": -3, "unit": "l/min"}, "below zero"),
        ({"what": "flow", "value": 3, "unit": "V"}, "does not measure"),
        ({"what": "open_circuit", "value": 400, "unit": "V"}, "more than a welding source"),
        ({"what": "feed", "value": 7, "unit": "m/min"}, "no feed is dialled"),
        ({"what": "temperature", "value": 70, "unit": "degC", "from": "tip"}, "joint or of"),
    ],
)
def test_what_cannot_be_used_is_named(knowledge: Knowledge, reading: Row, why: str) -> None:
    sums = sums_of(knowledge, reading)
    assert why in sums.unused[0].why
    assert sums.unused[0].item == "readings[0]"
    assert sums.measured == ()


def test_more_volts_than_the_open_circuit_gives(knowledge: Knowledge) -> None:
    station = {"source": {"open_circuit_v": 38}}
    sums = sums_of(knowledge, drop(40, "work_lug", "work"), station=station)
    assert "more than the open circuit gives" in sums.unused[0].why


def test_parts_that_do_not_add_up_are_named_and_not_used(knowledge: Knowledge) -> None:
    rows = [drop(3.8, "clamp", "work"), drop(2.0, "work_lug", "work")]
    sums = sums_of(knowledge, *rows)
    assert {note.item for note in sums.unused} == {"readings[0]", "readings[1]"}
    assert all("do not add up" in note.why for note in sums.unused)
    assert sums.measured == ()


def test_a_part_leaves_the_rest_of_its_whole(knowledge: Knowledge) -> None:
    rows = [drop(0.2, "clamp", "work"), drop(2.0, "work_lug", "work")]
    sums = sums_of(knowledge, *rows)
    assert the(sums, "work_clamp_inside_ohm").value == pytest.approx(0.009)
    assert the(sums, "work_clamp_jaw_ohm").value == pytest.approx(0.001)
    assert not any(row.quantity == "work_clamp_ohm" for row in sums.measured)


def test_one_quantity_counts_once_the_latest_of_it(knowledge: Knowledge) -> None:
    early = drop(2.0, "work_lug", "work", at="2031-05-04T09:00:00Z")
    late = drop(0.2, "work_lug", "work", at="2031-05-04T09:30:00Z")
    for rows in ((early, late), (late, early)):
        sums = sums_of(knowledge, *rows)
        assert the(sums, "work_clamp_ohm").value == pytest.approx(0.001)
        assert len(sums.unused) == 1


def test_one_quantity_read_twice_without_a_time(knowledge: Knowledge) -> None:
    alike = sums_of(knowledge, drop(2.0, "work_lug", "work"), drop(2.05, "work_lug", "work"))
    assert len([r for r in alike.measured if r.quantity == "work_clamp_ohm"]) == 1
    apart = sums_of(knowledge, drop(2.0, "work_lug", "work"), drop(0.2, "work_lug", "work"))
    assert apart.measured == ()
    assert len(apart.unused) == 2


def test_a_poor_meter_says_less(knowledge: Knowledge) -> None:
    good = the(sums_of(knowledge, drop(0.6, "work_lug", "work", accuracy_pct=1)), "work_clamp_ohm")
    poor = the(sums_of(knowledge, drop(0.6, "work_lug", "work", accuracy_pct=50)), "work_clamp_ohm")
    assert poor.if_fault < good.if_fault


def test_readings_in_any_unit_come_to_the_same(knowledge: Knowledge) -> None:
    metric = {"what": "temperature", "value": 70, "unit": "degC", "from": "clamp"}
    us = metric | {"value": 158, "unit": "°F"}
    assert the(sums_of(knowledge, metric), "clamp_rise_k").value == pytest.approx(
        the(sums_of(knowledge, us), "clamp_rise_k").value
    )


def test_the_current_may_come_from_a_reading_of_its_own(knowledge: Knowledge) -> None:
    amperes = {"what": "current", "value": 200, "unit": "A"}
    sums = sums_of(knowledge, drop(2.0, "work_lug", "work", None), amperes)
    assert the(sums, "work_clamp_ohm").value == pytest.approx(0.010)
    assert "readings[1]" in sums.says["readings[0]"]


def test_a_flow_read_at_the_meter_replaces_what_the_station_was_said_to_have(
    knowledge: Knowledge,
) -> None:
    station = {"process": "GMAW", "gas": {"flow_l_min": 3, "measured_at": "meter"}}
    row = {"what": "flow", "value": "15", "unit": "l/min", "from": "meter"}
    assert sums_of(knowledge, row, station=station).replaces == {"gas.flow_l_min"}
    nozzle = row | {"from": "nozzle"}
    assert sums_of(knowledge, nozzle, station=station).replaces == frozenset()


def test_flow_of_15_l_min_of_co2_through_12_7_mm_is_no_finding(knowledge: Knowledge) -> None:
    station = {
        "wire": {"class": "ER70S-6", "diameter_mm": 0.9},
        "gas": {"name": "CO2", "flow_l_min": 15},
        "gun": {"nozzle_bore_mm": 12.7, "tip_outside_mm": 8.0},
    }
    sums = sums_of(knowledge, station=station)
    assert sums.results["station.gas.flow_l_min"].verdict == "good"
    assert sums.figures["gas_flow_most_l_min"] > 15


def test_what_a_reading_says_stands_in_the_diagnosis(knowledge: Knowledge) -> None:
    case = Case.model_validate(
        {
            "said": ["arc weak"],
            "readings": [drop(2.0, "work_lug", "work"), drop(-1, "work_stud", "work_plug")],
        }
    )
    found: Diagnosis = diagnose(case, knowledge)
    says = [item.says for item in found.faults[0].evidence if item.item == "readings[0]"]
    assert "10 mΩ" in says[0]
    assert [row.item for row in found.unused] == ["readings[1]"]


def test_a_hot_supply_plug_is_a_stop_card(knowledge: Knowledge) -> None:
    row = {"what": "temperature", "value": 80, "unit": "degC", "from": "supply_plug"}
    found = diagnose(Case.model_validate({"said": ["arc weak"], "readings": [row]}), knowledge)
    assert [(card.id, card.state) for card in found.stop_cards] == [("hot_supply_plug", "stands")]
    assert found.next_step is not None
    assert found.next_step.kind == "stop"


def test_weld_current_in_the_earth_wire_is_a_stop_card(knowledge: Knowledge) -> None:
    row = {"what": "current", "value": 60, "unit": "A", "from": "earth_wire"}
    found = diagnose(Case.model_validate({"said": ["arc weak"], "readings": [row]}), knowledge)
    assert "stray_return" in [card.id for card in found.stop_cards]


def test_canonical_lead_drop(knowledge: Knowledge) -> None:
    station = {
        "settings": {"current_a": 200},
        "leads": [
            {"side": "electrode", "length_m": 30, "area_mm2": 35},
            {"side": "work", "length_m": 30, "area_mm2": 35},
        ],
    }
    sums = sums_of(knowledge, station=station)
    assert sums.figures["leads_drop_v"] == pytest.approx(6.65, abs=0.01)


def test_a_drop_over_a_whole_lead_needs_no_second_point() -> None:
    # Common practice: the drop of a lead is taken from the lug at one end to the lug at the other.
    assert span_of(["work_lead"]) == span_of(["work_lug", "work_plug"])
    assert span_of(["electrode_lead"]) == span_of(["feeder", "electrode_plug"])
    assert span_of(["clamp"]) is None
    assert span_of([]) is None
