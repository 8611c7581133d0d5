"""A station's plate and set-up as lines to read, in the units the reader asked for."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Literal

from diagnose import case as told
from diagnose.diagnosis import Part
from diagnose.us_units import in_us, to_us

Units = Literal["metric", "us"]
_PLACES = {"in": 3, "ft": 1, "cfh": 0, "in/min": 0, "mph": 1, "psi": 0}
"""Decimals that a US figure of the plate is worth. What is not listed stays in SI."""
_SHOWN = {"l/min": "L/min"}


class PlateLine(Part):
    """One line of the plate: what it is about and what is known of it."""

    what: str
    says: str


def figure(value: float | None, unit: str, units: Units) -> str:
    """Return a figure with its unit as the reader wants it; '' where it is not known.

    >>> figure(0.9, "mm", "metric"), figure(0.9, "mm", "us"), figure(None, "mm", "us")
    ('0.9 mm', '0.035 in', '')
    >>> figure(67.43, "mm2", "us"), figure(67.43, "mm2", "metric")
    ('2/0 AWG', '67.4 mm²')
    """
    if value is None:
        return ""
    if unit == "mm2":
        return in_us(f"{value:.4g} mm²") if units == "us" else f"{value:.3g} mm²"
    unit = _SHOWN.get(unit, unit)
    if units == "us":
        there, name = to_us(value, unit)
        if name in _PLACES:
            value, unit = round(there, _PLACES[name]), name
    return f"{round(value, 3):g} {unit}"


def plate_lines(station: told.Station, units: Units) -> list[PlateLine]:
    """Return what is known of a station, part by part; what is not known has no line."""
    lines = []
    for what, parts in _PARTS.items():
        says = ", ".join(part for part in parts(station, units) if part)
        if says:
            lines.append(PlateLine(what=what, says=says))
    return lines


def _word(value: str | None) -> str:
    return "" if value is None else value.replace("_", " ")


def _named(name: str, text: str) -> str:
    return f"{name} {text}" if text else ""


def _yes(value: bool | None, yes: str, no: str = "") -> str:
    return "" if value is None else yes if value else no


def _process(station: told.Station, _units: Units) -> Iterator[str]:
    yield station.process or ""
    yield _named("mode", _word(station.settings.mode)) if station.settings else ""


def _wire(station: told.Station, units: Units) -> Iterator[str]:
    if wire := station.wire:
        yield wire.class_ or ""
        yield figure(wire.diameter_mm, "mm", units)
        yield _word(wire.form)
        yield _named("from a", _word(wire.supply))


def _polarity(station: told.Station, _units: Units) -> Iterator[str]:
    if polarity := station.polarity:
        how = "traced by hand" if polarity.known == "looked" else "told, not traced"
        yield f"electrode {polarity.electrode} ({how})"


def _gas(station: told.Station, units: Units) -> Iterator[str]:
    if gas := station.gas:
        yield gas.name or ""
        flow = figure(gas.flow_l_min, "l/min", units)
        yield flow + (f" at the {gas.measured_at}" if flow and gas.measured_at else "")
        yield _named("meter scaled for", gas.meter_scaled_for or "")
        yield _named("pressure", figure(gas.pressure_kpa, "kPa", units))
        yield _named("from a", _word(gas.supply))


def _source(station: told.Station, units: Units) -> Iterator[str]:
    if source := station.source:
        yield _word(source.output)
        yield _word(source.kind)
        yield _named("control:", _word(source.control))
        duty = f" at {source.rated_duty_pct:g} %" if source.rated_duty_pct else ""
        yield _named("rated", figure(source.rated_a, "A", units) + duty)
        yield _named("open circuit", figure(source.open_circuit_v, "V", units))
        yield _yes(source.remote, "with a remote", "no remote")


def _supply(station: told.Station, units: Units) -> Iterator[str]:
    if source := station.source:
        yield figure(source.supply_v, "V", units)
        yield f"{source.phases} phase" if source.phases else ""
        yield _named("breaker", figure(source.breaker_a, "A", units))
        yield _named("draws", figure(source.rated_primary_a, "A", units))
        yield _named("idle draw", figure(source.idle_primary_a, "A", units))
        yield _named("from a", _word(source.fed_by)) if source.fed_by == "generator" else ""
        length = figure(source.extension_length_m, "m", units)
        area = figure(source.extension_area_mm2, "mm2", units)
        if source.extension or length or area:
            yield " ".join(part for part in ("extension cord", length, area) if part)


def _feeder(station: told.Station, units: Units) -> Iterator[str]:
    if feeder := station.feeder:
        yield _named("fed from", _word(feeder.fed_from))
        yield _named("rolls", " ".join((feeder.groove or "", figure(feeder.roll_mm, "mm", units))))


def _gun(station: told.Station, units: Units) -> Iterator[str]:
    if gun := station.gun:
        yield _word(gun.kind)
        yield _named("rated", figure(gun.rated_a, "A", units))
        yield figure(gun.length_m, "m", units)
        yield _named("tip", figure(gun.tip_mm, "mm", units))
        yield _named("tip outside", figure(gun.tip_outside_mm, "mm", units))
        yield _named("liner", figure(gun.liner_mm, "mm", units))
        yield _named("nozzle bore", figure(gun.nozzle_bore_mm, "mm", units))
        yield _named("cooled by", gun.cooling or "")
        yield _yes(gun.extraction, "fume extraction")


def _leads(station: told.Station, units: Units) -> Iterator[str]:
    for lead in station.leads or ():
        area = figure(lead.area_mm2, "mm2", units)
        coiled = "coiled" if lead.coiled else ""
        parts = (lead.side, figure(lead.length_m, "m", units), area, lead.metal, coiled)
        yield " ".join(part for part in parts if part)


def _clamp(station: told.Station, units: Units) -> Iterator[str]:
    if clamp := station.clamp:
        yield _word(clamp.kind)
        duty = f" at {clamp.rated_duty_pct:g} %" if clamp.rated_duty_pct else ""
        yield _named("rated", figure(clamp.rated_a, "A", units) + duty)


def _dials(station: told.Station, units: Units) -> Iterator[str]:
    if dials := station.settings:
        yield figure(dials.arc_v, "V", units)
        yield _named("feed", figure(dials.feed_m_min, "m/min", units))
        yield figure(dials.current_a, "A", units)
        yield f"arc on {dials.duty_pct:g} % of the time" if dials.duty_pct else ""
        yield _named("stick-out", figure(dials.stickout_mm, "mm", units))


def _work(station: told.Station, units: Units) -> Iterator[str]:
    if work := station.work:
        yield _word(work.metal)
        yield figure(work.thickness_mm, "mm", units)
        yield _word(work.joint)
        yield _listed("surface", work.surface)


def _place(station: told.Station, units: Units) -> Iterator[str]:
    if place := station.place:
        yield _yes(place.outdoors, "outdoors", "indoors")
        yield _named("wind", figure(place.wind_m_s, "m/s", units))
        yield _yes(place.confined, "confined space")
        yield _listed("bonded to", place.bonded_to)


def _listed(name: str, words: Iterable[str] | None) -> str:
    return _named(f"{name}:", " and ".join(_word(word) for word in words or ()))


_PARTS: dict[str, Callable[[told.Station, Units], Iterator[str]]] = {
    "Process": _process,
    "Wire": _wire,
    "Polarity": _polarity,
    "Gas": _gas,
    "Power source": _source,
    "Supply": _supply,
    "Feeder": _feeder,
    "Gun": _gun,
    "Leads": _leads,
    "Work clamp": _clamp,
    "Set to": _dials,
    "Work": _work,
    "Place": _place,
}
