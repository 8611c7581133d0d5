"""`wontweld chart` through the command line."""

from __future__ import annotations

import pytest

from api.cli import main


def test_a_symptom_is_drawn_with_what_is_behind_it(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["chart", "no_arc", "--depth", "2", "--width", "60"]) == 0
    shown = capsys.readouterr().out
    assert shown.startswith("Wire feeds, but there is no arc: what can be behind it")
    assert "- Weld circuit is open (93)" in shown
    assert all(len(line) <= 60 for line in shown.splitlines())


def test_a_fault_is_drawn_with_what_comes_of_it(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["chart", "tip_worn"]) == 0
    assert "Arc is erratic" in capsys.readouterr().out


def test_an_unknown_id_gets_the_nearest(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["chart", "no_ark"]) == 5
    assert "nearest: no_arc" in capsys.readouterr().err


def test_dot_goes_to_stdout_alone(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["chart", "no_arc", "--dot"]) == 0
    shown = capsys.readouterr()
    assert shown.out.startswith("digraph causes {")
    assert shown.err == ""
