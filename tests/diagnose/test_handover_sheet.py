"""The handover sheet: what it says, to whom, and what it never says."""

import pytest

from diagnose.answer import in_words
from diagnose.case import Case, Station
from diagnose.handover.history import Noted, done_of, noted_of
from diagnose.handover.report import handover_sheet
from diagnose.in_words import chance_in_words
from diagnose.plate import figure, plate_lines
from diagnose.reason import reason
from diagnose.session.answers import BETTER, DONE, IN_ORDER, PASSED

DEAD_ARC = {
    "said": ["wire feeds, no arc"],
    "station": {"name": "Bay 3", "process": "GMAW", "wire": {"class": "ER70S-6"}},
}


def sheet_for(knowledge, told, noted=None):
    case = Case.model_validate(told)
    reasoned = reason(case, knowledge)
    return handover_sheet(reasoned, in_words(reasoned), noted or noted_of(case), "bay-three")


def tasks_of(sheet, who):
    return [task for person in sheet.asked_of if person.who == who for task in person.tasks]


@pytest.mark.parametrize(
    "told",
    [
        DEAD_ARC,
        {"said": ["no lamp, no fan"], "user": {"may": "service"}},
        {"said": ["porosity", "wire stubs"], "station": {"process": "GMAW"}},
        {"said": ["trips the breaker"], "symptoms": [{"id": "tingle", "seen": "yes"}]},
    ],
)
def test_each_person_gets_only_that_persons_steps(knowledge, told):
    sheet = sheet_for(knowledge, told)
    assert sheet.asked_of
    for person in sheet.asked_of:
        for task in person.tasks:
            if task.kind == "check":
                entry = knowledge.checks[task.id]
                assert (entry.who, entry.steps) == (person.who, task.steps)
            elif task.kind == "remedy":
                remedy = knowledge.faults[task.id].remedy
                assert (remedy.who, remedy.steps) == (person.who, task.steps)
            else:
                assert knowledge.stop_cards[task.id].who == person.who


def test_the_operator_never_gets_a_step_with_covers_off_or_on_the_supply_side(knowledge):
    for words in ("no lamp, no fan", "trips the breaker", "arc is weak", "wire feeds, no arc"):
        for task in tasks_of(sheet_for(knowledge, {"said": [words]}), "operator"):
            assert task.hazard != "covers_off_or_supply"
            text = " ".join(task.steps).lower()
            assert "prove dead" not in text


def test_a_stop_card_comes_first_and_live_work_waits_for_it(knowledge):
    told = DEAD_ARC | {"symptoms": [{"id": "tingle", "seen": "yes"}]}
    sheet = sheet_for(knowledge, told)
    card = sheet.stop_cards[0]
    assert (card.id, card.state, card.lifted_by) == ("tingle", "stands", None)
    assert tasks_of(sheet, card.who)[0].kind == "make_safe"
    assert sheet.open_safety[0].startswith(f"{card.signal_word}: {card.title}")
    work = [task for person in sheet.asked_of for task in person.tasks]
    assert all(t.waits for t in work if t.kind == "remedy" or t.hazard == "live_weld_circuit")
    assert any(t.waits for t in work)


def test_under_a_card_an_operator_only_looks_and_who_may_lift_it_works_on(knowledge):
    told = {"said": ["porosity"], "symptoms": [{"id": "tingle", "seen": "yes"}]}
    sheet = sheet_for(knowledge, told)
    operators = tasks_of(sheet, "operator")
    assert {task.hazard for task in operators} >= {"look", "touch_machine_off"}
    assert all(task.waits == (task.hazard != "look") for task in operators)
    earth = {"said": ["trips the breaker"], "symptoms": [{"id": "tingle", "seen": "yes"}]}
    electricians = tasks_of(sheet_for(knowledge, earth), "electrician")
    assert {task.kind for task in electricians} == {"make_safe", "remedy"}
    assert not any(t.waits for t in electricians if t.hazard != "live_weld_circuit")


def test_a_card_is_told_once_and_who_lifts_it_is_told_to_find_its_cause(knowledge):
    sheet = sheet_for(knowledge, DEAD_ARC | {"symptoms": [{"id": "tingle", "seen": "yes"}]})
    (card,) = sheet.stop_cards
    assert not set(card.do) & set(tasks_of(sheet, card.who)[0].steps)


