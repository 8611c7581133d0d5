"""`wontweld reckon`: as it is typed."""

from __future__ import annotations

import json
import shlex

import pytest

from api.cli import main
from diagnose.subjects.answers import SUBJECTS


@pytest.mark.parametrize("name", list(SUBJECTS))
def test_every_example_can_be_typed(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["reckon", name, *SUBJECTS[name].example, "--width", "40"]) == 0
    out = capsys.readouterr().out
    assert "Working:" in out
    assert "How sure:" in out
    assert all(len(line) <= 40 for line in out.splitlines())


def test_the_list_of_subjects(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["reckon"]) == 0
    out = capsys.readouterr().out
    assert all(f"{name}:" in out for name in SUBJECTS)


def test_a_subject_alone_says_what_it_takes(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["reckon", "joint"]) == 2
    out = capsys.readouterr().out
    assert "drop: across the joint (in V, needed)" in out
    assert "wontweld reckon joint drop=2V current=200A" in out


def test_json(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["reckon", "joint", "drop=2V", "current=200A", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["subject"] == "joint"
    assert found["results"][0]["verdict"] == "bad"
    assert found["results"][0]["limits"][0]["basis"] == "judgement"


def test_us_units_out(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["reckon", "gas", "flow=35 cfh", "run=short_arc", "--units", "us"]) == 0
    assert "Shielding gas flow: 35 cfh" in capsys.readouterr().out


CANONICAL = [
    (
        "circuit current=200A electrode_length=30m work_length=30m area=35mm2",
        ["6.65 V lost at 200 A"],
    ),
    (
        "circuit current=200A electrode_length=98.43ft work_length=98.43ft area=35mm2",
        ["6.65 V lost"],
    ),
    ("joint drop=2V current=200A", ["10 mΩ, 400 W", "arcing, film or several joints"]),
    (
        "network current=200A work_length=30m area=35mm2 clamp=10mohm steel=20mohm tied=yes",
        ["114 A, 57% of 200 A", "114.2 of 200 A = 57%"],
    ),
    ("network current=200A work_length=30m area=35mm2 steel=20mohm tied=no", ["Nothing strays"]),
    ("arc volts=17V lost=3V feed=300in/min diameter=0.035in", ["14.0 V left at the arc", "stubs"]),
    ("arc volts=17V lost=3V feed=7.62m/min diameter=0.889mm", ["14.0 V left at the arc", "stubs"]),
    (
        "gas flow=15L/min gas=CO2 bore=12.7mm tip=8mm run=short_arc",
        ["Re 1833 in the ring (2987 in the open bore)", "as usual", "Not a finding by itself"],
    ),
    (
        "gas flow=31.783cfh gas=CO2 bore=0.5in tip=0.31496in run=short_arc",
        ["Re 1833 in the ring (2987 in the open bore)", "as usual"],
    ),
    (
        "supply 'machines=80A 100%, 70A 90% mg, 60A 70%, 50A 80%, 4x 40A 60% mg, 4x 25A 40%'",
        ["Feeder ampacity of the group: 336.75 A", "sum = 336.75 A"],
    ),
    ("supply lines=480/240/240 supply=480V", ["a phase lost under load", "Verdict: bad"]),
    ("supply lines=480/478/239 supply=480V", ["no lost phase: read that pair again", "no verdict"]),
]


@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize(("typed", "says"), CANONICAL)
def test_the_canonical_sums_as_they_are_read(
    typed: str, says: list[str], units: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["reckon", *shlex.split(typed), "--units", units, "--width", "300"]) == 0
    out = capsys.readouterr().out
    for text in says:
        assert text in out


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (["jint", "drop=2"], 5, "nearest: joint"),
        (["joint", "drp=2"], 4, "nearest: 'drop'"),
        (["joint", "drop"], 2, "is not NAME=VALUE"),
        (["joint", "drop=2", "drop=3"], 2, "given twice"),
        (["joint", "drop=2", "current=1", "--units", "imperial"], 2, "metric or us"),
        (["joint", "drop=2x", "current=200"], 4, "not a unit"),
    ],
)
def test_refusals(
    words: list[str], code: int, says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["reckon", *words]) == code
    shown = capsys.readouterr()
    assert shown.out == ""
    assert says in shown.err
    assert "Traceback" not in shown.err
