"""Units at the door: what people write becomes SI inside, and SI becomes what they read.

Pint is imported only when a unit is given; it costs a third of a second.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from diagnose.reckon.conductor import awg_area_mm2
from knowledge.errors import QuantityError

if TYPE_CHECKING:
    from pint import UnitRegistry

_NUMBER = r"[+-]?(?:\d+(?:[.,]\d+)?|[.,]\d+)(?:[eE][+-]?\d+)?"
_QUANTITY = re.compile(rf"\s*({_NUMBER})\s*([^\d\s].*)?\s*\Z")
_FRACTION = re.compile(r"\s*(?:(\d+)[\s-]+)?(\d+)\s*/\s*(\d+)\s*([^\d\s].*)\Z")
_UNIT = re.compile(r"[A-Za-zµμΩω°%\"']{1,12}(?:\*{0,2}\^?[23²³])?(?:/[A-Za-z]{1,10})?\Z")
_AWG = re.compile(
    r"\s*(?:awg|ga|gauge)?\s*#?(\d{1,2}|[1-4]/0|0{1,4})\s*(?:awg|ga|gauge)?\s*\Z", re.I
)
_SPELLINGS = {
    "cfh": "foot**3/hour",
    "scfh": "foot**3/hour",
    "cfm": "foot**3/minute",
    "ipm": "inch/minute",
    "in/min": "inch/minute",
    "fpm": "foot/minute",
    "ft/min": "foot/minute",
    "lpm": "liter/minute",
    "l/min": "liter/minute",
    "m/min": "meter/minute",
    "mm/s": "millimeter/second",
    "m/s": "meter/second",
    "mph": "mile/hour",
    "km/h": "kilometer/hour",
    "kph": "kilometer/hour",
    "mm2": "millimeter**2",
    "mm²": "millimeter**2",
    "sqmm": "millimeter**2",
    "mm^2": "millimeter**2",
    "kcmil": "0.5067074790974977*millimeter**2",
    "cmil": "0.0005067074790974977*millimeter**2",
    "in": "inch",
    '"': "inch",
    "ft": "foot",
    "'": "foot",
    "thou": "inch/1000",
    "mil": "inch/1000",
    "v": "volt",
    "mv": "millivolt",
    "kv": "kilovolt",
    "a": "ampere",
    "ma": "milliampere",
    "amps": "ampere",
    "amp": "ampere",
    "volts": "volt",
    "°c": "degC",
    "c": "degC",
    "degc": "degC",
    "°f": "degF",
    "f": "degF",
    "degf": "degF",
    "k": "kelvin",
    "ohm": "ohm",
    "mohm": "milliohm",
    "mω": "milliohm",
    "ω": "ohm",
    "%": "percent",
    "kpa": "kilopascal",
    "psig": "psi",
    "mpa": "megapascal",
}
_PINT_NAMES = {
    "l/min": "liter/minute",
    "m/min": "meter/minute",
    "mm2": "millimeter**2",
    "degC": "degC",
    "A": "ampere",
    "V": "volt",
    "%": "percent",
    "ohm": "ohm",
}


@lru_cache(maxsize=1)
def _registry() -> UnitRegistry[Any]:
    from pint import UnitRegistry

    return UnitRegistry(autoconvert_offset_to_baseunit=True)


def to_si(text: str, unit: str) -> float:
    """Return the value of `text` ("35 cfh", "0.035 in", "2/0 AWG") in `unit`.

    A bare number is taken to be in `unit` already. Raises ValueError when it is no quantity, or one of
    another kind.

    >>> round(to_si("35 cfh", "l/min"), 2)
    16.52
    """
    if unit == "mm2" and re.search(r"awg|ga|/0|#", text, re.I) and (size := _AWG.match(text)):
        try:
            return awg_area_mm2(_aughts(size.group(1)))
        except QuantityError as error:
            raise ValueError(str(error)) from None
    if fraction := _FRACTION.match(text):
        whole, top, bottom, given = fraction.groups()
        if int(bottom) == 0:
            raise ValueError(f"'{text}' divides by zero")
        value = int(whole or 0) + int(top) / int(bottom)
    elif match := _QUANTITY.match(text):
        value, given = float(match.group(1).replace(",", ".")), match.group(2)
    else:
        raise ValueError(f"'{text}' is not a number with a unit, such as '1.5 {unit}'")
    return value if given is None else convert(value, given, unit)


def _aughts(size: str) -> str:
    """Return '0', '00' and so on as '1/0', '2/0'; other sizes as they are."""
    return f"{len(size)}/0" if set(size) == {"0"} else size


def convert(value: float, given: str, wanted: str) -> float:
    """Return `value` of unit `given` in unit `wanted`. Raises ValueError when the two do not fit.

    >>> round(convert(300.0, "in/min", "m/min"), 2)
    7.62
    """
    if given.strip() == wanted:
        return value
    if not _UNIT.match(given.strip()):
        raise ValueError(f"'{given}' is not a unit we know; write it as {wanted}")
    import pint

    registry = _registry()
    name = _SPELLINGS.get(given.strip().lower(), given.strip())
    try:
        quantity = (
            registry.Quantity(value, registry.parse_units(name))
            if "deg" in name
            else (value * registry.parse_expression(name))
        )
        if isinstance(quantity, (int, float)):
            raise ValueError(f"'{given}' is not a unit")
        return float(quantity.to(_PINT_NAMES.get(wanted, wanted)).magnitude)
    except pint.DimensionalityError:
        raise ValueError(f"'{given}' does not measure what is wanted here ({wanted})") from None
    except (pint.PintError, AttributeError, TypeError, ArithmeticError):
        raise ValueError(f"'{given}' is not a unit we know; write it as {wanted}") from None


def quantity_in(unit: str) -> Callable[[object], object]:
    """Return a validator that turns a string with a unit into a number in `unit`."""

    def read(value: object) -> object:
        if isinstance(value, bool):
            raise ValueError(f"yes or no is not a number in {unit}")
        return to_si(value, unit) if isinstance(value, str) else value

    return read
