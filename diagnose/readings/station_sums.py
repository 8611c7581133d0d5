"""What the figures of the station come to before anybody measures: windows, drops, duty."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from functools import cached_property

from diagnose.case import Station, WeldLead
from diagnose.facts import gas_row, wire_row
from diagnose.reckon.arc import COMFORT_V, running_window, short_arc_middle_v
from diagnose.reckon.circuit import COMFORTABLE_V, Lead, lead_ohm, weld_circuit
from diagnose.reckon.duty import cable_duty, current_at_duty, machine_duty
from diagnose.reckon.flow import CROWDED_BORE_MM, CROWDED_L_MIN, FLOW_L_MIN, flow_window
from diagnose.reckon.flow import Duty as Run
from diagnose.reckon.gas import float_meter, float_meter_l_min
from diagnose.reckon.melting import melting_current_a
from diagnose.reckon.result import Result
from diagnose.reckon.supply import cord
from diagnose.reckon.transfer import SHORT_ARC_A, SHORT_ARC_V
from diagnose.reckon.wiring import overcurrent_limit
from knowledge.errors import QuantityError
from knowledge.loader import Knowledge
from knowledge.models import Gas

__all__ = ["DEFAULT_EXTENSION_MM", "Figured", "StationSums", "lead_of"]

DEFAULT_EXTENSION_MM = 10.0
"""Extension of the wire where nobody tells it. Common practice for short arc."""
_SHORT_ARC_UP_TO_MM = 1.05


@dataclass(frozen=True)
class Figured:
    """One sum of the station: figures for the rules, and the result in words under its item."""

    item: str
    figures: Mapping[str, float]
    result: Result | None = None


def lead_of(told: WeldLead) -> Lead | None:
    """Return a lead of the case as the sums take it, at 20 °C; None where its size is not told."""
    if told.area_mm2 is None:
        return None
    return Lead(f"{told.side} lead", told.side, told.length_m, told.area_mm2, metal=told.metal)


def _mix(gas: Gas) -> dict[str, float]:
    return {str(part): share for part, share in gas.parts.items()}


class StationSums:
    """The sums of one station. Nothing is assumed that would convict: what is not told is left out."""

    def __init__(self, station: Station, knowledge: Knowledge) -> None:
        self.station = station
        wire = station.wire
        row = wire_row(wire.class_, knowledge.consumables) if wire and wire.class_ else None
        gas = station.gas
        self.gas = gas_row(gas.name, knowledge.gases) if gas and gas.name else None
        self.form = row.form if row else wire.form if wire else None
        self.metal = row.metal if row else station.work.metal if station.work else None
        self.process = row.process if row and row.process != "open" else station.process
        if self.process is None and self.form in ("solid", "metal_cored"):
            self.process = "GMAW"
        self.diameter_mm = wire.diameter_mm if wire else None
        told = gas.meter_scaled_for if gas else None
        scale = gas_row(told, knowledge.gases) if told else None
        self._scale = _mix(scale) if scale else None

    @cached_property
    def current_a(self) -> float | None:
        """Amperes that are meant to flow, if told."""
        return self.station.settings.current_a if self.station.settings else None

    @cached_property
    def balance_a(self) -> float | None:
        """Amperes that the feed melts, for solid steel wire; None where it cannot be reckoned."""
        dials = self.station.settings
        if dials is None or not dials.feed_m_min or self.diameter_mm is None:
            return None
        if self.form != "solid" or self.metal not in ("carbon_steel", None):
            return None
        extension = dials.stickout_mm or DEFAULT_EXTENSION_MM
        try:
            return melting_current_a(dials.feed_m_min * 1000.0 / 60.0, self.diameter_mm, extension)
        except QuantityError:
            return None

    @cached_property
    def run(self) -> Run | None:
        """How the wire is run, as far as it can be told: short arc, spray or cored, no gas."""
        if self.process == "FCAW-S":
            return "self_shielded"
        if self.process is None:
            return None
        if self.process == "FCAW-G" or self.metal == "aluminium" or self.form == "metal_cored":
            return "spray_or_cored"
        dials = self.station.settings
        volts = dials.arc_v if dials else None
        amperes = self.balance_a or self.current_a
        if (volts and volts > SHORT_ARC_V[1]) or (amperes and amperes > SHORT_ARC_A[1] * 1.1):
            return "spray_or_cored"
        told = (volts is not None) or (amperes is not None)
        thin = self.diameter_mm is not None and self.diameter_mm <= _SHORT_ARC_UP_TO_MM
        return "short_arc" if thin or told else None

    @cached_property
    def meter_factor(self) -> float | None:
        """True flow over what the float meter shows, where scale and gas are told and differ."""
        if self.gas is None or self._scale is None:
            return None
        return float_meter_l_min(1.0, self._scale, _mix(self.gas))

    @cached_property
    def leads(self) -> tuple[Lead, ...]:
        """The leads whose size is told."""
        told = (lead_of(lead) for lead in self.station.leads or ())
        return tuple(lead for lead in told if lead is not None)

    def lead_ohm(self, side: str) -> float | None:
        """Return the ohms of the leads of one side at 20 °C, or None where one is not told."""
        told = [lead for lead in self.station.leads or () if lead.side == side]
        known = [lead for lead in self.leads if lead.side == side]
        return sum(map(lead_ohm, known)) if told and len(told) == len(known) else None

    @cached_property
    def arc_middle(self) -> tuple[float, float] | None:
        """Volts at the arc at which this wire runs well: least and most. None where not known."""
        if self.run == "short_arc" and self.form in ("solid", None):
            amperes = self.balance_a or self.current_a
            if amperes is None or amperes > SHORT_ARC_A[1] * 1.1 or self.metal == "aluminium":
                return None
            share = self.gas.parts.get("CO2", 0.0) if self.gas else 0.25
            middle = short_arc_middle_v(amperes, share)
            slack = COMFORT_V if self.gas else COMFORT_V + 0.5
            return middle - slack, middle + slack
        if self.process == "FCAW-G" and self.diameter_mm and self.metal == "carbon_steel":
            try:
                window = running_window("cored_gas_steel", self.diameter_mm)
            except QuantityError:
                return None
            return window.least_v - 1.0, window.most_v + 1.0
        return None

    def all(self) -> Iterator[Figured]:
        """Yield every sum that the station's figures allow, each under the place that says it."""
        yield from self._leads()
        yield from self._cable_rating()
        yield from self._clamp_rating()
        yield from self._arc()
        yield from self._flow()
        yield from self._duty()
        yield from self._cord()
        yield from self._breaker()

    def _leads(self) -> Iterator[Figured]:
        if self.current_a and self.leads:
            total = weld_circuit(self.current_a, self.leads).total
            yield Figured("station.leads", {"leads_drop_v": total.value or 0.0}, total)

    def _cable_rating(self) -> Iterator[Figured]:
        """Hold the lead that is worst off against its rating; with no duty told, without a rest."""
        dials = self.station.settings
        told = dials.duty_pct if dials else None
        rows = []
        for lead in self.leads:
            with suppress(QuantityError):  # a size without a rating
                if self.current_a and lead.metal == "copper":
                    duty = 1.0 if told is None else told / 100.0
                    rows.append(cable_duty(lead.area_mm2, self.current_a, duty))
        if not rows:
            return
        worst = min(rows, key=lambda row: row.limits[0].value)
        share = (worst.value or 0.0) / worst.limits[0].value
        if told is not None or share <= 1.0:
            yield Figured("station.leads.rating", {"cable_duty_over_allowed": share}, worst)

    def _clamp_rating(self) -> Iterator[Figured]:
        """Tell what the clamp bears at this duty, where that is less than the current meant."""
        clamp, dials = self.station.clamp, self.station.settings
        if clamp is None or dials is None or dials.current_a is None or dials.duty_pct is None:
            return
        if clamp.rated_a is None or clamp.rated_duty_pct is None:
            return
        bears = current_at_duty(clamp.rated_a, clamp.rated_duty_pct / 100.0, dials.duty_pct / 100.0)
        if bears < dials.current_a <= clamp.rated_a:
            yield Figured("station.clamp.rated_duty_pct", {"clamp_bears_less_a": bears})

    def _arc(self) -> Iterator[Figured]:
        if self.arc_middle is None:
            return
        # What good leads lose belongs to the dial; what bad ones lose on top is their fault, not its.
        lost = sum(map(lead_ohm, self.leads)) * (self.current_a or self.balance_a or 0.0)
        lost = min(lost, COMFORTABLE_V)
        least, most = (volts + lost for volts in self.arc_middle)
        yield Figured("station.settings.arc_v", {"arc_v_least": least, "arc_v_most": most})

    def _flow(self) -> Iterator[Figured]:
        if self.run == "self_shielded" or self.process is None:
            return
        gas, gun = self.station.gas, self.station.gun
        low, high = FLOW_L_MIN["short_arc"][0], FLOW_L_MIN["spray_or_cored"][3]
        if self.run is not None:
            low, _, _, high = FLOW_L_MIN[self.run]
        bore = gun.nozzle_bore_mm if gun else None
        if bore is not None:
            high = min(high, CROWDED_L_MIN * bore / CROWDED_BORE_MM)
        at_nozzle = gas is not None and gas.measured_at == "nozzle"
        factor = 1.0 if at_nozzle or self.meter_factor is None else self.meter_factor
        figures = {"gas_flow_least_l_min": low / factor, "gas_flow_most_l_min": high / factor}
        flow = gas.flow_l_min if gas else None
        result = None
        if flow is not None and self.run is not None:
            result = flow_window(flow * factor, self.run, bore or 0.0)
        yield Figured("station.gas.flow_l_min", figures, result)
        if self.meter_factor is not None and flow is not None and not at_nozzle:
            yield Figured(
                "station.gas.meter_scaled_for",
                {"gas_meter_factor": self.meter_factor},
                float_meter(flow, self._scale or {}, _mix(self.gas) if self.gas else {}),
            )

    def _duty(self) -> Iterator[Figured]:
        source, dials = self.station.source, self.station.settings
        if source is None or dials is None or None in (source.rated_a, source.rated_duty_pct):
            return
        if dials.current_a is None or dials.duty_pct is None:
            return
        result = machine_duty(
            source.rated_a or 0.0,
            (source.rated_duty_pct or 0.0) / 100.0,
            dials.current_a,
            dials.duty_pct / 100.0,
        )
        share = (result.value or 0.0) / result.limits[0].value
        yield Figured("station.settings.duty_pct", {"duty_used_over_allowed": share}, result)

    def _cord(self) -> Iterator[Figured]:
        source = self.station.source
        if source is None or source.extension is False:
            return
        told = (source.extension_length_m, source.extension_area_mm2, source.supply_v)
        length, area, volts = told
        if length is None or area is None or volts is None or source.rated_primary_a is None:
            return
        result: Result | None = None
        share = 100.0
        with suppress(QuantityError):  # a cord that would take all the voltage
            result = cord(source.rated_primary_a, length, area, volts, phases=source.phases or 1)
            share = 100.0 * (1.0 - (result.value or 0.0) / volts)
        yield Figured("station.source.extension_area_mm2", {"supply_cord_drop_pct": share}, result)

    def _breaker(self) -> Iterator[Figured]:
        source = self.station.source
        if source is None or source.breaker_a is None or source.rated_primary_a is None:
            return
        try:
            result = overcurrent_limit(
                source.rated_primary_a, source.rated_primary_a, source.breaker_a
            )
        except QuantityError:
            return
        yield Figured("station.source.breaker_a", {}, result)
