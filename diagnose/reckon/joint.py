"""One joint under current: its ohms, its heat, its hottest spot, and what it is held against."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from statistics import median
from typing import Literal

from diagnose.reckon.conductor import of_area
from diagnose.reckon.conductor import resistance_ohm as cable_ohm
from diagnose.reckon.quantity import not_negative, positive
from diagnose.reckon.result import SHOP, HowSure, Limit, Result, Verdict, held_at_most
from knowledge.errors import QuantityError

Kind = Literal["bolted", "clamp", "gun"]
Contact = Literal["copper", "steel"]

KELVIN = 273.15
LORENZ_V2_K2 = 2.44e-8
"""Wiedemann-Franz-Lorenz constant of metals."""
SOFTENING_V: dict[Contact, float] = {"copper": 0.12, "steel": 0.2}
MELTING_V: dict[Contact, float] = {"copper": 0.43, "steel": 0.6}
"""Holm: voltage across one clean contact at which its spot softens, melts. From memory."""
METER_RELATIVE = 0.03
METER_V = 0.02
"""A clamp meter and a volt meter at the station: 3 % of current, 0.02 V. Judgement."""
TYPE_TEST_OHM = 0.08 / 100.0
"""IEC 60974-13 clause 7: two new clamps in series on clean plate, 0.08 V per 100 A."""
_SEVERAL = 10.0
_THREEFOLD = 3.0


@dataclass(frozen=True, slots=True)
class Service:
    """What a joint of this kind drops in service, as ohms: sound up to, repair above."""

    name: str
    good_ohm: float
    look_ohm: float
    repair_ohm: float


SERVICE: dict[Kind, Service] = {
    "bolted": Service("bolted lug or plug", 0.1 / 200.0, 0.2 / 200.0, 0.3 / 200.0),
    "clamp": Service("work clamp on bright steel", 0.3 / 200.0, 0.5 / 200.0, 1.0 / 200.0),
    "gun": Service("gun from pin to tip", 1.5 / 200.0, 2.0 / 200.0, 3.0 / 200.0),
}
"""Drops at 200 A over 200 A. Common practice and judgement; the gun's repair: judgement."""


def joint_resistance_ohm(drop_v: float, current_a: float) -> float:
    """Return the resistance of a joint from its drop under current, ohms.

    Raises
    ------
    QuantityError : negative drop, or current not above zero

    Source
    ------
    Ohm's law.

    >>> joint_resistance_ohm(2.0, 200.0)
    0.01
    """
    return not_negative(drop_v, "drop_v") / positive(current_a, "current_a")


def joint_heat_w(drop_v: float, current_a: float) -> float:
    """Return the heat made in a joint, watts.

    Raises
    ------
    QuantityError : negative drop, or current not above zero

    Source
    ------
    P = V I.

    >>> joint_heat_w(2.0, 200.0)
    400.0
    """
    return not_negative(drop_v, "drop_v") * positive(current_a, "current_a")


def joint_spot_temperature_k(drop_v: float, ambient_k: float = 293.15) -> float:
    """Return the hottest temperature inside a single clean contact, kelvin.

    `drop_v` is across the contact while current flows, `ambient_k` the metal away from it.

    Raises
    ------
    QuantityError : negative drop, or `ambient_k` not above zero

    Source
    ------
    R. Holm, Electric Contacts, 4th ed. 1967: T² = T0² + V²/(4L), L = 2.44e-8 V²/K².

    >>> round(joint_spot_temperature_k(0.12))
    483
    """
    positive(ambient_k, "ambient_k")
    return sqrt(ambient_k**2 + not_negative(drop_v, "drop_v") ** 2 / (4.0 * LORENZ_V2_K2))


