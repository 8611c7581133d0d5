"""Feed against current: what the wire melts at, and which transfer that current and gas give."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import pi, sqrt
from typing import Literal

from diagnose.reckon.quantity import between, not_negative, positive
from diagnose.reckon.result import SHOP, HowSure, Limit, Result

Transfer = Literal["short_circuit", "globular", "spray"]
WireMetal = Literal["steel", "stainless", "aluminium"]

ARC_MM_S_A = 0.30
EXTENSION_PER_S_A2 = 5.0e-5
"""1.2 mm steel, positive: v[mm/s] = 0.30 I + 5.0e-5 L[mm] I². A textbook, from memory."""
FITTED_MM = 1.2
SHOP_RULE_IN_MIN_A: dict[float, float] = {0.024: 3.5, 0.030: 2.0, 0.035: 1.6, 0.045: 1.0}
"""Inches a minute per ampere, solid steel in short arc, by diameter in inches. Common practice."""
SHOP_RULE_RANGE_A: dict[float, tuple[float, float]] = {
    0.024: (50.0, 100.0),
    0.030: (50.0, 120.0),
    0.035: (50.0, 160.0),
    0.045: (80.0, 200.0),
}
"""Where the shop rule is used: the short arc of each wire. Judgement."""
BALANCE_EXTENSION_MM = 8.0
BALANCE_RELATIVE = 0.20
"""At 8 mm of extension and in that range, balance and shop rule differ by up to this."""
MM_PER_IN = 25.4

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


def mm_s_from_in_min(feed_in_min: float) -> float:
    """Return a feed in mm/s.

    Raises
    ------
    QuantityError : negative

    >>> mm_s_from_in_min(300.0)
    127.0
    """
    return not_negative(feed_in_min, "feed_in_min") * MM_PER_IN / 60.0


def in_min_from_mm_s(feed_mm_s: float) -> float:
    """Return a feed in inches a minute.

    Raises
    ------
    QuantityError : negative

    >>> in_min_from_mm_s(127.0)
    300.0
    """
    return not_negative(feed_mm_s, "feed_mm_s") * 60.0 / MM_PER_IN


def wire_area_mm2(diameter_mm: float) -> float:
    """Return the section of a solid wire, mm².

    Raises
    ------
    QuantityError : not above zero

    >>> round(wire_area_mm2(1.2), 3)
    1.131
    """
    return pi / 4.0 * positive(diameter_mm, "diameter_mm") ** 2


def wire_mass_g_m(diameter_mm: float, density_kg_m3: float = 7850.0) -> float:
    """Return the mass of a metre of solid wire, grams.

    Raises
    ------
    QuantityError : diameter or density not above zero

    >>> round(wire_mass_g_m(0.9), 2)
    4.99
    """
    return wire_area_mm2(diameter_mm) * positive(density_kg_m3, "density_kg_m3") / 1000.0


def melting_terms(diameter_mm: float) -> tuple[float, float]:
    """Return the arc term, mm/(s A), and the extension term, 1/(s A²), of a solid steel wire.

    Raises
    ------
    QuantityError : diameter outside 0.5 to 2.0 mm

    Source
    ------
    Textbook row for 1.2 mm (from memory); arc term with 1/area, extension term with 1/area².

    >>> [round(term, 7) for term in melting_terms(1.0)]
    [0.432, 0.0001037]
    """
    between(diameter_mm, 0.5, 2.0, "diameter_mm")
    ratio = wire_area_mm2(FITTED_MM) / wire_area_mm2(diameter_mm)
    return ARC_MM_S_A * ratio, EXTENSION_PER_S_A2 * ratio**2


def melting_feed_mm_s(current_a: float, diameter_mm: float, extension_mm: float) -> float:
    """Return the feed that a current melts, mm/s, solid steel, electrode positive.

    Raises
    ------
    QuantityError : current or extension not above zero, or diameter outside 0.5 to 2.0 mm

    Source
    ------
    v = a I + b L I² (AWS Welding Handbook, form; constants a textbook, from memory).

    >>> round(melting_feed_mm_s(200.0, 1.2, 15.0), 1)
    90.0
    """
    arc, extension = melting_terms(diameter_mm)
    positive(current_a, "current_a")
    return arc * current_a + extension * positive(extension_mm, "extension_mm") * current_a**2


def melting_current_a(feed_mm_s: float, diameter_mm: float, extension_mm: float) -> float:
    """Return the current that melts a feed, amperes, solid steel, electrode positive.

    Raises
    ------
    QuantityError : feed or extension not above zero, or diameter outside 0.5 to 2.0 mm

    Source
    ------
    The positive root of a I + b L I² = v.

    >>> round(melting_current_a(90.0, 1.2, 15.0), 6)
    200.0
    """
    arc, extension = melting_terms(diameter_mm)
    square = extension * positive(extension_mm, "extension_mm")
    feed = positive(feed_mm_s, "feed_mm_s")
    return 2.0 * feed / (arc + sqrt(arc**2 + 4.0 * square * feed))


def _shop_inches(diameter_mm: float) -> float | None:
    """The wire of the shop rule within 3 % of this one."""
    return next(
        (
            inches
            for inches in SHOP_RULE_IN_MIN_A
            if abs(inches * MM_PER_IN / diameter_mm - 1) < 0.03
        ),
        None,
    )


def shop_rule_current_a(feed_mm_s: float, diameter_mm: float) -> float | None:
    """Return the current by the shop rule, or None for a wire the rule does not name.

    Raises
    ------
    QuantityError : feed or diameter not above zero

    Source
    ------
    Common practice, inches a minute per ampere, short arc.

    >>> round(shop_rule_current_a(127.0, 0.889), 1)
    187.5
    """
    inches = _shop_inches(positive(diameter_mm, "diameter_mm"))
    feed_in_min = in_min_from_mm_s(positive(feed_mm_s, "feed_mm_s"))
    return None if inches is None else feed_in_min / SHOP_RULE_IN_MIN_A[inches]


def feed_current(feed_mm_s: float, diameter_mm: float, extension_mm: float) -> Result:
    """Return the current a feed will draw, by balance and by shop rule, with the spread shown.

    Raises
    ------
    QuantityError : feed or extension not above zero, or diameter outside 0.5 to 2.0 mm

    Source
    ------
    Melting-rate balance (from memory) and the shop rule (common practice).

    >>> feed_current(127.0, 0.889, 10.0).unit
    'A'
    """
    balance_a = melting_current_a(feed_mm_s, diameter_mm, extension_mm)
    rule_a = shop_rule_current_a(feed_mm_s, diameter_mm)
    arc, extension = melting_terms(diameter_mm)
    low_a, high_a = balance_a * (1.0 - BALANCE_RELATIVE), balance_a * (1.0 + BALANCE_RELATIVE)
    feed_in_min = in_min_from_mm_s(feed_mm_s)
    notes = [
        "Good for telling 100 A from 200 A and for seeing what stick-out does; not for a dial.",
        "Longer stick-out at the same feed: less current, less penetration.",
    ]
    inches = _shop_inches(diameter_mm)
    beside = ""
    if rule_a is not None and inches is not None:
        beside = f"; shop rule {rule_a:.0f} A ({rule_a / balance_a - 1.0:+.0%})"
        if rule_a > SHOP_RULE_RANGE_A[inches][1]:
            notes.append(
                f"The shop rule is for short arc to about {SHOP_RULE_RANGE_A[inches][1]:.0f} A; "
                "above that it says too much."
            )
    return Result(
        quantity="current for this feed",
        value=balance_a,
        unit="A",
        says=f"About {balance_a:.0f} A ({low_a:.0f} to {high_a:.0f} A) melt {feed_in_min:.0f} "
        f"in/min of {diameter_mm:.2g} mm wire at {extension_mm:g} mm extension{beside}.",
        verdict="no_limit",
        how_sure=HowSure(
            "Constants from memory; up to 20 % from the shop rule at 8 mm.", BALANCE_RELATIVE
        ),
        limits=(
            ()
            if rule_a is None
            else (Limit("shop rule, short arc", rule_a, "A", SHOP, "common_practice"),)
        ),
        working=(
            (
                f"v = a I + b L I²: {feed_mm_s:.1f} = {arc:.3g} I + {extension:.3g} x "
                f"{extension_mm:g} I²"
            ),
            f"I = 2 v / (a + √(a² + 4 b L v)) = {balance_a:.0f} A",
        ),
        notes=tuple(notes),
    )


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
                f"{current_a:g} A against {least_a:.0f} A",
                f"{arc_v:g} V against {SHORT_ARC_V[1]:g} V (short arc) and {least_v:g} V (spray)",
                f"{argon_share:.0%} argon against {SPRAY_ARGON_SHARE:.0%}",
            ),
            notes=("With 10 to 20 % CO2 spray starts at some 10 to 20 % more current (memory).",),
        ),
    )
