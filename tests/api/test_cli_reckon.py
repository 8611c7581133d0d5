"""`wontweld reckon`: as it is typed."""

from __future__ import annotations

import json

import pytest

from api.cli import main
from diagnose.subjects import SUBJECTS


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