def spot_temperature(
    drop_v: float,
    contact: Contact = "copper",
    ambient_k: float = 293.15,
    *,
    single: bool = True,
) -> Result:
    """Return the spot temperature below the melting voltage; above it, what the drop means instead.

    `single` is false for a whole clamp: jaw, braid and lug share its drop, so the temperature is only
    a bound and convicts nobody.

    Raises
    ------
    QuantityError : negative drop, or `ambient_k` not above zero

    Source
    ------
    R. Holm, Electric Contacts, 4th ed. 1967 (from memory).

    >>> spot_temperature(2.0).value is None
    True
    """
    melting = Limit(
        f"melting voltage, {contact}", MELTING_V[contact], "V", "holm_1967", "from_memory"
    )
    softening = Limit(
        f"softening voltage, {contact}", SOFTENING_V[contact], "V", "holm_1967", "from_memory"
    )
    limits = (softening, melting)
    spot_k = joint_spot_temperature_k(drop_v, ambient_k)
    if drop_v >= melting.value:
        return Result(
            quantity="temperature of the contact spot",
            value=None,
            unit="°C",
            says=f"{drop_v:g} V is past the melting voltage of {contact} ({melting.value:g} V): "
            "arcing, film or several joints in series, not one hot spot.",
            verdict="suspect",
            how_sure=HowSure("No clean single contact can hold this voltage.", 1.0),
            limits=limits,
            working=(
                f"{drop_v:g} V >= {melting.value:g} V: the spot would have melted and the drop "
                "fallen, so T = √(T0² + V²/(4L)) does not hold",
            ),
            notes=("Measure jaw, braid and lug one by one to find which of them it is.",),
        )
    verdict: Verdict = "suspect" if drop_v > softening.value else "good"
    return Result(
        quantity="temperature of the contact spot",
        value=spot_k - KELVIN,
        unit="°C",
        says=f"If all of it sits in one clean contact, its spot is at {spot_k - KELVIN:.0f} °C."
        + ("" if single else " A whole clamp is several in series, each of them cooler."),
        verdict=verdict if single else "no_limit",
        how_sure=HowSure("An upper bound: several joints in series each run cooler.", 0.1),
        limits=limits,
        working=(
            f"T0 = {ambient_k - KELVIN:.0f} °C = {ambient_k:.0f} K, L = 2.44e-8 V²/K²",
            f"T = √(T0² + V²/(4L)) = √({ambient_k:.0f}² + {drop_v:g}²/(4 x 2.44e-8)) "
            f"= {spot_k:.0f} K = {spot_k - KELVIN:.0f} °C",
        ),
    )


def joint_in_service(
    drop_v: float, current_a: float, kind: Kind, relative: float = METER_RELATIVE
) -> Result:
    """Hold a joint's drop against what sound joints of its kind drop in service.

    A clamp is also shown beside the type test of new clamps, which does not convict it.

    Raises
    ------
    QuantityError : negative drop, or current not above zero

    Source
    ------
    Common practice and judgement at 200 A, scaled with current; IEC 60974-13 clause 7.

    >>> [joint_in_service(v, 200.0, "clamp").verdict for v in (0.3, 0.5, 2.0)]
    ['good', 'suspect', 'bad']
    """
    ohm = joint_resistance_ohm(drop_v, current_a)
    heat_w = joint_heat_w(drop_v, current_a)
    served = SERVICE[kind]
    spread = relative + (METER_V / drop_v if drop_v > METER_V else 1.0)
    limits: tuple[Limit, ...] = (
        Limit(f"{served.name}: sound up to", served.good_ohm * current_a, "V", SHOP, "judgement"),
        Limit(f"{served.name}: look above", served.look_ohm * current_a, "V", SHOP, "judgement"),
        Limit(
            f"{served.name}: repair above", served.repair_ohm * current_a, "V", SHOP, "judgement"
        ),
    )
    notes: tuple[str, ...] = ()
    if kind == "clamp":
        limits += (type_test_limit(current_a, clamps=1),)
        notes = (
            "IEC 60974-13 tests new clamps on clean plate; a clamp in service is not held to it.",
            "A whole clamp is jaw, braid and lug in series: the drop is their sum.",
        )
    says = f"{served.name.capitalize()}: {1000.0 * ohm:.2g} mΩ, {heat_w:.0f} W at {current_a:g} A."
    if drop_v >= MELTING_V["steel" if kind == "clamp" else "copper"] and kind != "gun":
        says += " Past the melting voltage: arcing, film or several joints."
    return Result(
        quantity=f"drop of {served.name}",
        value=drop_v,
        unit="V",
        says=says,
        verdict=held_at_most(
            drop_v, served.good_ohm * current_a, served.repair_ohm * current_a, spread
        ),
        how_sure=HowSure(
            f"Meter: {relative:.0%} of current and {METER_V:g} V; what sound joints drop: "
            "judgement.",
            spread,
        ),
        limits=limits,
        working=(
            f"R = V / I = {drop_v:g} / {current_a:g} = {1000.0 * ohm:.3g} mΩ",
            f"P = V I = {drop_v:g} x {current_a:g} = {heat_w:.0f} W",
        ),
        notes=notes,
    )


