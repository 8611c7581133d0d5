"""The figures of a case as evidence: sums of the station, and every reading held against them.

Pure: a case and the knowledge in, `Sums` out. What cannot be true, what contradicts and what there is
nothing to hold against is named under `unused`, never used.
"""

from __future__ import annotations

from collections.abc import Iterable

from diagnose.case import Case
from diagnose.readings.drops import drops
from diagnose.readings.gas import flows, pressures
from diagnose.readings.measured import Measured, Note, Sums, Taken, taken
from diagnose.readings.others import currents, feeds, temperatures
from diagnose.readings.station_sums import StationSums
from diagnose.readings.supply import lines
from diagnose.readings.volts import volts
from diagnose.reckon.result import Result
from diagnose.us_units import in_us
from knowledge.loader import Knowledge

__all__ = ["measure"]

Found = Measured | Note | tuple[str, str]


def measure(case: Case, knowledge: Knowledge) -> Sums:
    """Return what the station's figures and the readings come to.

    >>> from knowledge.loader import load
    >>> case = Case.model_validate(
    ...     {"readings": [{"what": "drop", "value": 2, "unit": "V", "from": "work_lug",
    ...                    "to": "work", "at_current_a": 200}]}
    ... )
    >>> sums = measure(case, load())
    >>> sums.measured[0].quantity, sums.measured[0].if_fault > 0.9
    ('work_clamp_ohm', True)
    """
    sums = StationSums(case.station, knowledge)
    found: list[Found] = []
    of: dict[str, list[Taken]] = {}
    for row in taken(case.readings):
        if isinstance(row, Note):
            found.append(row)
        else:
            of.setdefault(row.reading.what, []).append(row)

    at_work = volts(of.get("open_circuit", ()), of.get("arc_voltage", ()), sums)
    found += at_work.found
    amperes, flowing = currents(of.get("current", ()), sums)
    found += amperes
    found += drops(of.get("drop", ()), sums, flowing, at_work.most_v)
    gas, replaces = flows(of.get("flow", ()), sums)
    found += gas
    found += pressures(of.get("pressure", ()), sums)
    found += temperatures(of.get("temperature", ()))
    found += feeds(of.get("feed", ()), sums)
    found += lines(of.get("line_voltage", ()), sums)
    return _gathered(sums, found, replaces, us=case.units == "us")


def _gathered(
    sums: StationSums, found: Iterable[Found], replaces: frozenset[str], *, us: bool
) -> Sums:
    figures: dict[str, float] = {}
    results: dict[str, Result] = {}
    says: dict[str, str] = {}
    for one in sums.all():
        figures.update(one.figures)
        if one.result is not None:
            results[one.item] = one.result
            says[one.item] = one.result.says
    measured: list[Measured] = []
    unused: set[Note] = set()
    for row in found:
        if isinstance(row, Measured):
            measured.append(row)
        elif isinstance(row, Note):
            unused.add(row)
        else:
            item, text = row
            says[item] = f"{says[item]} {text}" if item in says else text
    if us:
        says = {item: in_us(text) for item, text in says.items()}
        unused = {Note(note.item, in_us(note.why)) for note in unused}
    return Sums(
        figures=figures,
        measured=tuple(sorted(measured)),
        says=says,
        unused=tuple(sorted(unused)),
        results=results,
        replaces=replaces,
    )
