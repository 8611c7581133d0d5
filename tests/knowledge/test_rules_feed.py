"""Tip, liner, rolls, gun, mode and output against the wire."""

from __future__ import annotations

from typing import Any

import pytest


@pytest.mark.parametrize(
    ("wire", "tip", "wrong"),
    [
        (0.9, 0.9, False),
        ("0.035 in", 0.9, False),  # one size in two systems
        (1.2, "0.045 in", False),
        (0.9, 1.1, False),  # may be the bore: wire plus 0.1 to 0.3 mm is a good one
        (0.9, 0.8, True),
        (0.9, 1.6, True),
    ],
)
def test_tip_against_wire(
    *, judge: Any, shown: Any, established: Any, wire: Any, tip: Any, wrong: bool
) -> None:
    result = judge({"wire": {"diameter_mm": wire}, "gun": {"tip_mm": tip}})
    on, off = shown(result)["tip_wrong_size"]
    assert (on > off) is wrong
    assert ("tip_wrong_size" in established(result)) is wrong


@pytest.mark.parametrize(
    ("wire", "liner", "wrong"),
    [(0.9, 1.0, False), (0.9, 2.0, False), (1.2, 0.9, True), (0.8, 2.5, True)],
)
def test_liner_against_wire(
    judge: Any, established: Any, wire: float, liner: float, wrong: bool
) -> None:
    result = judge({"wire": {"diameter_mm": wire}, "gun": {"liner_mm": liner}})
    assert ("liner_wrong_size" in established(result)) is wrong


@pytest.mark.parametrize(
    ("wire", "groove", "fault"),
    [
        ("ER70S-6", "V", None),
        ("ER70S-6", "knurled", "roll_wrong_groove"),  # shaves hard wire
        ("ER70S-6", "U", "roll_wrong_groove"),  # slips on it
        ("ER4043", "U", None),
        ("ER4043", "V", "soft_wire_setup"),
        ("E71T-11", "knurled", None),
        ("E71T-11", "V", None),  # common on thin tubular wire, so nothing is said
    ],
)
def test_groove_against_wire(
    judge: Any, established: Any, wire: str, groove: str, fault: str | None
) -> None:
    result = judge({"wire": {"class": wire}, "feeder": {"groove": groove}})
    assert established(result) == ({fault} if fault else set())


def test_groove_of_another_size(judge: Any, established: Any) -> None:
    station = {"wire": {"diameter_mm": 0.9}, "feeder": {"roll_mm": 1.2}}
    assert established(judge(station)) == {"roll_wrong_groove"}
    station["feeder"]["roll_mm"] = 0.9
    assert established(judge(station)) == set()


def test_aluminium_through_a_long_gun(judge: Any, shown: Any) -> None:
    # Pushed far it buckles; a spool gun or push-pull has no such trouble.
    far = {"wire": {"class": "ER4043"}, "gun": {"kind": "ordinary", "length_m": 4.5}}
    on, off = shown(judge(far))["soft_wire_setup"]
    assert on > off
    near = {"wire": {"class": "ER4043"}, "gun": {"kind": "spool_gun", "length_m": 4.5}}
    on, off = shown(judge(near))["soft_wire_setup"]
    assert on < off
    steel = {"wire": {"class": "ER70S-6"}, "gun": {"kind": "ordinary", "length_m": 4.5}}
    assert "soft_wire_setup" not in shown(judge(steel))


@pytest.mark.parametrize(("rated", "wrong"), [(150, True), (200, False), (300, False)])
def test_gun_against_current(judge: Any, established: Any, rated: float, wrong: bool) -> None:
    result = judge({"gun": {"rated_a": rated}, "settings": {"current_a": 200}})
    assert (established(result) == {"gun_underrated"}) is wrong


@pytest.mark.parametrize(
    ("settings", "fault"), [("wire", None), ("stick", "wrong_mode"), ("gouging", "wrong_mode")]
)
def test_mode(judge: Any, established: Any, settings: str, fault: str | None) -> None:
    result = judge({"settings": {"mode": settings}})
    assert established(result) == ({fault} if fault else set())


@pytest.mark.parametrize(
    ("output", "fed_from", "fault"),
    [
        ("constant_voltage", "source", None),
        ("constant_current", "source", "output_type_wrong"),
        ("constant_current", None, "output_type_wrong"),
        ("constant_current", "arc_voltage", None),  # such a feeder follows the arc
    ],
)
def test_output_type(
    judge: Any, established: Any, output: str, fed_from: str | None, fault: str | None
) -> None:
    station: dict[str, Any] = {"source": {"output": output}}
    if fed_from:
        station["feeder"] = {"fed_from": fed_from}
    assert established(judge(station)) == ({fault} if fault else set())


@pytest.mark.parametrize(
    ("volts", "node"), [(15.0, "voltage_too_low"), (24.0, "voltage_too_high"), (18.0, None)]
)
def test_arc_volts_against_their_window(
    judge: Any, shown: Any, volts: float, node: str | None
) -> None:
    window = {"arc_v_least": 17.0, "arc_v_most": 20.0}
    table = shown(judge({"settings": {"arc_v": volts}}, reckoned=window))
    assert {name for name, (on, off) in table.items() if on > off} == ({node} if node else set())
    assert shown(judge({"settings": {"arc_v": volts}})) == {}  # no window, no verdict


def test_arc_volt_windows_share_one_whole(judge: Any, shown: Any) -> None:
    window = {"arc_v_least": 17.0, "arc_v_most": 20.0}
    for node, dials in (
        ("voltage_too_low", (15, 16.5, 18, 24)),
        ("voltage_too_high", (15, 18, 20.5, 24)),
    ):
        rows = [shown(judge({"settings": {"arc_v": u}}, reckoned=window))[node] for u in dials]
        assert sum(on for on, _ in rows) == pytest.approx(1.0)
        assert sum(off for _, off in rows) == pytest.approx(1.0)