def type_test_limit(current_a: float, clamps: int = 2) -> Limit:
    """Return the voltage that new return clamps may drop in the type test, one or two in series.

    Raises
    ------
    QuantityError : current not above zero, or not one or two clamps

    Source
    ------
    IEC 60974-13:2021 clause 7, two in series on clean plate; half of it each is derived.

    >>> round(type_test_limit(300.0).value, 3)
    0.24
    """
    if clamps not in {1, 2}:
        raise QuantityError(f"{clamps} clamps were never tested in series", where="clamps")
    return Limit(
        "type test of new clamps, " + ("one of a pair" if clamps == 1 else "two in series"),
        TYPE_TEST_OHM * positive(current_a, "current_a") * clamps / 2.0,
        "V",
        "iec_60974_13",
        "published",
        "clause 7" + (", halved" if clamps == 1 else ""),
    )


def against_own_cable(
    drop_v: float,
    current_a: float,
    joint_length_m: float,
    area_mm2: float,
    temperature_c: float = 20.0,
) -> Result:
    """Hold a joint against an equal length of its own cable, which it should not exceed.

    Never convicts by itself: sound bolted lugs drop up to about ten times that at 200 A.

    Raises
    ------
    QuantityError : negative drop, or current, length or area not above zero

    Source
    ------
    Common practice (equal length); ten times that as suspect: judgement.

    >>> against_own_cable(2.0, 200.0, 0.10, 35.0).verdict
    'suspect'
    """
    not_negative(drop_v, "drop_v")
    cable = of_area(area_mm2)
    equal_ohm = cable_ohm(cable, positive(joint_length_m, "joint_length_m"), temperature_c)
    equal_v = equal_ohm * positive(current_a, "current_a")
    ratio = drop_v / equal_v
    return Result(
        quantity="joint over an equal length of its cable",
        value=ratio,
        unit="1",
        says=f"The joint drops {ratio:.3g} times what {joint_length_m:.3g} m of {cable.name} drops.",
        verdict="suspect" if drop_v - 2.0 * METER_V > _SEVERAL * equal_v else "good",
        how_sure=HowSure(
            f"Meter: {METER_V:g} V, counted twice; the current is the same in both.", 0.1
        ),
        limits=(
            Limit("an equal length of its own cable", equal_v, "V", SHOP, "common_practice"),
            Limit("several times that", _SEVERAL * equal_v, "V", SHOP, "judgement"),
        ),
        working=(
            f"{joint_length_m:.3g} m of cable: {equal_ohm * 1e6:.0f} µΩ x {current_a:g} A "
            f"= {equal_v:.4f} V",
            f"ratio = {drop_v:g} / {equal_v:.4f} = {ratio:.3g}",
        ),
    )


def against_neighbours(drop_v: float, neighbours_v: tuple[float, ...]) -> Result:
    """Hold a joint against the median of its like neighbours, measured at the same current.

    Raises
    ------
    QuantityError : no neighbours, or a negative drop

    Source
    ------
    Judgement: three times the median is suspect, when also more than the meter can err.

    >>> against_neighbours(0.45, (0.08, 0.10, 0.09)).verdict
    'suspect'
    """
    not_negative(drop_v, "drop_v")
    if not neighbours_v:
        raise QuantityError(
            "no neighbour to compare with",
            where="neighbours_v",
            next_step="Measure another joint of the same kind at the same current.",
        )
    middle_v = median(not_negative(v, "neighbours_v") for v in neighbours_v)
    odd = drop_v - 2.0 * METER_V > _THREEFOLD * middle_v
    return Result(
        quantity="joint against its neighbours",
        value=drop_v - middle_v,
        unit="V",
        says=f"{drop_v:g} V against a median of {middle_v:g} V in {len(neighbours_v)} others: "
        + ("it stands out." if odd else "it does not stand out."),
        verdict="suspect" if odd else "good",
        how_sure=HowSure("Like joints at one current; the meter's 0.02 V counts twice.", 0.1),
        limits=(Limit("three times the median", _THREEFOLD * middle_v, "V", SHOP, "judgement"),),
        working=(
            f"ΔV = {drop_v:g} - {middle_v:g} = {drop_v - middle_v:.3g} V",
            f"{drop_v:g} - 2 x {METER_V:g} V against 3 x {middle_v:g} = {_THREEFOLD * middle_v:.3g} V",
        ),
    )
