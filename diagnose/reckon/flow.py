"""Shielding flow against process, nozzle and wind, and whether it arrives at the nozzle."""

from __future__ import annotations

from typing import Literal

from diagnose.reckon.gas import FLOAT_RELATIVE
from diagnose.reckon.quantity import not_negative, positive
from diagnose.reckon.result import SHOP, HowSure, Limit, Result, Verdict, held_at_least

Duty = Literal["short_arc", "spray_or_cored", "self_shielded"]

FLOW_L_MIN: dict[Duty, tuple[float, float, float, float]] = {
    "short_arc": (7.0, 9.0, 16.5, 18.0),
    "spray_or_cored": (11.0, 14.0, 20.0, 24.0),
}
"""Suspect under, usual from, usual to, suspect above. Common practice and judgement; 16.5 is the 35 cfh
to which textbooks go for plate of 9.6 mm."""
STARVED_L_MIN: dict[Duty, float] = {"short_arc": 4.0, "spray_or_cored": 5.0}
"""Under this bad: 5 L/min was the least sound flow of a cored wire in trials; 4 is judgement."""
CROWDED_L_MIN = 24.0
CROWDED_BORE_MM = 13.0
"""Trouble is usually reported above 24 L/min through 13 mm. Common practice."""
WIND_CLAUSE_M_S = 5.0 * 1609.344 / 3600.0
WIND_USUAL_M_S = 2.0


def flow_window(flow_l_min: float, duty: Duty, bore_mm: float = 0.0) -> Result:
    """Hold a flow against the window of the process and, where given, the nozzle's bore.

    Raises
    ------
    QuantityError : negative flow or bore

    Source
    ------
    Common practice and judgement; least sound flow of a cored wire: published trials.

    >>> [flow_window(q, "short_arc", 12.7).verdict for q in (3.0, 8.0, 15.0, 25.0)]
    ['bad', 'good', 'good', 'suspect']
    """
    not_negative(flow_l_min, "flow_l_min")
    not_negative(bore_mm, "bore_mm")
    if duty == "self_shielded":
        return _no_gas_wanted(flow_l_min)
    low, usual_low, usual_high, high = FLOW_L_MIN[duty]
    crowded = CROWDED_L_MIN * bore_mm / CROWDED_BORE_MM if bore_mm else high
    top = min(high, crowded)
    verdict: Verdict = held_at_least(flow_l_min, low, STARVED_L_MIN[duty], FLOAT_RELATIVE)
    if flow_l_min > top:
        verdict = "suspect"
    says = f"{flow_l_min:.4g} L/min: "
    if flow_l_min < low:
        says += "too little to cover the pool."
    elif flow_l_min > top:
        says += "so much that it may whirl and pull air in."
    elif usual_low <= flow_l_min <= usual_high:
        says += "as usual."
    else:
        says += "outside the usual, no fault by itself."
    trials: Limit = Limit("least in trials, cored", 5.0, "L/min", "shield_gas_trials", "published")
    return Result(
        quantity="shielding gas flow",
        value=flow_l_min,
        unit="L/min",
        says=says,
        verdict=verdict,
        how_sure=HowSure("Windows are trade practice; meter within 10 %.", FLOAT_RELATIVE),
        limits=(
            Limit("suspect under", low, "L/min", SHOP, "judgement"),
            Limit("usual from", usual_low, "L/min", SHOP, "common_practice"),
            Limit("usual to", usual_high, "L/min", SHOP, "common_practice"),
            Limit("suspect above, this bore", top, "L/min", SHOP, "judgement"),
            trials,
        ),
        working=_held(flow_l_min, low, high, bore_mm),
    )


def _held(flow_l_min: float, low: float, high: float, bore_mm: float) -> tuple[str, ...]:
    steps = [f"at least {low:g} L/min, at most {high:g} L/min"]
    if bore_mm:
        crowded = CROWDED_L_MIN * bore_mm / CROWDED_BORE_MM
        steps.append(
            f"this bore is crowded above {CROWDED_L_MIN:g} L/min x {bore_mm:g} / "
            f"{CROWDED_BORE_MM:g} = {crowded:.1f} L/min"
        )
        high = min(high, crowded)
    inside = "inside" if low <= flow_l_min <= high else "outside"
    steps.append(f"{flow_l_min:.4g} is {inside} {low:g} to {high:.4g} L/min")
    return tuple(steps)


