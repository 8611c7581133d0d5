"""`wontweld why`: what each option does, and what the answer looks like."""

from __future__ import annotations

import json

import pytest

from api.exit_codes import ExitCode
from api.json_text import to_json
from diagnose.answer import diagnose
from diagnose.case import Case
from knowledge.loader import load
from tests.api.cli_runner import run

ARC = "wire feeds, no arc"


def case_of(*arguments: str, stdin: bytes = b"") -> Case:
    """Return the case that the arguments make, by way of what `why` hands to the reasoning."""
    import api.cli.why as module

    caught: list[Case] = []

    def catch(case: Case, *rest: object, **options: object) -> None:
        caught.append(case)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(module, "_answer", catch)
        ran = run("why", *arguments, stdin=stdin)
    assert caught, ran.err
    return caught[0]


@pytest.mark.parametrize(
    ("arguments", "path", "value"),
    [
        (["--process", "gmaw"], "station.process", "GMAW"),
        (["--process", "FCAW-S"], "station.process", "FCAW-S"),
        (["--wire", "E71T-11"], "station.wire.class_", "E71T-11"),
        (["--wire-size", "0.035 in"], "station.wire.diameter_mm", pytest.approx(0.889)),
        (["--wire-size", "0.9"], "station.wire.diameter_mm", 0.9),
        (["--polarity", "DCEN"], "station.polarity.electrode", "negative"),
        (["--polarity", "+"], "station.polarity.known", "told"),
        (["--polarity", "+", "--looked"], "station.polarity.known", "looked"),
        (["--gas", "75Ar/25CO2"], "station.gas.name", "75Ar/25CO2"),
        (["--flow", "35 cfh"], "station.gas.flow_l_min", pytest.approx(16.52, abs=0.01)),
        (["--metal", "aluminum"], "station.work.metal", "aluminium"),
        (["--thickness", "1/4 in"], "station.work.thickness_mm", pytest.approx(6.35)),
        (["--surface", "rust", "--surface", "oil"], "station.work.surface", ["rust", "oil"]),
        (["--joint", "lap"], "station.work.joint", "lap"),
        (["--outdoors"], "station.place.outdoors", True),
        (["--indoors"], "station.place.outdoors", False),
        (["--started", "new_spool"], "started.change", ["new_spool"]),
        (["--started", "gradual"], "started.pattern", "gradual"),
        (["--started", "this_job"], "started.only", "this_job"),
        (["--may", "electrician"], "user.may", "electrician"),
        (
            ["--tool", "multimeter", "--tool", "wire_brush"],
            "user.tools",
            ["multimeter", "wire_brush"],
        ),
        (["--units", "us"], "units", "us"),
        (["--set", "gun.tip_mm=0.9"], "station.gun.tip_mm", 0.9),
        (["--set", "gun.length_m=15 ft"], "station.gun.length_m", pytest.approx(4.572)),
        (["--set", "source.phases=3"], "station.source.phases", 3),
        (["--set", "work.surface=rust,oil"], "station.work.surface", ["rust", "oil"]),
        (["--set", "place.confined=yes"], "station.place.confined", True),
        (["--set", "started.after_min=8"], "started.after_min", 8.0),
        (["--set", "station.gun.cooling=water"], "station.gun.cooling", "water"),
    ],
)
def test_an_option_says_one_thing_of_the_case(
    arguments: list[str], path: str, value: object
) -> None:
    found: object = case_of(ARC, *arguments)
    for name in path.split("."):
        found = getattr(found, name)
    assert found == value


def test_words_are_kept_one_to_an_argument() -> None:
    assert case_of(ARC, "clamp gets hot").said == [ARC, "clamp gets hot"]


