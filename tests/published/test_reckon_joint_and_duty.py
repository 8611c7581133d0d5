"""Clamps, joints, load lines and duty against published figures, status beside each."""

from __future__ import annotations

import pytest

from diagnose.reckon.arc import load_line_v
from diagnose.reckon.circuit import TARGET
from diagnose.reckon.duty import (
    CABLE_PERIOD_S,
    MACHINE_PERIOD_S,
    cable_rating_a,
    current_at_duty,
    duty_at_current,
    duty_from_on_time,
)
from diagnose.reckon.joint import (
    MELTING_V,
    SERVICE,
    SOFTENING_V,
    joint_heat_w,
    joint_in_service,
    joint_resistance_ohm,
    joint_spot_temperature_k,
    spot_temperature,
    type_test_limit,
)


def test_return_clamp_type_test() -> None:
    # IEC 60974-13:2021 clause 7, 0.08 V per 100 A for two in series: verified (own text).
    assert type_test_limit(100.0).value == pytest.approx(0.08)
    assert type_test_limit(100.0).basis == "published"
    # Worked example 10, 300 A: derived.
    assert type_test_limit(300.0).value == pytest.approx(0.24)
    # 0.4 milliohm each: derived.
    assert type_test_limit(100.0, clamps=1).value / 100.0 == pytest.approx(0.4e-3)


@pytest.mark.parametrize(("ohm", "volts", "watts"), [(0.010, 2.0, 400.0), (0.001, 0.2, 40.0)])
def test_heat_of_a_bad_joint_at_200_a(ohm: float, volts: float, watts: float) -> None:
    # Derived.
    assert joint_resistance_ohm(volts, 200.0) == pytest.approx(ohm)
    assert joint_heat_w(volts, 200.0) == pytest.approx(watts)


def test_drop_of_a_joint_in_service() -> None:
    # About 0.1 to 0.2 V at working current: common practice, no standard. Taken at 200 A.
    lug = SERVICE["bolted"]
    assert (200.0 * lug.good_ohm, 200.0 * lug.look_ohm) == pytest.approx((0.1, 0.2))
    assert {limit.basis for limit in joint_in_service(0.1, 200.0, "bolted").limits} == {"judgement"}


def test_softening_and_melting_of_copper() -> None:
    # Holm, from memory: copper softens near 0.12 V (some 190 °C) and melts near 0.43 V (1083 °C).
    assert joint_spot_temperature_k(SOFTENING_V["copper"]) - 273.15 == pytest.approx(190, abs=25)
    melting_k = joint_spot_temperature_k(MELTING_V["copper"])
    assert melting_k - 273.15 == pytest.approx(1083, abs=60)
    assert {limit.basis for limit in spot_temperature(0.1).limits} == {"from_memory"}


def test_cable_drop_target() -> None:
    # AWS Safety and Health Fact Sheet 39: verified.
    assert (TARGET.value, TARGET.source, TARGET.basis) == (4.0, "aws_fact_sheet_39", "published")


@pytest.mark.parametrize(
    ("current_a", "covered_v", "tig_v", "wire_v"),
    [(100, 24, 14, 19), (200, 28, 18, 24), (300, 32, 22, 29), (400, 36, 26, 34)],
)
def test_conventional_load_lines(
    current_a: float, covered_v: float, tig_v: float, wire_v: float
) -> None:
    # IEC 60974-1 11.2: lines verified (restated), points derived.
    assert load_line_v(current_a, "covered_electrode") == pytest.approx(covered_v)
    assert load_line_v(current_a, "tig") == pytest.approx(tig_v)
    assert load_line_v(current_a, "wire_feed") == pytest.approx(wire_v)


def test_conventional_load_of_wire_feed_at_250_a() -> None:
    # Worked example 17: derived.
    assert load_line_v(250.0) == pytest.approx(26.5)


def test_caps_of_the_load_lines() -> None:
    # From memory; the lines reach them at 600 A: derived.
    caps = {"covered_electrode": 44.0, "tig": 34.0, "wire_feed": 44.0}
    for process, cap_v in caps.items():
        assert load_line_v(600.0, process) == pytest.approx(cap_v)  # type: ignore[arg-type]
        assert load_line_v(900.0, process) == cap_v  # type: ignore[arg-type]


def test_duty_period() -> None:
    # IEC 60974-1 3.37, a welding society's glossary: 60 % is six minutes of ten. Verified.
    assert duty_from_on_time(6 * 60.0, MACHINE_PERIOD_S) == pytest.approx(0.60)
    # Cable, BS 638-4 and European practice: five minutes. Verified in trade documents.
    assert CABLE_PERIOD_S == 300.0


def test_spot_welder_duty() -> None:
    # Worked example 3, NEC note to 630.31: 400 welds/h of 15 cycles at 60 Hz. Verified.
    assert duty_from_on_time(400 * 15 / 60.0, 3600.0) == pytest.approx(0.0278, abs=5e-5)


def test_400_a_at_25_percent_gives_its_current_at_50_percent() -> None:
    # Worked example 4: verified in a trade document.
    assert current_at_duty(400.0, 0.25, 0.50) == pytest.approx(282.8, abs=0.05)


def test_300_a_at_60_percent() -> None:
    # Worked example 5: square law, derived.
    assert duty_at_current(300.0, 0.60, 350.0) == pytest.approx(0.441, abs=5e-4)
    assert current_at_duty(300.0, 0.60, 1.0) == pytest.approx(232.0, abs=0.5)


def test_160_a_at_60_percent_continuous() -> None:
    # Worked example 6: verified in a trade document; the plate said 124 A.
    assert current_at_duty(160.0, 0.60, 1.0) == pytest.approx(123.9, abs=0.05)


# IS 9857:1990 as reprinted: verified in a trade document; 16 mm² at 100 % and 95 mm² at 60 %
# are corrected by the square law: derived.
IS_9857_ROWS = [
    # mm², 100 %, 85 %, 60 %, 30 %, 20 %
    (16.0, 80, 87, 103, 146, 179),
    (25.0, 103, 112, 133, 188, 230),
    (35.0, 129, 140, 166, 236, 288),
    (50.0, 167, 181, 215, 305, 373),
    (70.0, 205, 222, 264, 374, 458),
    (95.0, 251, 272, 324, 458, 561),
]


@pytest.mark.parametrize("row", IS_9857_ROWS, ids=lambda row: f"{row[0]:g}mm2")
def test_weld_cable_ratings(row: tuple[float, ...]) -> None:
    mm2, *amperes = row
    reckoned = [cable_rating_a(mm2, duty) for duty in (1.0, 0.85, 0.60, 0.30, 0.20)]
    assert reckoned == pytest.approx(amperes, abs=1.05)
