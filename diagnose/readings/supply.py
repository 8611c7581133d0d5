"""Readings on the supply side: three line voltages together, or idle against load."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from diagnose.readings.measured import Measured, Note, Taken, best_of, measured
from diagnose.readings.points import LINES
from diagnose.readings.station_sums import StationSums
from diagnose.reckon.evidence import STATIONS, Likelihoods, Meter, likelihoods
from diagnose.reckon.phases import LinesFound, line_voltages

__all__ = ["lines"]

Found = Measured | Note | tuple[str, str]
_PAIRS = (("L1", "L2"), ("L2", "L3"), ("L1", "L3"))
PHASE_LOST = Likelihoods(0.995, 0.005)
PHASE_LOST_NOT_A_TRANSFORMER = Likelihoods(0.95, 0.05)
FULL_UNDER_LOAD = Likelihoods(0.05, 0.95)
FULL_AT_IDLE = Likelihoods(0.40, 0.60)
NO_VOLTS = Likelihoods(0.97, 0.03)
"""Judgement: what the pattern of the pairs is worth. One full and two near half takes two readings that
are mistaken alike, where no phase is lost. Full volts at idle say little, for a weak contact
reads full until something loads it."""
PLATE_ABSOLUTE = 0.03
"""How far a sound idle voltage lies from the plate, as a share, where idle was not read. Judgement."""


def lines(rows: Iterable[Taken], sums: StationSums) -> Iterator[Found]:
    """Yield what the line voltages come to. A reading that tells a weld current is under load."""
    same: dict[tuple[tuple[str, ...], bool], list[Taken]] = {}
    for row in rows:
        pair = tuple(sorted(row.points))
        if len(pair) == 1 or not set(pair) <= {*LINES, "N", "PE"}:
            yield Note(row.item, "a line voltage lies between two lines, such as L1 and L2")
            continue
        same.setdefault((pair, row.reading.at_current_a is not None), []).append(row)
    load: dict[tuple[str, ...], Taken] = {}
    idle: dict[tuple[str, ...], Taken] = {}
    for (pair, loaded), taken in sorted(same.items()):
        best, notes = best_of(taken)
        yield from notes
        (load if loaded else idle)[pair] = best
    done = False
    for table, loaded in ((load, True), (idle, False)):
        if all(pair in table for pair in _PAIRS) and not done:
            done = loaded
            yield from _three([table[pair] for pair in _PAIRS], sums, loaded=loaded)
    yield from _sags(idle, load, sums)


def _three(rows: list[Taken], sums: StationSums, *, loaded: bool) -> Iterator[Found]:
    source = sums.station.source
    plate = source.supply_v if source else None
    ab, bc, ca = (row.value for row in rows)
    nominal = plate or max(ab, bc, ca)
    if nominal <= 0.0:
        yield from _words(rows, "no volts on any pair.", "no_line_v", NO_VOLTS)
        return
    found = line_voltages(ab, bc, ca, nominal, under_load=loaded)
    says = found.result.says
    if found.state == "read_again":
        yield from _read_again(rows, found, nominal)
    elif found.state == "phase_lost":
        kind = source.kind if source else None
        odds = PHASE_LOST if kind in (None, "transformer") else PHASE_LOST_NOT_A_TRANSFORMER
        yield from _words(rows, says, "phases_lost", odds)
    elif found.state == "no_supply":
        yield from _words(rows, says, "no_line_v", NO_VOLTS)
    elif found.state in ("sound", "low"):
        odds = FULL_UNDER_LOAD if loaded else FULL_AT_IDLE
        yield from _words(rows, says, "phases_lost", odds)
    else:
        yield from (Note(row.item, f"{says} It convicts nothing by itself.") for row in rows)


def _read_again(rows: list[Taken], found: LinesFound, nominal: float) -> Iterator[Note]:
    """Name the pair that does not fit; where none stands out, all three."""
    odd = [row for row in rows if not 0.75 <= row.value / nominal <= 1.25]
    for row in odd if len(odd) == 1 else rows:
        yield Note(row.item, found.result.says)


def _words(rows: list[Taken], says: str, quantity: str, odds: Likelihoods) -> Iterator[Found]:
    """Three readings are one measurement; it is told under the first of them."""
    first = min(rows, key=lambda row: row.item)
    yield measured(quantity, first.item, min(row.value for row in rows), odds)
    yield first.item, says


def _sags(
    idle: dict[tuple[str, ...], Taken], load: dict[tuple[str, ...], Taken], sums: StationSums
) -> Iterator[Found]:
    """Yield the worst sag of the pairs that were read under load; one station has one sag."""
    source = sums.station.source
    plate = source.supply_v if source else None
    falls: list[tuple[float, str, Taken, float]] = []
    for pair, row in sorted(load.items()):
        if pair in idle:
            before, err, what = idle[pair].value, 0.014, f"{idle[pair].value:g} V at idle"
        elif plate is not None:
            before, err, what = plate, PLATE_ABSOLUTE, f"{plate:g} V on the plate"
        else:
            yield Note(row.item, "read the same pair at idle too, or tell the supply on the plate")
            continue
        fall = 1.0 - row.value / before if before > 0.0 else 0.0
        if fall < -0.05 and pair in idle:
            for one in (row, idle[pair]):
                yield Note(
                    one.item,
                    f"{row.value:g} V under load is more than {before:g} V at idle; the two may be "
                    "swapped",
                )
        else:
            falls.append((fall, what, row, err))
    if len(falls) == len(_PAIRS) and max(f[0] for f in falls) > 0.3:
        return  # a lost phase or a wrong reading, told above, and no sag
    if falls:
        fall, what, row, err = max(falls, key=lambda f: (f[0], f[2].item))
        if fall > 0.3 and set(row.points) <= set(LINES):
            yield Note(
                row.item,
                f"{row.value:g} V against {what} is no sag: read all three pairs under load",
            )
            return
        odds = likelihoods(max(fall, 0.0), STATIONS["supply_sag"], Meter(absolute=err))
        yield measured("supply_sag_share", row.item, fall, odds)
        yield (
            row.item,
            f"{row.value:g} V under load against {what}: it falls by {fall:.1%}. Under 5 % is good, "
            "above 10 % is suspect.",
        )
