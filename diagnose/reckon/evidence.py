"""From a reading to evidence: how likely it is on a faulty station, and how likely on a sound one.

Good and bad stations are spreads, not limits, so a reading just past a limit convicts nobody. Past
the middle of either spread, further out is not more evidence. A few readings in a hundred are
plain mistakes, so no reading is ever certain.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, hypot, log, pi, sqrt
from typing import Literal, NamedTuple

from diagnose.reckon.quantity import finite, positive
from knowledge.errors import QuantityError
from knowledge.models import Basis

MISREAD = 0.03
"""Share of readings that tell nothing: wrong range, wrong points, wrong digit. Judgement."""
MISREAD_WIDTH = 5.0
"""A mistaken reading may lie anywhere over this many spreads (lognormal: log units). Judgement."""


@dataclass(frozen=True, slots=True)
class Meter:
    """What an instrument may err: a share of the reading, and an amount on top of it."""

    relative: float = 0.0
    absolute: float = 0.0

    def deviation(self, reading: float) -> float:
        """Return the standard deviation at this reading, in its unit."""
        return hypot(self.relative * reading, self.absolute)


@dataclass(frozen=True, slots=True)
class Spread:
    """Where stations lie. `lognormal`: median and log deviation; `normal`: mean and deviation."""

    kind: Literal["lognormal", "normal"]
    centre: float
    width: float


@dataclass(frozen=True, slots=True)
class Stations:
    """Sound and faulty stations of one quantity; the fault moves it one way. Says its basis."""

    quantity: str
    unit: str
    sound: Spread
    fault: Spread
    basis: Basis = "judgement"
    note: str = ""


class Likelihoods(NamedTuple):
    """Scaled so that they sum to one; only their ratio carries meaning."""

    if_fault: float
    if_sound: float


STATIONS: dict[str, Stations] = {
    "work_clamp_resistance": Stations(
        "resistance of the whole work clamp",
        "ohm",
        Spread("lognormal", 1.0e-3, 0.40),
        Spread("lognormal", 5.0e-3, 0.80),
        note="sound 0.1 to 0.3 V at 200 A; repair at 1 V",
    ),
    "bolted_joint_resistance": Stations(
        "resistance of a lug or plug",
        "ohm",
        Spread("lognormal", 0.25e-3, 0.60),
        Spread("lognormal", 2.0e-3, 0.80),
        note="sound up to 0.1 V at 200 A; look at 0.2 V, repair at 0.3 V",
    ),
    "gun_resistance": Stations(
        "resistance of the gun from pin to tip",
        "ohm",
        Spread("lognormal", 4.5e-3, 0.35),
        Spread("lognormal", 12.0e-3, 0.50),
        note="sound 0.5 to 1.5 V at 200 A; suspect above 2 V",
    ),
    "lead_over_expected": Stations(
        "drop of a lead over its reckoned drop",
        "1",
        Spread("lognormal", 1.0, 0.12),
        Spread("lognormal", 1.8, 0.40),
        note="tables give the greatest resistance; warmth adds up to a fifth",
    ),
    "nozzle_over_meter_flow": Stations(
        "flow at the nozzle over flow at the meter",
        "1",
        Spread("lognormal", 0.98, 0.06),
        Spread("lognormal", 0.60, 0.35),
        note="sound within 10 %; 20 % low is a leak or a blockage",
    ),
    "feed_over_dial": Stations(
        "measured feed over the dial",
        "1",
        Spread("lognormal", 1.0, 0.04),
        Spread("lognormal", 0.80, 0.18),
        note="sound within 5 %; 10 % off is suspect",
    ),
    "supply_sag": Stations(
        "fall of the supply from idle to full load",
        "1",
        Spread("normal", 0.025, 0.02),
        Spread("normal", 0.13, 0.05),
        note="sound under 5 %; above 10 % is suspect",
    ),
    "joint_rise": Stations(
        "joint above the cable beside it after five minutes",
        "K",
        Spread("normal", 7.0, 6.0),
        Spread("normal", 40.0, 20.0),
        note="sound within 10 to 15 K; 25 K is suspect",
    ),
    "liner_pull": Stations(
        "pull on the wire by hand, 3 m gun, straight",
        "N",
        Spread("lognormal", 14.0, 0.35),
        Spread("lognormal", 45.0, 0.50),
        note="sound 10 to 20 N; 40 N is suspect",
    ),
}
"""Judgement, set from the figures that tell good from bad at the bench."""


def likelihoods(reading: float, stations: Stations, meter: Meter | None = None) -> Likelihoods:
    """Return how likely this reading is if the fault is on, and if it is not.

    `reading` is in the unit of `stations`; `meter` says what the instrument may err.

    Raises
    ------
    QuantityError : a reading not finite, or not above zero where only positive ones exist; a
        fault spread narrower than the sound one

    Source
    ------
    Normal error theory; the spreads are judgement.

    >>> just_past, far_past = (
    ...     likelihoods(v / 200.0, STATIONS["work_clamp_resistance"], Meter(0.03, 0.0001))
    ...     for v in (0.31, 1.2)
    ... )
    >>> just_past.if_fault < 0.5 < 0.9 < far_past.if_fault
    True
    """
    if stations.fault.width < stations.sound.width or stations.sound.kind != stations.fault.kind:
        raise QuantityError(
            "faulty stations must spread at least as wide as sound ones, in the same way",
            where=stations.quantity,
        )
    held = _between_the_middles(reading, stations)
    error = (meter or Meter()).deviation(abs(held))
    density_fault = _density(held, stations.fault, error)
    density_sound = _density(held, stations.sound, error)
    mistaken = MISREAD / (MISREAD_WIDTH * _scale(stations.fault))
    fault = (1.0 - MISREAD) * density_fault + mistaken
    sound = (1.0 - MISREAD) * density_sound + mistaken
    return Likelihoods(fault / (fault + sound), sound / (fault + sound))


def _between_the_middles(reading: float, stations: Stations) -> float:
    """Hold the reading between the middles, so that the odds only ever rise towards the fault."""
    if stations.sound.kind == "lognormal":
        positive(reading, stations.quantity)
    low, high = sorted((stations.sound.centre, stations.fault.centre))
    return min(max(finite(reading, stations.quantity), low), high)


def _scale(spread: Spread) -> float:
    return 1.0 if spread.kind == "lognormal" else spread.width


def _density(reading: float, spread: Spread, error: float) -> float:
    """Density of the reading; a lognormal one per unit of its logarithm, so ratios are the same."""
    if spread.kind == "lognormal":
        width = hypot(positive(spread.width, "width"), error / reading)
        away = (log(reading) - log(positive(spread.centre, "centre"))) / width
    else:
        width = hypot(positive(spread.width, "width"), error)
        away = (reading - spread.centre) / width
    return exp(-0.5 * away * away) / (width * sqrt(2.0 * pi))
