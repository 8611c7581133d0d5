"""Volts at the machine: what its cord takes, what is left under load, and its protective earth.

Everything behind the plug is an electrician's work. These sums tell whether to call one.
"""

from __future__ import annotations

from math import ceil, sqrt

from diagnose.reckon.conductor import of_area, resistance_ohm, temperature_factor
from diagnose.reckon.quantity import not_negative, positive
from diagnose.reckon.result import SHOP, HowSure, Limit, Result, held_at_most
from knowledge.errors import QuantityError

SAG_GOOD = 0.05
SAG_BAD = 0.10
SUPPLY_TOLERANCE = 0.10


def cord_drop_v(
    current_a: float,
    length_m: float,
    area_mm2: float,
    *,
    phases: int = 1,
    temperature_c: float = 40.0,
) -> float:
    """Return the line voltage lost in a supply cord, volts; power factor taken as one.

    Raises
    ------
    QuantityError : negative current or length, area not above zero, or neither 1 nor 3 phases

    Source
    ------
    2 I R for one phase, √3 I R for three; copper by table or resistivity.

    >>> round(cord_drop_v(30.0, 30.0, 3.31), 1)
    10.3
    """
    if phases not in {1, 3}:
        raise QuantityError(f"{phases} phases", where="phases", next_step="Give 1 or 3.")
    ohm = resistance_ohm(of_area(area_mm2), length_m, temperature_c)
    return not_negative(current_a, "current_a") * ohm * (2.0 if phases == 1 else sqrt(3.0))


def supply_under_load(idle_v: float, load_v: float, plate_v: float) -> Result:
    """Hold the voltage at the machine under its own load against idle and against the plate.

    Raises
    ------
    QuantityError : a voltage not above zero, or load above idle by more than 5 %

    Source
    ------
    Sag under 5 % good, more than 10 % below the plate suspect: common practice and memory.

    >>> supply_under_load(480.0, 425.0, 480.0).verdict
    'bad'
    """
    positive(plate_v, "plate_v")
    sag = 1.0 - positive(load_v, "load_v") / positive(idle_v, "idle_v")
    if sag < -0.05:
        raise QuantityError(
            f"{load_v:g} V under load is more than {idle_v:g} V idle",
            where="load_v",
            next_step="Read both again at the same terminals; the two may be swapped.",
        )
    below_plate = 1.0 - load_v / plate_v
    worst = max(sag, below_plate)
    return Result(
        quantity="supply voltage at the machine under load",
        value=load_v,
        unit="V",
        says=f"Falls {sag:.1%} from idle to load; {abs(below_plate):.1%} "
        f"{'below' if below_plate >= 0.0 else 'above'} its plate.",
        verdict="good"
        if sag <= SAG_GOOD and below_plate <= SUPPLY_TOLERANCE
        else held_at_most(worst, SAG_GOOD, SAG_BAD, 0.1),
        how_sure=HowSure("Meter 1 %; the load must be the full one.", 0.02),
        limits=(
            Limit("sag from idle, good under", SAG_GOOD, "1", SHOP, "common_practice"),
            Limit("below the plate", SUPPLY_TOLERANCE, "1", "iec_60974_1", "from_memory"),
        ),
        working=(
            f"sag = 1 - {load_v:g} / {idle_v:g} = {sag:.3f}",
            f"below plate = 1 - {load_v:g} / {plate_v:g} = {below_plate:.3f}",
        ),
        notes=("Read at the machine by an electrician, never by taking covers off oneself.",),
    )


