"""The points a probe is put on, by the names people use, and what lies between two of them.

A point of the weld circuit is bare metal. In order along the way:

| side | points |
|---|---|
| electrode | electrode_stud, electrode_plug, feeder, gun_pin, tip |
| work | work_stud, work_plug, work_lug, clamp, work |

`..._stud` is the stud or socket on the power source, `..._plug` the plug or lug that sits on it (on the
cable's side of the contact), `feeder` the block the gun plugs into, `gun_pin` the gun's own pin,
`work_lug` the lead's lug at the clamp, `clamp` the jaw, `work` the part that is welded, bright,
beside the jaw.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from knowledge.nearest import nearest

__all__ = [
    "ALIASES",
    "LINES",
    "POINTS",
    "WAYS",
    "Segment",
    "Span",
    "find_point",
    "span_between",
    "span_of",
    "unknown_point",
]

Side = Literal["electrode", "work"]

WAYS: dict[Side, tuple[str, ...]] = {
    "electrode": ("electrode_stud", "electrode_plug", "feeder", "gun_pin", "tip"),
    "work": ("work_stud", "work_plug", "work_lug", "clamp", "work"),
}
LINES = ("L1", "L2", "L3")
_ELSEWHERE = (
    *("studs", "arc", "meter", "nozzle", "cylinder", "regulator", "supply_plug", "earth_wire"),
    *("electrode_cable", "work_cable", "electrode_lead", "work_lead", "N", "PE"),
)
POINTS = (*WAYS["electrode"], *WAYS["work"], *LINES, *_ELSEWHERE)
"""Every point there is. A cable is felt half a metre from its joint; a lead is what a clamp meter
closes round."""

ALIASES: dict[str, str] = {
    "plate": "work",
    "workpiece": "work",
    "work_piece": "work",
    "part": "work",
    "job": "work",
    "work_clamp": "clamp",
    "ground_clamp": "clamp",
    "earth_clamp": "clamp",
    "return_clamp": "clamp",
    "jaw": "clamp",
    "jaws": "clamp",
    "clamp_jaw": "clamp",
    "clamp_lug": "work_lug",
    "lug": "work_lug",
    "work_socket": "work_stud",
    "work_terminal": "work_stud",
    "stud_lug": "work_plug",
    "work_stud_lug": "work_plug",
    "electrode_socket": "electrode_stud",
    "electrode_terminal": "electrode_stud",
    "electrode_lug": "electrode_plug",
    "feeder_block": "feeder",
    "gun_block": "feeder",
    "power_block": "feeder",
    "gun_socket": "feeder",
    "gun": "gun_pin",
    "power_pin": "gun_pin",
    "contact_tip": "tip",
    "terminals": "studs",
    "display": "studs",
    "flowmeter": "meter",
    "flow_meter": "meter",
    "gun_nozzle": "nozzle",
    "bottle": "cylinder",
    "earth": "earth_wire",
    "protective_earth": "earth_wire",
    "ground_wire": "earth_wire",
    "work_lead_cable": "work_cable",
    "electrode_lead_cable": "electrode_cable",
    "power_plug": "supply_plug",
    "l1": "L1",
    "l2": "L2",
    "l3": "L3",
    "a": "L1",
    "b": "L2",
    "c": "L3",
    "n": "N",
    "neutral": "N",
    "pe": "PE",
}
"""What people also say. No stud is named by its sign: which side that is depends on the polarity."""


_WHOLE_LEADS = {
    "work_lead": ("work_plug", "work_lug"),
    "electrode_lead": ("electrode_plug", "feeder"),
}


@dataclass(frozen=True, slots=True)
class Segment:
    """What lies between two neighbours. `kind` is a row of the evidence table; empty for a lead."""

    name: str
    kind: str = ""


SEGMENTS: dict[Side, tuple[Segment, ...]] = {
    "electrode": (
        Segment("electrode plug", "bolted_joint_resistance"),
        Segment("electrode lead"),
        Segment("gun socket", "bolted_joint_resistance"),
        Segment("gun", "gun_resistance"),
    ),
    "work": (
        Segment("work plug", "bolted_joint_resistance"),
        Segment("work lead"),
        Segment("inside of the work clamp", "bolted_joint_resistance"),
        Segment("jaws on the work", "work_clamp_resistance"),
    ),
}


@dataclass(frozen=True, order=True, slots=True)
class Span:
    """A stretch of one side, from the `low`th point to the `high`th."""

    side: Side
    low: int
    high: int

    @property
    def points(self) -> tuple[str, str]:
        """The two ends, the one nearer the power source first."""
        return WAYS[self.side][self.low], WAYS[self.side][self.high]

    @property
    def segments(self) -> tuple[Segment, ...]:
        """What lies in it."""
        return SEGMENTS[self.side][self.low : self.high]

    def holds(self, other: Span) -> bool:
        """Return whether the other stretch is a part of this one, and not all of it."""
        inside = self.low <= other.low and other.high <= self.high
        return self.side == other.side and inside and self != other


def span_of(points: Sequence[str]) -> Span | None:
    """Return the stretch that one or two points name; None where they name none.

    One name does for a lead, which is then measured from end to end.

    >>> span_of(["work_lead"]) == span_of(["work_plug", "work_lug"])
    True
    >>> span_of(["clamp"]) is None
    True
    """
    if len(points) == 1:
        points = _WHOLE_LEADS.get(points[0], ())
    return span_between(*points) if len(points) == 2 else None


def find_point(told: str) -> str | None:
    """Return the point that a name means, or None.

    >>> find_point("Work clamp"), find_point("plate"), find_point("work_stod")
    ('clamp', 'work', None)
    """
    name = "_".join(told.strip().replace("-", " ").replace("_", " ").lower().split())
    if name in ALIASES:
        return ALIASES[name]
    return name if name in POINTS else None


def unknown_point(told: str) -> str:
    """Return what to say of a name that means no point, with the nearest that does.

    >>> unknown_point("work_stod")
    "there is no point 'work_stod'; nearest: 'work_stud'"
    """
    close = nearest(told, [*POINTS, *ALIASES])
    hint = f"nearest: '{close}'" if close else f"points are {', '.join(POINTS)}"
    return f"there is no point '{told}'; {hint}"


def span_between(one: str, other: str) -> Span | None:
    """Return the stretch between two points of one side; None where they lie on no one side.

    >>> span_between("work", "work_lug").segments[-1].name
    'jaws on the work'
    >>> span_between("work", "tip") is None
    True
    """
    for side, way in WAYS.items():
        if one in way and other in way and one != other:
            low, high = sorted((way.index(one), way.index(other)))
            return Span(side, low, high)
    return None