def test_leads_are_given_as_json() -> None:
    case = case_of(
        ARC, "--set", 'leads=[{"side": "work", "length_m": "50 ft", "area_mm2": "2/0 AWG"}]'
    )
    lead = (case.station.leads or [])[0]
    assert (lead.side, lead.length_m, lead.area_mm2) == (
        "work",
        pytest.approx(15.24),
        pytest.approx(67.43, abs=0.01),
    )


@pytest.mark.parametrize(
    ("text", "seen"), [("no_arc", "yes"), ("no_arc=no", "no"), ("no_arc=not_sure", "not_sure")]
)
def test_a_symptom_is_answered_outright(text: str, seen: str) -> None:
    told, tried = (case_of("--symptom", text, *more).symptoms for more in ([], ["--tried"]))
    assert [(s.id, s.seen, s.by) for s in told] == [("no_arc", seen, "welder")]
    assert [(s.id, s.seen, s.by) for s in tried] == [("no_arc", seen, "tried_it")]


@pytest.mark.parametrize(
    "text",
    [
        "drop work_stud work_lug 2 V at 200 A",
        "2V drop between work stud and work lug @200A",
        "at 200 amps drop from work_stud to work_lug 2 V",
        "2 V work_stud work_lug at 200 A",
    ],
)
def test_a_reading_in_any_order(text: str) -> None:
    (reading,) = case_of("--reading", text).readings
    assert (reading.what, reading.value, reading.unit) == ("drop", 2.0, "V")
    assert (reading.from_, reading.to, reading.at_current_a) == ("work_stud", "work_lug", 200.0)


def test_a_reading_names_its_quantity_by_its_unit_where_that_is_plain() -> None:
    (reading,) = case_of("--reading", "35 cfh at the nozzle").readings
    assert (reading.what, reading.from_, reading.unit) == ("flow", "nozzle", "cfh")


def test_findings_remedies_and_cards() -> None:
    case = case_of(
        *("--found", "look_at_work_clamp=good", "--remedied", "work_clamp_off=not"),
        *("--remedied", "tip_worn=cured", "--made-safe", "tingle=electrician"),
    )
    assert [(f.check, f.result) for f in case.findings] == [("look_at_work_clamp", "good")]
    assert [(r.fault, r.cured) for r in case.remedied] == [
        ("work_clamp_off", False),
        ("tip_worn", True),
    ]
    assert [(m.stop_card, m.by) for m in case.made_safe] == [("tingle", "electrician")]


def test_json_is_the_diagnosis_byte_for_byte() -> None:
    ran = run("why", ARC, "--wire", "E71T-11", "--polarity", "+", "--looked", "--json")
    case = Case.model_validate(
        {
            "said": [ARC],
            "station": {
                "wire": {"class": "E71T-11"},
                "polarity": {"electrode": "positive", "known": "looked"},
            },
        }
    )
    assert ran.out == to_json(diagnose(case, load()))
    assert (ran.code, ran.err) == (ExitCode.ANSWERED, "")


def test_json_is_utf_8_whatever_stdout_speaks() -> None:
    words = "no arc at 20 \u00b0C \u2013 \u201cdead\u201d"
    out = run("why", words, "--json", encoding="latin-1").out.encode("latin-1")
    assert "\u201cdead\u201d".encode() in out
    assert json.loads(out)["recognised"]


def test_the_page_says_things_in_order() -> None:
    out = run("why", ARC, "clamp too hot to hold", "--process", "GMAW").out
    order = [
        "What I go by",
        "Set-up: GMAW",
        'Yes: Wire feeds, but there is no arc ("no arc")',
        'No: Wire does not feed ("wire feeds")',
        "Likely faults",
        "1. ",
        "Why: ",
        "For: ",
        "2. ",
        "Something not in our list:",
        "Worth asking",
        "Next",
        "Why this now:",
        "Take care",
        "Advice, not certification.",
    ]
    places = [out.find(text) for text in order]
    assert -1 not in places, order[places.index(-1)]
    assert places == sorted(places)


