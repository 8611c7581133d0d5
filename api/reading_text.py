"""A reading as it is called across the shop: 'drop work_stud work_lug 2 V at 200 A'."""

from __future__ import annotations

import re
from typing import Any

from diagnose.readings.points import find_point, unknown_point
from knowledge.errors import CaseError

EXAMPLE = "drop work_stud work_lug 2 V at 200 A"
QUANTITIES = {
    "drop": "drop",
    "voltage drop": "drop",
    "volt drop": "drop",
    "line voltage": "line_voltage",
    "line volts": "line_voltage",
    "supply volts": "line_voltage",
    "open circuit voltage": "open_circuit",
    "open circuit": "open_circuit",
    "ocv": "open_circuit",
    "arc voltage": "arc_voltage",
    "arc volts": "arc_voltage",
    "flow": "flow",
    "temperature": "temperature",
    "temp": "temperature",
    "feed": "feed",
    "current": "current",
    "amperes": "current",
    "amps": "current",
    "pressure": "pressure",
}
_OF_UNIT = {
    "flow": {"l/min", "lpm", "cfh", "scfh", "cfm"},
    "pressure": {"kpa", "psi", "psig", "bar", "mpa"},
    "feed": {"m/min", "in/min", "ipm", "ft/min", "mm/s"},
    "temperature": {"°c", "°f", "degc", "degf", "c", "f", "k"},
    "current": {"a", "amp", "amps", "amperes"},
}
_UNITS = r"[A-Za-zµμ°%][A-Za-z°/]{0,11}"
_NUMBER = r"[+-]?(?:\d+(?:[.,]\d+)?|[.,]\d+)"
_VALUE = re.compile(rf"(?<![\w.,])({_NUMBER})\s*({_UNITS})(?!\w)")
_AT = re.compile(rf"(?:\bat|@)\s*({_NUMBER})\s*(?:A|amps?|amperes)\b", re.I)
_ACCURACY = re.compile(rf"(?:\bwithin|±|\+/-|\+-)\s*({_NUMBER})\s*%", re.I)
_FILLING = {"from", "to", "between", "and", "of", "the", "on", "reads", "is", "across", "in", "at"}


def reading(text: str, origin: str = "--reading") -> dict[str, Any]:
    """Return a reading from its words in any order: quantity, points, value with unit, 'at N A'.

    Raises CaseError for what is missing or left over.

    >>> reading(EXAMPLE) == {
    ...     "what": "drop", "value": 2.0, "unit": "V", "from": "work_stud", "to": "work_lug",
    ...     "at_current_a": 200.0,
    ... }
    True
    """
    rest = text
    found: dict[str, Any] = {}
    for key, pattern in (("at_current_a", _AT), ("accuracy_pct", _ACCURACY)):
        if match := pattern.search(rest):
            found[key] = _number(match.group(1))
            rest = rest[: match.start()] + " " + rest[match.end() :]
    values = list(_VALUE.finditer(rest))
    if len(values) != 1:
        what = "has no value with a unit" if not values else "has more than one value"
        raise _refused(text, what, origin)
    value, unit = values[0].groups()
    rest = rest[: values[0].start()] + " " + rest[values[0].end() :]
    quantity, words = _quantity(rest.lower().split())
    points = _points(text, [word for word in words if word not in _FILLING], origin)
    measured = quantity or _told_by_unit(unit, len(points))
    if measured is None:
        raise _refused(text, "does not say what was measured", origin)
    ends = dict(zip(("from", "to"), points, strict=False))
    return {"what": measured, "value": _number(value), "unit": unit} | ends | found


def _number(text: str) -> float:
    return float(text.replace(",", "."))


def _quantity(words: list[str]) -> tuple[str | None, list[str]]:
    for name in sorted(QUANTITIES, key=lambda one: -len(one)):
        parts = name.split()
        for start, word in enumerate(words):
            if word == "_".join(parts):
                return QUANTITIES[name], words[:start] + words[start + 1 :]
            if words[start : start + len(parts)] == parts:
                return QUANTITIES[name], words[:start] + words[start + len(parts) :]
    return None, words


def _points(text: str, words: list[str], origin: str) -> list[str]:
    """Return the points that the words name, the longest names first. Raises CaseError."""
    points: list[str] = []
    while words:
        for length in range(min(4, len(words)), 0, -1):
            if point := find_point("_".join(words[:length])):
                points.append(point)
                words = words[length:]
                break
        else:
            raise CaseError(f"'{text}': {unknown_point(_longest(words))}", where=origin)
    if len(points) > 2:
        raise _refused(text, f"names {len(points)} points; a reading has two at the most", origin)
    return points


def _longest(words: list[str]) -> str:
    """Return the words up to the next one that is a point by itself."""
    taken = [words[0]]
    for word in words[1:]:
        if find_point(word):
            break
        taken.append(word)
    return "_".join(taken[:3])


def _told_by_unit(unit: str, points: int) -> str | None:
    for quantity, units in _OF_UNIT.items():
        if unit.lower() in units:
            return quantity
    return "drop" if unit.lower() in ("v", "mv", "volts", "volt") and points == 2 else None


def _refused(text: str, what: str, origin: str) -> CaseError:
    return CaseError(f"'{text}' {what}", where=origin, next_step=f"Write it like '{EXAMPLE}'.")
