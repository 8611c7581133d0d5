"""The case: everything anyone knows about one complaint on one station.

Absent means not known, never "no". SI inside; a string with a unit is taken at the door.
"""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from diagnose.units import quantity_in

Id = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]*$", max_length=64)]
Short = Annotated[str, Field(min_length=1, max_length=80)]
Metres = Annotated[float, BeforeValidator(quantity_in("m")), Field(gt=0, le=1000)]
Millimetres = Annotated[float, BeforeValidator(quantity_in("mm")), Field(gt=0, le=1000)]
SquareMillimetres = Annotated[float, BeforeValidator(quantity_in("mm2")), Field(gt=0, le=1000)]
Amperes = Annotated[float, BeforeValidator(quantity_in("A")), Field(gt=0, le=5000)]
Volts = Annotated[float, BeforeValidator(quantity_in("V")), Field(gt=0, le=1000)]
Percent = Annotated[float, BeforeValidator(quantity_in("%")), Field(gt=0, le=100)]
LitresPerMinute = Annotated[float, BeforeValidator(quantity_in("l/min")), Field(ge=0, le=200)]
MetresPerMinute = Annotated[float, BeforeValidator(quantity_in("m/min")), Field(ge=0, le=60)]
MetresPerSecond = Annotated[float, BeforeValidator(quantity_in("m/s")), Field(ge=0, le=60)]
Kilopascal = Annotated[float, BeforeValidator(quantity_in("kPa")), Field(ge=0, le=40000)]
Side = Literal["electrode", "work"]
Metal = Literal["carbon_steel", "stainless", "aluminium"]
Who = Literal["operator", "maintenance", "electrician", "service"]


class Part(BaseModel):
    """A part of the case: frozen, and closed to unknown keys."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", populate_by_name=True, allow_inf_nan=False
    )


class Wire(Part):
    """The wire on the spool."""

    class_: Annotated[str | None, Field(min_length=1, max_length=32)] = Field(None, alias="class")
    diameter_mm: Millimetres | None = None
    form: Literal["solid", "metal_cored", "flux_cored"] | None = None
    supply: Literal["spool", "drum"] | None = None


class PolarityTold(Part):
    """Which stud the electrode lead is on, and whether somebody traced it or only said so."""

    electrode: Literal["positive", "negative"]
    known: Literal["looked", "told"] = "told"


class GasTold(Part):
    """The shielding gas as it stands at the station. Flow in L/min, pressure in kPa."""

    name: Short | None = None
    flow_l_min: LitresPerMinute | None = None
    measured_at: Literal["meter", "nozzle"] | None = None
    meter_scaled_for: Short | None = None
    pressure_kpa: Kilopascal | None = None
    supply: Literal["cylinder", "manifold"] | None = None


class PowerSource(Part):
    """The power source and what feeds it. Currents in A, voltages in V."""

    output: Literal["constant_voltage", "constant_current"] | None = None
    kind: Literal["transformer", "inverter", "engine"] | None = None
    control: Literal["manual", "program"] | None = None
    rated_a: Amperes | None = None
    rated_duty_pct: Percent | None = None
    open_circuit_v: Volts | None = None
    phases: Literal[1, 3] | None = None
    supply_v: Volts | None = None
    rated_primary_a: Amperes | None = None
    idle_primary_a: Amperes | None = None
    breaker_a: Amperes | None = None
    fed_by: Literal["mains", "generator"] | None = None
    extension: bool | None = None
    extension_length_m: Metres | None = None
    extension_area_mm2: SquareMillimetres | None = None
    remote: bool | None = None


class Feeder(Part):
    """The wire feeder and its rolls."""

    fed_from: Literal["source", "arc_voltage"] | None = None
    groove: Literal["V", "U", "knurled"] | None = None
    roll_mm: Millimetres | None = None


class Gun(Part):
    """The gun, its tip, liner and nozzle."""

    rated_a: Amperes | None = None
    length_m: Metres | None = None
    tip_mm: Millimetres | None = None
    tip_outside_mm: Millimetres | None = None
    liner_mm: Millimetres | None = None
    nozzle_bore_mm: Millimetres | None = None
    cooling: Literal["air", "water"] | None = None
    kind: Literal["ordinary", "spool_gun", "push_pull"] | None = None
    extraction: bool | None = None


class WeldLead(Part):
    """One length of welding cable on one side of the arc."""

    side: Side
    length_m: Metres
    area_mm2: SquareMillimetres | None = None
    metal: Literal["copper", "aluminium"] = "copper"
    coiled: bool | None = None


class Clamp(Part):
    """The work clamp."""

    kind: Literal["spring", "screw", "magnetic", "bolted", "rotary"] | None = None
    rated_a: Amperes | None = None
    rated_duty_pct: Percent | None = None


class Dials(Part):
    """What the set is dialled to, and what is meant to flow."""

    mode: Literal["wire", "stick", "tig", "gouging"] | None = None
    output: Literal["on", "off"] | None = None
    arc_v: Volts | None = None
    feed_m_min: MetresPerMinute | None = None
    current_a: Amperes | None = None
    duty_pct: Percent | None = None
    stickout_mm: Millimetres | None = None


class Work(Part):
    """The work: metal, thickness in mm, what is on its surface, the joint."""

    metal: Metal | None = None
    thickness_mm: Millimetres | None = None
    surface: (
        Annotated[
            list[Literal["clean", "paint", "zinc", "rust", "scale", "oil", "wet"]],
            Field(max_length=50),
        ]
        | None
    ) = None
    joint: Literal["butt", "fillet", "lap", "open_root"] | None = None


class Place(Part):
    """Where the work stands. Wind in m/s."""

    outdoors: bool | None = None
    wind_m_s: MetresPerSecond | None = None
    confined: bool | None = None
    bonded_to: (
        Annotated[
            list[
                Literal[
                    "nothing",
                    "building_steel",
                    "chain",
                    "pipe",
                    "protective_earth",
                    "other_station",
                ]
            ],
            Field(max_length=50),
        ]
        | None
    ) = None


class Station(Part):
    """One welding set as it stands. `station.yaml` is this object alone."""

    name: Short | None = None
    process: Literal["GMAW", "FCAW-G", "FCAW-S"] | None = None
    wire: Wire | None = None
    polarity: PolarityTold | None = None
    gas: GasTold | None = None
    source: PowerSource | None = None
    feeder: Feeder | None = None
    gun: Gun | None = None
    leads: Annotated[list[WeldLead], Field(max_length=50)] | None = None
    clamp: Clamp | None = None
    settings: Dials | None = None
    work: Work | None = None
    place: Place | None = None


class SymptomSeen(Part):
    """A symptom answered outright. `tried_it` weighs more than the welder's word."""

    id: Id
    seen: Literal["yes", "no", "not_sure"]
    by: Literal["welder", "tried_it"] = "welder"


