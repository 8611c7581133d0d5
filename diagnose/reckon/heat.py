"""Arc energy and heat input of a bead, for a procedure that sets a window for it."""

from __future__ import annotations

from typing import Literal

from diagnose.reckon.quantity import positive
from diagnose.reckon.result import HowSure, Limit, Result

Arc = Literal["covered_electrode", "wire_feed", "submerged_arc", "tig"]

HEAT_SHARE: dict[Arc, float] = {
    "covered_electrode": 0.8,
    "wire_feed": 0.8,
    "submerged_arc": 1.0,
    "tig": 0.6,
}
"""EN 1011-1 and ISO/TR 17671-1: the share k of the arc energy counted as heat input."""
CALORIMETER: dict[Arc, float] = {"wire_feed": 0.84, "tig": 0.67}
"""What a calorimeter found: consumable electrode and TIG. A published paper."""


def arc_energy_kj_mm(current_a: float, arc_v: float, travel_mm_s: float) -> float:
    """Return the arc energy of a length of bead, kJ/mm.

    Raises
    ------
    QuantityError : current, voltage or travel not above zero

    Source
    ------
    U I / v.

    >>> arc_energy_kj_mm(200.0, 24.0, 5.0)
    0.96
    """
    power_w = positive(current_a, "current_a") * positive(arc_v, "arc_v")
    return power_w / positive(travel_mm_s, "travel_mm_s") / 1000.0


def heat_input(
    current_a: float, arc_v: float, travel_mm_s: float, process: Arc = "wire_feed"
) -> Result:
    """Return the heat input of a bead, kJ/mm, with its working.

    Raises
    ------
    QuantityError : current, voltage or travel not above zero

    Source
    ------
    k U I / v, with k of EN 1011-1 (restated): a convention.

    >>> round(heat_input(200.0, 24.0, 5.0).value, 3)
    0.768
    """
    energy = arc_energy_kj_mm(current_a, arc_v, travel_mm_s)
    share = HEAT_SHARE[process]
    found = CALORIMETER.get(process)
    notes: tuple[str, ...] = ("The window for it is the welding procedure's, not ours.",)
    if found is not None:
        notes += (f"k is a convention: a calorimeter found {found:g}.",)
    return Result(
        quantity="heat input",
        value=share * energy,
        unit="kJ/mm",
        says=f"{share * energy:.3g} kJ/mm of heat input, {energy:.3g} kJ/mm of arc energy.",
        verdict="no_limit",
        how_sure=HowSure("Volts at the arc, not at the studs; travel by the watch.", 0.1),
        limits=(Limit("k, share counted as heat", share, "1", "en_1011_1", "published"),),
        working=(
            f"arc energy = U I / v = {arc_v:.3g} x {current_a:.4g} / {travel_mm_s:.3g} mm/s / 1000 "
            f"= {energy:.3g} kJ/mm",
            f"heat input = k x arc energy = {share:g} x {energy:.3g} = {share * energy:.3g} kJ/mm",
        ),
        notes=notes,
    )
