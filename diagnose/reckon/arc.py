"""Volts at the arc: the conventional load line, what the leads leave, and stub or burnback."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from diagnose.reckon.melting import MM_PER_IN, melting_current_a
from diagnose.reckon.quantity import between, not_negative, positive
from diagnose.reckon.result import SHOP, HowSure, Limit, Result, Verdict
from diagnose.reckon.transfer import SHORT_ARC_A, SHORT_ARC_V
from knowledge.errors import QuantityError

LoadLine = Literal["covered_electrode", "tig", "wire_feed"]
Mode = Literal["short_circuit_stainless", "spray_stainless", "spray_aluminium", "cored_gas_steel"]
Behaviour = Literal["stubs", "runs", "burns_back"]

LOAD_LINES: dict[LoadLine, tuple[float, float, float]] = {
    "covered_electrode": (20.0, 0.04, 44.0),
    "tig": (10.0, 0.04, 34.0),
    "wire_feed": (14.0, 0.05, 44.0),
}
"""Volts at no current, volts per ampere, and the cap above 600 A (the cap from memory)."""

SHORT_ARC_BASE_V = 14.0
SHORT_ARC_V_A = 0.028
CO2_ABOVE_MIX_V = 2.0
"""Short arc, solid steel, 75/25: about 14 V + 0.028 V/A; pure CO2 some 2 V more. Judgement."""
COMFORT_V = 1.5
TROUBLE_V = 3.0
"""From the middle of the window: still runs, surely stubs or burns back. Judgement."""


@dataclass(frozen=True, slots=True)
class RunningWindow:
    """Volts and amperes a wire is run at, from a textbook's table."""

    least_v: float
    most_v: float
    least_a: float
    most_a: float


WINDOWS: dict[Mode, dict[float, RunningWindow]] = {
    "short_circuit_stainless": {
        0.030: RunningWindow(17, 22, 50, 145),
        0.035: RunningWindow(17, 22, 65, 175),
        0.045: RunningWindow(17, 22, 100, 210),
    },
    "spray_stainless": {
        0.030: RunningWindow(24, 28, 160, 210),
        0.035: RunningWindow(24, 29, 180, 255),
        0.045: RunningWindow(24, 30, 200, 300),
        0.0625: RunningWindow(24, 32, 215, 325),
    },
    "spray_aluminium": {
        0.030: RunningWindow(19, 22, 100, 150),
        0.0469: RunningWindow(22, 28, 130, 200),
        0.0625: RunningWindow(24, 30, 160, 300),
        0.0938: RunningWindow(26, 34, 220, 450),
    },
    "cored_gas_steel": {
        0.035: RunningWindow(26, 32, 150, 250),
        0.045: RunningWindow(24, 28, 150, 250),
        0.052: RunningWindow(24, 28, 200, 350),
        0.0625: RunningWindow(25, 30, 225, 375),
        0.0781: RunningWindow(26, 30, 275, 450),
        0.0938: RunningWindow(26, 32, 350, 500),
    },
}
"""Modern Welding 2020, page 227 and 236, by diameter in inches."""


@dataclass(frozen=True, slots=True)
class ArcFound:
    """What the wire does at the volts that are left, and the reckoning behind it."""

    behaviour: Behaviour
    current_a: float
    result: Result


def load_line_v(current_a: float, process: LoadLine = "wire_feed") -> float:
    """Return the conventional load voltage at the machine's studs, volts.

    Raises
    ------
    QuantityError : negative current

    Source
    ------
    IEC 60974-1 11.2: 14 + 0.05 I for wire feed, 20 + 0.04 I covered electrode, 10 + 0.04 I TIG;
    caps of 44, 44 and 34 V from memory.

    >>> load_line_v(250.0)
    26.5
    """
    base_v, per_a, cap_v = LOAD_LINES[process]
    return min(base_v + per_a * not_negative(current_a, "current_a"), cap_v)


