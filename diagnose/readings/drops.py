"""Drops along the weld circuit: which stretch each was taken over, and what a sound one has."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise
from math import exp, hypot

from diagnose.readings.measured import Measured, Note, Taken, best_of, measured
from diagnose.readings.points import Span, span_of
from diagnose.readings.station_sums import StationSums
from diagnose.reckon.contradiction import DEVIATIONS
from diagnose.reckon.evidence import STATIONS, Meter, Spread, Stations, likelihoods
from diagnose.reckon.joint import MELTING_V

__all__ = ["Drop", "drops"]

QUANTITIES: Mapping[tuple[str, str], str] = {
    ("work_stud", "work_plug"): "work_plug_ohm",
    ("work_plug", "work_lug"): "work_lead_ohm",
    ("work_stud", "work_lug"): "work_lead_ohm",
    ("work_lug", "clamp"): "work_clamp_inside_ohm",
    ("clamp", "work"): "work_clamp_jaw_ohm",
    ("work_lug", "work"): "work_clamp_ohm",
    ("electrode_stud", "electrode_plug"): "electrode_plug_ohm",
    ("electrode_plug", "feeder"): "electrode_lead_ohm",
    ("electrode_stud", "feeder"): "electrode_lead_ohm",
    ("feeder", "gun_pin"): "gun_socket_ohm",
    ("gun_pin", "tip"): "gun_ohm",
    ("feeder", "tip"): "gun_and_socket_ohm",
}
"""Two ends -> the quantity the rules know. Any other stretch is `work_side_ohm`, `electrode_side_ohm`."""
CURRENT_RELATIVE = 0.03
CURRENT_AS_MEANT_RELATIVE = 0.15
"""What a clamp meter errs; how far the current that is dialled may be from the one that flows."""
METER_V = 0.02
UNKNOWN_LEAD = Stations(
    "a lead of which length or size is not told",
    "ohm",
    Spread("lognormal", 6.0e-3, 0.70),
    Spread("lognormal", 20.0e-3, 0.80),
    note="5 to 30 m of 35 to 70 mm²",
)
"""Judgement."""
FAULT_TIMES = 2.5
FAULT_WIDTH = 0.70
LEAST_OHM = 1.0e-6
_LEAD_WIDTH = STATIONS["lead_over_expected"].sound.width


@dataclass(frozen=True)
class Drop:
    """A drop over one stretch: its resistance and how far off that may be, ohms."""

    item: str
    span: Span
    ohm: float
    deviation: float
    current_a: float
    volts: float
    shown: str
    relative: float
    current_from: str = ""


def drops(
    rows: Iterable[Taken], sums: StationSums, flowing: Taken | None, most_v: float | None
) -> Iterator[Measured | Note | tuple[str, str]]:
    """Yield what the drops come to: measured quantities, notes, and (item, words).

    `flowing` is a reading of the weld current, for drops that do not say theirs; `most_v` is the
    open-circuit voltage where it is known, which no drop can pass.
    """
    placed: dict[Span, list[Taken]] = {}
    for row in rows:
        span = span_of(row.points)
        if span is None:
            yield Note(row.item, _no_span(row))
        elif most_v is not None and row.value > most_v:
            yield Note(row.item, f"{row.shown} is more than the open circuit gives ({most_v:g} V)")
        else:
            placed.setdefault(span, []).append(row)
    found: list[Drop] = []
    for span, same in sorted(placed.items()):
        chosen = list(_one_of(span, same, sums, flowing))
        yield from (note for note in chosen if isinstance(note, Note))
        found += [drop for drop in chosen if isinstance(drop, Drop)]
    kept, notes = _consistent(found, sums)
    yield from notes
    for drop in kept:
        yield from _judged(drop, sums)


def _no_span(row: Taken) -> str:
    if len(row.points) < 2:
        return "a drop lies between two points; say from where to where"
    return (
        f"'{row.points[0]}' and '{row.points[1]}' do not lie on one side of the weld circuit; "
        "volts between the two sides are an arc_voltage or an open_circuit"
    )


def _one_of(
    span: Span, rows: list[Taken], sums: StationSums, flowing: Taken | None
) -> Iterator[Drop | Note]:
    """Yield the one drop over a stretch that counts, and notes on the others."""
    made: dict[str, Drop] = {}
    for row in rows:
        drop = _drop(span, row, sums, flowing)
        if drop is None:
            yield Note(row.item, "no current is told, so the volts say nothing about the joint")
        else:
            made[row.item] = drop
    able = [row for row in rows if row.item in made]
    if not able:
        return
    undated = [row for row in able if row.reading.at is None]
    apart = _furthest([made[row.item] for row in undated])
    if len(able) == len(undated) and apart is not None:
        one, two = apart
        for item in sorted(made):
            yield Note(
                item,
                f"{one.item} and {two.item} read the same and differ: {1000 * one.ohm:.3g} mΩ "
                f"against {1000 * two.ohm:.3g} mΩ; read again",
            )
        return
    best, notes = best_of(able)
    yield from notes
    yield made[best.item]


def _furthest(made: list[Drop]) -> tuple[Drop, Drop] | None:
    """Return two drops over one stretch that cannot both be true, or None."""
    if len(made) < 2:
        return None
    low, high = min(made, key=lambda d: (d.ohm, d.item)), max(made, key=lambda d: (d.ohm, d.item))
    apart = high.ohm - low.ohm > DEVIATIONS * hypot(low.deviation, high.deviation)
    return (low, high) if apart else None


def _drop(span: Span, row: Taken, sums: StationSums, flowing: Taken | None) -> Drop | None:
    current, relative, whence = row.reading.at_current_a, CURRENT_RELATIVE, ""
    if current is None and flowing is not None and flowing.value > 0.0:
        current, whence = flowing.value, f" (current from {flowing.item})"
    elif current is None:
        current, relative = sums.current_a, CURRENT_AS_MEANT_RELATIVE
        whence = " (the current that is set)"
    if current is None:
        return None
    ohm = row.value / current
    volts_sd = hypot(row.relative * row.value, METER_V)
    deviation = hypot(volts_sd / current, relative * ohm)
    both = hypot(row.relative, relative)
    return Drop(row.item, span, ohm, deviation, current, row.value, row.shown, both, whence)


def _consistent(found: list[Drop], sums: StationSums) -> tuple[list[Drop], list[Note]]:
    """Return the drops that count, finest first, and notes on what contradicts or is said twice."""
    notes: dict[str, str] = {}
    for drop in found:
        ohm = _lead_alone(drop.span, sums)
        if ohm is not None and drop.ohm + DEVIATIONS * drop.deviation < 0.5 * ohm:
            notes[drop.item] = (
                f"{1000 * drop.ohm:.2g} mΩ is under half of what copper of that length and size "
                f"has ({1000 * ohm:.2g} mΩ); check the points and the lead that was told"
            )
    left = [drop for drop in found if drop.item not in notes]
    kept: list[Drop] = []
    for whole in sorted(left, key=lambda d: (d.span.high - d.span.low, d.span)):
        inside = [drop for drop in left if whole.span.holds(drop.span)]
        parts = [d for d in inside if not any(o.span.holds(d.span) for o in inside)]
        if not parts:
            kept.append(whole)
            continue
        clash, rest = _against_parts(whole, parts)
        if clash:
            for drop in (whole, *parts):
                notes[drop.item] = clash
        elif rest is not None:
            kept.append(rest)
        else:
            notes.setdefault(whole.item, "its parts were measured and say it more closely")
    return [drop for drop in kept if drop.item not in notes], [
        Note(item, why) for item, why in sorted(notes.items())
    ]


def _against_parts(whole: Drop, parts: list[Drop]) -> tuple[str, Drop | None]:
    """Return the contradiction between a stretch and its parts, or what is left of the stretch."""
    parts = sorted(parts, key=lambda d: d.span)
    if any(a.span.high > b.span.low for a, b in pairwise(parts)):
        return "", None
    total = sum(part.ohm for part in parts)
    spread = DEVIATIONS * hypot(whole.deviation, *(part.deviation for part in parts))
    covered = sum(part.span.high - part.span.low for part in parts)
    complete = covered == whole.span.high - whole.span.low
    over = total - whole.ohm
    if over > spread or (complete and -over > spread):
        names = ", ".join(part.item for part in parts)
        return (
            f"{whole.item} and its parts ({names}) do not add up: {1000 * whole.ohm:.3g} mΩ against "
            f"{1000 * total:.3g} mΩ; read again",
            None,
        )
    if complete:
        return "", None
    free = [
        at
        for at in range(whole.span.low, whole.span.high)
        if not any(part.span.low <= at < part.span.high for part in parts)
    ]
    if free[-1] - free[0] + 1 != len(free):
        return "", None
    ohm = max(0.0, -over)
    rest = Span(whole.span.side, free[0], free[-1] + 1)
    taken_off = " and ".join(part.item for part in parts)
    return "", Drop(
        whole.item,
        rest,
        ohm,
        hypot(whole.deviation, *(part.deviation for part in parts)),
        whole.current_a,
        ohm * whole.current_a,
        f"{ohm * whole.current_a:.2f} V left of {whole.shown} after {taken_off}",
        whole.relative,
        whole.current_from,
    )


def _lead_alone(span: Span, sums: StationSums) -> float | None:
    leads = [part for part in span.segments if not part.kind]
    return sums.lead_ohm(span.side) if leads else None


def _stations(span: Span, sums: StationSums) -> tuple[Stations, bool]:
    """Return sound and faulty stretches of this sort, and whether the lead in it is known."""
    if span.points == ("work_lug", "work"):
        return STATIONS["work_clamp_resistance"], True
    rows: list[Spread] = []
    known = True
    for part in span.segments:
        if part.kind:
            rows.append(STATIONS[part.kind].sound)
            continue
        ohm = sums.lead_ohm(span.side)
        known = ohm is not None
        rows.append(UNKNOWN_LEAD.sound if ohm is None else Spread("lognormal", ohm, _LEAD_WIDTH))
    if len(rows) == 1 and span.segments[0].kind:
        return STATIONS[span.segments[0].kind], True
    if len(rows) == 1 and not known:
        return UNKNOWN_LEAD, False
    centre = sum(row.centre for row in rows)
    width = max(_LEAD_WIDTH, hypot(*(row.centre * row.width for row in rows)) / centre)
    fault = Spread("lognormal", FAULT_TIMES * centre, max(FAULT_WIDTH, width))
    name = " and ".join(part.name for part in span.segments)
    return Stations(name, "ohm", Spread("lognormal", centre, width), fault), known


def _judged(drop: Drop, sums: StationSums) -> Iterator[Measured | tuple[str, str]]:
    stations, known = _stations(drop.span, sums)
    held = max(drop.ohm, LEAST_OHM)
    odds = likelihoods(held, stations, Meter(drop.relative, METER_V / drop.current_a))
    quantity = QUANTITIES.get(drop.span.points, f"{drop.span.side}_side_ohm")
    if quantity == "gun_and_socket_ohm":
        quantity = "gun_ohm"
    if not known and quantity.endswith("_lead_ohm"):
        quantity = f"{drop.span.side}_side_ohm"
    yield measured(quantity, drop.item, drop.ohm, odds)
    yield drop.item, _in_words(drop, stations, known)


def _in_words(drop: Drop, stations: Stations, known: bool) -> str:
    near, far = (point.replace("_", " ") for point in drop.span.points)
    over = " and ".join(part.name for part in drop.span.segments)
    sound_v = stations.sound.centre * drop.current_a
    volts = f"{drop.volts:.2f} V" if "left of" not in drop.shown else drop.shown
    text = (
        f"{volts} between {near} and {far} ({over}) at {drop.current_a:.0f} A"
        f"{drop.current_from}: {1000 * drop.ohm:.3g} mΩ, {drop.volts * drop.current_a:.0f} W. "
        f"A sound one drops about {sound_v:.2f} V, seldom more than "
        f"{sound_v * exp(2.0 * stations.sound.width):.2f} V"
    )
    if not known:
        text += ", as far as can be said without the lead's length and size"
    joints_only = all(part.kind and part.name != "gun" for part in drop.span.segments)
    if joints_only and drop.volts >= MELTING_V["steel"]:
        text += (
            ". Past the melting voltage of one clean contact: arcing, film or several joints in "
            "series"
        )
    return text + "."
