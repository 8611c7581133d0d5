"""Flow at the meter and at the nozzle, and the pressure in the cylinder."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from math import log, sqrt

from diagnose.readings.measured import Measured, Note, Taken, best_of, measured, points_of
from diagnose.readings.station_sums import StationSums
from diagnose.reckon.cylinder import NEARLY_EMPTY_BAR
from diagnose.reckon.evidence import STATIONS, Likelihoods, Meter, Spread, Stations, likelihoods
from diagnose.reckon.flow import CROWDED_BORE_MM, CROWDED_L_MIN, FLOW_L_MIN, nozzle_against_meter
from diagnose.reckon.gas import FLOAT_RELATIVE

__all__ = ["flows", "pressures"]

Found = Measured | Note | tuple[str, str]
NEXT_TO_NOTHING_L_MIN = 1.0
MOST_FLOW_L_MIN = 120.0
NOTHING_COMES = Likelihoods(0.95, 0.05)
SOMETHING_COMES = Likelihoods(0.02, 0.98)
TOO_LITTLE, TOO_MUCH = 0.55, 1.6
"""Middle of the flows of starved stations over the least of the window, of whirling ones over the most.
Judgement."""
PRESSURE = Stations(
    "pressure of a cylinder of compressed gas",
    "kPa",
    Spread("lognormal", 7000.0, 0.70),
    Spread("lognormal", 450.0, 0.80),
    note="nearly empty at about 10 bar",
)
LIQUID_KPA = 2000.0


def flows(rows: Iterable[Taken], sums: StationSums) -> tuple[list[Found], frozenset[str]]:
    """Return what the flows come to, and the figures of the station that they tell better."""
    found: list[Found] = []
    placed: dict[str, list[Taken]] = {"meter": [], "nozzle": []}
    for row in rows:
        place = points_of(row, "meter", "nozzle")
        if place is None and row.points:
            found.append(Note(row.item, "flow is read at the meter or at the nozzle"))
        elif row.value > MOST_FLOW_L_MIN:
            found.append(Note(row.item, f"{row.shown} is more than any such meter passes"))
        elif sums.run == "self_shielded":
            found.append(Note(row.item, "this wire makes its own shield; no gas is needed"))
        else:
            placed[place or "meter"].append(row)
    best: dict[str, Taken] = {}
    for place, same in placed.items():
        if same:
            best[place], notes = best_of(same)
            found += notes
    gas = sums.station.gas
    told_at = (gas.measured_at or "meter") if gas else "meter"
    replaces = frozenset({"gas.flow_l_min"}) if told_at in best else frozenset[str]()
    if meter := best.get("meter"):
        found += _held(meter, "meter", sums)
    if nozzle := best.get("nozzle"):
        found += _held(nozzle, "nozzle", sums)
        upstream = best["meter"].value if "meter" in best else None
        if upstream is None and gas is not None and told_at == "meter":
            upstream = gas.flow_l_min
        if upstream:
            found += _ratio(nozzle, upstream * (sums.meter_factor or 1.0))
    return found, replaces


def _held(row: Taken, place: str, sums: StationSums) -> Iterator[Found]:
    factor = (sums.meter_factor or 1.0) if place == "meter" else 1.0
    true = row.value * factor
    if place == "nozzle":
        odds = NOTHING_COMES if true < NEXT_TO_NOTHING_L_MIN else SOMETHING_COMES
        yield measured("nozzle_flow_missing_l_min", row.item, true, odds)
    says = f"{row.shown} at the {place}"
    if factor != 1.0:
        says += f" is {true:.1f} L/min of this gas, for the meter is scaled for another"
    if sums.process is None:
        yield row.item, f"{says}."
        return
    low, high = FLOW_L_MIN["short_arc"][0], FLOW_L_MIN["spray_or_cored"][3]
    if sums.run is not None:
        low, _, _, high = FLOW_L_MIN[sums.run]
    gun = sums.station.gun
    if gun is not None and gun.nozzle_bore_mm is not None:
        high = min(high, CROWDED_L_MIN * gun.nozzle_bore_mm / CROWDED_BORE_MM)
    high = max(high, 1.2 * low)
    meter = Meter(FLOAT_RELATIVE if row.reading.accuracy_pct is None else row.relative)
    held = max(true, 0.05)
    for quantity, centre in (
        (f"{place}_flow_low_l_min", TOO_LITTLE * low),
        (f"{place}_flow_high_l_min", TOO_MUCH * high),
    ):
        yield measured(
            quantity, row.item, true, likelihoods(held, _window(low, high, centre), meter)
        )
    yield row.item, f"{says}; this wire and nozzle want about {low:.0f} to {high:.0f} L/min."


def _window(low: float, high: float, fault_centre: float) -> Stations:
    """Sound stations fill the window; nine in ten lie inside."""
    width = log(high / low) / 2.0 / 1.645
    sound = Spread("lognormal", sqrt(low * high), width)
    return Stations("flow", "L/min", sound, Spread("lognormal", fault_centre, max(0.40, width)))


def _ratio(nozzle: Taken, meter_l_min: float) -> Iterator[Found]:
    held = nozzle_against_meter(nozzle.value, round(meter_l_min, 1))
    allowed = held.limits[0].value
    if nozzle.value > meter_l_min + 2.0 * allowed:
        yield Note(
            nozzle.item,
            f"{nozzle.shown} at the nozzle is more than the {meter_l_min:.1f} L/min at the meter; "
            "check that both scales are for this gas, and read both again",
        )
        return
    share = max(nozzle.value / meter_l_min, 0.01)
    meter = Meter(nozzle.relative + 0.05)
    odds = likelihoods(share, STATIONS["nozzle_over_meter_flow"], meter)
    yield measured("nozzle_over_meter_flow", nozzle.item, share, odds)
    yield nozzle.item, f"{held.says} Within 10 % or 2 L/min is good; a fifth missing is a leak."


def pressures(rows: Iterable[Taken], sums: StationSums) -> Iterator[Found]:
    """Yield what the pressure in the cylinder comes to."""
    usable = []
    for row in rows:
        if points_of(row, "cylinder") is None and row.points:
            yield Note(row.item, "only the pressure in the cylinder is held against anything")
        elif sums.run == "self_shielded":
            yield Note(row.item, "this wire makes its own shield; no gas is needed")
        else:
            usable.append(row)
    if not usable:
        return
    best, notes = best_of(usable)
    yield from notes
    liquid = sums.gas is not None and sums.gas.parts.get("CO2", 0.0) > 0.95
    if liquid and best.value > LIQUID_KPA:
        yield Note(
            best.item,
            "the gauge of carbon dioxide stays near its vapour pressure until the liquid is gone; "
            "weigh the cylinder",
        )
        return
    odds = likelihoods(max(best.value, 1.0), PRESSURE, Meter(0.05, 100.0))
    yield measured("cylinder_pressure_kpa", best.item, best.value, odds)
    yield (
        best.item,
        f"{best.shown} in the cylinder ({best.value / 100:.0f} bar); nearly empty at about "
        f"{NEARLY_EMPTY_BAR:g} bar.",
    )
