"""The weld circuit as a series: every lead, every joint, the total, and the cable that meets it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from diagnose.reckon.conductor import (
    CLASS_5_6_OHM_KM_20C,
    NEC_OHM_KFT_75C,
    Conductor,
    Metal,
    awg,
    circular_mils,
    metric,
    of_area,
    resistance_ohm,
    temperature_factor,
)
from diagnose.reckon.quantity import not_negative, positive
from diagnose.reckon.result import SHOP, HowSure, Limit, Result, held_at_most
from knowledge.errors import QuantityError

Side = Literal["electrode", "work"]
Sizes = Literal["metric", "awg"]

TARGET_V = 4.0
COMFORTABLE_V = 2.0
CIRCULAR_MILS_PER_AMPERE = 300.0
TARGET = Limit(
    "usual ceiling for leads and joints", TARGET_V, "V", "aws_fact_sheet_39", "published"
)
COMFORTABLE = Limit("comfortable for short arc", COMFORTABLE_V, "V", SHOP, "judgement")
FLOOR = Limit(
    "least conductor for the current",
    CIRCULAR_MILS_PER_AMPERE,
    "circular mil/A",
    SHOP,
    "common_practice",
)


@dataclass(frozen=True, slots=True)
class Lead:
    """One length of weld cable. `area_mm2` may be a metric size or that of a gauge."""

    name: str
    side: Side
    length_m: float
    area_mm2: float
    temperature_c: float = 20.0
    metal: Metal = "copper"


@dataclass(frozen=True, slots=True)
class Joint:
    """A lug, plug, clamp or contact in the circuit."""

    name: str
    side: Side
    resistance_ohm: float


@dataclass(frozen=True, slots=True)
class Part:
    """What one lead or joint takes out of the circuit."""

    name: str
    side: Side
    resistance_ohm: float
    drop_v: float
    power_w: float


@dataclass(frozen=True, slots=True)
class Circuit:
    """All parts in order, the total against its target, and the smallest cable that meets it."""

    parts: tuple[Part, ...]
    total: Result
    smallest_cable: Result


def drop_v(current_a: float, resistance_ohm: float) -> float:
    """Return the voltage lost in a resistance, volts.

    Raises
    ------
    QuantityError : negative current or resistance

    Source
    ------
    Ohm's law.

    >>> drop_v(200.0, 0.010)
    2.0
    """
    not_negative(resistance_ohm, "resistance_ohm")
    return not_negative(current_a, "current_a") * resistance_ohm


def power_w(current_a: float, resistance_ohm: float) -> float:
    """Return the heat made in a resistance, watts.

    Raises
    ------
    QuantityError : negative current or resistance

    Source
    ------
    Joule's law, I² R.

    >>> power_w(200.0, 0.010)
    400.0
    """
    return drop_v(current_a, resistance_ohm) * current_a


def lead_ohm(lead: Lead) -> float:
    """Return the resistance of a lead at its own temperature, ohms.

    Raises
    ------
    QuantityError : area not above zero, negative length, or an impossible temperature

    Source
    ------
    IEC 60228 or NEC chapter 9 table 8, else the resistivity of the metal.

    >>> round(1000 * lead_ohm(Lead("work lead", "work", 30.0, 35.0, 60.0)), 2)
    19.23
    """
    return resistance_ohm(of_area(lead.area_mm2, lead.metal), lead.length_m, lead.temperature_c)


def weld_circuit(
    current_a: float,
    leads: tuple[Lead, ...],
    joints: tuple[Joint, ...] = (),
    target_v: float = TARGET_V,
    sizes: Sizes = "metric",
) -> Circuit:
    """Return drop and heat of every part, the total, and the smallest cable that meets the target.

    Raises
    ------
    QuantityError : no parts, current or target not above zero, or an impossible part

    Source
    ------
    Ohm's and Joule's laws; target of 4 V: AWS Safety and Health Fact Sheet 39.

    >>> work = Lead("work lead", "work", 30.0, 35.0)
    >>> out = Lead("electrode lead", "electrode", 30.0, 35.0)
    >>> round(weld_circuit(200.0, (out, work)).total.value, 2)
    6.65
    """
    positive(current_a, "current_a")
    positive(target_v, "target_v")
    if not leads and not joints:
        raise QuantityError(
            "no lead and no joint", where="leads", next_step="Give at least one part."
        )
    parts = tuple(_part(current_a, lead.name, lead.side, lead_ohm(lead)) for lead in leads)
    parts += tuple(_part(current_a, j.name, j.side, j.resistance_ohm) for j in joints)
    total = _total(current_a, parts, leads, target_v)
    joints_v = sum(drop_v(current_a, joint.resistance_ohm) for joint in joints)
    return Circuit(
        parts, total, smallest_cable(current_a, leads, joints_v, target_v=target_v, sizes=sizes)
    )


def smallest_cable(
    current_a: float,
    leads: tuple[Lead, ...],
    joints_v: float = 0.0,
    *,
    target_v: float = TARGET_V,
    sizes: Sizes = "metric",
) -> Result:
    """Return the smallest listed copper size, used for all leads, that keeps the total in target.

    `joints_v` is what the joints lose; it stays as it is. The value is in mm².

    Raises
    ------
    QuantityError : current or target not above zero, or an impossible lead

    Source
    ------
    IEC 60228 or NEC chapter 9 table 8; floor of 300 circular mils per ampere: trade rule.

    >>> there_and_back = (Lead("both leads", "work", 60.0, 35.0, 60.0),)
    >>> smallest_cable(200.0, there_and_back).value
    70.0
    """
    positive(current_a, "current_a")
    left_v = positive(target_v, "target_v") - not_negative(joints_v, "joints_v")
    warm_m = sum(
        not_negative(lead.length_m, "length_m") * temperature_factor(lead.temperature_c)
        for lead in leads
    )
    table = [metric(s) for s in CLASS_5_6_OHM_KM_20C]
    if sizes == "awg":
        table = [awg(gauge) for gauge in NEC_OHM_KFT_75C]
    fits = next((c for c in table if _fits(c, current_a, warm_m, left_v)), None)
    return _cable_result(fits, current_a, warm_m, joints_v, target_v)


def _part(current_a: float, name: str, side: Side, ohm: float) -> Part:
    return Part(name, side, ohm, drop_v(current_a, ohm), power_w(current_a, ohm))


def _total(
    current_a: float, parts: tuple[Part, ...], leads: tuple[Lead, ...], target_v: float
) -> Result:
    total_v = sum(part.drop_v for part in parts)
    warmest_c = max((lead.temperature_c for lead in leads), default=20.0)
    at = f"cable at {warmest_c:g} °C" if leads else "joints only"
    cables = (of_area(lead.area_mm2, lead.metal) for lead in leads)
    tables = sorted({f"{cable.name} by {cable.source}" for cable in cables})
    biggest = max(parts, key=lambda part: part.drop_v)
    target = TARGET
    if target_v != TARGET_V:
        target = Limit("target given by the user", target_v, "V", SHOP, "judgement")
    return Result(
        quantity="drop of leads and joints",
        value=total_v,
        unit="V",
        says=f"{total_v:.2f} V lost at {current_a:g} A ({at}), target {target_v:g} V; "
        f"most of it in {biggest.name} ({biggest.drop_v:.2f} V).",
        verdict=held_at_most(total_v, target_v, 2.0 * target_v, 0.05),
        how_sure=HowSure("Cable tables give the greatest resistance; real cable is lower.", 0.05),
        limits=(target, COMFORTABLE),
        working=(
            *(_lead_working(lead) for lead in leads),
            *(
                f"{part.name}: V = I R = {current_a:g} A x {1000.0 * part.resistance_ohm:.2f} mΩ"
                f" = {part.drop_v:.2f} V; P = I² R = {part.power_w:.0f} W"
                for part in parts
            ),
            "total = " + " + ".join(f"{part.drop_v:.2f}" for part in parts) + f" = {total_v:.2f} V",
        ),
        notes=(
            "A steady loss acts like a lower dial and can be dialled out; one that moves cannot.",
            *((f"Resistance: {', '.join(tables)}.",) if tables else ()),
            f"Copper at 75 °C has {temperature_factor(75.0):.3f} times its resistance at 20 °C.",
        ),
    )


def _lead_working(lead: Lead) -> str:
    cable = of_area(lead.area_mm2, lead.metal)
    return (
        f"{lead.name}: R = {cable.ohm_km_20c:.4g} mΩ/m x {lead.length_m:.4g} m x "
        f"{temperature_factor(lead.temperature_c, lead.metal):.3f} for {lead.temperature_c:g} °C "
        f"= {1000.0 * lead_ohm(lead):.2f} mΩ"
    )


def _fits(cable: Conductor, current_a: float, warm_m: float, left_v: float) -> bool:
    thick_enough = circular_mils(cable.area_mm2) >= CIRCULAR_MILS_PER_AMPERE * current_a * 0.999
    return thick_enough and cable.ohm_km_20c / 1000.0 * warm_m * current_a <= left_v


def _cable_result(
    fits: Conductor | None, current_a: float, warm_m: float, joints_v: float, target_v: float
) -> Result:
    target = Limit("drop of leads and joints at most", target_v, "V", TARGET.source, TARGET.basis)
    if target_v != TARGET_V:
        target = Limit("target given by the user", target_v, "V", SHOP, "judgement")
    if fits is None:
        says = f"No listed size keeps {current_a:g} A within {target_v:g} V at this length."
        notes: tuple[str, ...] = ("Shorten the leads, run two in parallel, or mend the joints.",)
        working: tuple[str, ...] = (f"left for cable = {target_v:g} - {joints_v:.2f} V",)
    else:
        cable_v = fits.ohm_km_20c / 1000.0 * warm_m * current_a
        says = f"{fits.name} copper is the smallest that meets {target_v:g} V."
        notes = ("Drop only: the cable's own rating at your duty is a separate question.",)
        working = (
            f"left for cable = {target_v:g} - {joints_v:.2f} = {target_v - joints_v:.2f} V",
            (
                f"V = I R20 (length x temperature factor) = {current_a:g} A x "
                f"{fits.ohm_km_20c:.3f} mΩ/m x {warm_m:.1f} m = {cable_v:.2f} V"
            ),
        )
    return Result(
        quantity="smallest cable",
        value=None if fits is None else fits.area_mm2,
        unit="mm²",
        says=says,
        verdict="no_limit",
        how_sure=HowSure("Greatest table resistance, so on the safe side.", 0.05),
        limits=(target, FLOOR),
        working=working,
        notes=notes,
    )