def noted_with(*entries):
    return [*noted_of(Case.model_validate(DEAD_ARC)), *(Noted(*entry) for entry in entries)]


def marked(step, name, why):
    return "advised", {"step": step, "id": name, "why": why}


def test_a_remedy_that_was_carried_out_is_told_until_its_proof_tells_of_it(knowledge):
    carried_out = marked("remedy", "work_clamp_off", DONE)
    sheet = sheet_for(knowledge, DEAD_ARC, noted_with(carried_out))
    title = knowledge.title("work_clamp_off")
    assert [(r.what, r.outcome) for r in sheet.done] == [(f"Put right: {title}", DONE)]
    assert any(f"{title}: not proved yet" in point for point in sheet.open_safety)
    assert [row.id for row in sheet.left if row.to_be_proved] == ["work_clamp_off"]
    assert "work_clamp_off" not in [t.id for p in sheet.asked_of for t in p.tasks]
    proved = noted_with(
        carried_out, ("remedied", {"fault": "work_clamp_off", "cured": False, "note": BETTER})
    )
    told = DEAD_ARC | {"remedied": [{"fault": "work_clamp_off", "cured": False}]}
    sheet = sheet_for(knowledge, told, proved)
    assert [(row.outcome, row.note) for row in sheet.done] == [(BETTER, None)]
    assert not any(title in point for point in sheet.open_safety)


def test_what_was_in_order_is_not_said_to_have_been_put_right_in_vain(knowledge):
    body = {"fault": "work_clamp_off", "cured": False, "note": IN_ORDER}
    (row,) = done_of(noted_with(("remedied", body)), knowledge)
    assert (row.outcome, row.note) == (IN_ORDER, None)


def test_what_was_passed_over_is_told(knowledge):
    noted = noted_with(
        marked("remedy", "work_clamp_off", PASSED),
        marked("ask", "started_change", PASSED),
        marked("ask", "amps_low", PASSED),
        marked("ask", "stop_tingle", PASSED),
        marked("check", "trace_leads", "because it is cheap"),
    )
    sheet = sheet_for(knowledge, DEAD_ARC, noted)
    assert [(row.id, row.outcome) for row in sheet.done] == [("work_clamp_off", PASSED)]
    asked = {"What was changed last?", knowledge.symptoms["amps_low"].question}
    assert asked <= set(sheet.not_known)
    assert not any("tingle" in question for question in sheet.not_known)


def test_a_card_that_was_lifted_says_by_whom_and_nothing_waits(knowledge):
    told = DEAD_ARC | {
        "symptoms": [{"id": "tingle", "seen": "yes"}],
        "made_safe": [{"stop_card": "tingle", "by": "electrician"}],
    }
    sheet = sheet_for(knowledge, told)
    assert (sheet.stop_cards[0].state, sheet.stop_cards[0].lifted_by) == (
        "made_safe",
        "electrician",
    )
    assert not any(task.waits for person in sheet.asked_of for task in person.tasks)


def test_what_was_found_against_a_likely_fault_is_said_with_the_fault(knowledge):
    check = knowledge.checks["look_at_work_clamp"]
    good = check.nothing_found
    before = sheet_for(knowledge, DEAD_ARC)
    assert "work_clamp_off" in [fault.id for fault in before.left]
    after = sheet_for(
        knowledge, DEAD_ARC | {"findings": [{"check": check.id, "result": good.result}]}
    )
    title = knowledge.title("work_clamp_off")
    row = next(row for row in after.ruled_out if title in row.faults)
    assert good.says in row.why
    assert "work_clamp_off" not in [fault.id for fault in after.left]
    assert check.id not in [task.id for p in after.asked_of for task in p.tasks]


def _shows(check, fault):
    return any(fault in result.shows for result in check.looks_for)


