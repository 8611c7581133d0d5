"""Feed against current: what the wire melts at, by balance and by the shop rule."""

from __future__ import annotations

from math import pi, sqrt

from diagnose.reckon.quantity import between, not_negative, positive
from diagnose.reckon.result import SHOP, HowSure, Limit, Result

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


def _shop_working(feed_mm_s: float, inches: float | None, rule_a: float | None) -> tuple[str, ...]:
    if inches is None or rule_a is None:
        return ()
    return (
        f"shop rule: {in_min_from_mm_s(feed_mm_s):.0f} in/min / {SHOP_RULE_IN_MIN_A[inches]:g} "
        f"= {rule_a:.0f} A",
    )


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
        says=f"About {balance_a:.0f} A ({low_a:.0f} to {high_a:.0f} A) melt "
        f"{0.06 * feed_mm_s:.2f} m/min of {diameter_mm:.3g} mm wire at {extension_mm:.3g} mm "
        f"extension{beside}.",
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
                f"{extension_mm:.3g} I²"
            ),
            f"I = 2 v / (a + √(a² + 4 b L v)) = {balance_a:.0f} A",
            f"spread of {BALANCE_RELATIVE:.0%}: {low_a:.0f} to {high_a:.0f} A",
            *_shop_working(feed_mm_s, inches, rule_a),
        ),
        notes=tuple(notes),
    )
