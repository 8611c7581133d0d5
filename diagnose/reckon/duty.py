"""How long at which current: the machine over ten minutes, the cable over its own five.

Hot restarts: only what the square law supports is said. A thermal time constant would tell more,
but no plate gives one, so none is guessed.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from math import log, sqrt

from diagnose.reckon.quantity import between, not_negative, positive
from diagnose.reckon.result import SHOP, HowSure, Limit, Result, held_at_most
from knowledge.errors import QuantityError
from knowledge.models import Basis

MACHINE_PERIOD_S = 600.0
"""IEC 60974-1 3.37: duty is counted over ten minutes."""
CABLE_PERIOD_S = 300.0
"""BS 638-4 and European practice: five minutes."""
CABLE_CONTINUOUS_A: dict[float, float] = {
    16.0: 80.0,
    25.0: 103.0,
    35.0: 129.0,
    50.0: 167.0,
    70.0: 205.0,
    95.0: 251.0,
}
"""IS 9857, rubber cable, copper, at 100 % duty, by mm² (60 °C conductor)."""
CABLE_UP_TO_MM2 = 120.0
CABLE_RELATIVE = 0.55
"""Of duty: half as many amperes again are 2.25 times the duty. From memory of the 85 °C tables."""
CABLE_DERIVED_MM2 = (16.0,)
"""The copy misprints this one; it follows from its other columns by the square law."""


@dataclass(frozen=True, slots=True)
class Spell:
    """A stretch of welding that began `began_s_ago` and lasted `lasted_s`."""

    began_s_ago: float
    lasted_s: float
    current_a: float


def duty_from_on_time(on_s: float, period_s: float) -> float:
    """Return the share of a period that the arc burns, 0 to 1.

    Raises
    ------
    QuantityError : period not above zero, or more time on than the period has

    Source
    ------
    IEC 60974-1 3.37: 60 % of ten minutes is six on, four off.

    >>> duty_from_on_time(360.0, 600.0)
    0.6
    """
    positive(period_s, "period_s")
    return between(on_s, 0.0, period_s, "on_s") / period_s


def duty_at_current(rated_a: float, rated_duty: float, current_a: float) -> float:
    """Return the duty allowed at another current, 0 to 1.

    Raises
    ------
    QuantityError : a current not above zero, or `rated_duty` outside 0 to 1

    Source
    ------
    Equal mean square of current: duty = rated duty x (rated / current)².

    >>> round(duty_at_current(300.0, 0.60, 350.0), 3)
    0.441
    """
    _rating(rated_a, rated_duty)
    return min(1.0, rated_duty * (rated_a / positive(current_a, "current_a")) ** 2)


def current_at_duty(rated_a: float, rated_duty: float, duty: float) -> float:
    """Return the current allowed at another duty, amperes.

    Raises
    ------
    QuantityError : current not above zero, or a duty not in 0 to 1

    Source
    ------
    Equal mean square of current: I = rated x √(rated duty / duty). Below the rated duty the law
    still gives a figure, but the machine's own greatest output may end it sooner.

    >>> round(current_at_duty(300.0, 0.60, 1.0))
    232
    """
    _rating(rated_a, rated_duty)
    between(duty, 0.0, 1.0, "duty")
    return rated_a * sqrt(rated_duty / positive(duty, "duty"))


def machine_duty(rated_a: float, rated_duty: float, current_a: float, used_duty: float) -> Result:
    """Hold the duty in use against what the machine, gun or clamp allows at this current.

    Raises
    ------
    QuantityError : a current not above zero, or a duty outside 0 to 1

    Source
    ------
    Square law of current over ten minutes, IEC 60974-1 3.37.

    >>> machine_duty(250.0, 0.60, 300.0, 0.60).verdict
    'bad'
    """
    between(used_duty, 0.0, 1.0, "used_duty")
    allowed = duty_at_current(rated_a, rated_duty, current_a)
    limit = Limit(
        f"duty allowed at {current_a:g} A",
        allowed,
        "1",
        "iec_60974_1",
        "published",
        "definition 3.37 and the rating plate",
    )
    return _duty_result("machine", (rated_a, rated_duty), current_a, used_duty, limit)


def cable_rating_a(area_mm2: float, duty: float) -> float:
    """Return the rating of rubber weld cable at a duty over five minutes, amperes.

    Between the listed sizes by a power of the area, and so up to 120 mm² (judgement).

    Raises
    ------
    QuantityError : under 16 or above 120 mm², or duty not in 0 to 1

    Source
    ------
    IS 9857 as reprinted: 100 % figures, and I = I100 / √duty, which fits every cell within 1 A.

    >>> round(cable_rating_a(50.0, 0.60)), round(cable_rating_a(53.5, 0.60))
    (216, 225)
    """
    sizes = sorted(CABLE_CONTINUOUS_A)
    if not sizes[0] <= area_mm2 <= CABLE_UP_TO_MM2:
        raise QuantityError(
            f"no rating is known for {area_mm2:.4g} mm²",
            where="area_mm2",
            next_step=f"Read the cable's own mark. Known: {sizes[0]:g} to {CABLE_UP_TO_MM2:g} mm².",
        )
    low, high = next((pair for pair in pairwise(sizes) if area_mm2 <= pair[1]), sizes[-2:])
    low_a, high_a = CABLE_CONTINUOUS_A[low], CABLE_CONTINUOUS_A[high]
    power = log(high_a / low_a) / log(high / low)
    return current_at_duty(low_a * (area_mm2 / low) ** power, 1.0, duty)


def cable_duty(area_mm2: float, current_a: float, used_duty: float) -> Result:
    """Hold the duty in use against the cable's own rating over its five-minute period.

    Raises
    ------
    QuantityError : a size without a rating, current not above zero, or duty outside 0 to 1

    Source
    ------
    IS 9857 as reprinted; five-minute period: BS 638-4.

    >>> cable_duty(35.0, 200.0, 0.35).verdict
    'good'
    """
    between(used_duty, 0.0, 1.0, "used_duty")
    continuous_a = cable_rating_a(area_mm2, 1.0)
    allowed = duty_at_current(continuous_a, 1.0, current_a)
    listed = area_mm2 in CABLE_CONTINUOUS_A and area_mm2 not in CABLE_DERIVED_MM2
    basis: Basis = "published" if listed else "judgement"
    limit = Limit(
        f"duty allowed at {current_a:g} A",
        allowed,
        "1",
        "is_9857",
        basis,
        "as reprinted" if listed else "between its sizes",
    )
    made = _duty_result("cable", (continuous_a, 1.0), current_a, used_duty, limit)
    rated = f"{area_mm2:.4g} mm² without a rest: {continuous_a:.0f} A"
    return replace(
        made,
        how_sure=HowSure(
            "Rubber cable to 60 °C. One marked for 85 °C bears up to half as many amperes again: "
            "its own mark comes first.",
            CABLE_RELATIVE,
        ),
        verdict=held_at_most(used_duty, allowed, allowed, CABLE_RELATIVE),
        working=(rated, *made.working),
    )


def restart(
    rated_a: float, rated_duty: float, current_a: float, spells: tuple[Spell, ...]
) -> Result:
    """Return how many seconds may be welded now, given the welding of the last ten minutes.

    Raises
    ------
    QuantityError : an impossible rating, current or spell, or spells that overlap

    Source
    ------
    Square law over the running ten minutes; no time constant is assumed.

    >>> restart(200.0, 0.60, 200.0, (Spell(300.0, 300.0, 200.0),)).value
    60.0
    """
    _rating(rated_a, rated_duty)
    positive(current_a, "current_a")
    _no_overlap(spells)
    budget = rated_duty * rated_a**2 * MACHINE_PERIOD_S
    left_s = _seconds_left(budget, current_a, spells)
    fresh_s = min(MACHINE_PERIOD_S, budget / current_a**2)
    rest_s = MACHINE_PERIOD_S - fresh_s
    used = sum(_inside_s(spell) * spell.current_a**2 for spell in spells)
    return Result(
        quantity="welding time left now",
        value=left_s,
        unit="s",
        says=f"{left_s:.0f} s at {current_a:g} A now; from cold {fresh_s:.0f} s in ten minutes, "
        f"then {rest_s:.0f} s rest.",
        verdict="no_limit",
        how_sure=HowSure(
            "Mean square over ten minutes is all the plate supports; a hot room gives less.", 0.15
        ),
        limits=(
            Limit(
                "duty period", MACHINE_PERIOD_S, "s", "iec_60974_1", "published", "definition 3.37"
            ),
            Limit("rating plate", rated_duty, "1", SHOP, "common_practice", f"at {rated_a:g} A"),
        ),
        working=(
            f"allowed = duty I² t = {rated_duty:g} x {rated_a:g}² x 600 = {budget:.3g} A²s",
            f"used in the last ten minutes = {used:.3g} A²s",
            f"left = what no ten minutes may exceed, at {current_a:g} A = {left_s:.0f} s",
        ),
        notes=(
            "After a thermal stop leave the fan running: it usually resets in 5 to 15 minutes.",
            "One that comes back at once, or never resets, is not heat.",
        ),
    )


def _rating(rated_a: float, rated_duty: float) -> None:
    positive(rated_a, "rated_a")
    between(positive(rated_duty, "rated_duty"), 0.0, 1.0, "rated_duty")


def _duty_result(
    what: str, rating: tuple[float, float], current_a: float, used: float, limit: Limit
) -> Result:
    rated_a, rated_duty = rating
    allowed = limit.value
    minutes = (MACHINE_PERIOD_S if what == "machine" else CABLE_PERIOD_S) / 60.0
    return Result(
        quantity=f"{what} duty",
        value=used,
        unit="1",
        says=f"{used:.0%} in use, {allowed:.0%} allowed at {current_a:g} A: "
        f"{allowed * minutes:.1f} of {minutes:g} minutes.",
        verdict=held_at_most(used, allowed, allowed, 0.10),
        how_sure=HowSure("Square law; ambient up to 40 °C and clean air paths assumed.", 0.10),
        limits=(limit,),
        working=(
            f"X = Xr (Ir / I)² = {rated_duty:g} x ({rated_a:.4g} / {current_a:g})² = {allowed:.3f}"
            + (" (held at 1)" if allowed == 1.0 else ""),
            f"{allowed:.3f} x {minutes:g} min = {allowed * minutes:.1f} min on",
        ),
    )


def _no_overlap(spells: tuple[Spell, ...]) -> None:
    end_s = None
    for spell in sorted(spells, key=lambda one: -one.began_s_ago):
        not_negative(spell.current_a, "current_a")
        between(spell.lasted_s, 0.0, not_negative(spell.began_s_ago, "began_s_ago"), "lasted_s")
        if end_s is not None and spell.began_s_ago > end_s + 1e-9:
            raise QuantityError("two spells of welding overlap", where="spells")
        end_s = spell.began_s_ago - spell.lasted_s


def _inside_s(spell: Spell, ahead_s: float = 0.0) -> float:
    """Seconds of a spell inside the ten minutes that end `ahead_s` from now."""
    began = min(spell.began_s_ago, MACHINE_PERIOD_S - ahead_s)
    ended = spell.began_s_ago - spell.lasted_s
    return max(0.0, began - ended)


def _seconds_left(budget: float, current_a: float, spells: tuple[Spell, ...]) -> float:
    """Longest welding from now for which the ten minutes that end with it stay in the budget.

    Old spells fall out of the window while the new one runs, so the sum is piecewise straight: it
    can only cross the budget between the corners, which are where a spell starts or stops leaving.
    """
    corners = {0.0, MACHINE_PERIOD_S}
    for spell in spells:
        for edge_s in (spell.began_s_ago, spell.began_s_ago - spell.lasted_s):
            if edge_s < MACHINE_PERIOD_S:
                corners.add(MACHINE_PERIOD_S - edge_s)

    def over(ahead_s: float) -> float:
        old = sum(_inside_s(spell, ahead_s) * spell.current_a**2 for spell in spells)
        return old + current_a**2 * ahead_s - budget

    slack = 1e-9 * budget
    if over(0.0) > slack:
        return 0.0
    for start, end in pairwise(sorted(corners)):
        if over(end) > slack:
            under = max(0.0, -over(start))
            return start + (end - start) * under / (under + over(end))
    return MACHINE_PERIOD_S