def conventional_load(current_a: float, process: LoadLine = "wire_feed") -> Result:
    """Return the conventional load voltage as a result that says what it is good for.

    Raises
    ------
    QuantityError : negative current

    Source
    ------
    IEC 60974-1 11.2 (restated); caps from memory.

    >>> conventional_load(800.0).value
    44.0
    """
    base_v, per_a, cap_v = LOAD_LINES[process]
    volts = load_line_v(current_a, process)
    return Result(
        quantity="conventional load voltage",
        value=volts,
        unit="V",
        says=f"At {current_a:g} A machines are rated at {volts:g} V across their studs.",
        verdict="no_limit",
        how_sure=HowSure("A convention for rating machines, not a setting for a weld.", 0.0),
        limits=(Limit("cap above 600 A", cap_v, "V", "iec_60974_1", "from_memory", "clause 11.2"),),
        working=(
            f"U2 = {base_v:g} + {per_a:g} I2 = {base_v:g} + {per_a:g} x {current_a:g} "
            f"= {base_v + per_a * current_a:g} V" + (", capped" if volts == cap_v else ""),
        ),
    )


def arc_voltage_v(machine_v: float, lost_v: float) -> float:
    """Return what is left between wire tip and work after leads and joints, volts.

    Raises
    ------
    QuantityError : negative voltage, or more lost than the machine gives

    Source
    ------
    Kirchhoff's voltage law.

    >>> arc_voltage_v(17.0, 3.0)
    14.0
    """
    not_negative(lost_v, "lost_v")
    if lost_v > positive(machine_v, "machine_v"):
        raise QuantityError(
            f"{lost_v:g} V lost is more than the machine's {machine_v:g} V",
            where="lost_v",
            next_step="Measure both at the same moment, while welding.",
        )
    return machine_v - lost_v


def short_arc_middle_v(current_a: float, co2_share: float = 0.25) -> float:
    """Return the arc voltage at which short arc on steel usually runs well, volts.

    Raises
    ------
    QuantityError : current not above zero, or `co2_share` outside 0 to 1

    Source
    ------
    Judgement: 14 V + 0.028 V/A in 75/25, rising by 2 V to pure CO2.

    >>> round(short_arc_middle_v(150.0), 1)
    18.2
    """
    between(co2_share, 0.0, 1.0, "co2_share")
    line_v = SHORT_ARC_BASE_V + SHORT_ARC_V_A * positive(current_a, "current_a")
    return line_v + _of_gas(co2_share)


def _of_gas(co2_share: float) -> float:
    """Volts that the gas wants more, or less, than 75/25."""
    return CO2_ABOVE_MIX_V * (co2_share - 0.25) / 0.75


def short_arc(
    machine_v: float,
    lost_v: float,
    feed_mm_s: float,
    diameter_mm: float,
    *,
    extension_mm: float = 10.0,
    co2_share: float = 0.25,
) -> ArcFound:
    """Return whether a solid steel wire in short arc stubs, runs or burns back, and why.

    Raises
    ------
    QuantityError : more volts lost than there are, or an impossible feed, wire or gas

    Source
    ------
    Melting-rate balance (from memory); window: judgement; envelope of 12 to 22 V: textbook.

    >>> short_arc(17.0, 3.0, 127.0, 0.889).behaviour
    'stubs'
    """
    left_v = arc_voltage_v(machine_v, lost_v)
    current_a = melting_current_a(feed_mm_s, diameter_mm, extension_mm)
    middle_v = short_arc_middle_v(current_a, co2_share)
    behaviour, verdict = _behaviour(left_v, middle_v)
    limits = (
        Limit("runs well above", middle_v - COMFORT_V, "V", SHOP, "judgement"),
        Limit("runs well below", middle_v + COMFORT_V, "V", SHOP, "judgement"),
        Limit("short-arc envelope from", SHORT_ARC_V[0], "V", SHOP, "common_practice"),
        Limit("short-arc envelope to", SHORT_ARC_V[1], "V", SHOP, "common_practice"),
    )
    notes = ["One volt is clearly heard in short arc; half a volt is felt by a good hand."]
    if current_a > SHORT_ARC_A[1]:
        notes.append(f"{current_a:.0f} A is past the usual short arc: this window says little.")
    return ArcFound(
        behaviour,
        current_a,
        Result(
            quantity="voltage left at the arc",
            value=left_v,
            unit="V",
            says=f"{left_v:.1f} V left at the arc for {0.06 * feed_mm_s:.2f} m/min "
            f"(about {current_a:.0f} A): {_why(behaviour, verdict, middle_v)}",
            verdict=verdict,
            how_sure=HowSure("Current within 20 %, so the window moves by a volt.", 0.08),
            limits=limits,
            working=(
                f"arc volts = machine - lost = {machine_v:g} - {lost_v:g} = {left_v:g} V",
                f"feed {feed_mm_s:.1f} mm/s is melted by about {current_a:.0f} A",
                f"short arc runs at 14 V + 0.028 V/A x {current_a:.0f} A "
                f"{_of_gas(co2_share):+.1f} V for its gas = {middle_v:.1f} V",
                f"off by {left_v:.1f} - {middle_v:.1f} = {left_v - middle_v:+.1f} V; within "
                f"{COMFORT_V:g} V it runs, past {TROUBLE_V:g} V it surely does not",
            ),
            notes=tuple(notes),
        ),
    )


