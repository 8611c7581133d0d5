"""Ohms of a conductor from its size, metal and temperature."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from diagnose.reckon.quantity import between, not_negative, positive
from knowledge.errors import QuantityError
from knowledge.models import Basis

Metal = Literal["copper", "aluminium"]

RESISTIVITY_OHM_MM2_M: dict[Metal, float] = {"copper": 0.017241, "aluminium": 0.028264}
"""At 20 °C: copper 100 % IACS (IEC 60028), aluminium 61 % IACS. From memory."""
PER_KELVIN: dict[Metal, float] = {"copper": 0.00393, "aluminium": 0.00403}
"""Rise of resistance a kelvin, referred to 20 °C. From memory."""
STRANDING = 1.02
"""Lay of the strands: about 2 % longer than the cable. Judgement, matches the tables."""

CLASS_5_6_OHM_KM_20C: dict[float, float] = {
    10.0: 1.91,
    16.0: 1.21,
    25.0: 0.780,
    35.0: 0.554,
    50.0: 0.386,
    70.0: 0.272,
    95.0: 0.206,
    120.0: 0.161,
    150.0: 0.129,
    185.0: 0.106,
}
"""IEC 60228, greatest resistance of flexible plain copper, by mm²."""
CLASS_5_6_TINNED_OHM_KM_20C: dict[float, float] = {
    10.0: 1.95,
    16.0: 1.24,
    25.0: 0.795,
    35.0: 0.565,
    50.0: 0.393,
    70.0: 0.277,
    95.0: 0.210,
    120.0: 0.164,
    150.0: 0.132,
    185.0: 0.108,
}
"""IEC 60228, the same, tinned."""
NEC_OHM_KFT_75C: dict[str, float] = {
    "8": 0.778,
    "6": 0.491,
    "4": 0.308,
    "3": 0.245,
    "2": 0.194,
    "1": 0.154,
    "1/0": 0.122,
    "2/0": 0.0967,
    "3/0": 0.0766,
    "4/0": 0.0608,
}
"""NEC chapter 9 table 8: uncoated stranded copper, direct current, by AWG."""
KFT_PER_KM = 1.0 / 0.3048


@dataclass(frozen=True, slots=True)
class Conductor:
    """A cable size. `ohm_km_20c` is per kilometre of single cable at 20 °C."""

    name: str
    area_mm2: float
    ohm_km_20c: float
    metal: Metal
    source: str
    basis: Basis


def temperature_factor(temperature_c: float, metal: Metal = "copper") -> float:
    """Return resistance at `temperature_c` over resistance at 20 °C.

    Raises
    ------
    QuantityError : outside -60 to 250 °C, where the straight line no longer holds

    Source
    ------
    IEC 60028, 0.00393 a kelvin for copper (from memory).

    >>> round(temperature_factor(75.0), 3)
    1.216
    """
    between(temperature_c, -60.0, 250.0, "temperature_c")
    return 1.0 + PER_KELVIN[metal] * (temperature_c - 20.0)


def awg_number(gauge: str) -> int:
    """Return the number that the gauge formula uses: 0 for 1/0, -3 for 4/0.

    Raises
    ------
    QuantityError : not a gauge from 40 to 4/0

    >>> [awg_number(g) for g in ("2", "1/0", "4/0")]
    [2, 0, -3]
    """
    text = gauge.strip().upper().removesuffix("AWG").strip()
    aughts, slash, zero = text.partition("/")
    number = None
    if slash and zero == "0" and aughts in {"1", "2", "3", "4"}:
        number = 1 - int(aughts)
    elif text.isdecimal():
        number = int(text)
    if number is None or not -3 <= number <= 40:
        raise QuantityError(
            f"'{gauge}' is not a wire gauge",
            where="gauge",
            next_step="Give a number such as 2, or 1/0 to 4/0.",
        )
    return number


def awg_diameter_mm(gauge: str) -> float:
    """Return the diameter of a solid conductor of this gauge, mm.

    Raises
    ------
    QuantityError : not a gauge

    Source
    ------
    ASTM B258: 0.127 mm x 92^((36 - n) / 39).

    >>> round(awg_diameter_mm("4/0"), 3)
    11.684
    """
    return float(0.127 * 92.0 ** ((36 - awg_number(gauge)) / 39))


def awg_area_mm2(gauge: str) -> float:
    """Return the conductor area of this gauge, mm².

    Raises
    ------
    QuantityError : not a gauge

    Source
    ------
    ASTM B258 diameter, pi d² / 4.

    >>> round(awg_area_mm2("2/0"), 2)
    67.43
    """
    return 3.141592653589793 / 4.0 * awg_diameter_mm(gauge) ** 2


def circular_mils(area_mm2: float) -> float:
    """Return an area in circular mils (a round wire of 0.001 in is one).

    Raises
    ------
    QuantityError : `area_mm2` is not above zero

    >>> round(circular_mils(awg_area_mm2("4/0")), -2)
    211600.0
    """
    return positive(area_mm2, "area_mm2") / (3.141592653589793 / 4.0 * 0.0254**2)


def metric(area_mm2: float, tinned: bool = False) -> Conductor:
    """Return flexible copper cable of a metric size, at its greatest permitted resistance.

    Raises
    ------
    QuantityError : not a size of the table

    Source
    ------
    IEC 60228, classes 5 and 6.

    >>> metric(35.0).ohm_km_20c
    0.554
    """
    table = CLASS_5_6_TINNED_OHM_KM_20C if tinned else CLASS_5_6_OHM_KM_20C
    if area_mm2 not in table:
        sizes = ", ".join(f"{size:g}" for size in table)
        raise QuantityError(
            f"{area_mm2:g} mm² is not a listed size", where="area_mm2", next_step=f"Sizes: {sizes}."
        )
    coat = " tinned" if tinned else ""
    name = f"{area_mm2:g} mm²{coat}"
    return Conductor(name, area_mm2, table[area_mm2], "copper", "iec_60228", "published")


def awg(gauge: str) -> Conductor:
    """Return stranded copper of a gauge from 8 to 4/0; smaller ones by geometry.

    Raises
    ------
    QuantityError : not a gauge

    Source
    ------
    NEC chapter 9 table 8 (75 °C), brought to 20 °C; geometry ASTM B258.

    >>> round(awg("1/0").ohm_km_20c, 3)
    0.329
    """
    number = awg_number(gauge)
    plain = f"{1 - number}/0" if number <= 0 else str(number)
    area_mm2 = awg_area_mm2(plain)
    if plain not in NEC_OHM_KFT_75C:
        return by_geometry(area_mm2, name=f"{plain} AWG")
    ohm_km_20c = NEC_OHM_KFT_75C[plain] * KFT_PER_KM / temperature_factor(75.0)
    return Conductor(f"{plain} AWG", area_mm2, ohm_km_20c, "copper", "nec_ch9_table_8", "published")


def by_geometry(area_mm2: float, metal: Metal = "copper", name: str = "") -> Conductor:
    """Return a stranded conductor of any area, from the resistivity of its metal.

    Raises
    ------
    QuantityError : `area_mm2` is not above zero

    Source
    ------
    IEC 60028 resistivity (from memory), 2 % added for the lay of the strands.

    >>> round(by_geometry(35.0, "aluminium").ohm_km_20c, 3)
    0.824
    """
    ohm_km_20c = 1000.0 * STRANDING * RESISTIVITY_OHM_MM2_M[metal]
    ohm_km_20c /= positive(area_mm2, "area_mm2")
    return Conductor(
        name or f"{area_mm2:g} mm² {metal}",
        area_mm2,
        ohm_km_20c,
        metal,
        "shop_practice",
        "from_memory",
    )


def of_area(area_mm2: float, metal: Metal = "copper") -> Conductor:
    """Return the listed cable within 1 % of this area, else one by geometry.

    A gauge given at the door arrives here as mm² and finds its own table again.

    Raises
    ------
    QuantityError : `area_mm2` is not above zero

    >>> of_area(67.43).name, of_area(70.0).name, of_area(60.0).source
    ('2/0 AWG', '70 mm²', 'shop_practice')
    """
    positive(area_mm2, "area_mm2")
    if metal == "copper":
        for size in CLASS_5_6_OHM_KM_20C:
            if abs(size - area_mm2) <= 0.01 * size:
                return metric(size)
        for gauge in NEC_OHM_KFT_75C:
            if abs(awg_area_mm2(gauge) - area_mm2) <= 0.01 * area_mm2:
                return awg(gauge)
    return by_geometry(area_mm2, metal)


def resistance_ohm(conductor: Conductor, length_m: float, temperature_c: float) -> float:
    """Return the resistance of a length of single cable, ohms.

    Raises
    ------
    QuantityError : negative length, or a temperature outside -60 to 250 °C

    Source
    ------
    R = R20 x length x (1 + alpha (T - 20)).

    >>> round(1000 * resistance_ohm(metric(35.0), 30.0, 20.0), 2)
    16.62
    """
    factor = temperature_factor(temperature_c, conductor.metal)
    return conductor.ohm_km_20c * not_negative(length_m, "length_m") / 1000.0 * factor