def test_what_cannot_be_is_named_only_where_it_would_explain_the_complaint(knowledge):
    told = {"said": ["porosity"], "station": {"process": "FCAW-S", "wire": {"class": "E71T-11"}}}
    groups = [r for r in sheet_for(knowledge, told).ruled_out if r.why.startswith("Cannot be")]
    named = [title for row in groups for title in row.faults]
    assert knowledge.title("cylinder_empty") in named
    assert all(len(row.faults) <= 4 for row in groups)
    assert any(row.more > 0 for row in groups)
    told["said"] = ["wire feeds, no arc"]
    named = [t for row in sheet_for(knowledge, told).ruled_out for t in row.faults]
    assert knowledge.title("cylinder_empty") not in named


def test_probabilities_are_words_and_never_certain(knowledge):
    sheet = sheet_for(knowledge, DEAD_ARC)
    words = [row.in_words for row in sheet.left] + [sheet.not_in_our_list]
    assert all(" in " in text for text in words)
    text = " ".join([chance_in_words(p / 1000) for p in range(1001)]).lower()
    assert "certain" not in text
    assert "10 in 10" not in text
    assert "0 in" not in text.replace("10 in", "")


def test_tools_are_those_of_the_checks_on_the_sheet(knowledge):
    sheet = sheet_for(knowledge, DEAD_ARC)
    tasks = [task for person in sheet.asked_of for task in person.tasks]
    tools = [
        tool
        for task in tasks
        for tool in (
            knowledge.checks[task.id].tools
            if task.kind == "check"
            else getattr(
                knowledge.checks.get(knowledge.faults[task.id].remedy.proved_by), "tools", []
            )
        )
    ]
    assert set(sheet.bring.tools) == {knowledge.outfits[tool].title for tool in tools}
    parts = [
        part
        for task in tasks
        if task.kind == "remedy"
        for part in knowledge.faults[task.id].remedy.parts
    ]
    assert sheet.bring.parts == list(dict.fromkeys(parts))
    worn = sheet_for(knowledge, {"said": ["erratic arc"]})
    assert "contact tip for the diameter of the wire" in worn.bring.parts


def test_a_tried_remedy_is_not_asked_for_again(knowledge):
    told = DEAD_ARC | {"remedied": [{"fault": "work_clamp_off", "cured": False}]}
    sheet = sheet_for(knowledge, told)
    assert "work_clamp_off" not in [t.id for p in sheet.asked_of for t in p.tasks]
    assert all(row.tried for row in sheet.left if row.id == "work_clamp_off")
    assert sheet.done[0].outcome == "it did not cure"


def test_a_closed_case_asks_nothing_of_anybody(knowledge):
    noted = [
        *noted_of(Case.model_validate(DEAD_ARC)),
        Noted("proved", {"check": "proof_weld", "good": True}),
        Noted("closed", {"outcome": "cured", "faults": ["work_clamp_off"]}),
    ]
    sheet = sheet_for(knowledge, DEAD_ARC, noted)
    assert (sheet.asked_of, sheet.left, sheet.bring.tools) == ([], [], [])
    assert sheet.ended == f"Cured: {knowledge.title('work_clamp_off')}"
    assert sheet.done[-1].what == "Proof: A bead like the one that failed"


def test_readings_are_told_with_points_and_current_as_they_were_taken(knowledge):
    body = {"what": "drop", "value": 2, "unit": "V", "from": "work_stud", "to": "work_lug"}
    noted = [Noted("read", body | {"at_current_a": 200.0, "minutes": 3, "note": "cold"})]
    row = done_of(noted, knowledge)[0]
    assert (row.what, row.outcome) == (
        "Voltage drop, work stud to work lug",
        "2 V at 200 A",
    )
    assert (row.minutes, row.note) == (3, "cold")
    flow = [Noted("read", {"what": "flow", "value": 35, "unit": "cfh"})]
    assert done_of(flow, knowledge)[0].outcome == "35 cfh"


def test_a_finding_before_a_remedy_that_changed_it_is_marked(knowledge):
    check = next(c for c in knowledge.checks.values() if _shows(c, "work_clamp_off"))
    result = next(r.result for r in check.looks_for if "work_clamp_off" in r.shows)
    noted = [
        Noted("found", {"check": check.id, "result": result}),
        Noted("remedied", {"fault": "work_clamp_off", "cured": False}),
    ]
    assert [row.stale for row in done_of(noted, knowledge)] == [True, False]


