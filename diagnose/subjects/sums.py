"""From the inputs of a subject to its results. The physics is in `diagnose.reckon`."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.facts import gas_row
from diagnose.readings.points import SEGMENTS, WAYS, Side, find_point, span_between, unknown_point
from diagnose.reckon import arc as arcs
from diagnose.reckon import circuit as circuits
from diagnose.reckon import cylinder, flow, phases, wiring
from diagnose.reckon import duty as duties
from diagnose.reckon import gas as gases
from diagnose.reckon import joint as joints
from diagnose.reckon import supply as supplies
from diagnose.reckon.contradiction import Instrument, Reading, Step
from diagnose.reckon.heat import heat_input
from diagnose.reckon.localise import localise
from diagnose.reckon.melting import feed_current
from diagnose.reckon.network import Way, shared_current, stray_current
from diagnose.reckon.quantity import between
from diagnose.reckon.result import HowSure, Limit, Result
from diagnose.reckon.transfer import transfer
from diagnose.subjects.inputs import (
    ArcInputs,
    CircuitInputs,
    DutyInputs,
    GasInputs,
    JointInputs,
    LocaliseInputs,
    NetworkInputs,
    SupplyInputs,
    WayInput,
)
from knowledge.errors import CaseError, UnknownId
from knowledge.loader import Knowledge
from knowledge.nearest import nearest

__all__ = ["arc", "circuit", "duty", "gas", "joint", "localise_drops", "network", "supply"]


def circuit(told: CircuitInputs, _knowledge: Knowledge) -> list[Result]:
    """Return the total drop and the smallest cable that meets the target."""
    leads = []
    rows: tuple[tuple[circuits.Side, float | None, float | None], ...] = (
        ("electrode", told.electrode_length_m, told.electrode_area_mm2 or told.area_mm2),
        ("work", told.work_length_m, told.work_area_mm2 or told.area_mm2),
    )
    for side, length, area in rows:
        if length is not None and area is not None:
            name = f"{side} lead"
            leads.append(circuits.Lead(name, side, length, area, told.temperature_c, told.metal))
    for number, row in enumerate(told.leads, 1):
        warm = told.temperature_c if row.temperature_c is None else row.temperature_c
        name = f"{row.side} lead (length {number})"
        leads.append(circuits.Lead(name, row.side, row.length_m, row.area_mm2, warm, row.metal))
    found = tuple(circuits.Joint(row.name, "work", row.ohm) for row in told.joints)
    made = circuits.weld_circuit(told.current_a, tuple(leads), found, told.target_v, told.sizes)
    results = [made.total]
    if leads:
        results.append(made.smallest_cable)
    return results


def network(told: NetworkInputs, _knowledge: Knowledge) -> list[Result]:
    """Return the current that strays."""
    if told.ways:
        made = tuple(_way(row) for row in told.ways)
        return [shared_current(made, told.current_a).result]
    home = told.return_ohm
    if home is None and told.work_length_m is not None and told.area_mm2 is not None:
        lead = circuits.Lead(
            "work lead", "work", told.work_length_m, told.area_mm2, told.temperature_c
        )
        home = circuits.lead_ohm(lead) + told.clamp_ohm
    shared = stray_current(
        told.current_a, home or 0.0, told.steel_ohm or 0.0, tied=bool(told.tied), kind=told.kind
    )
    return [shared.result]


def _way(row: WayInput) -> Way:
    name = f"{row.kind.replace('_', ' ')} {row.from_}-{row.to}"
    meant = row.kind in ("lead", "clamp")
    return Way(name, row.from_, row.to, row.ohm, intended=meant, kind=row.kind)


def joint(told: JointInputs, _knowledge: Knowledge) -> list[Result]:
    """Return the joint against sound ones, its hottest spot, its cable and its neighbours."""
    results = [joints.joint_in_service(told.drop_v, told.current_a, told.kind)]
    if told.kind != "gun":
        contact: joints.Contact = "steel" if told.kind == "clamp" else "copper"
        results.append(
            joints.spot_temperature(
                told.drop_v, contact, told.ambient_c + 273.15, single=told.kind != "clamp"
            )
        )
    if told.area_mm2 is not None:
        results.append(
            joints.against_own_cable(
                told.drop_v, told.current_a, told.joint_length_m, told.area_mm2
            )
        )
    if told.neighbours_v:
        results.append(joints.against_neighbours(told.drop_v, tuple(told.neighbours_v)))
    return results


def localise_drops(told: LocaliseInputs, _knowledge: Knowledge) -> list[Result]:
    """Return which joint of one side is out, and what contradicts."""
    readings = []
    sides: set[Side] = set()
    for name, volts in told.drops.items():
        ends = [part.strip() for part in name.replace("..", "-").split("-")]
        points = [find_point(end) for end in ends]
        if len(ends) != 2:
            raise CaseError(f"'{name}' is not two points, as in work_lug-work", where="drops")
        for end, point in zip(ends, points, strict=True):
            if point is None:
                raise CaseError(unknown_point(end), where=f"drops.{name}")
        one, other = (point or "" for point in points)
        span = span_between(one, other)
        if span is None:
            raise CaseError(f"'{one}' and '{other}' are not on one side", where=f"drops.{name}")
        sides.add(span.side)
        readings.append(Reading(one, other, volts, told.current_a))
    if len(sides) > 1:
        raise CaseError("the drops are on both sides", where="drops", next_step="Do one at a time.")
    side = sides.pop()
    steps = tuple(_step(side, at, told) for at in range(len(SEGMENTS[side])))
    found = localise(
        WAYS[side],
        steps,
        tuple(readings),
        Instrument(volt_relative=told.accuracy_pct / 100.0),
        told.open_circuit_v,
    )
    return [found.result]


UNKNOWN_LEAD_OHM = 6.0e-3
"""A lead nobody described: some 15 m of 50 mm². Judgement."""


def _step(side: Side, at: int, told: LocaliseInputs) -> Step:
    segment = SEGMENTS[side][at]
    if segment.kind:
        return Step(segment.name, segment.kind)
    ohm = UNKNOWN_LEAD_OHM
    if told.length_m is not None and told.area_mm2 is not None:
        ohm = circuits.lead_ohm(circuits.Lead(segment.name, side, told.length_m, told.area_mm2))
    return Step(segment.name, expected_ohm=ohm)


def duty(told: DutyInputs, _knowledge: Knowledge) -> list[Result]:
    """Return the machine's duty, the cable's, and what may be welded after a stop."""
    rated = told.rated_duty_pct / 100.0
    asked = (told.duty_pct or told.rated_duty_pct) / 100.0
    results = [duties.machine_duty(told.rated_a, rated, told.current_a, asked)]
    results.append(_current_at(told.rated_a, rated, 1.0))
    if told.area_mm2 is not None:
        results.append(duties.cable_duty(told.area_mm2, told.current_a, asked))
    if told.welded_min is not None:
        began = (told.welded_min + told.rested_min) * 60.0
        spell = duties.Spell(began, told.welded_min * 60.0, told.current_a)
        results.append(duties.restart(told.rated_a, rated, told.current_a, (spell,)))
    return results


def _current_at(rated_a: float, rated_duty: float, wanted: float) -> Result:
    allowed = duties.current_at_duty(rated_a, rated_duty, wanted)
    return Result(
        quantity="current without rest",
        value=allowed,
        unit="A",
        says=f"{allowed:.0f} A may flow without a rest.",
        verdict="no_limit",
        how_sure=HowSure("Square law; the plate's own figure at 100 % comes first.", 0.05),
        limits=(
            Limit("rating plate", rated_a, "A", "shop_practice", "common_practice", "as told"),
        ),
        working=(
            f"I = Ir √(Xr / X) = {rated_a:g} x √({rated_duty:g} / {wanted:g}) = {allowed:.0f} A",
        ),
    )


def arc(told: ArcInputs, knowledge: Knowledge) -> list[Result]:
    """Return what the wire does, the current of the feed, the transfer, and the load line."""
    if told.window is not None:
        left_v = arcs.arc_voltage_v(told.volts_v, told.lost_v)
        return [arcs.held_in_window(told.window, told.diameter_mm, left_v)]
    between(told.diameter_mm, 0.5, 2.0, "diameter_mm")
    feed_mm_s = told.feed_m_min * 1000.0 / 60.0
    mix = _mix(told.gas, knowledge)
    found = arcs.short_arc(
        told.volts_v,
        told.lost_v,
        feed_mm_s,
        told.diameter_mm,
        extension_mm=told.extension_mm,
        co2_share=mix.get("CO2", 0.0),
    )
    left = told.volts_v - told.lost_v
    argon = mix.get("Ar", 0.0)
    moved = transfer(found.current_a, max(left, 0.1), told.diameter_mm, argon)
    results = [
        found.result,
        feed_current(feed_mm_s, told.diameter_mm, told.extension_mm),
        moved.result,
        arcs.conventional_load(round(found.current_a)),
    ]
    if told.travel_mm_s is not None:
        results.append(heat_input(told.current_a or found.current_a, left, told.travel_mm_s))
    return results


def gas(told: GasInputs, knowledge: Knowledge) -> list[Result]:
    """Return what can be said about the flow, the nozzle, the wind, the cylinder and a leak."""
    mix = _mix(told.gas, knowledge)
    results: list[Result] = []
    true = told.flow_l_min
    if true is not None:
        if told.scale is not None:
            results.append(gases.float_meter(true, _mix(told.scale, knowledge), mix))
            true = results[-1].value or 0.0
        if told.run is not None:
            results.append(flow.flow_window(true, told.run, told.bore_mm or 0.0))
        if told.bore_mm is not None:
            results.append(gases.nozzle_regime(true, told.bore_mm, told.tip_mm or 0.0, mix))
        if told.nozzle_flow_l_min is not None:
            results.append(flow.nozzle_against_meter(told.nozzle_flow_l_min, true))
        results += _cylinder(told, true, liquid_co2=mix.get("CO2", 0.0) > LIQUID_ABOVE)
        if not results:
            results.append(_flow_in_both(true))
    if told.wind_m_s is not None:
        results.append(flow.wind(told.wind_m_s, told.run != "self_shielded"))
    if told.hose_l is not None:
        if told.fall_kpa is None or told.minutes_min is None:
            raise CaseError("a leak test has hose, fall and minutes", where="hose")
        results.append(
            cylinder.leak(
                told.hose_l, told.fall_kpa / 100.0, told.minutes_min, told.leak_limit_l_min
            )
        )
    return results


LIQUID_ABOVE = 0.95
"""Share of CO2 above which the cylinder holds liquid."""


def _cylinder(told: GasInputs, flow_l_min: float, *, liquid_co2: bool) -> Iterator[Result]:
    """Yield how long the cylinder lasts: compressed gas by its pressure, liquid CO2 by its weight."""
    if liquid_co2:
        if told.contents_kg is not None:
            held = cylinder.co2_held_l(told.contents_kg)
            yield cylinder.cylinder_life(held, flow_l_min, liquid_co2=True)
        elif told.cylinder_l is not None or told.pressure_kpa is not None:
            raise CaseError(
                "the gauge of a CO2 cylinder does not tell how much is left",
                where="pressure",
                next_step="Weigh it and give contents: weight less tare, such as contents=12kg.",
            )
    elif told.cylinder_l is not None and told.pressure_kpa is not None:
        held = cylinder.gas_held_l(told.cylinder_l, told.pressure_kpa / 100.0)
        yield cylinder.cylinder_life(held, flow_l_min)


def _flow_in_both(flow_l_min: float) -> Result:
    return Result(
        quantity="shielding gas flow",
        value=flow_l_min,
        unit="L/min",
        says=f"{flow_l_min:.4g} L/min, whatever the gas. "
        "Give run, bore, scale, nozzle_flow or cylinder to hold it against something.",
        verdict="no_limit",
        how_sure=HowSure("A change of units.", 0.0),
        working=(
            f"{flow_l_min:.4g} x 60 / 28.317 = {gases.cfh_from_l_min(flow_l_min):.1f} cubic feet an hour",
        ),
    )


def supply(told: SupplyInputs, _knowledge: Knowledge) -> list[Result]:
    """Return what can be said about feeder, plate, breaker, cord, sag and phases."""
    results: list[Result] = []
    if told.machines:
        group = [
            wiring.Machine(row.primary_a, row.duty_pct / 100.0, row.motor_generator)
            for row in told.machines
            for _ in range(row.count)
        ]
        results.append(wiring.group_ampacity(tuple(group)))
    if told.primary_a is not None and told.duty_pct is not None:
        results.append(
            _effective(told.primary_a, told.duty_pct / 100.0, told.idle_primary_a or 0.0)
        )
    bears_a = told.conductor_a
    if told.conductor_area_mm2 is not None:
        needed = None
        if told.primary_a is not None and told.duty_pct is not None:
            machine = wiring.Machine(told.primary_a, told.duty_pct / 100.0)
            needed = wiring.conductor_ampacity_a(machine)
        results.append(wiring.ampacity(told.conductor_area_mm2, told.insulation_c, needed))
        bears_a = bears_a or results[-1].value
    if told.primary_a is not None and told.breaker_a is not None:
        wires = bears_a or told.primary_a
        results.append(wiring.overcurrent_limit(told.primary_a, wires, told.breaker_a))
    cord = (told.primary_a, told.cord_length_m, told.cord_area_mm2, told.supply_v)
    if (
        told.primary_a is not None
        and told.cord_length_m is not None
        and told.cord_area_mm2 is not None
        and told.supply_v is not None
    ):
        results.append(
            supplies.cord(
                told.primary_a,
                told.cord_length_m,
                told.cord_area_mm2,
                told.supply_v,
                phases=told.phases,
            )
        )
    if told.earth_ohm is not None:
        if told.cord_length_m is None:
            raise CaseError("a protective earth is judged with its cord_length", where="earth")
        results.append(supplies.protective_earth(told.earth_ohm, told.cord_length_m))
    if told.idle_v is not None and told.load_v is not None:
        plate = told.supply_v or told.idle_v
        results.append(supplies.supply_under_load(told.idle_v, told.load_v, plate))
    if told.lines_v is not None:
        ab, bc, ca = told.lines_v
        nominal = told.supply_v or max(told.lines_v)
        results.append(phases.line_voltages(ab, bc, ca, nominal, under_load=told.loaded).result)
    if not results:
        missing = "cord needs primary, cord_length, cord_area and supply"
        raise CaseError(
            "nothing to reckon with these" if any(cord) else "nothing was given",
            where="supply",
            next_step=f"Give machines; primary with duty; idle with load; lines; {missing}.",
        )
    return results


def _effective(primary_a: float, share: float, idle_a: float) -> Result:
    value = wiring.effective_primary_a(primary_a, share, idle_a)
    wires = wiring.conductor_ampacity_a(wiring.Machine(primary_a, share))
    return Result(
        quantity="effective supply current",
        value=value,
        unit="A",
        says=f"{value:.1f} A in effect; supply wires of at least {wires:.1f} A.",
        verdict="no_limit",
        how_sure=HowSure("By the 2008 text; the electrician goes by the edition in force.", 0.02),
        limits=(
            Limit("supply wires, one machine", wires, "A", "nec_630", "published", "630.11(A)"),
        ),
        working=(
            "I1eff = √(I1² X + I0² (1 - X)) = "
            f"√({primary_a:g}² x {share:g} + {idle_a:g}² x {1.0 - share:.2g}) = {value:.1f} A",
            f"wires: {primary_a:g} A x {wires / primary_a:.2f} by table 630.11(A) = {wires:.1f} A",
        ),
        notes=("Ratings, wire and fuses are an electrician's work.",),
    )


def _mix(name: str, knowledge: Knowledge) -> dict[str, float]:
    """Return the parts of a gas by name. Raises UnknownId with the nearest."""
    row = gas_row(name, knowledge.gases)
    if row is None:
        known = [told for gas in knowledge.gases.values() for told in (gas.id, *gas.names)]
        close = nearest(name, known)
        raise UnknownId("gas", name, [close] if close else [])
    return {str(part): share for part, share in row.parts.items()}