class Started(Part):
    """How it started: what changed last, the pattern in time, and where only."""

    change: Annotated[list[Id], Field(max_length=10)] = Field(default_factory=list)
    pattern: Id | None = None
    after_min: Annotated[float, Field(ge=0, le=10000)] | None = None
    only: Id | None = None


class Reading(Part):
    """A number with a unit from an instrument. `from` and `to` name the points it was taken between."""

    what: Literal[
        "drop",
        "line_voltage",
        "open_circuit",
        "arc_voltage",
        "flow",
        "temperature",
        "feed",
        "current",
        "pressure",
    ]
    value: Annotated[float, Field(ge=-1e6, le=1e6)]
    unit: Annotated[str, Field(min_length=1, max_length=16)]
    from_: Annotated[str | None, Field(max_length=40)] = Field(None, alias="from")
    to: Annotated[str, Field(max_length=40)] | None = None
    at_current_a: Amperes | None = None
    accuracy_pct: Annotated[float, Field(ge=0, le=50)] | None = None
    at: datetime | None = None


class Finding(Part):
    """The result of a check."""

    check: Id
    result: Id


class Remedied(Part):
    """A remedy that was carried out, and whether it cured."""

    fault: Id
    cured: bool


class MadeSafe(Part):
    """A stop card lifted by a qualified person's finding."""

    stop_card: Id
    by: Who


class User(Part):
    """What this user may do, and the tools at hand. No list of tools means the usual ones."""

    may: Who = "operator"
    tools: Annotated[list[Id], Field(max_length=50)] | None = None


class Case(Part):
    """Everything anyone knows about one complaint on one station."""

    said: Annotated[
        list[Annotated[str, Field(min_length=1, max_length=400)]], Field(max_length=50)
    ] = Field(default_factory=list)
    symptoms: Annotated[list[SymptomSeen], Field(max_length=50)] = Field(default_factory=list)
    started: Started = Started()
    station: Station = Station()
    readings: Annotated[list[Reading], Field(max_length=50)] = Field(default_factory=list)
    findings: Annotated[list[Finding], Field(max_length=50)] = Field(default_factory=list)
    remedied: Annotated[list[Remedied], Field(max_length=50)] = Field(default_factory=list)
    made_safe: Annotated[list[MadeSafe], Field(max_length=50)] = Field(default_factory=list)
    user: User = User()
    units: Literal["metric", "us"] = "metric"