def test_a_stop_card_comes_before_all_else_and_holds_back_checks_and_repairs() -> None:
    out = run("why", "tingle through my gloves", "erratic arc").out
    assert out.startswith("DANGER Somebody felt a shock or a tingle\n")
    assert "Stop. Do what the card says first" in out
    assert "How to put it right" not in out
    assert "If it is that" not in out


def test_a_card_is_lifted_only_by_those_it_names() -> None:
    said = ("why", "tingle through my gloves", "erratic arc")
    assert "(made safe)" in run(*said, "--made-safe", "tingle=electrician").out
    assert "(made safe)" not in run(*said, "--made-safe", "tingle=operator").out


def test_the_set_up_and_its_reason_are_told() -> None:
    out = run("why", "pops and spatters", "--wire", "E71T-11", "--polarity", "+", "--looked").out
    assert "1. Electrode is positive, and the wire wants negative" in out
    assert "The electrode lead is on the other stud than the wire needs." in " ".join(out.split())


def test_what_is_not_understood_is_said_with_the_nearest() -> None:
    out = run("why", "porosity", "the frobnicator wobbles").out
    assert 'Not understood: "the frobnicator wobbles"' in out


def test_an_operator_is_not_shown_the_steps_of_others() -> None:
    missing_phase = ("why", "it hums", "weak rough arc", "--set", "source.phases=3")
    missing_phase += ("--set", "source.kind=transformer", "--found")
    missing_phase += ("fuses_warm_or_cold=one_cold_two_warm",)
    assert "This is a job for" in run(*missing_phase).out
    assert "This is a job for" not in run(*missing_phase, "--may", "electrician").out


def test_us_units_come_out_again() -> None:
    station = ("--wire-size", "0.9 mm", "--flow", "35 cfh")
    assert "wire 0.035 in; gas 35 cfh" in run("why", "porosity", *station, "--units", "us").out
    assert "wire 0.9 mm; gas 16.5 L/min" in run("why", "porosity", *station).out


def test_short_is_a_line_for_each_fault() -> None:
    out = run("why", ARC, "--short", "--width", "200").out
    assert [line[:2] for line in out.splitlines()] == ["1.", "2.", "3.", "4.", "5."]


def test_all_shows_more_faults_with_their_sources() -> None:
    few, every = run("why", ARC).out, run("why", ARC, "--all").out
    assert "6. " not in few
    assert "\n6. " in every
    assert "Source: " in every


def test_no_probability_is_a_certainty() -> None:
    certain = run("why", "pops", "--wire", "E71T-11", "--polarity", "+", "--looked", "--all").out
    assert "10 in 10" not in certain
    assert "100 %" not in certain


def test_nothing_recognised_asks_and_ends_with_its_own_code() -> None:
    ran = run("why", "frobnicate")
    assert ran.code == ExitCode.CANT_TELL
    assert "Nothing here points to any fault yet." in ran.out
    assert "Worth asking" in ran.out
    assert "Likely faults" not in ran.out


@pytest.mark.parametrize("arguments", [[], ["-"], ["--units", "us"], ["--may", "service"]])
def test_nothing_to_go_on_says_how_to_begin(arguments: list[str]) -> None:
    ran = run("why", *arguments)
    assert ran.code == ExitCode.USAGE
    assert ran.out == ""
    assert 'wontweld why "wire feeds, no arc"' in ran.err


def test_own_knowledge_is_laid_over(tmp_path: object) -> None:
    from pathlib import Path

    folder = Path(str(tmp_path))
    (folder / "symptoms.yaml").write_text(
        "- id: sings_like_a_kettle\n  title: It sings like a kettle\n  group: arc\n"
        "  question: Does it sing?\n  phrases: [sings like a kettle]\n"
        "  leak: {chance: 0.01, basis: judgement}\n"
    )
    out = run("why", "sings like a kettle", "--knowledge", str(folder)).out
    assert "Yes: It sings like a kettle" in out
