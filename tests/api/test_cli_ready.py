"""`wontweld ready`: files, ticks, exit codes, and what is printed."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from api.cli import main

STATION = """\
name: bay 3
wire: {class: ER70S-6, diameter_mm: 0.035 in}
polarity: {electrode: positive, known: looked}
gas: {name: 75Ar/25CO2, flow_l_min: 25 cfh}
source: {kind: inverter}
gun: {tip_mm: 0.9}
clamp: {kind: spring, rated_a: 300}
settings: {mode: wire, current_a: 160}
"""


@pytest.fixture
def station(tmp_path: Path) -> str:
    path = tmp_path / "station.yaml"
    path.write_text(STATION, "utf-8")
    return str(path)


def saved(station: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Path:
    path = tmp_path / "check.json"
    main(["ready", station, "--save", str(path)])
    capsys.readouterr()
    return path


def test_exit_codes_tell_the_verdict(
    station: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = saved(station, tmp_path, capsys)
    assert main(["ready", station]) == 3
    ticks = {row["id"]: "good" for row in json.loads(path.read_text("utf-8"))["walk_round"]}
    all_good = tmp_path / "ticks.json"
    all_good.write_text(json.dumps(ticks), "utf-8")
    assert main(["ready", station, "--ticks", str(all_good)]) == 0
    assert "Ready, as far as told and ticked" in capsys.readouterr().out
    assert main(["ready", station, "--ticks", str(all_good), "--tick", "gun_is_home=bad"]) == 1
    assert main(["ready", station, "--set", "polarity.electrode=negative"]) == 1


def test_a_saved_check_is_given_back(
    station: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "check.json"
    assert main(["ready", station, "--tick", "station_is_off=good", "--save", str(path)]) == 3
    capsys.readouterr()
    assert main(["ready", station, "--ticks", str(path), "--json"]) == 3
    out = capsys.readouterr().out
    assert out == path.read_text("utf-8")
    ticks = {row["id"]: row["tick"] for row in json.loads(out)["walk_round"]}
    assert ticks["station_is_off"] == "good"


def test_stop_cards_come_first(station: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["ready", station, "--tick", "supply_plug_sound=bad"]) == 1
    assert capsys.readouterr().out.splitlines()[0].startswith(("DANGER", "WARNING"))


def test_markdown_has_a_box_for_each_line(station: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["ready", station, "--markdown", "--tick", "station_is_off=good"]) == 3
    out = capsys.readouterr().out
    assert out.startswith("# Hook-up check: bay 3\n")
    assert "- [x] **1. The station is off**" in out
    assert out.count("- [ ] ") > 20


@pytest.mark.parametrize("width", ["40", "80"])
def test_width(station: str, width: str, capsys: pytest.CaptureFixture[str]) -> None:
    main(["ready", station, "--width", width])
    assert all(len(line) <= int(width) for line in capsys.readouterr().out.splitlines())


@pytest.mark.parametrize(
    ("more", "code", "says"),
    [
        (["--tick", "clamp_spring_stou=good"], 5, "clamp_spring_stout"),
        (["--tick", "clamp_spring_stout=fine"], 2, "is not ID="),
        (["--json", "--markdown"], 2, "two different answers"),
        (["--save", "/nowhere/at/all.json"], 4, "cannot be written"),
        (["--reading", "drop work_stod work 2 V at 200 A"], 4, "work_stud"),
    ],
)
def test_refusals(
    station: str, more: list[str], code: int, says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["ready", station, *more]) == code
    assert says in capsys.readouterr().err


def test_a_bad_tick_file_is_named(
    station: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "ticks.json"
    path.write_text('{"station_is_off": "yes"}', "utf-8")
    assert main(["ready", station, "--ticks", str(path)]) == 4
    assert "ticked 'yes'" in capsys.readouterr().err


def test_with_nothing_at_all(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["ready"]) == 2
    assert "name the station's file" in capsys.readouterr().err
