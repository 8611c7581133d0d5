"""Example cases of the API's description. Each is a real complaint; tests diagnose them all."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from pydantic import BaseModel

CASES: Mapping[str, tuple[str, Mapping[str, Any]]] = {
    "just_hooked_up": (
        "Just hooked up: the wire feeds, and there is no arc",
        {
            "said": ["wire feeds, no arc"],
            "started": {"change": ["hooked_up"]},
            "station": {"process": "GMAW", "wire": {"class": "ER70S-6", "diameter_mm": 0.9}},
        },
    ),
    "wrong_polarity": (
        "Self-shielded wire with the electrode on positive; 0.045 in, as people write it",
        {
            "said": ["pops and spatters", "no penetration", "no porosity"],
            "station": {
                "process": "FCAW-S",
                "wire": {"class": "E71T-11", "diameter_mm": "0.045 in"},
                "polarity": {"electrode": "positive", "known": "looked"},
            },
        },
    ),
    "two_at_once": (
        "Two things wrong at once, and each was found; one thing said was not understood",
        {
            "said": ["porosity", "bird's nest at the rolls", "does the thing again"],
            "station": {
                "process": "GMAW",
                "wire": {"class": "ER70S-6"},
                "place": {"outdoors": True},
            },
            "findings": [
                {"check": "screen_the_arc", "result": "sound_behind_screen"},
                {"check": "feel_the_air", "result": "air_moves"},
                {"check": "feed_against_block", "result": "does_not_slip"},
                {"check": "look_at_wire_after_rolls", "result": "flattened_or_scored"},
            ],
        },
    ),
    "dead_and_wrong_polarity": (
        "Nothing comes on; and the polarity is wrong for the wire, which is not why",
        {
            "said": ["no lamp, no fan"],
            "symptoms": [{"id": "dead", "seen": "yes", "by": "tried_it"}],
            "station": {
                "process": "FCAW-S",
                "wire": {"class": "E71T-11"},
                "polarity": {"electrode": "positive", "known": "looked"},
            },
        },
    ),
    "everything_known": (
        "A station described to the last lead, with readings, findings and what was tried",
        {
            "said": ["clamp too hot to hold", "arc is weak and stubs", "tingle through my gloves"],
            "symptoms": [{"id": "porosity", "seen": "no", "by": "tried_it"}],
            "started": {"change": ["moved"], "pattern": "when_warm", "after_min": 8.0},
            "station": {
                "name": "bay 3",
                "process": "GMAW",
                "wire": {"class": "ER70S-6", "diameter_mm": 0.9, "form": "solid"},
                "polarity": {"electrode": "positive", "known": "looked"},
                "gas": {"name": "75Ar/25CO2", "flow_l_min": "35 cfh", "measured_at": "meter"},
                "source": {
                    "output": "constant_voltage",
                    "rated_a": 250.0,
                    "rated_duty_pct": 60,
                    "phases": 3,
                    "supply_v": 480.0,
                },
                "feeder": {"fed_from": "source", "groove": "V", "roll_mm": 0.9},
                "gun": {"rated_a": 300.0, "length_m": "15 ft", "tip_mm": 0.9, "liner_mm": 1.0},
                "leads": [
                    {"side": "electrode", "length_m": 3.0, "area_mm2": 50.0},
                    {"side": "work", "length_m": "25 ft", "area_mm2": "2/0 AWG"},
                ],
                "clamp": {"kind": "spring", "rated_a": 200.0},
                "settings": {"arc_v": 18.0, "feed_m_min": "300 ipm", "current_a": 160.0},
                "work": {
                    "metal": "carbon_steel",
                    "thickness_mm": 6.0,
                    "surface": ["paint", "rust"],
                    "joint": "fillet",
                },
                "place": {"outdoors": False, "bonded_to": ["building_steel"]},
            },
            "readings": [
                {
                    "what": "drop",
                    "value": 2.0,
                    "unit": "V",
                    "from": "work_stud",
                    "to": "work_lug",
                    "at_current_a": 160.0,
                }
            ],
            "findings": [{"check": "tug_each_lug", "result": "not_sure"}],
            "remedied": [{"fault": "tip_worn", "cured": False}],
            "made_safe": [{"stop_card": "tingle", "by": "electrician"}],
            "user": {"may": "maintenance", "tools": ["multimeter"]},
            "units": "us",
        },
    ),
}
"""Name -> what it is, and the case as a client would send it."""


def as_openapi_examples() -> dict[str, Any]:
    """Return the cases in the form of OpenAPI's `examples`."""
    return {name: {"summary": summary, "value": case} for name, (summary, case) in CASES.items()}


def parts(model: BaseModel) -> Iterator[BaseModel]:
    """Return the model and every model inside it, outermost first."""
    yield model
    for name in type(model).model_fields:
        yield from _inside(getattr(model, name))


def _inside(value: object) -> Iterator[BaseModel]:
    if isinstance(value, BaseModel):
        yield from parts(value)
    elif isinstance(value, dict):
        for item in value.values():
            yield from _inside(item)
    elif isinstance(value, (list, tuple)):
        for item in value:
            yield from _inside(item)
