"""What can be wrong with what is entered: each has its message, its place and its exit code."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from api.exit_codes import ExitCode
from tests.api.cli_runner import run
from tests.api.test_cli_why import case_of


@pytest.mark.parametrize(
    ("arguments", "code", "says"),
    [
        (["--process", "GMAV"], ExitCode.BAD_INPUT, "--process: 'GMAV' is not one of GMAW"),
        (["--polarity", "posative"], ExitCode.BAD_INPUT, "nearest: 'positive'"),
        (["--wire-size", "0.035"], ExitCode.BAD_INPUT, "--wire-size: 0.035 of what?"),
        (["--wire-size", "fat"], ExitCode.BAD_INPUT, "--wire-size: 'fat' is not a number"),
        (["--flow", "35 psi"], ExitCode.BAD_INPUT, "'psi' does not measure what is wanted"),
        (["--flow", "35", "--units", "us"], ExitCode.BAD_INPUT, "Write '35 cfh'"),
        (["--flow", "35 blorp"], ExitCode.BAD_INPUT, "'blorp' is not a unit we know"),
        (["--units", "imperial"], ExitCode.BAD_INPUT, "--units: 'imperial' is not one of"),
        (["--may", "king"], ExitCode.BAD_INPUT, "--may: 'king' is not one of operator"),
        (["--surface", "mud"], ExitCode.BAD_INPUT, "--surface: 'mud' is not one of clean"),
        (["--set", "gun.tipmm=0.9"], ExitCode.BAD_INPUT, "nearest: 'tip_mm'"),
        (["--set", "gnu.tip_mm=0.9"], ExitCode.BAD_INPUT, "nearest: 'gun'"),
        (["--set", "gun.tip_mm"], ExitCode.BAD_INPUT, "is not path=value"),
        (["--set", "gun.tip_mm.inner=3"], ExitCode.BAD_INPUT, "--set"),
        (["--set", "gun.rated_a=-4"], ExitCode.BAD_INPUT, "should be greater than 0"),
        (["--set", "gun.rated_a=nan"], ExitCode.BAD_INPUT, "--set: station.gun.rated_a"),
        (["--set", "leads=[{"], ExitCode.BAD_INPUT, "--set: station.leads"),
        (["--reading", "drop 2"], ExitCode.BAD_INPUT, "has no value with a unit"),
        (["--reading", "2 V"], ExitCode.BAD_INPUT, "does not say what was measured"),
        (["--reading", "drop 2 V 3 V"], ExitCode.BAD_INPUT, "has more than one value"),
        (["--reading", "drop work_stod clamp 2 V"], ExitCode.BAD_INPUT, "nearest: 'work_stud'"),
        (["--found", "look_at_work_clamp"], ExitCode.BAD_INPUT, "is not CHECK=RESULT"),
        (["--remedied", "tip_worn=maybe"], ExitCode.BAD_INPUT, "neither cured nor not"),
        (["--made-safe", "tingle=me"], ExitCode.BAD_INPUT, "--made-safe: 'me' is not one of"),
        (["--symptom", "no_arc=perhaps"], ExitCode.BAD_INPUT, "'perhaps' is not one of yes, no"),
        (["--symptom", "porosty"], ExitCode.UNKNOWN_ID, "nearest: porosity"),
        (["--started", "nw_spool"], ExitCode.UNKNOWN_ID, "nearest: new_spool"),
        (["--found", "look_at_work_clmp=good"], ExitCode.UNKNOWN_ID, "look_at_work_clamp"),
        (["--found", "look_at_work_clamp=godo"], ExitCode.UNKNOWN_ID, "nearest: good"),
        (["--remedied", "tip_wron=cured"], ExitCode.UNKNOWN_ID, "nearest: tip_worn"),
        (["--made-safe", "tingel=electrician"], ExitCode.UNKNOWN_ID, "nearest: tingle"),
        (["--tool", "multimetre"], ExitCode.UNKNOWN_ID, "nearest: multimeter"),
        (["--looked"], ExitCode.USAGE, "give --polarity too"),
        (["--started", "at_once", "--started", "gradual"], ExitCode.USAGE, "cannot both be"),
        (["--width", "5"], ExitCode.USAGE, "--width"),
        (["--bogus"], ExitCode.USAGE, "No such option: --bogus"),
        (["--station", "/no/such.yaml"], ExitCode.BAD_INPUT, "/no/such.yaml: cannot be read"),
        (["--case", "/"], ExitCode.BAD_INPUT, "/: cannot be read"),
        (["--knowledge", "/no/such"], ExitCode.KNOWLEDGE, "there is no such folder"),
        (["x" * 401], ExitCode.BAD_INPUT, "word 2: said[1]: String should have at most 400"),
    ],
)
def test_bad_input_is_named_and_nothing_is_answered(
    arguments: list[str], code: ExitCode, says: str
) -> None:
    ran = run("why", "porosity", *arguments)
    assert ran.code == code
    assert ran.out == ""
    assert ran.err.startswith("error: ")
    assert says in ran.err
    assert "Traceback" not in ran.err


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (
            "wire:\n  class: ER70S-6\n  diameter: 0.9\n",
            ":3: station.wire.diameter: there is no such",
        ),
        ("wire:\n  class: ER70S-6\n  diameter: 0.9\n", "nearest: 'diameter_mm'"),
        ("process: GMAW\nprocess: GMAW\n", ":2: is not proper YAML"),
        ("process: [GMAW\n", "is not proper YAML"),
        ("process: GMAV\n", ":1: station.process: 'GMAV' is not one of"),
        (
            "leads:\n- {side: work, length_m: 15}\n- {side: wrok, length_m: 15}\n",
            ":3: station.leads[1]",
        ),
        ("- GMAW\n", "is not a list of names with values"),
        ("station: {process: GMAW}\n", "Give it with --case"),
        ("gun: &g {tip_mm: 1}\nfeeder: *g\n", "says a thing by reference"),
        ("gun: " + "[" * 60 + "]" * 60, "nests deeper"),
        ('{"process": "GMAW",}', ":1: is not proper JSON"),
        ('{"process": "GMAW", "process": "GMAW"}', "says 'process' twice"),
        ('{"gun": {"tip_mm": NaN}}', "NaN is no number"),
        ("gun: " + "x" * 300_000, "is larger than 256 KiB"),
    ],
)
def test_a_station_file_that_cannot_be_used(tmp_path: Path, text: str, says: str) -> None:
    file = tmp_path / "station.yaml"
    file.write_text(text, "utf-8")
    ran = run("why", "porosity", "--station", str(file))
    assert (ran.code, ran.out) == (ExitCode.BAD_INPUT, "")
    assert says in ran.err


def test_a_file_that_is_no_text(tmp_path: Path) -> None:
    file = tmp_path / "station.yaml"
    file.write_bytes(b"\xff\xfep\x00")
    ran = run("why", "porosity", "--station", str(file))
    assert ran.code == ExitCode.BAD_INPUT
    assert "is not UTF-8 text (byte 1)" in ran.err


def test_every_misfit_is_listed() -> None:
    ran = run("why", "porosity", "--process", "x", "--joint", "y", "--metal", "z")
    assert ran.err.count("is not one of") == 3


@pytest.mark.parametrize(
    "stdin",
    [
        b'{"said": ["porosity", "wire stubs"]}',
        b"\xef\xbb\xbfsaid: [porosity, wire stubs]\n",
        b"# from the bench\nsaid:\n  - porosity\n  - wire stubs\n",
        b"porosity\n\n  wire stubs\r\n",
    ],
)
def test_stdin_is_a_case_in_json_or_yaml_or_lines_of_words(stdin: bytes) -> None:
    assert case_of("-", stdin=stdin).said == ["porosity", "wire stubs"]


def test_stdin_that_is_no_case_names_its_line() -> None:
    ran = run("why", "-", stdin=b"said: [porosity]\nstation:\n  wire: {clas: ER70S-6}\n")
    assert ran.code == ExitCode.BAD_INPUT
    assert "stdin:3: station.wire.clas" in ran.err
    assert "nearest: 'class'" in ran.err


def test_words_with_a_colon_are_words() -> None:
    assert case_of("-", stdin=b"he says: porosity").said == ["he says: porosity"]


def test_the_more_specific_wins(tmp_path: Path) -> None:
    case_file, station_file = tmp_path / "case.json", tmp_path / "station.yaml"
    told = {
        "said": ["porosity"],
        "symptoms": [{"id": "no_arc", "seen": "yes"}],
        "station": {"process": "GMAW", "gun": {"tip_mm": 1.0, "rated_a": 300}, "name": "bay 3"},
    }
    case_file.write_text(json.dumps(told))
    station_file.write_text("gun: {tip_mm: 0.9}\nprocess: FCAW-G\n")
    case = case_of(
        *("wire stubs", "--case", str(case_file), "--station", str(station_file)),
        *("--process", "FCAW-S", "--symptom", "no_arc=no"),
    )
    assert case.said == ["porosity", "wire stubs"]
    assert case.station.name == "bay 3"
    assert case.station.process == "FCAW-S"
    assert case.station.gun is not None
    assert (case.station.gun.tip_mm, case.station.gun.rated_a) == (0.9, 300.0)
    assert [(row.id, row.seen) for row in case.symptoms] == [("no_arc", "no")]
