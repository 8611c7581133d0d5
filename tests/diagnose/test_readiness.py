"""The hook-up check: paper, walk-round, ticks and the verdict."""

from __future__ import annotations

from typing import Any

import pytest

from diagnose.readiness.hook_up import Readiness, ReadinessAsked, readiness
from knowledge.errors import UnknownId
from knowledge.loader import Knowledge

SOUND: dict[str, Any] = {
    "name": "bay 3",
    "wire": {"class": "ER70S-6", "diameter_mm": 0.9},
    "polarity": {"electrode": "positive", "known": "looked"},
    "gas": {"name": "75Ar/25CO2", "flow_l_min": 12},
    "source": {"kind": "inverter", "rated_a": 250, "rated_duty_pct": 60},
    "gun": {"tip_mm": 0.9},
    "clamp": {"kind": "spring", "rated_a": 300},
    "settings": {"mode": "wire", "current_a": 160},
    "leads": [{"side": "work", "length_m": 5, "area_mm2": 50}],
}


def checked(knowledge: Knowledge, station: dict[str, Any], **asked: Any) -> Readiness:
    return readiness(ReadinessAsked.model_validate({"station": station, **asked}), knowledge)


def all_good(knowledge: Knowledge, station: dict[str, Any]) -> dict[str, str]:
    return {step.id: "good" for step in checked(knowledge, station).walk_round}


def test_ready_only_when_all_is_told_and_ticked(knowledge: Knowledge) -> None:
    assert checked(knowledge, SOUND).verdict == "cant_tell"
    ticks = all_good(knowledge, SOUND)
    assert checked(knowledge, SOUND, ticks=ticks).verdict == "ready"
    essential = next(s.id for s in checked(knowledge, SOUND).walk_round if s.essential)
    assert checked(knowledge, SOUND, ticks=ticks | {essential: "not_done"}).verdict == "cant_tell"


@pytest.mark.parametrize("part", ["polarity", "gas", "clamp", "wire", "gun"])
def test_an_essential_that_was_not_told_leaves_it_open(knowledge: Knowledge, part: str) -> None:
    station = {name: value for name, value in SOUND.items() if name != part}
    found = checked(knowledge, station, ticks=all_good(knowledge, station))
    assert found.verdict == "cant_tell"
    assert any(row.essential for row in found.not_told)


@pytest.mark.parametrize(
    ("change", "what", "fault"),
    [
        (
            {"polarity": {"electrode": "negative", "known": "looked"}},
            "polarity",
            "electrode_negative_wants_positive",
        ),
        ({"gas": {"name": "none"}}, "gas", "gas_hose_not_connected"),
        ({"settings": {"mode": "stick", "current_a": 160}}, "mode", "wrong_mode"),
        ({"clamp": {"kind": "spring", "rated_a": 100}}, "clamp_rating", "clamp_underrated"),
        ({"gun": {"tip_mm": 1.6}}, "tip", "tip_wrong_size"),
        ({"gun": {"tip_mm": 0.9, "liner_mm": 0.6}}, "liner", "liner_wrong_size"),
        ({"feeder": {"roll_mm": 1.6}}, "roll_size", "roll_wrong_groove"),
        (
            {"leads": [{"side": "work", "length_m": 80, "area_mm2": 25}]},
            "leads_drop",
            "lead_too_thin_or_long",
        ),
        (
            {
                "settings": {"mode": "wire", "current_a": 250, "duty_pct": 100},
            },
            "duty",
            "duty_exceeded",
        ),
        (
            {
                "source": {
                    "kind": "transformer",
                    "supply_v": 230,
                    "rated_primary_a": 40,
                    "extension": True,
                    "extension_length_m": 50,
                    "extension_area_mm2": 2.5,
                }
            },
            "cord_drop",
            "extension_cord_too_thin",
        ),
    ],
)
def test_what_is_wrong_on_paper(
    knowledge: Knowledge, change: dict[str, Any], what: str, fault: str
) -> None:
    found = checked(knowledge, SOUND | change, ticks=all_good(knowledge, SOUND | change))
    line = next(line for line in found.on_paper if line.what == what)
    assert (line.standing, line.fault) == ("wrong", fault)
    assert line.has
    assert line.needs
    assert found.verdict == "not_ready"
    assert found.on_paper[0].standing == "wrong"


def test_the_edge_of_a_limit_is_no_verdict(knowledge: Knowledge) -> None:
    # 4.4 V in the leads: more than the usual, and a dial can make it good.
    leads = [{"side": "work", "length_m": 50, "area_mm2": 35}]
    station = SOUND | {"leads": leads}
    found = checked(knowledge, station, ticks=all_good(knowledge, station))
    assert {line.what for line in found.on_paper if line.standing == "at_the_edge"} == {
        "leads_drop"
    }
    assert found.verdict == "ready"


