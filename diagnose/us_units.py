"""US units on the way out: a value with its unit, and the quantities that stand in a sentence."""

from __future__ import annotations

import re
from collections.abc import Mapping

from diagnose.reckon.conductor import NEC_OHM_KFT_75C, awg_area_mm2

__all__ = ["beside_us", "in_us", "to_us"]

_FACTORS: Mapping[str, tuple[str, float]] = {
    "mm": ("in", 1.0 / 25.4),
    "m": ("ft", 1.0 / 0.3048),
    "mm²": ("kcmil", 1.0 / 0.5067074790974977),
    "L/min": ("cfh", 60.0 / 28.316846592),
    "m/min": ("in/min", 1.0 / 0.0254),
    "mm/s": ("in/min", 60.0 / 25.4),
    "m/s": ("mph", 1.0 / 0.44704),
    "kPa": ("psi", 1.0 / 6.894757293168361),
    "bar": ("psi", 100.0 / 6.894757293168361),
    "L": ("ft³", 1.0 / 28.316846592),
    "kg": ("lb", 1.0 / 0.45359237),
    "kJ/mm": ("kJ/in", 25.4),
}
"""SI unit -> the unit a US reader wants, and by what to multiply. Temperature has an offset too."""
_NUMBER = r"\d+(?:\.\d+)?"
_UNITS = "|".join(re.escape(unit) for unit in sorted([*_FACTORS, "°C"], key=len, reverse=True))
_QUANTITY = re.compile(
    rf"(?<![\w.,/])(?P<first>-?{_NUMBER})(?: to (?P<last>-?{_NUMBER}))? (?P<unit>{_UNITS})(?![\w/²³])"
)


def to_us(value: float, unit: str) -> tuple[float, str]:
    """Return a value in the unit that a US reader wants; as it is where there is no other.

    >>> to_us(1.0, "bar"), to_us(20.0, "°C"), to_us(2.0, "V")
    ((14.503773773020923, 'psi'), (68.0, '°F'), (2.0, 'V'))
    """
    if unit == "°C":
        return value * 1.8 + 32.0, "°F"
    name, factor = _FACTORS.get(unit, (unit, 1.0))
    return value * factor, name


def in_us(text: str) -> str:
    """Return a text with its quantities in US units. A listed gauge is named as one.

    >>> in_us("15 L/min through 12.7 mm"), in_us("6 to 13 mm"), in_us("67.43 mm² at 20 °C")
    ('31.8 cfh through 0.5 in', '0.236 to 0.512 in', '2/0 AWG at 68 °F')
    """
    return _QUANTITY.sub(_us, text)


def beside_us(text: str) -> str:
    """Return a text with each quantity followed by the same in US units.

    >>> beside_us("R = 0.554 mΩ/m x 30 m")
    'R = 0.554 mΩ/m x 30 m (98.4 ft)'
    """
    return _QUANTITY.sub(lambda found: f"{found[0]} ({_us(found)})", text)


def _us(found: re.Match[str]) -> str:
    ends = [to_us(float(end), found["unit"]) for end in (found["first"], found["last"]) if end]
    if found["unit"] == "mm²" and len(ends) == 1 and (gauge := _gauge(float(found["first"]))):
        return f"{gauge} AWG"
    return " to ".join(_short(value) for value, _ in ends) + f" {ends[0][1]}"


def _short(value: float) -> str:
    return f"{value:.0f}" if abs(value) >= 100.0 else f"{value:.3g}"


def _gauge(area_mm2: float) -> str | None:
    near = (g for g in NEC_OHM_KFT_75C if abs(awg_area_mm2(g) - area_mm2) <= 0.01 * area_mm2)
    return next(near, None)
