"""Primary side against NEC Article 630, 310.16 and IEC 60974-4, status beside each.

The rows on resistance welders (630.31 groups, 630.32 at 300 %) are not here: no sum of ours touches
them. Their duty example is, with the duty sums.
"""

from __future__ import annotations

from math import sqrt

import pytest

from diagnose.reckon.conductor import awg_area_mm2
from diagnose.reckon.supply import protective_conductor_limit_ohm
from diagnose.reckon.wiring import (
    COPPER_AMPACITY_A,
    Machine,
    ampacity,
    conductor_ampacity_a,
    duty_factor,
    effective_primary_a,
    group_ampacity,
    overcurrent_limit,
)

# NEC table 630.11(A), 2008: verified (own text).
NEC_FACTORS = [
    # duty, non-motor-generator, motor-generator
    (1.00, 1.00, 1.00),
    (0.90, 0.95, 0.96),
    (0.80, 0.89, 0.91),
    (0.70, 0.84, 0.86),
    (0.60, 0.78, 0.81),
    (0.50, 0.71, 0.75),
    (0.40, 0.63, 0.69),
    (0.30, 0.55, 0.62),
    (0.20, 0.45, 0.55),
    (0.10, 0.45, 0.55),
]


@pytest.mark.parametrize(("duty", "plain", "generator"), NEC_FACTORS)
def test_duty_factors(duty: float, plain: float, generator: float) -> None:
    assert duty_factor(duty) == plain
    assert duty_factor(duty, motor_generator=True) == generator
    # The plain column is √duty within 0.005: derived.
    if duty >= 0.20:
        assert duty_factor(duty) == pytest.approx(sqrt(duty), abs=0.0055)


def test_single_machine() -> None:
    # Worked example 1, 40 A primary at 50 %: verified.
    assert conductor_ampacity_a(Machine(40.0, 0.50)) == pytest.approx(28.4)


def test_group_of_machines() -> None:
    # Worked example 2, NEC 630.11(B): verified, 336.75 A.
    machines = (
        Machine(80.0, 1.00),
        Machine(70.0, 0.90, motor_generator=True),
        Machine(60.0, 0.70),
        Machine(50.0, 0.80),
        *(Machine(40.0, 0.60, motor_generator=True) for _ in range(4)),
        *(Machine(25.0, 0.40) for _ in range(4)),
    )
    assert group_ampacity(machines).value == pytest.approx(336.75, abs=0.01)


# NEC table 310.16, copper, A at 60, 75 and 90 °C: verified (restated).
AMPACITY = {
    **{"14": (15, 20, 25), "12": (20, 25, 30), "10": (30, 35, 40), "8": (40, 50, 55)},
    **{"6": (55, 65, 75), "4": (70, 85, 95), "3": (85, 100, 115), "2": (95, 115, 130)},
    **{"1": (110, 130, 145), "1/0": (125, 150, 170), "2/0": (145, 175, 195)},
    **{"3/0": (165, 200, 225), "4/0": (195, 230, 260)},
}


@pytest.mark.parametrize("gauge", AMPACITY)
def test_ampacity_of_supply_wires(gauge: str) -> None:
    area = awg_area_mm2(gauge)
    assert [ampacity(area, 60).value, ampacity(area, 75).value, ampacity(area, 90).value] == list(
        AMPACITY[gauge]
    )
    assert set(AMPACITY) == set(COPPER_AMPACITY_A)


@pytest.mark.parametrize(("gauge", "breaker_a"), [("14", 15.0), ("12", 20.0), ("10", 30.0)])
def test_breaker_of_small_wires(gauge: str, breaker_a: float) -> None:
    # NEC 240.4(D): verified (restated).
    assert ampacity(awg_area_mm2(gauge)).limits[0].value == breaker_a


def test_overcurrent_limits() -> None:
    # NEC 630.12(A) and (B), 200 % of each: verified. Next standard size: list from memory.
    found = overcurrent_limit(32.0, 40.0)
    assert [limit.value for limit in found.limits] == [64.0, 80.0, 70.0]
    assert [limit.basis for limit in found.limits] == ["published", "published", "from_memory"]


def test_effective_primary_current() -> None:
    # √(I1² X + I0² (1 - X)): from memory. Without idle current it is the √duty law.
    assert effective_primary_a(40.0, 0.50) == pytest.approx(40.0 * sqrt(0.5))
    assert effective_primary_a(40.0, 1.0, 5.0) == pytest.approx(40.0)
    assert effective_primary_a(40.0, 0.0, 5.0) == pytest.approx(5.0)


@pytest.mark.parametrize(
    ("length_m", "ohm"), [(3.0, 0.3), (5.0, 0.3), (12.5, 0.4), (20.0, 0.5), (100.0, 1.0)]
)
def test_protective_conductor(length_m: float, ohm: float) -> None:
    # IEC 60974-4:2016 5.2: verified in trade documents. Worked example 18, 20 m: derived.
    assert protective_conductor_limit_ohm(length_m) == pytest.approx(ohm)
