"""Three line voltages read together: a lost phase, a low supply, or a reading to take again.

The three are sides of a triangle, for they sum to zero as phasors. A phase lost under the load of
a transformer leaves its terminal half-way between the other two: one pair full, two pairs half.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from diagnose.reckon.quantity import not_negative, positive
from diagnose.reckon.result import SHOP, HowSure, Limit, Result, Verdict

State = Literal["sound", "low", "unbalanced", "phase_lost", "no_supply", "read_again"]

FULL = 0.90
HALF = (0.35, 0.65)
NEAR_ZERO = 0.15
"""Of the nominal: full from, near half, near nothing. Judgement."""
UNBALANCE_LOOK = 0.03
TRIANGLE_SLACK = 0.03
IMPOSSIBLE = 1.25
ONE_LOW = 0.75


@dataclass(frozen=True, slots=True)
class LinesFound:
    """What the three voltages say, and the reckoning behind it."""

    state: State
    result: Result


def line_voltages(
    ab_v: float, bc_v: float, ca_v: float, nominal_v: float, *, under_load: bool = True
) -> LinesFound:
    """Return what three line voltages at the machine say about the supply.

    Raises
    ------
    QuantityError : a negative voltage, or nominal not above zero

    Source
    ------
    Kirchhoff's voltage law for the triangle; one full and two near half under a transformer's
    load: derived and from memory.

    >>> line_voltages(480.0, 240.0, 240.0, 480.0).state
    'phase_lost'
    >>> line_voltages(480.0, 478.0, 239.0, 480.0).state
    'read_again'
    """
    positive(nominal_v, "nominal_v")
    named = (("A-B", ab_v), ("B-C", bc_v), ("C-A", ca_v))
    for name, volts in named:
        not_negative(volts, name)
    shares = sorted(volts / nominal_v for _, volts in named)
    state, says = _state(shares, under_load=under_load)
    if state == "phase_lost":
        says += f" The open one is {_open_phase(named)}."
    verdicts: dict[State, Verdict] = {
        "sound": "good",
        "low": "suspect",
        "unbalanced": "suspect",
        "phase_lost": "bad",
        "no_supply": "bad",
        "read_again": "no_limit",
    }
    return LinesFound(
        state,
        Result(
            quantity="lowest line voltage",
            value=shares[0] * nominal_v,
            unit="V",
            says=f"{ab_v:g} / {bc_v:g} / {ca_v:g} V: {says}",
            verdict=verdicts[state],
            how_sure=HowSure("Meter 1 %; only readings under the machine's own load count.", 0.02),
            limits=(
                Limit("full from", FULL * nominal_v, "V", SHOP, "from_memory"),
                Limit("near half from", HALF[0] * nominal_v, "V", SHOP, "judgement"),
                Limit("near half to", HALF[1] * nominal_v, "V", SHOP, "judgement"),
            ),
            working=(
                "of nominal: " + ", ".join(f"{volts / nominal_v:.2f}" for _, volts in named),
                f"longest {shares[2]:.2f} against the other two together "
                f"{shares[0] + shares[1]:.2f}",
            ),
            notes=("For an electrician: live supply terminals are behind a cover.",),
        ),
    )


def _state(shares: list[float], *, under_load: bool) -> tuple[State, str]:
    """Return the first row that holds; the order matters."""
    low, middle, high = shares
    mean = sum(shares) / 3.0
    rows: tuple[tuple[bool, State, str], ...] = (
        (high < NEAR_ZERO, "no_supply", "no supply at all."),
        (
            high > IMPOSSIBLE,
            "read_again",
            "more than this supply can be: check the range and the nominal.",
        ),
        (
            high >= FULL and low >= HALF[0] and middle <= HALF[1],
            "phase_lost",
            "one pair full and two near half is a phase lost under load.",
        ),
        (
            high >= FULL and middle <= NEAR_ZERO,
            "phase_lost",
            "one pair full and two dead is a phase lost with nothing loading it.",
        ),
        (
            low + middle < high * (1.0 - TRIANGLE_SLACK),
            "read_again",
            "three line voltages must close a triangle and these do not: read again.",
        ),
        (
            middle >= FULL and low < ONE_LOW,
            "read_again",
            "one low pair alone is no lost phase: read that pair again.",
        ),
        (high < FULL, "low", "all three are low: a weak or long supply, or a wrong tap."),
        (
            max(abs(share - mean) for share in shares) > UNBALANCE_LOOK * mean,
            "unbalanced",
            "uneven: look for a weak contact or a heavy single-phase load.",
        ),
        (
            not under_load,
            "sound",
            "full, but a weak contact may read full without load: read under load.",
        ),
    )
    found = next(((state, says) for holds, state, says in rows if holds), None)
    return found or ("sound", "all three are full under load.")


def _open_phase(named: tuple[tuple[str, float], ...]) -> str:
    """The terminal that the full pair does not touch."""
    full = max(named, key=lambda pair: pair[1])[0]
    return next(phase for phase in "ABC" if phase not in full)
