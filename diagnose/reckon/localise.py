"""Several drops along the circuit at a known current: which joint is out.

Points are named in order along the way (stud, lug, plug, clamp, work). A reading spans two of
them. Readings that cannot all be true are named, not averaged.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot

from diagnose.reckon.contradiction import (
    Instrument,
    Reading,
    Step,
    contradictions_among,
    resistance_spread_ohm,
    span_of,
)
from diagnose.reckon.evidence import STATIONS, Likelihoods, Meter, Spread, Stations, likelihoods
from diagnose.reckon.result import SHOP, HowSure, Limit, Result, Verdict
from knowledge.errors import QuantityError

SURE_ENOUGH = 0.9
"""Chance, of a joint judged by itself at even odds, that calls it bad. Judgement."""
LEAST_OHM = 1.0e-6


@dataclass(frozen=True, slots=True)
class Candidate:
    """One measured step: its resistance with the spread of the meters, and how odd it is.

    `probability` is over all measured steps and "none of them", at even odds to start with.
    """

    name: str
    resistance_ohm: float
    low_ohm: float
    high_ohm: float
    sound_ohm: float
    probability: float
    likelihoods: Likelihoods


@dataclass(frozen=True, slots=True)
class Located:
    """Candidates, most probable first; what contradicts; the joint that is out, if one is."""

    candidates: tuple[Candidate, ...]
    none_out: float
    contradictions: tuple[str, ...]
    result: Result


def localise(
    points: tuple[str, ...],
    steps: tuple[Step, ...],
    readings: tuple[Reading, ...],
    instrument: Instrument | None = None,
    open_circuit_v: float | None = None,
) -> Located:
    """Return which step is out, with the spread the meters allow, and what contradicts.

    `points` are in order along the way; `steps[i]` lies between `points[i]` and `points[i + 1]`.

    Raises
    ------
    QuantityError : points and steps do not match, a reading at an unknown point, an impossible
        reading, or a step with neither a known kind nor an expected resistance

    Source
    ------
    Bayes' rule over "this step alone is out" and "none is"; spreads are judgement.

    >>> found = localise(
    ...     ("stud", "lug", "clamp", "work"),
    ...     (
    ...         Step("lug", "bolted_joint_resistance"),
    ...         Step("work lead", expected_ohm=0.0166),
    ...         Step("work clamp", "work_clamp_resistance"),
    ...     ),
    ...     (
    ...         Reading("stud", "lug", 0.06, 200.0),
    ...         Reading("lug", "clamp", 3.3, 200.0),
    ...         Reading("clamp", "work", 2.0, 200.0),
    ...     ),
    ... )
    >>> found.candidates[0].name, found.result.verdict
    ('work clamp', 'bad')
    """
    meters = instrument or Instrument()
    if len(points) != len(steps) + 1 or len(set(points)) != len(points):
        raise QuantityError(
            "points must be different and one more than the steps between them", where="points"
        )
    spans = tuple(span_of(points, reading) for reading in readings)
    contradictions = contradictions_among(
        points, steps, readings, instrument=meters, open_circuit_v=open_circuit_v
    )
    single = {
        span[0]: reading
        for span, reading in zip(spans, readings, strict=True)
        if span[1] - span[0] == 1
    }
    shown = [(steps[at], reading) for at, reading in sorted(single.items())]
    candidates, none_out = _ranked(shown, meters)
    result = _located_result(candidates, contradictions, none_out)
    return Located(candidates, none_out, contradictions, result)


def step_stations(step: Step) -> Stations:
    """Return the spreads of sound and faulty steps of this sort, in ohms.

    Raises
    ------
    QuantityError : neither a known kind nor an expected resistance

    >>> step_stations(Step("lead", expected_ohm=0.0166)).sound.centre
    0.0166
    """
    if step.kind in STATIONS and STATIONS[step.kind].unit == "ohm":
        return STATIONS[step.kind]
    if step.kind or step.expected_ohm <= 0.0:
        raise QuantityError(
            f"'{step.name}' has neither a known kind nor an expected resistance",
            where="steps",
            next_step="Give a joint its kind, a lead its reckoned resistance.",
        )
    shape = STATIONS["lead_over_expected"]
    sound = Spread("lognormal", step.expected_ohm * shape.sound.centre, shape.sound.width)
    fault = Spread("lognormal", step.expected_ohm * shape.fault.centre, shape.fault.width)
    return Stations(f"resistance of {step.name}", "ohm", sound, fault)


def _as_ohms(meters: Instrument, current_a: float) -> Meter:
    """Both meters as one that reads ohms."""
    return Meter(hypot(meters.volt_relative, meters.current_relative), meters.volt_v / current_a)


def _ranked(
    shown: list[tuple[Step, Reading]], meters: Instrument
) -> tuple[tuple[Candidate, ...], float]:
    weighed = []
    for step, reading in shown:
        stations = step_stations(step)
        ohm, sd = resistance_spread_ohm(reading, meters)
        held = max(ohm, LEAST_OHM)
        odds = likelihoods(held, stations, _as_ohms(meters, reading.current_a))
        weighed.append((step, stations, ohm, sd, odds))
    total = 1.0 + sum(odds.if_fault / odds.if_sound for *_, odds in weighed)
    candidates = [
        Candidate(
            step.name,
            ohm,
            max(0.0, ohm - 2.0 * sd),
            ohm + 2.0 * sd,
            stations.sound.centre,
            odds.if_fault / odds.if_sound / total,
            odds,
        )
        for step, stations, ohm, sd, odds in weighed
    ]
    candidates.sort(key=lambda one: (-one.probability, one.name))
    return tuple(candidates), 1.0 / total


def _located_result(
    candidates: tuple[Candidate, ...], contradictions: tuple[str, ...], none_out: float
) -> Result:
    limit = Limit(
        "chance, judged by itself, that calls a joint out", SURE_ENOUGH, "1", SHOP, "judgement"
    )
    verdict: Verdict = "good"
    value: float | None = None
    if contradictions:
        says = "The readings contradict each other: read again before blaming a joint."
        verdict = "no_limit"
    elif not candidates:
        says, verdict = "No single joint was measured: read each joint on its own.", "no_limit"
    else:
        first = candidates[0]
        value = first.resistance_ohm
        says = (
            f"{first.name}: {1000 * first.low_ohm:.2g} to {1000 * first.high_ohm:.2g} mΩ, a sound "
            f"one has about {1000 * first.sound_ohm:.2g} mΩ; the chance that it is the one out: "
            f"{first.probability:.0%}."
        )
        if first.likelihoods.if_fault >= SURE_ENOUGH:
            verdict = "bad"
        elif first.probability > none_out:
            verdict = "suspect"
        else:
            says = f"None of the {len(candidates)} measured is out ({none_out:.0%})."
    also = [one.name for one in candidates[1:] if one.likelihoods.if_fault >= SURE_ENOUGH]
    return Result(
        quantity="resistance of the joint that is out",
        value=value,
        unit="ohm",
        says=says,
        verdict=verdict,
        how_sure=HowSure("Two deviations of the meters; how sound joints spread: judgement.", 0.1),
        limits=(limit,),
        working=tuple(
            f"{one.name}: R = V / I = {1000 * one.resistance_ohm:.3g} mΩ "
            f"({1000 * one.low_ohm:.2g} to {1000 * one.high_ohm:.2g}), "
            f"odds {one.likelihoods.if_fault / one.likelihoods.if_sound:.2g}"
            for one in candidates
        ),
        notes=contradictions + ((f"Also out: {', '.join(also)}.",) if also else ()),
    )
