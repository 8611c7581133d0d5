"""Shielding gas: units, density, what a float meter really shows, the regime in the nozzle."""

from __future__ import annotations

from collections.abc import Mapping
from math import pi, sqrt

from diagnose.reckon.quantity import not_negative, positive
from diagnose.reckon.result import SHOP, HowSure, Limit, Result
from knowledge.errors import QuantityError

Mix = Mapping[str, float]
"""Gas -> share by volume; the shares sum to one."""

L_MIN_PER_CFH = 28.316846592 / 60.0
ATMOSPHERE_PA = 101325.0
GAS_CONSTANT = 8.314462618
MOLAR_KG: dict[str, float] = {
    "Ar": 39.948e-3,
    "CO2": 44.010e-3,
    "He": 4.0026e-3,
    "N2": 28.014e-3,
    "O2": 31.998e-3,
    "H2": 2.016e-3,
    "air": 28.965e-3,
}
VISCOSITY_PA_S: dict[str, float] = {
    "Ar": 22.7e-6,
    "CO2": 15.0e-6,
    "He": 19.9e-6,
    "N2": 17.9e-6,
    "O2": 20.7e-6,
    "air": 18.5e-6,
}
"""At 300 K; CRC Handbook."""
HEAT_RATIO: dict[str, float] = {"Ar": 5.0 / 3.0, "He": 5.0 / 3.0, "CO2": 1.30}

FLOAT_RELATIVE = 0.10


def l_min_from_cfh(flow_cfh: float) -> float:
    """Return a flow in L/min.

    Raises
    ------
    QuantityError : negative

    >>> round(l_min_from_cfh(35.0), 1)
    16.5
    """
    return not_negative(flow_cfh, "flow_cfh") * L_MIN_PER_CFH


def cfh_from_l_min(flow_l_min: float) -> float:
    """Return a flow in cubic feet an hour.

    Raises
    ------
    QuantityError : negative

    >>> round(cfh_from_l_min(15.0), 1)
    31.8
    """
    return not_negative(flow_l_min, "flow_l_min") / L_MIN_PER_CFH


def molar_mass_kg(mix: Mix) -> float:
    """Return the mean molar mass of a mix, kg/mol.

    Raises
    ------
    QuantityError : an unknown gas, a negative share, or shares that do not sum to one

    >>> round(1000 * molar_mass_kg({"Ar": 0.75, "CO2": 0.25}), 2)
    40.96
    """
    for gas, share in mix.items():
        if gas not in MOLAR_KG:
            known = ", ".join(MOLAR_KG)
            raise QuantityError(
                f"'{gas}' is no known gas", where="mix", next_step=f"Known: {known}."
            )
        not_negative(share, f"mix.{gas}")
    if abs(sum(mix.values()) - 1.0) > 1e-3:
        raise QuantityError(
            f"the shares sum to {sum(mix.values()):g}", where="mix", next_step="Make them sum to 1."
        )
    return sum(share * MOLAR_KG[gas] for gas, share in mix.items())


def density_kg_m3(mix: Mix, temperature_k: float = 293.15) -> float:
    """Return the density at atmospheric pressure, kg/m³.

    Raises
    ------
    QuantityError : an impossible mix, or a temperature not above zero

    Source
    ------
    Ideal gas, p M / (R T).

    >>> round(density_kg_m3({"Ar": 1.0}), 3)
    1.661
    """
    kelvin = positive(temperature_k, "temperature_k")
    return ATMOSPHERE_PA * molar_mass_kg(mix) / (GAS_CONSTANT * kelvin)


def viscosity_pa_s(mix: Mix) -> float:
    """Return the viscosity of a mix at 300 K, Pa s.

    Raises
    ------
    QuantityError : an impossible mix, or a gas whose viscosity is not known

    Source
    ------
    CRC Handbook for the pure gases; Wilke's rule (1950, from memory) for mixes.

    >>> round(viscosity_pa_s({"CO2": 1.0}) * 1e6, 1)
    15.0
    """
    molar_mass_kg(mix)
    unknown = [gas for gas in mix if gas not in VISCOSITY_PA_S]
    if unknown:
        raise QuantityError(f"no viscosity is known for '{unknown[0]}'", where="mix")
    return sum(
        share * VISCOSITY_PA_S[gas] / sum(mix[other] * _wilke(gas, other) for other in mix)
        for gas, share in mix.items()
        if share > 0.0
    )


def float_meter_l_min(
    reading_l_min: float, scale_mix: Mix, mix: Mix, pressure_ratio: float = 1.0
) -> float:
    """Return the true flow behind a float-meter reading taken with another gas, L/min.

    `pressure_ratio` is the absolute pressure in the tube over that of its scale.

    Raises
    ------
    QuantityError : negative reading, an impossible mix, or a ratio not above zero

    Source
    ------
    Variable-area meter: true = reading x √(scale density / gas density); with pressure, x √ratio.

    >>> round(float_meter_l_min(15.0, {"Ar": 1.0}, {"CO2": 1.0}), 1)
    14.3
    """
    ratio = molar_mass_kg(scale_mix) / molar_mass_kg(mix) * positive(pressure_ratio, "ratio")
    return not_negative(reading_l_min, "reading_l_min") * sqrt(ratio)