def test_ids_that_the_knowledge_lost_are_told_as_they_are(knowledge):
    noted = [
        Noted("found", {"check": "an_old_check", "result": "bad_thing"}),
        Noted("proved", {"check": "old_proof", "good": False}),
    ]
    rows = done_of(noted, knowledge)
    assert [(row.what, row.outcome) for row in rows] == [
        ("an old check", "bad thing"),
        ("Proof: old proof", "not good"),
    ]


def test_the_plate_tells_what_is_known_and_nothing_else():
    station = Station.model_validate(
        {
            "wire": {"class": "E71T-11", "diameter_mm": 0.9},
            "polarity": {"electrode": "negative"},
            "leads": [{"side": "work", "length_m": 7.62, "area_mm2": 50, "coiled": True}],
            "place": {"outdoors": False, "bonded_to": ["chain", "pipe"]},
        }
    )
    lines = {line.what: line.says for line in plate_lines(station, "metric")}
    assert lines == {
        "Wire": "E71T-11, 0.9 mm",
        "Polarity": "electrode negative (told, not traced)",
        "Leads": "work 7.62 m 50 mm² copper coiled",
        "Place": "indoors, bonded to: chain and pipe",
    }
    assert plate_lines(Station(), "us") == []
    in_feet = {line.what: line.says for line in plate_lines(station, "us")}
    assert in_feet["Leads"] == "work 25 ft 98.7 kcmil copper coiled"


@pytest.mark.parametrize(
    ("value", "unit", "shown"),
    [(15.0, "l/min", "32 cfh"), (200.0, "kPa", "29 psi"), (7.62, "m/min", "300 in/min")],
)
def test_figures_in_us_units(value, unit, shown):
    assert figure(value, unit, "us") == shown


def test_every_field_of_a_station_has_its_line_on_the_sheet():
    full = {
        "process": "GMAW",
        "wire": {"class": "W-1", "diameter_mm": 1.1, "form": "solid", "supply": "drum"},
        "polarity": {"electrode": "positive", "known": "looked"},
        "gas": {
            "name": "G-1",
            "flow_l_min": 11.0,
            "measured_at": "nozzle",
            "meter_scaled_for": "M-1",
            "pressure_kpa": 210.0,
            "supply": "manifold",
        },
        "source": {
            "output": "constant_current",
            "kind": "inverter",
            "control": "program",
            "rated_a": 251.0,
            "rated_duty_pct": 61,
            "open_circuit_v": 71.0,
            "phases": 3,
            "supply_v": 401.0,
            "rated_primary_a": 21.0,
            "idle_primary_a": 0.7,
            "breaker_a": 33.0,
            "fed_by": "generator",
            "extension": True,
            "extension_length_m": 31.0,
            "extension_area_mm2": 7.0,
            "remote": True,
        },
        "feeder": {"fed_from": "arc_voltage", "groove": "knurled", "roll_mm": 1.3},
        "gun": {
            "rated_a": 302.0,
            "length_m": 4.7,
            "tip_mm": 1.4,
            "tip_outside_mm": 8.1,
            "liner_mm": 1.7,
            "nozzle_bore_mm": 16.3,
            "cooling": "water",
            "kind": "push_pull",
            "extraction": True,
        },
        "clamp": {"kind": "magnetic", "rated_a": 203.0},
        "settings": {
            "mode": "stick",
            "arc_v": 18.3,
            "feed_m_min": 7.7,
            "current_a": 161.0,
            "duty_pct": 41,
            "stickout_mm": 12.3,
        },
        "work": {
            "metal": "stainless",
            "thickness_mm": 6.1,
            "surface": ["paint", "zinc"],
            "joint": "open_root",
        },
        "place": {
            "outdoors": True,
            "wind_m_s": 3.3,
            "confined": True,
            "bonded_to": ["chain"],
        },
    }
    told = " ".join(line.says for line in plate_lines(Station.model_validate(full), "metric"))
    for part, fields in full.items():
        for name, value in fields.items() if isinstance(fields, dict) else [(part, fields)]:
            for one in value if isinstance(value, list) else [value]:
                if one not in (True, "looked"):
                    shown = f"{one:g}" if isinstance(one, float) else str(one).replace("_", " ")
                    assert shown in told, f"{part}.{name}"
    for words in ("outdoors", "confined space", "extension cord", "fume extraction", "remote"):
        assert words in told
