"""Primary current on the plate, and the conductor and fuse sizes that follow from it.

An electrician's work, by the edition of the code in force. These sums tell whether to call one.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import Literal

from diagnose.reckon.conductor import awg_area_mm2
from diagnose.reckon.quantity import between, not_negative, positive
from diagnose.reckon.result import HowSure, Limit, Result, Verdict
from knowledge.errors import QuantityError

FACTORS: tuple[tuple[float, float, float], ...] = (
    (1.00, 1.00, 1.00),
    (0.90, 0.95, 0.96),
    (0.80, 0.89, 0.91),
    (0.70, 0.84, 0.86),
    (0.60, 0.78, 0.81),
    (0.50, 0.71, 0.75),
    (0.40, 0.63, 0.69),
    (0.30, 0.55, 0.62),
    (0.20, 0.45, 0.55),
)
"""NEC table 630.11(A): duty up to, factor without, factor with a motor-generator."""
COPPER_AMPACITY_A: dict[str, tuple[float, float, float]] = {
    "14": (15, 20, 25),
    "12": (20, 25, 30),
    "10": (30, 35, 40),
    "8": (40, 50, 55),
    "6": (55, 65, 75),
    "4": (70, 85, 95),
    "3": (85, 100, 115),
    "2": (95, 115, 130),
    "1": (110, 130, 145),
    "1/0": (125, 150, 170),
    "2/0": (145, 175, 195),
    "3/0": (165, 200, 225),
    "4/0": (195, 230, 260),
}
"""NEC table 310.16, copper, by gauge: insulation of 60, 75, 90 °C at 30 °C, up to three conductors."""
SMALL_WIRE_BREAKER_A = {"14": 15.0, "12": 20.0, "10": 30.0}
"""NEC 240.4(D): the breaker that small copper is held to, where no other article says otherwise."""
Insulation = Literal[60, 75, 90]
GROUP_SHARES = (1.00, 1.00, 0.85, 0.70)
GROUP_REST = 0.60
STANDARD_FUSES_A = (
    *(15, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 110, 125, 150, 175, 200, 225),
    *(250, 300, 350, 400, 450, 500, 600),
)
"""NEC 240.6(A) up to 600 A, from memory."""


@dataclass(frozen=True, slots=True)
class Machine:
    """A machine of a group, as its plate gives it."""

    primary_a: float
    duty: float
    motor_generator: bool = False


def effective_primary_a(greatest_a: float, duty: float, no_load_a: float = 0.0) -> float:
    """Return the effective supply current I1eff, amperes.

    Raises
    ------
    QuantityError : negative current, or duty outside 0 to 1

    Source
    ------
    I1eff = √(I1² X + I0² (1 - X)); IEC 60974-1 and the note to NEC 630.12, from memory.

    >>> round(effective_primary_a(40.0, 0.5, 2.0), 1)
    28.3
    """
    between(duty, 0.0, 1.0, "duty")
    on = not_negative(greatest_a, "greatest_a") ** 2 * duty
    return sqrt(on + not_negative(no_load_a, "no_load_a") ** 2 * (1.0 - duty))


def duty_factor(duty: float, *, motor_generator: bool = False) -> float:
    """Return the factor on rated primary current; between rows the next higher duty counts.

    Raises
    ------
    QuantityError : duty outside 0 to 1

    Source
    ------
    NEC table 630.11(A), 2008 edition, own text.

    >>> duty_factor(0.50), duty_factor(0.55, motor_generator=True)
    (0.71, 0.81)
    """
    between(duty, 0.0, 1.0, "duty")
    row = next(row for row in reversed(FACTORS) if duty <= row[0] + 1e-9)
    return row[2] if motor_generator else row[1]


def conductor_ampacity_a(machine: Machine) -> float:
    """Return the least ampacity of the supply conductors of one machine, amperes.

    Raises
    ------
    QuantityError : current not above zero, or duty outside 0 to 1

    Source
    ------
    NEC 630.11(A).

    >>> round(conductor_ampacity_a(Machine(40.0, 0.50)), 1)
    28.4
    """
    factor = duty_factor(machine.duty, motor_generator=machine.motor_generator)
    return positive(machine.primary_a, "primary_a") * factor


def ampacity(
    area_mm2: float, insulation_c: Insulation = 75, needed_a: float | None = None
) -> Result:
    """Return the ampacity of copper supply wires, held against what the machine needs where told.

    Raises
    ------
    QuantityError : not within 2 % of a gauge from 14 to 4/0

    Source
    ------
    NEC table 310.16 and 240.4(D), restated.

    >>> ampacity(13.3, 75, 60.0).verdict, ampacity(13.3, 75, 70.0).verdict
    ('good', 'bad')
    """
    near = (g for g in COPPER_AMPACITY_A if abs(awg_area_mm2(g) / area_mm2 - 1.0) < 0.02)
    gauge = next(near, None)
    if gauge is None:
        raise QuantityError(
            f"no ampacity is known for {positive(area_mm2, 'area_mm2'):.4g} mm²",
            where="conductor_area_mm2",
            next_step="Give a gauge from 14 AWG to 4/0 AWG, or the ampacity itself as conductor.",
        )
    bears_a = COPPER_AMPACITY_A[gauge][(60, 75, 90).index(insulation_c)]
    verdict: Verdict = "no_limit"
    limits: tuple[Limit, ...] = ()
    if needed_a is not None:
        verdict = "good" if bears_a >= needed_a else "bad"
        limits = (
            Limit("needed by the machine", needed_a, "A", "nec_630", "published", "630.11(A)"),
        )
    if gauge in SMALL_WIRE_BREAKER_A:
        cap = SMALL_WIRE_BREAKER_A[gauge]
        name = "breaker, but for what article 630 allows"
        limits += (Limit(name, cap, "A", "nec_310_16", "published", "240.4(D)"),)
    return Result(
        quantity="ampacity of the supply wires",
        value=bears_a,
        unit="A",
        says=f"{gauge} AWG copper bears {bears_a:g} A with {insulation_c} °C insulation"
        + ("." if needed_a is None else f"; this machine needs {needed_a:.1f} A."),
        verdict=verdict,
        how_sure=HowSure("At 30 °C, up to three conductors together; warmer or more, less.", 0.0),
        limits=limits,
        working=(f"table 310.16, {gauge} AWG, column of {insulation_c} °C: {bears_a:g} A",),
        notes=("Ratings, wire and fuses are an electrician's work.",),
    )


def group_ampacity(machines: tuple[Machine, ...]) -> Result:
    """Return the least ampacity of the feeder of a group of machines, amperes.

    Raises
    ------
    QuantityError : no machines, or an impossible one

    Source
    ------
    NEC 630.11(B): 100 % of the two largest, 85 % of the third, 70 % of the fourth, 60 % of the
    rest.

    >>> group_ampacity((Machine(40.0, 1.0), Machine(40.0, 1.0), Machine(40.0, 1.0))).value
    114.0
    """
    if not machines:
        raise QuantityError("no machines", where="machines", next_step="Give at least one.")
    sized = sorted((conductor_ampacity_a(machine) for machine in machines), reverse=True)
    shares = [*GROUP_SHARES, *([GROUP_REST] * len(sized))][: len(sized)]
    total = sum(share * current for share, current in zip(shares, sized, strict=True))
    return Result(
        quantity="feeder ampacity of the group",
        value=total,
        unit="A",
        says=f"Machines on this feeder: {len(machines)}; it needs {total:.2f} A.",
        verdict="no_limit",
        how_sure=HowSure("By the 2008 text; the electrician goes by the edition in force.", 0.0),
        working=(
            *(
                f"{share:.0%} of {current:.2f} A = {share * current:.2f} A"
                for share, current in zip(shares, sized, strict=True)
            ),
            f"sum = {total:.2f} A",
        ),
        notes=(
            "NEC 630.11(B): all of the two largest, 85 % of the third, 70 % of the fourth, 60 % "
            "of the rest, each by its factor of table 630.11(A).",
            "Ratings, wire and fuses are an electrician's work.",
        ),
    )


def standard_fuse_up_a(current_a: float) -> float:
    """Return the next standard overcurrent size at or above a current, amperes.

    Raises
    ------
    QuantityError : not above zero, or above 600 A

    Source
    ------
    NEC 240.6(A), from memory.

    >>> standard_fuse_up_a(64.0)
    70
    """
    positive(current_a, "current_a")
    for size in STANDARD_FUSES_A:
        if size >= current_a - 1e-9:
            return size
    raise QuantityError(f"{current_a:g} A is past the sizes listed (600 A)", where="current_a")


def overcurrent_limit(
    greatest_primary_a: float, conductor_a: float, fitted_a: float | None = None
) -> Result:
    """Return the greatest overcurrent device, and hold the fitted one against it.

    Raises
    ------
    QuantityError : a current not above zero, or a limit above 600 A

    Source
    ------
    NEC 630.12: 200 % of the greatest (else rated) primary current for the machine, 200 % of
    ampacity for its conductors; next standard size where it trips for nothing.

    >>> [overcurrent_limit(32.0, 40.0, fitted_a=a).verdict for a in (60.0, 70.0, 80.0)]
    ['good', 'suspect', 'bad']
    """
    machine_a = 2.0 * positive(greatest_primary_a, "greatest_primary_a")
    wire_a = 2.0 * positive(conductor_a, "conductor_a")
    least = min(machine_a, wire_a)
    next_up = standard_fuse_up_a(least)
    verdict: Verdict = "no_limit"
    says = f"At most {least:g} A"
    says += "" if next_up == least else f"; the next standard size, {next_up:g} A, if it trips"
    if fitted_a is not None:
        verdict = _fuse_verdict(positive(fitted_a, "fitted_a"), least, next_up)
        says += f". Fitted: {fitted_a:g} A"
    return Result(
        quantity="greatest overcurrent device",
        value=least,
        unit="A",
        says=says + ".",
        verdict=verdict,
        how_sure=HowSure("By the 2008 text; the electrician goes by the edition in force.", 0.0),
        limits=(
            Limit("for the machine", machine_a, "A", "nec_630", "published", "630.12(A)"),
            Limit("for the conductors", wire_a, "A", "nec_630", "published", "630.12(B)"),
            Limit("next standard size", next_up, "A", "nec_630", "from_memory", "240.6(A)"),
        ),
        working=(
            f"machine: 2 x {greatest_primary_a:g} A = {machine_a:g} A",
            f"conductors: 2 x {conductor_a:g} A = {wire_a:g} A",
        ),
        notes=("A fuse smaller than the limit protects more but may blow at a start.",),
    )


def _fuse_verdict(fitted_a: float, least_a: float, next_up_a: float) -> Verdict:
    if fitted_a <= least_a:
        return "good"
    return "suspect" if fitted_a <= next_up_a else "bad"