def test_the_numbers_and_their_source_stand_on_the_line(knowledge: Knowledge) -> None:
    station = SOUND | {"leads": [{"side": "work", "length_m": 80, "area_mm2": 25}]}
    line = next(x for x in checked(knowledge, station).on_paper if x.what == "leads_drop")
    assert "V lost at 160 A" in line.says
    assert "aws_fact_sheet_39 (published)" in line.sources


@pytest.mark.parametrize(
    ("current_a", "duty_pct", "standing"),
    [
        *((120, None, "right"), (160, None, None), (160, 60, "right")),
        *((220, 60, "at_the_edge"), (250, 80, "wrong")),
    ],
)
def test_cable_is_held_against_its_rating_at_current_and_duty(
    knowledge: Knowledge, current_a: float, duty_pct: float | None, standing: str | None
) -> None:
    # 35 mm²: 129 A without a rest by IS 9857, so 160 A for 65 %, 220 A for 34 %, 250 A for 27 %.
    settings = SOUND["settings"] | {"current_a": current_a, "duty_pct": duty_pct}
    leads = [{"side": "work", "length_m": 5, "area_mm2": 35}]
    found = checked(knowledge, SOUND | {"leads": leads, "settings": settings})
    lines = [line for line in found.on_paper if line.what == "cable_rating"]
    assert [line.standing for line in lines] == ([] if standing is None else [standing])
    if standing == "wrong":
        assert lines[0].fault == "lead_too_thin_or_long"
        assert "is_9857 (published)" in lines[0].sources


@pytest.mark.parametrize(("duty_pct", "standing"), [(35, "right"), (60, "right"), (100, "wrong")])
def test_clamp_is_held_against_its_rating_at_the_duty(
    knowledge: Knowledge, duty_pct: float, standing: str
) -> None:
    # 200 A at 60 % is 155 A without a rest: too little for 160 A.
    settings = SOUND["settings"] | {"current_a": 160, "duty_pct": duty_pct}
    clamp = {"kind": "spring", "rated_a": 200, "rated_duty_pct": 60}
    found = checked(knowledge, SOUND | {"clamp": clamp, "settings": settings})
    lines = [line for line in found.on_paper if line.what == "clamp_rating"]
    assert [line.standing for line in lines] == [standing]
    assert ("155 A" in lines[0].has) == (standing == "wrong")


def test_a_us_reader_reads_us_units(knowledge: Knowledge) -> None:
    station = SOUND | {"gas": {"name": "75Ar/25CO2", "flow_l_min": 16.518}}
    asked = ReadinessAsked.model_validate({"station": station, "units": "us"})
    lines = {line.what: line.has for line in readiness(asked, knowledge).on_paper}
    assert lines["gas_flow"] == "35 cfh"
    assert lines["tip"].endswith(" in")


def test_it_is_walked_along_the_leads_then_gas_clamp_and_supply(knowledge: Knowledge) -> None:
    walked = [step.id for step in checked(knowledge, SOUND).walk_round]
    order = [
        *("leads_are_whole", "work_plug_home", "clamp_lug_tight", "control_cable_home"),
        *("cylinder_is_safe", "gas_hose_tight", "clamp_spring_stout", "clamp_braid_whole"),
        *("clamp_is_rated", "supply_plug_sound", "switch_on_and_listen"),
    ]
    assert [line for line in walked if line in order] == order


def test_no_hand_is_called_safe_while_the_machine_is_on(knowledge: Knowledge) -> None:
    for line in knowledge.walk_round.values():
        if line.stage == "power_up":
            assert line.hazard in ("look", "live_weld_circuit")


def test_the_walk_round_fits_the_station(knowledge: Knowledge) -> None:
    def walked(**change: Any) -> set[str]:
        return {step.id for step in checked(knowledge, SOUND | change).walk_round}

    gas, bare = walked(), walked(wire={"class": "E71T-11"})
    assert {"cylinder_is_safe", "gas_flows_right", "polarity_traced_positive"} <= gas
    assert {"no_gas_on_this_wire", "polarity_traced_negative", "first_bead_self_shielded"} <= bare
    assert "cylinder_is_safe" not in bare
    assert "supply_plug_sound" not in walked(source={"kind": "engine"})
    assert "coolant_is_there" in walked(gun={"cooling": "water", "tip_mm": 0.9})
    assert "cord_is_stout" in walked(source={"kind": "inverter", "extension": True})
    assert {"clamp_spring_stout", "clamp_braid_whole"} <= walked()
    assert "clamp_holds" in walked(clamp={"kind": "bolted", "rated_a": 300})