def float_meter(reading_l_min: float, scale_mix: Mix, mix: Mix) -> Result:
    """Return the true flow behind a float-meter reading as a result with its working.

    Raises
    ------
    QuantityError : negative reading, or an impossible mix

    Source
    ------
    Variable-area meter; makers print factors good to 10 %.

    >>> round(float_meter(15.0, {"Ar": 1.0}, {"He": 1.0}).value, 1)
    47.4
    """
    true = float_meter_l_min(reading_l_min, scale_mix, mix)
    factor = float_meter_l_min(1.0, scale_mix, mix)
    return Result(
        quantity="true flow",
        value=true,
        unit="L/min",
        says=f"A reading of {reading_l_min:.4g} L/min is {true:.1f} L/min of this gas.",
        verdict="no_limit",
        how_sure=HowSure("Float meters hold to 10 %, tube upright.", FLOAT_RELATIVE),
        working=(
            "true = reading x √(scale density / gas density)",
            f"√({density_kg_m3(scale_mix):.3f} / {density_kg_m3(mix):.3f}) = {factor:.3f}",
            f"{reading_l_min:.4g} x {factor:.3f} = {true:.2f} L/min",
        ),
        notes=("A meter set at another outlet pressure than its scale's errs as √ of the ratio.",),
    )


def reynolds_open_bore(flow_l_min: float, bore_mm: float, mix: Mix) -> float:
    """Return the Reynolds number of an open round bore, gas at 300 K.

    Raises
    ------
    QuantityError : negative flow, bore not above zero, or an impossible mix

    Source
    ------
    Re = 4 x density x Q / (π D x viscosity).

    >>> round(reynolds_open_bore(15.0, 12.7, {"CO2": 1.0}))
    2987
    """
    return reynolds_ring(flow_l_min, bore_mm, 0.0, mix)


def reynolds_ring(flow_l_min: float, bore_mm: float, tip_mm: float, mix: Mix) -> float:
    """Return the Reynolds number of the ring between nozzle and tip, gas at 300 K.

    Raises
    ------
    QuantityError : negative flow or tip, a tip as wide as the bore, or an impossible mix

    Source
    ------
    Hydraulic diameter D - d of a ring: 4 x density x Q / (π (D + d) x viscosity).

    >>> round(reynolds_ring(15.0, 12.7, 8.0, {"CO2": 1.0}))
    1833
    """
    if not_negative(tip_mm, "tip_mm") >= positive(bore_mm, "bore_mm"):
        raise QuantityError(f"a {tip_mm:g} mm tip fills the bore", where="tip_mm")
    flow_m3_s = not_negative(flow_l_min, "flow_l_min") / 60000.0
    density = density_kg_m3(mix, 300.0)
    return 4.0 * density * flow_m3_s / (pi * (bore_mm + tip_mm) / 1000.0 * viscosity_pa_s(mix))


def nozzle_regime(flow_l_min: float, bore_mm: float, tip_mm: float, mix: Mix) -> Result:
    """Return the Reynolds number of the ring. Never a finding by itself, whatever it says.

    Raises
    ------
    QuantityError : negative flow or tip, a tip as wide as the bore, or an impossible mix

    Source
    ------
    Hydraulic diameter of a ring; 2000 to 2300 for straight tubes is from memory.

    >>> nozzle_regime(15.0, 12.7, 8.0, {"CO2": 1.0}).verdict
    'no_limit'
    """
    ring = reynolds_ring(flow_l_min, bore_mm, tip_mm, mix)
    bare = reynolds_open_bore(flow_l_min, bore_mm, mix)
    density, viscosity = density_kg_m3(mix, 300.0), viscosity_pa_s(mix)
    return Result(
        quantity="Reynolds number of the ring between tip and nozzle",
        value=ring,
        unit="1",
        says=f"Re {ring:.0f} in the ring ({bare:.0f} in the open bore).",
        verdict="no_limit",
        how_sure=HowSure("Cold gas, clean round ring; a real nozzle has neither.", 0.15),
        limits=(Limit("turns over in a long straight tube", 2300.0, "1", SHOP, "from_memory"),),
        working=(
            f"density p M / (R T) = {density:.3f} kg/m³, viscosity {1e6 * viscosity:.1f} µPa s, "
            "both at 300 K",
            f"Q = {flow_l_min:.4g} L/min = {flow_l_min / 60000.0:.3e} m³/s",
            f"open bore: Re = 4 x density x Q / (π D x viscosity) = 4 x {density:.3f} x "
            f"{flow_l_min / 60000.0:.3e} / (π x {bore_mm / 1000.0:.4g} x {viscosity:.2e}) = {bare:.0f}",
            f"ring: Re x D / (D + d) = {bare:.0f} x {bore_mm:.4g} / ({bore_mm:.4g} + {tip_mm:.4g}) "
            f"= {ring:.0f}",
        ),
        notes=(
            "Not a finding by itself: a nozzle is no long tube, and sound stations pass 2,300.",
        ),
    )


def _wilke(gas: str, other: str) -> float:
    viscosity = VISCOSITY_PA_S[gas] / VISCOSITY_PA_S[other]
    mass = MOLAR_KG[gas] / MOLAR_KG[other]
    return float((1.0 + sqrt(viscosity) * mass**-0.25) ** 2 / sqrt(8.0 * (1.0 + mass)))