def running_window(mode: Mode, diameter_mm: float) -> RunningWindow:
    """Return the textbook's window for a wire, the nearest size within 4 %.

    Raises
    ------
    QuantityError : no row for this diameter

    Source
    ------
    Modern Welding 2020.

    >>> running_window("cored_gas_steel", 1.2).most_v
    28
    """
    positive(diameter_mm, "diameter_mm")
    rows = WINDOWS[mode]
    nearest = min(rows, key=lambda inches: abs(inches * MM_PER_IN - diameter_mm))
    if abs(nearest * MM_PER_IN - diameter_mm) > 0.05 * diameter_mm:
        known = ", ".join(f"{inches * MM_PER_IN:.2g}" for inches in rows)
        raise QuantityError(
            f"no window is known for {diameter_mm:g} mm",
            where="diameter_mm",
            next_step=f"Use the maker's sheet. Known sizes: {known} mm.",
        )
    return rows[nearest]


def held_in_window(mode: Mode, diameter_mm: float, arc_v: float) -> Result:
    """Hold the arc voltage against the textbook's window for the wire.

    Raises
    ------
    QuantityError : no row for this diameter, or voltage not above zero

    Source
    ------
    Modern Welding 2020; makers differ by a volt or two, so outside is suspect, never bad.

    >>> held_in_window("cored_gas_steel", 1.2, 21.0).verdict
    'suspect'
    """
    window = running_window(mode, diameter_mm)
    positive(arc_v, "arc_v")
    inside = window.least_v - 1.0 <= arc_v <= window.most_v + 1.0
    return Result(
        quantity="arc voltage",
        value=arc_v,
        unit="V",
        says=f"{arc_v:g} V against {window.least_v:g} to {window.most_v:g} V for this wire.",
        verdict="good" if inside else "suspect",
        how_sure=HowSure("Tables differ by a volt or two between makers.", 0.05),
        limits=(
            Limit("least", window.least_v, "V", "modern_welding_2020", "published"),
            Limit("most", window.most_v, "V", "modern_welding_2020", "published"),
        ),
        working=(f"{window.least_v:g} <= {arc_v:g} <= {window.most_v:g}, give or take 1 V",),
    )


def _behaviour(left_v: float, middle_v: float) -> tuple[Behaviour, Verdict]:
    off_v = left_v - middle_v
    verdict: Verdict = "good"
    if abs(off_v) > TROUBLE_V:
        verdict = "bad"
    elif abs(off_v) > COMFORT_V:
        verdict = "suspect"
    if verdict == "good":
        return "runs", verdict
    return ("stubs" if off_v < 0.0 else "burns_back"), verdict


def _why(behaviour: Behaviour, verdict: Verdict, middle_v: float) -> str:
    usual = f"short arc wants about {middle_v:.1f} V there"
    far = verdict == "bad"
    if behaviour == "stubs":
        return (
            f"{usual}, so the wire is fed faster than it melts off and runs into the plate: it "
            f"{'stubs' if far else 'leans to stubbing'}. Less loss, more volts or less feed."
        )
    if behaviour == "burns_back":
        return (
            f"{usual}, so the wire melts off faster than it comes and the arc climbs towards the "
            f"tip: it {'burns back' if far else 'leans to burning back'}. Less volts or more feed."
        )
    return f"{usual}: it should run."
