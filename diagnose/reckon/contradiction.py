"""Readings along one circuit that cannot all be true: named, never averaged."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import hypot

from diagnose.reckon.quantity import not_negative, positive
from knowledge.errors import QuantityError

DEVIATIONS = 3.0
"""Readings further apart than this many standard deviations contradict each other."""


@dataclass(frozen=True, slots=True)
class Step:
    """One joint or lead between two neighbouring points, and what a sound one has.

    `kind` is a row of the evidence table in ohms for a joint; for a lead leave it out and give
    `expected_ohm` as reckoned.
    """

    name: str
    kind: str = ""
    expected_ohm: float = 0.0


@dataclass(frozen=True, slots=True)
class Reading:
    """A drop from one point to another while `current_a` flowed, without its sign."""

    from_point: str
    to_point: str
    drop_v: float
    current_a: float


@dataclass(frozen=True, slots=True)
class Instrument:
    """Volt meter and clamp meter. Judgement: 1 % and 0.02 V; 3 % of current."""

    volt_relative: float = 0.01
    volt_v: float = 0.02
    current_relative: float = 0.03


def resistance_spread_ohm(reading: Reading, instrument: Instrument) -> tuple[float, float]:
    """Return the resistance a reading shows and its standard deviation, ohms.

    Raises
    ------
    QuantityError : negative drop, or current not above zero

    Source
    ------
    Error propagation of R = V / I.

    >>> r, s = resistance_spread_ohm(Reading("clamp", "work", 2.0, 200.0), Instrument())
    >>> round(1000 * r, 1), round(1000 * s, 2)
    (10.0, 0.33)
    """
    volts = not_negative(reading.drop_v, "drop_v")
    current_a = positive(reading.current_a, "current_a")
    volts_sd = hypot(instrument.volt_relative * volts, instrument.volt_v)
    ohm = volts / current_a
    return ohm, hypot(volts_sd / current_a, instrument.current_relative * ohm)


def span_of(points: tuple[str, ...], reading: Reading) -> tuple[int, int]:
    """Return the places of the two points of a reading along the way, the earlier first.

    Raises
    ------
    QuantityError : a point that is not on the way, or both probes at one point

    >>> span_of(("stud", "lug", "work"), Reading("work", "stud", 1.0, 100.0))
    (0, 2)
    """
    for point in (reading.from_point, reading.to_point):
        if point not in points:
            raise QuantityError(
                f"'{point}' is no point of this circuit",
                where="readings",
                next_step="Points: " + ", ".join(points) + ".",
            )
    low, high = sorted((points.index(reading.from_point), points.index(reading.to_point)))
    if low == high:
        raise QuantityError(f"both probes at '{points[low]}'", where="readings")
    return low, high


def contradictions_among(
    points: tuple[str, ...],
    steps: tuple[Step, ...],
    readings: tuple[Reading, ...],
    *,
    instrument: Instrument,
    open_circuit_v: float | None = None,
) -> tuple[str, ...]:
    """Return in words which readings cannot be, or cannot all be, true.

    More volts than the source gives, a lead better than its copper, one span read twice with
    different outcomes, parts against their whole.

    Raises
    ------
    QuantityError : a reading at an unknown point, or an impossible one

    Source
    ------
    Kirchhoff's voltage law and error propagation; three deviations.

    >>> contradictions_among(
    ...     ("stud", "work"),
    ...     (Step("lead", expected_ohm=0.01),),
    ...     (Reading("stud", "work", 90.0, 200.0),),
    ...     instrument=Instrument(),
    ...     open_circuit_v=40.0,
    ... )
    ('stud to work: 90 V is more than the source gives.',)
    """
    meters = instrument
    spans = tuple(span_of(points, reading) for reading in readings)
    found: list[str] = []
    for reading, (low, high) in zip(readings, spans, strict=True):
        name = f"{points[low]} to {points[high]}"
        ohm, sd = resistance_spread_ohm(reading, meters)
        if open_circuit_v is not None and reading.drop_v > open_circuit_v:
            found.append(f"{name}: {reading.drop_v:g} V is more than the source gives.")
        step = steps[low]
        if high - low == 1 and not step.kind and ohm + DEVIATIONS * sd < 0.5 * step.expected_ohm:
            found.append(
                f"{name}: {1000 * ohm:.2g} mΩ is under half of what copper of that size has."
            )
    for (one, span), (two, other) in pairwise(sorted(_paired(readings, spans), key=_second)):
        if span == other:
            found += _apart(
                f"{points[span[0]]} to {points[span[1]]} read twice", one, [two], meters
            )
    for whole, span in zip(readings, spans, strict=True):
        parts = _tiling(span, readings, spans)
        if parts:
            found += _apart(
                f"{points[span[0]]} to {points[span[1]]} against its parts", whole, parts, meters
            )
    return tuple(found)


def _paired(
    readings: tuple[Reading, ...], spans: tuple[tuple[int, int], ...]
) -> list[tuple[Reading, tuple[int, int]]]:
    return list(zip(readings, spans, strict=True))


def _second(item: tuple[Reading, tuple[int, int]]) -> tuple[int, int]:
    return item[1]


def _tiling(
    whole: tuple[int, int], readings: tuple[Reading, ...], spans: tuple[tuple[int, int], ...]
) -> list[Reading]:
    """Shorter readings that together cover `whole` end to end, or none."""
    parts: list[Reading] = []
    at = whole[0]
    while at < whole[1]:
        onward = [
            (span, reading)
            for reading, span in _paired(readings, spans)
            if span[0] == at and span[1] <= whole[1] and span != whole
        ]
        if not onward:
            return []
        span, reading = min(onward, key=lambda item: item[0])
        parts.append(reading)
        at = span[1]
    return parts


def _apart(name: str, whole: Reading, parts: list[Reading], meters: Instrument) -> list[str]:
    ohm, sd = resistance_spread_ohm(whole, meters)
    shown = [resistance_spread_ohm(part, meters) for part in parts]
    total = sum(part for part, _ in shown)
    spread = hypot(sd, *(part_sd for _, part_sd in shown))
    if abs(ohm - total) <= DEVIATIONS * spread:
        return []
    return [f"{name}: {1000 * ohm:.3g} mΩ against {1000 * total:.3g} mΩ."]