def wind(wind_m_s: float, gas_shielded: bool) -> Result:
    """Hold the wind at the weld against what shielding gas stands.

    Raises
    ------
    QuantityError : negative wind

    Source
    ------
    AWS D1.1: 5 mph for GMAW, GTAW, EGW and FCAW-G; it does not name FCAW-S.

    >>> wind(3.5, gas_shielded=True).verdict, wind(3.5, gas_shielded=False).verdict
    ('bad', 'no_limit')
    """
    not_negative(wind_m_s, "wind_m_s")
    clause = Limit("structural code, gas-shielded", WIND_CLAUSE_M_S, "m/s", "aws_d1_1", "published")
    usual = Limit("gas holds up to about", WIND_USUAL_M_S, "m/s", SHOP, "from_memory")
    verdict: Verdict = "no_limit"
    says = "The wind clause does not name self-shielded wire; a strong wind still brings pores."
    if gas_shielded:
        says = f"{wind_m_s:.3g} m/s at a gas-shielded weld."
        verdict = "good" if wind_m_s <= WIND_USUAL_M_S else "suspect"
        if wind_m_s * 0.8 > WIND_CLAUSE_M_S:
            verdict = "bad"
    return Result(
        quantity="wind at the weld",
        value=wind_m_s,
        unit="m/s",
        says=says,
        verdict=verdict,
        how_sure=HowSure("Wind gusts; a guess by hand is within 20 % at best.", 0.2),
        limits=(usual, clause) if gas_shielded else (),
        working=(
            f"5 mph = 5 x 1609.344 / 3600 = {WIND_CLAUSE_M_S:.2f} m/s",
            f"this wind: {wind_m_s:.3g} m/s",
        ),
        notes=("More flow cures only a little; a screen cures it.",) if gas_shielded else (),
    )


def nozzle_against_meter(nozzle_l_min: float, meter_l_min: float) -> Result:
    """Hold the flow measured at the nozzle against the flow at the meter.

    Raises
    ------
    QuantityError : negative flow at the nozzle, or meter flow not above zero

    Source
    ------
    Common practice: within 10 % or 2 L/min; 20 % low is a leak or a blockage (judgement).

    >>> [nozzle_against_meter(q, 15.0).verdict for q in (13.2, 12.0, 6.0)]
    ['good', 'suspect', 'bad']
    """
    missing = positive(meter_l_min, "meter_l_min") - not_negative(nozzle_l_min, "nozzle_l_min")
    share = missing / meter_l_min
    allowed = max(0.10 * meter_l_min, 2.0)
    verdict: Verdict = "good"
    if abs(missing) > allowed:
        verdict = "bad" if share > 0.20 + FLOAT_RELATIVE else "suspect"
    return Result(
        quantity="flow missing between meter and nozzle",
        value=missing,
        unit="L/min",
        says=f"{nozzle_l_min:.4g} L/min of {meter_l_min:.4g} L/min arrives: "
        f"{abs(share):.0%} {'missing' if missing >= 0.0 else 'too much'}.",
        verdict=verdict,
        how_sure=HowSure("Two meters, 10 % each at worst.", FLOAT_RELATIVE),
        limits=(
            Limit("difference that means nothing", allowed, "L/min", SHOP, "common_practice"),
            Limit("leak or blockage from", 0.20 * meter_l_min, "L/min", SHOP, "judgement"),
        ),
        working=(f"missing = {meter_l_min:.4g} - {nozzle_l_min:.4g} = {missing:.2f} L/min",),
        notes=(
            ("More at the nozzle than at the meter: check both scales are for this gas.",)
            if missing < -allowed
            else ()
        ),
    )


def _no_gas_wanted(flow_l_min: float) -> Result:
    return Result(
        quantity="shielding gas flow",
        value=flow_l_min,
        unit="L/min",
        says="This wire makes its own shield: no gas belongs here.",
        verdict="no_limit",
        how_sure=HowSure("By classification of the wire.", 0.0),
    )
