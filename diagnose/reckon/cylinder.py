"""What a cylinder holds, how long it lasts, and what leaks away."""

from __future__ import annotations

from diagnose.reckon.gas import HEAT_RATIO, L_MIN_PER_CFH
from diagnose.reckon.quantity import not_negative, positive
from diagnose.reckon.result import SHOP, HowSure, Limit, Result, Verdict, held_at_most
from knowledge.errors import QuantityError

ATMOSPHERE_BAR = 1.01325
CO2_L_PER_KG = 8.74 * 28.316846592 / 0.45359237
"""8.74 ft³/lb as gas; a web guide, seen."""
FREEZE_CFH = (25.0, 35.0)
"""Continuous draw at which one CO2 cylinder's regulator starts to freeze. Common practice."""
NEARLY_EMPTY_BAR = 10.0


def gas_held_l(volume_l: float, pressure_bar: float) -> float:
    """Return the gas that will flow out of a cylinder of compressed gas, litres at one atmosphere.

    Raises
    ------
    QuantityError : volume not above zero, or negative gauge pressure

    Source
    ------
    Boyle's law with gauge pressure, V P / P_atm; a few per cent off above 150 bar.

    >>> round(gas_held_l(29.5, 137.9))
    4015
    """
    held = positive(volume_l, "volume_l") * not_negative(pressure_bar, "pressure_bar")
    return held / ATMOSPHERE_BAR


def co2_held_l(mass_kg: float) -> float:
    """Return the gas that a mass of liquid CO2 gives, litres at one atmosphere.

    Raises
    ------
    QuantityError : negative mass

    Source
    ------
    8.74 ft³/lb (web guide).

    >>> round(co2_held_l(22.68) / 28.3168)
    437
    """
    return not_negative(mass_kg, "mass_kg") * CO2_L_PER_KG


def cylinder_life(held_l: float, flow_l_min: float, *, liquid_co2: bool = False) -> Result:
    """Return how long the gas lasts at a continuous flow, hours.

    Raises
    ------
    QuantityError : negative gas, or flow not above zero

    Source
    ------
    Volume over flow; freezing of a CO2 cylinder at 25 to 35 cfh: common practice.

    >>> round(cylinder_life(8495.0, 16.52).value, 2)
    8.57
    """
    hours = not_negative(held_l, "held_l") / positive(flow_l_min, "flow_l_min") / 60.0
    freeze = tuple(cfh * L_MIN_PER_CFH for cfh in FREEZE_CFH)
    verdict: Verdict = "no_limit"
    limits: tuple[Limit, ...] = ()
    notes = [f"Compressed mixes are nearly empty at about {NEARLY_EMPTY_BAR:g} bar."]
    if liquid_co2:
        verdict = "suspect" if flow_l_min > freeze[1] else "good"
        limits = (
            Limit("may freeze from", freeze[0], "L/min", SHOP, "common_practice"),
            Limit("freezes from", freeze[1], "L/min", SHOP, "common_practice"),
        )
        notes = [
            "CO2's gauge stays near vapour pressure until the liquid is gone: weigh the cylinder.",
            f"{flow_l_min:.3g} L/min from one cylinder; that limit is for hours, not tacks.",
        ]
    return Result(
        quantity="time the cylinder lasts",
        value=hours,
        unit="h",
        says=f"{held_l:.0f} L at {flow_l_min:.4g} L/min last {hours:.1f} h of open valve.",
        verdict=verdict,
        how_sure=HowSure("Gauge and meter within 10 % each.", 0.15),
        limits=limits,
        working=(f"t = V / q = {held_l:.0f} L / {flow_l_min:.4g} L/min / 60 = {hours:.2f} h",),
        notes=tuple(notes),
    )


def leak_l_min(volume_l: float, fall_bar: float, minutes: float) -> float:
    """Return what leaks from a shut-in volume whose pressure falls, litres a minute.

    Raises
    ------
    QuantityError : volume or time not above zero, or negative fall

    Source
    ------
    Isothermal decay: q = V Δp / (p_atm t).

    >>> round(leak_l_min(0.5, 1.0, 2.0), 3)
    0.247
    """
    fall = not_negative(fall_bar, "fall_bar")
    held = positive(volume_l, "volume_l") * fall / ATMOSPHERE_BAR
    return held / positive(minutes, "minutes")


def leak(
    volume_l: float, fall_bar: float, minutes: float, limit_l_min: float | None = None
) -> Result:
    """Return the leak rate; judged only against a limit the user sets, for no standard has one.

    Raises
    ------
    QuantityError : volume, time or limit not above zero, or negative fall

    Source
    ------
    Isothermal decay; no pass figure was found in any text.

    >>> leak(0.5, 1.0, 2.0).verdict
    'no_limit'
    """
    rate = leak_l_min(volume_l, fall_bar, minutes)
    verdict: Verdict = "no_limit"
    limits: tuple[Limit, ...] = ()
    if limit_l_min is not None:
        bound = positive(limit_l_min, "limit_l_min")
        verdict = held_at_most(rate, bound, bound, 0.2)
        limits = (Limit("limit set by the user", bound, "L/min", SHOP, "judgement"),)
    return Result(
        quantity="leak rate",
        value=rate,
        unit="L/min",
        says=f"{rate:.3g} L/min leak away, {rate * 1440:.0f} L a day if the cylinder stays open.",
        verdict=verdict,
        how_sure=HowSure("The hose gives and warms; the volume is a guess.", 0.2),
        limits=limits,
        working=(
            "q = V Δp / (p_atm t)",
            f"q = {volume_l:.4g} x {fall_bar:.4g} / (1.013 x {minutes:g}) = {rate:.3g} L/min",
        ),
        notes=("A leak that lets gas out also lets air in while the gas is off.",),
    )


def choked_ratio(gas: str) -> float:
    """Return downstream over upstream absolute pressure below which an orifice sets the flow alone.

    Raises
    ------
    QuantityError : the heat ratio of the gas is not known

    Source
    ------
    (2 / (g + 1))^(g / (g - 1)) with g the ratio of specific heats.

    >>> round(choked_ratio("Ar"), 3), round(choked_ratio("CO2"), 3)
    (0.487, 0.546)
    """
    if gas not in HEAT_RATIO:
        known = ", ".join(HEAT_RATIO)
        raise QuantityError(f"'{gas}' has no heat ratio here", where="gas", next_step=known)
    gamma = HEAT_RATIO[gas]
    return float((2.0 / (gamma + 1.0)) ** (gamma / (gamma - 1.0)))
