"""Which transfer a solid wire runs at its current, voltage and gas."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from diagnose.reckon.melting import MM_PER_IN
from diagnose.reckon.quantity import between, positive
from diagnose.reckon.result import SHOP, HowSure, Limit, Result

Transfer = Literal["short_circuit", "globular", "spray"]
WireMetal = Literal["steel", "stainless", "aluminium"]

SPRAY_ABOVE_A: dict[WireMetal, dict[float, float]] = {
    "steel": {0.030: 150.0, 0.035: 165.0, 0.045: 220.0, 0.052: 240.0, 0.0625: 275.0},
    "stainless": {0.035: 170.0, 0.045: 225.0, 0.0625: 285.0},
    "aluminium": {0.030: 95.0, 0.0469: 135.0, 0.0625: 180.0},
}
"""Globular to spray, by diameter in inches: 98Ar/2O2, 99Ar/1O2, Ar. Seen in trade tables."""
SPRAY_ARGON_SHARE = 0.80
SHORT_ARC_A = (50.0, 225.0)
SHORT_ARC_V = (12.0, 22.0)
"""Envelope of short-circuit GMAW, 0.030 to 0.045 in: a textbook, seen."""
SPRAY_FROM_V = 24.0
"""Least arc voltage of spray on steel and stainless in the textbook's table."""


@dataclass(frozen=True, slots=True)
class TransferFound:
    """Which transfer to expect, and the reckoning behind it."""

    transfer: Transfer
    result: Result


def spray_above_a(diameter_mm: float, metal: WireMetal = "steel") -> float:
    """Return the current above which drops spray, amperes, in nearly pure argon.

    Between the table's sizes by straight line; beyond them in proportion to the diameter.

    Raises
    ------
    QuantityError : diameter outside 0.5 to 2.0 mm

    Source
    ------
    Trade tables of globular-to-spray current (seen).

    >>> round(spray_above_a(0.9))
    167
    """
    inches = between(diameter_mm, 0.5, 2.0, "diameter_mm") / MM_PER_IN
    rows = sorted(SPRAY_ABOVE_A[metal].items())
    if inches <= rows[0][0]:
        return rows[0][1] * inches / rows[0][0]
    for (small, low_a), (large, high_a) in pairwise(rows):
        if inches <= large:
            return low_a + (high_a - low_a) * (inches - small) / (large - small)
    return rows[-1][1] * inches / rows[-1][0]


def transfer(
    current_a: float,
    arc_v: float,
    diameter_mm: float,
    argon_share: float,
    metal: WireMetal = "steel",
) -> TransferFound:
    """Return which transfer a solid wire will run, and what it was held against.

    Raises
    ------
    QuantityError : current or voltage not above zero, `argon_share` outside 0 to 1, or diameter
        outside 0.5 to 2.0 mm

    Source
    ------
    Spray current: trade tables; at least about 80 % argon for spray on steel: seen; short-circuit
    envelope of 50 to 225 A and 12 to 22 V: textbook, seen.

    >>> transfer(150.0, 18.0, 0.9, 0.75).transfer
    'short_circuit'
    """
    positive(current_a, "current_a")
    positive(arc_v, "arc_v")
    between(argon_share, 0.0, 1.0, "argon_share")
    least_a = spray_above_a(diameter_mm, metal)
    argon_enough = metal == "aluminium" or argon_share >= SPRAY_ARGON_SHARE
    least_v = 19.0 if metal == "aluminium" else SPRAY_FROM_V
    found: Transfer = "globular"
    why = "past the short-arc voltages, but not enough current or argon for spray"
    if argon_enough and current_a >= least_a and arc_v >= least_v:
        found, why = "spray", "enough current, voltage and argon"
    elif arc_v <= SHORT_ARC_V[1] and current_a <= SHORT_ARC_A[1] and metal != "aluminium":
        found, why = "short_circuit", "inside the short-circuit envelope"
    elif metal == "aluminium":
        why = "too little current or voltage for the spray that aluminium is run in"
    elif arc_v <= SHORT_ARC_V[1]:
        why = "too much current for short arc, too few volts for spray: harsh, with big drops"
    return TransferFound(
        found,
        Result(
            quantity="transfer",
            value=current_a,
            unit="A",
            says=f"{found.replace('_', ' ')}: {why}.",
            verdict="no_limit",
            how_sure=HowSure("The edges are soft: 10 % of current and a volt.", 0.10),
            limits=(
                Limit("spray above", least_a, "A", SHOP, "common_practice", "98 % argon"),
                Limit("spray needs argon share", SPRAY_ARGON_SHARE, "1", SHOP, "common_practice"),
                Limit("short arc up to", SHORT_ARC_A[1], "A", SHOP, "common_practice"),
                Limit("short arc up to", SHORT_ARC_V[1], "V", SHOP, "common_practice"),
            ),
            working=(
                f"{current_a:.0f} A against {least_a:.0f} A (spray)",
                f"{arc_v:.3g} V against {SHORT_ARC_V[1]:g} V (short arc) and {least_v:g} V (spray)",
                f"{argon_share:.0%} argon against {SPRAY_ARGON_SHARE:.0%}",
            ),
            notes=("With 10 to 20 % CO2 spray starts at some 10 to 20 % more current (memory).",),
        ),
    )
