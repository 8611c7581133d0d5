"""What each sum takes: one model a subject. A string with a unit is read at the door ("35 cfh").

A name may be given with the unit it is in (`drop_v`) or without (`drop`); a bare number is in the
unit that ends the full name.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from contextlib import suppress
from typing import Annotated, Any, Literal

from pydantic import (
    AliasChoices,
    AliasGenerator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    model_validator,
)

from diagnose.case import (
    Amperes,
    Kilopascal,
    LitresPerMinute,
    Metres,
    MetresPerMinute,
    MetresPerSecond,
    Millimetres,
    Percent,
    SquareMillimetres,
    Volts,
)
from diagnose.reckon.arc import Mode
from diagnose.units import quantity_in, to_si

__all__ = [
    "ArcInputs",
    "CircuitInputs",
    "DutyInputs",
    "GasInputs",
    "Inputs",
    "JointInputs",
    "LeadInput",
    "LocaliseInputs",
    "MachineInput",
    "NetworkInputs",
    "PartInput",
    "SupplyInputs",
    "WayInput",
    "short_name",
]

_UNITS: tuple[str, ...] = (
    "_l_min",
    "_m_min",
    "_mm_s",
    "_m_s",
    "_mm2",
    "_mohm",
    "_ohm",
    "_kpa",
    "_pct",
    "_min",
    "_mm",
)
_UNITS += ("_kg", "_v", "_a", "_m", "_c", "_l")
WayKind = Literal[
    "lead",
    "clamp",
    "building_steel",
    "chain",
    "wire_rope",
    "pipe",
    "conduit",
    "protective_earth",
]
Drop = Annotated[float, BeforeValidator(quantity_in("V")), Field(ge=0, le=1000)]
Ohms = Annotated[float, BeforeValidator(quantity_in("ohm")), Field(ge=0, le=1000)]
PositiveOhms = Annotated[float, BeforeValidator(quantity_in("ohm")), Field(gt=0, le=1000)]
Celsius = Annotated[float, BeforeValidator(quantity_in("degC")), Field(ge=-60, le=250)]
Minutes = Annotated[float, BeforeValidator(quantity_in("min")), Field(ge=0, le=10000)]
Litres = Annotated[float, BeforeValidator(quantity_in("l")), Field(gt=0, le=100000)]
Kilograms = Annotated[float, BeforeValidator(quantity_in("kg")), Field(gt=0, le=10000)]
MillimetresPerSecond = Annotated[float, BeforeValidator(quantity_in("mm/s")), Field(gt=0, le=1000)]
Name = Annotated[str, Field(min_length=1, max_length=80)]


def short_name(name: str) -> str:
    """Return the name of a quantity without the unit that ends it.

    >>> short_name("current_a"), short_name("flow_l_min"), short_name("gas")
    ('current', 'flow', 'gas')
    """
    for unit in _UNITS:
        if name.endswith(unit):
            return name.removesuffix(unit)
    return name


def _with_or_without_unit(name: str) -> AliasChoices:
    return AliasChoices(name, short_name(name))


class Inputs(BaseModel):
    """The inputs of a sum: frozen, and closed to names it does not know."""

    model_config = ConfigDict(
        frozen=True,
        extra="forbid",
        allow_inf_nan=False,
        alias_generator=AliasGenerator(validation_alias=_with_or_without_unit),
    )


class LeadInput(Inputs):
    """One length of weld cable; a side may have several, of different size and metal."""

    side: Literal["electrode", "work"]
    length_m: Metres
    area_mm2: SquareMillimetres
    metal: Literal["copper", "aluminium"] = "copper"
    temperature_c: Celsius | None = None


class PartInput(Inputs):
    """One joint: what it is, and its ohms."""

    name: Name
    ohm: Ohms


class WayInput(Inputs):
    """A conductor between two points; a lead or a clamp is what is meant to carry the current."""

    kind: WayKind
    from_: Annotated[Name, Field(validation_alias=AliasChoices("from", "from_"))]
    to: Name
    ohm: PositiveOhms


def _rows(read: Callable[[str], dict[str, object]]) -> Callable[[Any], Any]:
    """Return a reader of a list that may also be written as one text, its rows parted by commas."""

    def reader(told: Any) -> Any:
        if not isinstance(told, str):
            return told
        return [read(row.strip()) for row in told.split(",")]

    return reader


_WITH_UNIT = re.compile(r"(\d+/0|\d+(?:\.\d+)?)\s*([^\d\s,]\S*)")


def _lead_row(text: str) -> dict[str, object]:
    """Read "electrode 30 m 2/0 AWG aluminium 60 C": a side, then a length, a size, what else is known."""
    side, _, rest = text.partition(" ")
    row: dict[str, object] = {"side": side}
    for metal in ("copper", "aluminium"):
        if metal in rest.split():
            row["metal"] = metal
            rest = " ".join(word for word in rest.split() if word != metal)
    for number, unit in _WITH_UNIT.findall(rest):
        row[_lead_field(f"{number} {unit}")] = f"{number} {unit}"
    left = _WITH_UNIT.sub("", rest).strip()
    if left or not {"length", "area"} <= set(row):
        raise ValueError(f"'{text}' is no lead; write it like 'work 30 m 35 mm2 60 C'")
    return row


def _lead_field(text: str) -> str:
    for name, unit in (("length", "m"), ("area", "mm2"), ("temperature", "degC")):
        with suppress(ValueError):
            to_si(text, unit)
            return name
    raise ValueError(f"'{text}' is no length, size or temperature of a lead")


def _joint_row(text: str) -> dict[str, object]:
    """Read "work clamp 10 mohm"; without a name it is all joints together."""
    match = re.match(r"(?:(.*\D)\s+)?([\d.]+(?:\s*\D+)?)\Z", text)
    if match is None:
        raise ValueError(f"'{text}' is no joint; write it like 'work clamp 10 mohm'")
    return {"name": match[1] or "joints", "ohm": match[2]}


def _way_row(text: str) -> dict[str, object]:
    """Read "chain work-rail 50 mohm"."""
    match = re.match(r"(\w+)\s+([^\s-]+)-([^\s-]+)\s+([\d.]+(?:\s*\D+)?)\Z", text)
    if match is None:
        raise ValueError(f"'{text}' is no way; write it like 'chain work-rail 50 mohm'")
    return {"kind": match[1], "from": match[2], "to": match[3], "ohm": match[4]}


class CircuitInputs(Inputs):
    """Both leads and the joints as one way: drop, heat, and the cable that would do."""

    current_a: Annotated[Amperes, Field(description="weld current")]
    area_mm2: Annotated[SquareMillimetres | None, Field(description="size of both leads")] = None
    electrode_length_m: Annotated[Metres | None, Field(description="electrode lead, one way")] = (
        None
    )
    work_length_m: Annotated[Metres | None, Field(description="work lead, one way")] = None
    electrode_area_mm2: Annotated[
        SquareMillimetres | None, Field(description="size of the electrode lead, if another")
    ] = None
    work_area_mm2: Annotated[
        SquareMillimetres | None, Field(description="size of the work lead, if another")
    ] = None
    metal: Annotated[Literal["copper", "aluminium"], Field(description="of the leads")] = "copper"
    temperature_c: Annotated[Celsius, Field(description="of the cable")] = 20.0
    leads: Annotated[
        list[LeadInput],
        BeforeValidator(_rows(_lead_row)),
        Field(
            description="length by length: 'electrode 30m 35mm2, work 20m 2/0AWG, "
            "work 10m 50mm2 aluminium 60C'",
            max_length=50,
        ),
    ] = []
    joints: Annotated[
        list[PartInput],
        BeforeValidator(_rows(_joint_row)),
        Field(description="one by one: 'work clamp 10 mohm, work lug 0.3 mohm'", max_length=50),
    ] = []
    target_v: Annotated[Volts, Field(description="volts that may be lost")] = 4.0
    sizes: Annotated[
        Literal["metric", "awg"], Field(description="of the smallest cable: metric or awg")
    ] = "metric"

    @model_validator(mode="after")
    def _has_a_part(self) -> CircuitInputs:
        lengths = (self.electrode_length_m, self.work_length_m)
        if lengths == (None, None) and not (self.leads or self.joints):
            raise ValueError("give electrode_length, work_length, leads or joints")
        for side in ("electrode", "work"):
            length = getattr(self, f"{side}_length_m")
            area = getattr(self, f"{side}_area_mm2") or self.area_mm2
            if length is not None and area is None:
                raise ValueError(f"give area, or {side}_area, for the size of the {side} lead")
        return self


class NetworkInputs(Inputs):
    """How much current leaves the work lead when the work also touches steel."""

    current_a: Annotated[Amperes, Field(description="weld current")]
    steel_ohm: Annotated[
        PositiveOhms | None, Field(description="the whole way home by the steel")
    ] = None
    tied: Annotated[
        bool | None,
        Field(description="yes where the steel leads back to the source; touching is not enough"),
    ] = None
    return_ohm: Annotated[
        PositiveOhms | None, Field(description="work clamp and lead together")
    ] = None
    clamp_ohm: Annotated[Ohms, Field(description="the clamp's joint")] = 0.0
    work_length_m: Annotated[Metres | None, Field(description="work lead, one way")] = None
    area_mm2: Annotated[SquareMillimetres | None, Field(description="size of the work lead")] = None
    temperature_c: Annotated[Celsius, Field(description="of the cable")] = 20.0
    kind: Annotated[
        Literal["building_steel", "chain", "wire_rope", "pipe", "conduit", "protective_earth"],
        Field(description="what the steel is"),
    ] = "building_steel"
    ways: Annotated[
        list[WayInput],
        BeforeValidator(_rows(_way_row)),
        Field(
            description="instead, each conductor from point to point, from 'work' to 'source': "
            "'clamp work-lug 10mohm, lead lug-source 17mohm, chain work-rail 50mohm, "
            "building_steel rail-source 20mohm'",
            max_length=50,
        ),
    ] = []

    @model_validator(mode="after")
    def _has_a_return(self) -> NetworkInputs:
        if self.ways:
            return self
        if self.steel_ohm is None or self.tied is None:
            raise ValueError("give steel and tied, or ways")
        if self.return_ohm is None and (self.work_length_m is None or self.area_mm2 is None):
            raise ValueError("give return, or work_length with area, for the way home")
        return self


class JointInputs(Inputs):
    """One joint under current: ohms, heat, hottest spot, and what it is held against."""

    drop_v: Annotated[Drop, Field(description="across the joint")]
    current_a: Annotated[Amperes, Field(description="that flowed")]
    kind: Annotated[
        Literal["clamp", "bolted", "gun"], Field(description="whole clamp, lug or plug, gun")
    ] = "clamp"
    ambient_c: Annotated[Celsius, Field(description="metal away from the contact")] = 20.0
    area_mm2: Annotated[SquareMillimetres | None, Field(description="its own cable")] = None
    joint_length_m: Annotated[Metres, Field(description="length of the joint")] = 0.1
    neighbours_v: Annotated[
        list[Drop] | None,
        BeforeValidator(lambda told: told.split(",") if isinstance(told, str) else told),
        Field(description="drops of like joints at this current", max_length=50),
    ] = None


class LocaliseInputs(Inputs):
    """Several drops along one side: which joint is out."""

    drops: Annotated[
        dict[Annotated[str, Field(max_length=80)], Drop],
        Field(
            description="two points and the volts between, such as work_lug-work=2V", min_length=1
        ),
    ]
    current_a: Annotated[Amperes, Field(description="that flowed")]
    length_m: Annotated[Metres | None, Field(description="of the lead on this side")] = None
    area_mm2: Annotated[SquareMillimetres | None, Field(description="of the lead")] = None
    open_circuit_v: Annotated[Volts | None, Field(description="of the source")] = None
    accuracy_pct: Annotated[Percent, Field(description="of the volt meter")] = 1.0


class DutyInputs(Inputs):
    """How long at which current: the machine over ten minutes, the cable over five."""

    rated_a: Annotated[Amperes, Field(description="on the plate")]
    rated_duty_pct: Annotated[Percent, Field(description="on the plate")]
    current_a: Annotated[Amperes, Field(description="to be welded with")]
    duty_pct: Annotated[Percent | None, Field(description="asked for; else that of the plate")] = (
        None
    )
    area_mm2: Annotated[SquareMillimetres | None, Field(description="of the weld lead")] = None
    welded_min: Annotated[Minutes | None, Field(description="just welded at this current")] = None
    rested_min: Annotated[Minutes, Field(description="since it stopped")] = 0.0


class ArcInputs(Inputs):
    """Volts at the arc against the feed: what stubs and what burns back, and why."""

    volts_v: Annotated[Volts, Field(description="at the machine's studs")]
    feed_m_min: Annotated[MetresPerMinute, Field(gt=0, description="of the wire")]
    diameter_mm: Annotated[Millimetres, Field(description="of the wire, solid steel")]
    lost_v: Annotated[Drop, Field(description="in leads and joints")] = 0.0
    extension_mm: Annotated[Millimetres, Field(description="of the wire past the tip")] = 10.0
    gas: Annotated[Name, Field(description="as on the cylinder")] = "75Ar/25CO2"
    travel_mm_s: Annotated[
        MillimetresPerSecond | None,
        Field(description="of the gun along the bead, for its heat input"),
    ] = None
    current_a: Annotated[
        Amperes | None, Field(description="read while welding, for the heat input; else the feed's")
    ] = None
    window: Annotated[
        Mode | None,
        Field(
            description="another wire's window to hold the volts against, instead of the balance"
        ),
    ] = None


class GasInputs(Inputs):
    """Flow, meter, nozzle, wind and cylinder. Give what is known; each sum says what it needs."""

    flow_l_min: Annotated[LitresPerMinute | None, Field(description="as the meter shows it")] = None
    gas: Annotated[Name, Field(description="as on the cylinder")] = "75Ar/25CO2"
    scale: Annotated[Name | None, Field(description="gas the meter is scaled for")] = None
    run: Annotated[
        Literal["short_arc", "spray_or_cored", "self_shielded"] | None,
        Field(description="how the wire is run"),
    ] = None
    bore_mm: Annotated[Millimetres | None, Field(description="of the nozzle")] = None
    tip_mm: Annotated[Millimetres | None, Field(description="outside of the tip")] = None
    nozzle_flow_l_min: Annotated[LitresPerMinute | None, Field(description="at the nozzle")] = None
    wind_m_s: Annotated[MetresPerSecond | None, Field(description="at the weld")] = None
    cylinder_l: Annotated[Litres | None, Field(description="water volume of the cylinder")] = None
    pressure_kpa: Annotated[Kilopascal | None, Field(description="in the cylinder")] = None
    contents_kg: Annotated[
        Kilograms | None, Field(description="liquid CO2 left, by the scales: weight less tare")
    ] = None
    hose_l: Annotated[Litres | None, Field(description="volume shut in for a leak test")] = None
    fall_kpa: Annotated[Kilopascal | None, Field(description="fall of pressure in the test")] = None
    minutes_min: Annotated[Minutes | None, Field(gt=0, description="how long the test took")] = None
    leak_limit_l_min: Annotated[
        LitresPerMinute | None, Field(gt=0, description="your own limit for a leak")
    ] = None

    @model_validator(mode="after")
    def _has_something(self) -> GasInputs:
        told = (self.flow_l_min, self.wind_m_s, self.hose_l)
        if all(value is None for value in told):
            raise ValueError("give flow, wind, or hose with fall and minutes")
        return self


_MACHINE = re.compile(
    r"\s*(?:(?P<count>\d{1,2})\s*x\s*)?(?P<amps>\d+(?:\.\d+)?)\s*A?\s*(?:at\s*)?"
    r"(?P<duty>\d+(?:\.\d+)?)\s*%\s*(?P<mg>mg|motor[- ]generator)?\s*\Z",
    re.I,
)


class MachineInput(Inputs):
    """A machine on the feeder, or several alike."""

    primary_a: Amperes
    duty_pct: Percent
    motor_generator: bool = False
    count: Annotated[int, Field(ge=1, le=99)] = 1


def _machines(told: Any) -> Any:
    """Read "80A 100%, 70A 90% mg, 4x 25A 40%"."""
    if not isinstance(told, str):
        return told
    rows = []
    for text in told.split(","):
        match = _MACHINE.match(text)
        if match is None:
            raise ValueError(f"'{text.strip()}' is no machine; write it like '4x 40A 60% mg'")
        rows.append(
            {
                "primary_a": float(match["amps"]),
                "duty_pct": float(match["duty"]),
                "motor_generator": match["mg"] is not None,
                "count": int(match["count"] or 1),
            }
        )
    return rows


def _whole(told: Any) -> Any:
    return int(told) if isinstance(told, str) and told.strip().isdecimal() else told


class SupplyInputs(Inputs):
    """The supply side, for deciding whether to call an electrician. Give what is known."""

    machines: Annotated[
        list[MachineInput] | None,
        BeforeValidator(_machines),
        Field(description="on one feeder: '80A 100%, 4x 40A 60% mg'", max_length=50),
    ] = None
    primary_a: Annotated[Amperes | None, Field(description="greatest, on the plate")] = None
    duty_pct: Annotated[Percent | None, Field(description="on the plate")] = None
    idle_primary_a: Annotated[Amperes | None, Field(description="at no load")] = None
    conductor_a: Annotated[Amperes | None, Field(description="ampacity of the supply wires")] = None
    conductor_area_mm2: Annotated[
        SquareMillimetres | None,
        Field(description="size of the copper supply wires, 14 to 4/0 AWG"),
    ] = None
    insulation_c: Annotated[
        Literal[60, 75, 90], BeforeValidator(_whole), Field(description="of the supply wires")
    ] = 75
    breaker_a: Annotated[Amperes | None, Field(description="fitted")] = None
    supply_v: Annotated[Volts | None, Field(description="on the plate")] = None
    phases: Annotated[Literal[1, 3], BeforeValidator(_whole)] = 1
    cord_length_m: Annotated[Metres | None, Field(description="extension cord")] = None
    cord_area_mm2: Annotated[SquareMillimetres | None, Field(description="its size")] = None
    earth_ohm: Annotated[
        Ohms | None, Field(description="protective earth through the cord, read by an electrician")
    ] = None
    idle_v: Annotated[Volts | None, Field(description="line volts at idle")] = None
    load_v: Annotated[Volts | None, Field(description="line volts under load")] = None
    lines_v: Annotated[
        list[Drop] | None,
        BeforeValidator(
            lambda told: told.replace("/", ",").split(",") if isinstance(told, str) else told
        ),
        Field(description="L1-L2, L2-L3, L3-L1, such as 480/240/240", min_length=3, max_length=3),
    ] = None
    loaded: Annotated[bool, Field(description="the lines were read under load")] = True
