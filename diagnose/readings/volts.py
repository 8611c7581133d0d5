"""Volts between the two sides of the weld circuit: at no load, at the studs, at the arc."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from diagnose.readings.measured import Measured, Note, Taken, best_of, measured, points_of
from diagnose.readings.points import WAYS
from diagnose.readings.station_sums import StationSums
from diagnose.reckon.evidence import Likelihoods, Meter, Spread, Stations, likelihoods

__all__ = ["Volts", "volts"]

Found = Measured | Note | tuple[str, str]

NO_VOLTS_UP_TO_V = 3.0
SOME_VOLTS_FROM_V = 14.0
MOST_OPEN_CIRCUIT_V = 150.0
"""A welding source for wire gives well under this at no load; more is a wrong range. Judgement."""
NOTHING_THERE = Likelihoods(0.95, 0.05)
SOMETHING_THERE = Likelihoods(0.04, 0.96)
OPEN_CIRCUIT = Stations(
    "open-circuit volts over what the set gives as a rule",
    "1",
    Spread("normal", 1.0, 0.08),
    Spread("normal", 0.60, 0.20),
)
LOST = Stations(
    "volts lost between studs and arc",
    "V",
    Spread("normal", 1.5, 0.8),
    Spread("normal", 4.5, 2.0),
    note="under 2 V is comfortable for short arc, 4 V the usual ceiling",
)
UNDER_THE_DIAL = Stations(
    "volts at the studs below the dial",
    "V",
    Spread("normal", 0.0, 0.9),
    Spread("normal", 4.0, 2.0),
    note="dials are good to a volt or so",
)
OFF_THE_MIDDLE = Stations(
    "arc volts off the middle of their window",
    "V",
    Spread("normal", 0.0, 1.2),
    Spread("normal", 4.0, 2.0),
    note="1.5 V off still runs; past 3 V it stubs or burns back",
)
"""Judgement, set from the figures that tell good from bad at the bench."""
METER_V = 0.2
"""Short-arc volts swing; an average over some seconds is this good. Judgement."""


@dataclass(frozen=True)
class Volts:
    """The most volts the circuit can show, where known, and what the readings come to."""

    most_v: float | None
    found: tuple[Found, ...]


def volts(open_circuit: Iterable[Taken], arc: Iterable[Taken], sums: StationSums) -> Volts:
    """Return what open-circuit and arc volts come to."""
    source = sums.station.source
    told = source.open_circuit_v if source else None
    found: list[Found] = []
    usable = []
    for row in open_circuit:
        if row.value > MOST_OPEN_CIRCUIT_V:
            found.append(Note(row.item, f"{row.shown} is more than a welding source gives"))
        else:
            usable.append(row)
    most = told
    if usable:
        best, notes = best_of(usable)
        found += notes
        if best.value >= SOME_VOLTS_FROM_V:
            most = max(best.value, told or 0.0)
        found += _no_load(best, told)
    found += _at_work(arc, sums, most)
    return Volts(most, tuple(found))


def _no_load(row: Taken, told: float | None) -> Iterator[Found]:
    if row.value <= NO_VOLTS_UP_TO_V:
        yield measured("open_circuit_missing_v", row.item, row.value, NOTHING_THERE)
        yield row.item, f"{row.shown} at no load is next to nothing; 16 to 80 V is usual."
        return
    if row.value < SOME_VOLTS_FROM_V:
        yield Note(
            row.item,
            f"{row.shown} at no load may be a set that idles low; read again with the trigger held",
        )
        return
    yield measured("open_circuit_missing_v", row.item, row.value, SOMETHING_THERE)
    says = f"{row.shown} at no load: the source answers."
    if told is not None:
        share = row.value / told
        odds = likelihoods(share, OPEN_CIRCUIT, Meter(row.relative))
        yield measured("open_circuit_over_usual", row.item, share, odds)
        says = f"{row.shown} at no load against the usual {told:g} V ({share:.0%})."
    yield row.item, f"{says} It does not prove that the leads are sound."


def _place(row: Taken) -> str:
    if not row.points or "studs" in row.points:
        return "studs"
    if "arc" in row.points:
        return "arc"
    electrode = points_of(row, *WAYS["electrode"])
    work = points_of(row, *WAYS["work"])
    if electrode in ("electrode_stud", "electrode_plug") and work in ("work_stud", "work_plug"):
        return "studs"
    if electrode is not None and work is not None:
        return "arc"
    if electrode in ("feeder", "gun_pin", "tip") and work is None:
        return "arc"
    return "" if len(row.points) == 2 else "studs"


def _at_work(arc: Iterable[Taken], sums: StationSums, most: float | None) -> Iterator[Found]:
    placed: dict[str, list[Taken]] = {}
    for row in arc:
        place = _place(row)
        if not place:
            yield Note(row.item, "arc volts lie between the electrode side and the work side")
        elif most is not None and row.value > 1.02 * most:
            yield Note(row.item, f"{row.shown} is more than the open circuit gives ({most:g} V)")
        else:
            placed.setdefault(place, []).append(row)
    best: dict[str, Taken] = {}
    for place, rows in sorted(placed.items()):
        best[place], notes = best_of(rows)
        yield from notes
    studs, at_arc = best.get("studs"), best.get("arc")
    if studs is not None and at_arc is not None:
        if at_arc.value > studs.value + 3.0 * METER_V + 0.02 * studs.value:
            why = (
                f"{at_arc.shown} at the arc is more than {studs.shown} at the studs; "
                "read both on the same bead"
            )
            yield Note(studs.item, why)
            yield Note(at_arc.item, why)
            return
        yield from _lost(studs, at_arc)
    if studs is not None:
        yield from _under_dial(studs, sums)
    if at_arc is not None:
        yield from _off_the_middle(at_arc, sums)


def _lost(studs: Taken, at_arc: Taken) -> Iterator[Found]:
    lost = studs.value - at_arc.value
    error = METER_V + 0.01 * studs.value
    yield measured(
        "volts_lost_v", at_arc.item, lost, likelihoods(lost, LOST, Meter(absolute=error))
    )
    yield (
        at_arc.item,
        f"{studs.shown} at the studs and {at_arc.shown} at the arc: {lost:.1f} V are lost on the way. "
        "Under 2 V is comfortable for short arc, 4 V is the usual ceiling.",
    )


def _under_dial(studs: Taken, sums: StationSums) -> Iterator[Found]:
    dials = sums.station.settings
    if dials is None or dials.arc_v is None:
        return
    under = dials.arc_v - studs.value
    odds = likelihoods(under, UNDER_THE_DIAL, Meter(absolute=METER_V))
    yield measured("volts_under_dial_v", studs.item, under, odds)
    yield (
        studs.item,
        f"{studs.shown} at the studs with the dial at {dials.arc_v:g} V ({under:+.1f} V missing).",
    )


def _off_the_middle(at_arc: Taken, sums: StationSums) -> Iterator[Found]:
    if sums.arc_middle is None:
        yield (at_arc.item, f"{at_arc.shown} at the arc.")
        return
    least, most = sums.arc_middle
    off = at_arc.value - (least + most) / 2.0
    for quantity, by in (("arc_volts_below_v", -off), ("arc_volts_above_v", off)):
        odds = likelihoods(by, OFF_THE_MIDDLE, Meter(absolute=METER_V))
        yield measured(quantity, at_arc.item, by, odds)
    yield (
        at_arc.item,
        f"{at_arc.shown} at the arc; this wire at this feed runs well at about {least:.1f} to "
        f"{most:.1f} V there.",
    )