def test_a_polarity_nobody_knows_is_read_off_the_label(knowledge: Knowledge) -> None:
    found = checked(knowledge, {"wire": {"class": "E71T-GS"}})
    polarity = [step for step in found.walk_round if step.id.startswith("polarity_traced")]
    assert [step.id for step in polarity] == ["polarity_traced_by_label"]
    untold = [s.id for s in checked(knowledge, {}).walk_round if s.id.startswith("polarity_")]
    assert untold == ["polarity_traced_by_label"]


def test_the_order_is_walk_round_then_power_then_arc(knowledge: Knowledge) -> None:
    stages = [step.stage for step in checked(knowledge, SOUND).walk_round]
    order = ["before_power", "power_up", "first_arc"]
    assert stages == sorted(stages, key=order.index)
    ids = [step.id for step in checked(knowledge, SOUND).walk_round]
    assert ids[0] == "station_is_off"
    assert ids.index("supply_plug_sound") < ids.index("switch_on_and_listen")


def test_the_control_cable_is_held_by_its_ring(knowledge: Knowledge) -> None:
    line = knowledge.walk_round["control_cable_home"]
    assert "ring" in line.do
    assert "Never turn the body" in line.do


def test_power_waits_until_the_walk_is_done(knowledge: Knowledge) -> None:
    found = checked(knowledge, SOUND)
    assert all((step.wait is None) == (step.stage == "before_power") for step in found.walk_round)
    before = {step.id: "good" for step in found.walk_round if step.stage == "before_power"}
    assert all(step.wait is None for step in checked(knowledge, SOUND, ticks=before).walk_round)
    bad = checked(knowledge, SOUND, ticks=before | {"clamp_spring_stout": "bad"})
    assert any(step.wait for step in bad.walk_round)
    assert bad.verdict == "not_ready"


def test_a_bad_tick_can_raise_a_stop_card_that_only_the_right_person_lifts(
    knowledge: Knowledge,
) -> None:
    ticks = all_good(knowledge, SOUND) | {"leads_are_whole": "bad"}
    found = checked(knowledge, SOUND, ticks=ticks)
    assert [(card.id, card.state) for card in found.stop_cards] == [
        ("damaged_insulation", "stands")
    ]
    by_operator = [{"stop_card": "damaged_insulation", "by": "operator"}]
    assert checked(knowledge, SOUND, ticks=ticks, made_safe=by_operator).stop_cards[0].state == (
        "stands"
    )
    by_electrician = [{"stop_card": "damaged_insulation", "by": "electrician"}]
    lifted = checked(knowledge, SOUND, ticks=ticks, made_safe=by_electrician)
    assert lifted.stop_cards[0].state == "made_safe"
    mended = checked(knowledge, SOUND, ticks=all_good(knowledge, SOUND), made_safe=by_electrician)
    assert mended.verdict == "ready"


def test_a_card_the_set_up_raises_comes_first(knowledge: Knowledge) -> None:
    station = SOUND | {"place": {"confined": True}}
    found = checked(knowledge, station, ticks=all_good(knowledge, station))
    assert found.stop_cards[0].id == "gas_in_confined_space"
    assert found.verdict == "cant_tell"


def test_no_remedy_is_offered_while_a_card_stands(knowledge: Knowledge) -> None:
    station = SOUND | {"polarity": {"electrode": "negative", "known": "looked"}}
    assert checked(knowledge, station).on_paper[0].remedy
    stopped = checked(knowledge, station, ticks={"leads_are_whole": "bad"})
    assert stopped.on_paper[0].standing == "wrong"
    assert not any(line.remedy for line in stopped.on_paper)


def test_an_unknown_tick_names_the_nearest(knowledge: Knowledge) -> None:
    with pytest.raises(UnknownId, match="clamp_spring_stout"):
        checked(knowledge, SOUND, ticks={"clamp_spring_stou": "good"})


def test_no_line_offers_an_operator_what_is_not_his(knowledge: Knowledge) -> None:
    for line in knowledge.walk_round.values():
        assert line.hazard != "covers_off_or_supply" or line.who in ("electrician", "service")
        assert line.why
        assert line.good != line.bad


def test_every_line_belongs_to_some_station(knowledge: Knowledge) -> None:
    stations: list[dict[str, Any]] = [
        SOUND,
        SOUND | {"wire": {"class": "E71T-11"}},
        SOUND | {"wire": {"class": "E71T-GS"}},
        SOUND | {"clamp": {"kind": "magnetic"}, "gun": {"cooling": "water"}},
        SOUND | {"source": {"kind": "inverter", "extension": True}},
    ]
    seen = {step.id for one in stations for step in checked(knowledge, one).walk_round}
    assert seen == set(knowledge.walk_round)
