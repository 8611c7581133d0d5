"""The set-up and the readings in one line or two, in the units the reader asked for."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.case import Case, Reading, Station

_L_MIN_PER_CFH = 28.316846592 / 60
_MM_PER_IN = 25.4
_METAL = {"carbon_steel": "steel", "stainless": "stainless steel", "aluminium": "aluminium"}


def millimetres(value: float, units: str) -> str:
    """Return a length given in mm.

    >>> millimetres(0.889, "us"), millimetres(0.9, "metric")
    ('0.035 in', '0.9 mm')
    """
    return f"{value / _MM_PER_IN:.3f} in" if units == "us" else f"{value:g} mm"


def litres_per_minute(value: float, units: str) -> str:
    """Return a gas flow given in L/min.

    >>> litres_per_minute(16.52, "us"), litres_per_minute(15.0, "metric")
    ('35 cfh', '15 L/min')
    """
    return f"{value / _L_MIN_PER_CFH:.0f} cfh" if units == "us" else f"{value:.3g} L/min"


def set_up(case: Case) -> str:
    """Return the set-up as it was told, or an empty text where nothing was."""
    return "; ".join(_parts(case.station, case.units))


def _parts(station: Station, units: str) -> Iterator[str]:
    if station.name:
        yield station.name
    if station.process:
        yield station.process
    if (wire := station.wire) and (wire.class_ or wire.diameter_mm):
        size = millimetres(wire.diameter_mm, units) if wire.diameter_mm else ""
        yield " ".join(("wire", *filter(None, (wire.class_, size))))
    if station.polarity:
        how = "traced" if station.polarity.known == "looked" else "told, not traced"
        yield f"electrode {station.polarity.electrode} ({how})"
    if (gas := station.gas) and (gas.name or gas.flow_l_min is not None):
        flow = "" if gas.flow_l_min is None else litres_per_minute(gas.flow_l_min, units)
        where = f"at the {gas.measured_at}" if flow and gas.measured_at else ""
        yield " ".join(("gas", *filter(None, (gas.name, flow, where))))
    if work := station.work:
        thick = millimetres(work.thickness_mm, units) if work.thickness_mm else ""
        surface = " and ".join(work.surface or ())
        joint = (work.joint or "").replace("_", " ")
        told = [
            thick,
            _METAL.get(work.metal or "", ""),
            f"with {surface}" if surface else "",
            joint,
        ]
        if any(told):
            yield " ".join(("work", *filter(None, told)))
    if station.place and station.place.outdoors is not None:
        yield "outdoors" if station.place.outdoors else "indoors"


def reading_in_words(reading: Reading) -> str:
    """Return a reading as it was entered.

    >>> reading_in_words(Reading(what="drop", value=2, unit="V", to="work_lug", at_current_a=200))
    'drop 2 V to work lug at 200 A'
    """
    ends = (("from", reading.from_), ("to", reading.to))
    between = " ".join(f"{word} {end.replace('_', ' ')}" for word, end in ends if end)
    at = f"at {reading.at_current_a:g} A" if reading.at_current_a is not None else ""
    value = f"{reading.what.replace('_', ' ')} {reading.value:g} {reading.unit}"
    return " ".join(filter(None, (value, between, at)))
