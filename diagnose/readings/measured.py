"""What the figures of a case come to: reckoned figures, measured quantities, and what was not used."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime

from diagnose.case import Reading
from diagnose.readings.points import find_point, unknown_point
from diagnose.reckon.evidence import Likelihoods
from diagnose.reckon.result import Result
from diagnose.units import convert

__all__ = ["Measured", "Note", "Sums", "Taken", "best_of", "points_of", "taken"]

_SI = {
    "drop": "V",
    "line_voltage": "V",
    "open_circuit": "V",
    "arc_voltage": "V",
    "flow": "l/min",
    "temperature": "degC",
    "feed": "m/min",
    "current": "A",
    "pressure": "kPa",
}
_DIFFERENCE = {"k": 1.0, "kelvin": 1.0, "degc": 1.0, "°c": 1.0, "c": 1.0}
_DIFFERENCE |= dict.fromkeys(("degf", "°f", "f"), 5.0 / 9.0)


@dataclass(frozen=True, order=True)
class Measured:
    """A measured quantity: how likely it is if the fault it speaks of is on, and if it is not.

    `quantity` ends in its unit; `item` is the place in the case that says it.
    """

    quantity: str
    item: str
    value: float
    if_fault: float
    if_sound: float


@dataclass(frozen=True, order=True)
class Note:
    """Something entered that was not used, and why."""

    item: str
    why: str


@dataclass(frozen=True)
class Sums:
    """Everything the figures come to. `says` puts an item in words, with its numbers.

    `replaces` are the figures of the station that a reading tells better.
    """

    figures: Mapping[str, float] = field(default_factory=dict)
    measured: tuple[Measured, ...] = ()
    says: Mapping[str, str] = field(default_factory=dict)
    unused: tuple[Note, ...] = ()
    results: Mapping[str, Result] = field(default_factory=dict)
    replaces: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Taken:
    """A reading with its value in SI, its points by name and its place in the case."""

    item: str
    reading: Reading
    value: float
    points: tuple[str, ...]

    @property
    def relative(self) -> float:
        """What the instrument may err, as a share; 1 % where nobody says."""
        told = self.reading.accuracy_pct
        return 0.01 if told is None else told / 100.0

    @property
    def shown(self) -> str:
        """The reading as it was entered."""
        return f"{self.reading.value:g} {self.reading.unit}"


def taken(readings: tuple[Reading, ...] | list[Reading]) -> Iterator[Taken | Note]:
    """Yield each reading in SI, or a note that says why it cannot be used."""
    for index, reading in enumerate(readings):
        item = f"readings[{index}]"
        try:
            value = _in_si(reading)
        except ValueError as error:
            yield Note(item, str(error))
            continue
        told = [name for name in (reading.from_, reading.to) if name is not None]
        unknown = [name for name in told if find_point(name) is None]
        points = tuple(point for name in told if (point := find_point(name)) is not None)
        if unknown:
            yield Note(item, unknown_point(unknown[0]))
        elif len(points) == 2 and points[0] == points[1]:
            yield Note(item, f"both ends are '{points[0]}'")
        elif value < 0.0 and reading.what != "temperature":
            yield Note(
                item,
                f"{reading.value:g} {reading.unit} is below zero; check which probe sat where, and "
                "give the size without the sign",
            )
        else:
            yield Taken(item, reading, value, points)


def _in_si(reading: Reading) -> float:
    if reading.what == "temperature" and reading.to is not None:
        factor = _DIFFERENCE.get(reading.unit.strip().lower())
        if factor is None:
            raise ValueError(f"'{reading.unit}' does not measure a difference of temperature")
        return reading.value * factor
    return convert(reading.value, reading.unit, _SI[reading.what])


def points_of(one: Taken, *known: str) -> str | None:
    """Return the first point of a reading that is among `known`, or None."""
    return next((point for point in one.points if point in known), None)


def best_of(rows: list[Taken]) -> tuple[Taken, list[Note]]:
    """Return which of several readings of one quantity counts, and why the others do not.

    The latest; where no time is told, the most accurate; else the one at the highest current.
    """
    best = max(rows, key=_standing)
    later = best.reading.at is not None
    why = f"the same was read {'later' if later else 'again'} as {best.item}; it counts once"
    return best, [Note(row.item, why) for row in rows if row is not best]


def _standing(row: Taken) -> tuple[bool, datetime, float, float, float]:
    at = row.reading.at
    aware = datetime.min.replace(tzinfo=UTC)
    if at is not None:
        aware = at if at.tzinfo else at.replace(tzinfo=UTC)
    return (
        at is not None,
        aware,
        -row.relative,
        row.reading.at_current_a or 0.0,
        row.value,
    )


def measured(quantity: str, item: str, value: float, odds: Likelihoods) -> Measured:
    """Return a measured quantity with its two likelihoods."""
    return Measured(quantity, item, value, odds.if_fault, odds.if_sound)