def cord(
    current_a: float,
    length_m: float,
    area_mm2: float,
    supply_v: float,
    *,
    phases: int = 1,
    temperature_c: float = 40.0,
) -> Result:
    """Return the voltage left at the machine behind an extension cord, and judge the loss.

    Raises
    ------
    QuantityError : an impossible cord or current, or a drop of more than the supply

    Source
    ------
    Ohm's law; sag under 5 % good, above 10 % bad: common practice.

    >>> cord(30.0, 30.0, 3.31, 230.0).verdict
    'good'
    """
    lost_v = cord_drop_v(current_a, length_m, area_mm2, phases=phases, temperature_c=temperature_c)
    if lost_v >= positive(supply_v, "supply_v"):
        raise QuantityError("this cord would take all the voltage", where="length_m")
    cable = of_area(area_mm2)
    ohm = resistance_ohm(cable, length_m, temperature_c)
    share = lost_v / supply_v
    paths = "2" if phases == 1 else "√3"
    return Result(
        quantity="voltage left behind the cord",
        value=supply_v - lost_v,
        unit="V",
        says=f"The cord takes {lost_v:.1f} V of {supply_v:g} V ({share:.1%}).",
        verdict=held_at_most(share, SAG_GOOD, SAG_BAD, 0.1),
        how_sure=HowSure("Copper at the stated warmth, power factor one, plugs not counted.", 0.1),
        limits=(
            Limit("loss good under", SAG_GOOD * supply_v, "V", SHOP, "common_practice"),
            Limit("loss bad above", SAG_BAD * supply_v, "V", SHOP, "common_practice"),
        ),
        working=(
            f"R = {cable.ohm_km_20c:.3g} mΩ/m x {length_m:.4g} m x "
            f"{temperature_factor(temperature_c):.3f} for {temperature_c:g} °C = {1000.0 * ohm:.1f} mΩ",
            f"V = {paths} I R = {paths} x {current_a:g} A x {1000.0 * ohm:.1f} mΩ = {lost_v:.1f} V",
            f"left = {supply_v:g} - {lost_v:.1f} = {supply_v - lost_v:.1f} V",
        ),
        notes=("A coiled cord runs hotter: lay it out.",),
    )


def protective_conductor_limit_ohm(cord_length_m: float) -> float:
    """Return the greatest protective-conductor resistance of a cord-fed machine in service, ohms.

    Raises
    ------
    QuantityError : negative length

    Source
    ------
    IEC 60974-4:2016 5.2: 0.3 up to 5 m, 0.1 more for each further 7.5 m, at most 1.0 (cords up to
    16 A). "Each further" is read as each begun one.

    >>> round(protective_conductor_limit_ohm(20.0), 1)
    0.5
    """
    further_m = max(0.0, not_negative(cord_length_m, "cord_length_m") - 5.0)
    return min(1.0, 0.3 + 0.1 * ceil(further_m / 7.5 - 1e-9))


def protective_earth(measured_ohm: float, cord_length_m: float) -> Result:
    """Hold an electrician's reading of the protective earth against its limit in service.

    Raises
    ------
    QuantityError : negative resistance or length

    Source
    ------
    IEC 60974-4:2016 5.2.

    >>> [protective_earth(ohm, 5.0).verdict for ohm in (0.2, 0.31, 0.6)]
    ['good', 'suspect', 'bad']
    """
    limit_ohm = protective_conductor_limit_ohm(cord_length_m)
    return Result(
        quantity="protective earth",
        value=not_negative(measured_ohm, "measured_ohm"),
        unit="ohm",
        says=f"{measured_ohm:.3g} Ω against at most {limit_ohm:.2g} Ω at {cord_length_m:.4g} m of cord.",
        verdict=held_at_most(measured_ohm, limit_ohm, limit_ohm, 0.1),
        how_sure=HowSure("Read by an electrician with the set unplugged; cords up to 16 A.", 0.1),
        limits=(Limit("at most, in service", limit_ohm, "ohm", "iec_60974_4", "published", "5.2"),),
        working=(
            f"0.3 Ω up to 5 m, 0.1 Ω more for each 7.5 m begun, at most 1 Ω: {limit_ohm:.2g} Ω "
            f"for {cord_length_m:.4g} m",
        ),
        notes=(
            "A path that reads well can still be one strand: its clamp and pin are looked at too.",
        ),
    )
