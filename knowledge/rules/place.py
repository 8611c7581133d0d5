"""Where the work stands and what is on it: wind, surface, joint and thickness.

Wind above 5 mph (2.2 m/s) at a gas-shielded weld is over the limit of the structural code
(restated; the clause leaves self-shielded wire out). All strengths are judgement: how often a
welder names what is on the surface when it is the trouble, and how often it is there and
harmless.
"""

from __future__ import annotations

from knowledge.expert import MATCH, NOT, Conclude, P, RuleBook, one_of
from knowledge.vocabulary import Caution, Established, Is, Listed, Mismatch, Number, Shows

BOOK = RuleBook("place")

OUTDOORS = "station.place.outdoors"
WIND = "station.place.wind_m_s"
SURFACE = "station.work.surface"
JOINT = "station.work.joint"
THICKNESS = "station.work.thickness_mm"
MOST_WIND_FOR_GAS_M_S = 2.2
STRONG_WIND_M_S = 9.0
THIN_MM = 2.0
THICK_MM = 12.0
MEDIUM_MM = 6.0

_COATING = one_of("paint", "rust", "scale")


@BOOK.rule(Is(name="outdoors", value="yes"), NOT(Number(name="place.wind_m_s")), concludes=(Shows,))
def work_is_outdoors(conclude: Conclude) -> None:
    """Outdoors or at an open door there is wind more often than not."""
    conclude(Shows(node="wind", on=0.60, off=0.12, item=OUTDOORS))


@BOOK.rule(Is(name="outdoors", value="no"), NOT(Number(name="place.wind_m_s")), concludes=(Shows,))
def work_is_indoors(conclude: Conclude) -> None:
    """Indoors wind needs a fan, a door or an extraction to come from."""
    conclude(Shows(node="wind", on=0.40, off=0.88, item=OUTDOORS))


@BOOK.rule(
    Number(name="place.wind_m_s", value=P(lambda wind: wind > MOST_WIND_FOR_GAS_M_S) & MATCH.wind),
    Is(name="shielding", value="gas"),
    concludes=(Mismatch, Shows, Established),
)
def wind_is_over_the_limit_for_gas(conclude: Conclude, wind: float) -> None:
    """The wind is above the 5 mph (2.2 m/s) that a code allows at a gas-shielded arc."""
    conclude(Mismatch(what="wind", needs="2.2 m/s or less", has=f"{wind:g} m/s"))
    conclude(Shows(node="wind", on=0.90, off=0.05, item=WIND))
    conclude(Established(fault="wind", item=WIND))


@BOOK.rule(
    Number(name="place.wind_m_s", value=P(lambda wind: wind > STRONG_WIND_M_S) & MATCH.wind),
    Is(name="shielding", value="none"),
    concludes=(Mismatch, Shows),
)
def wind_is_strong_even_for_self_shielded(conclude: Conclude, wind: float) -> None:
    """A self-shielded arc stands much more wind than a gas shield, but not a gale."""
    conclude(Mismatch(what="wind", needs="9 m/s or less", has=f"{wind:g} m/s"))
    conclude(Shows(node="wind", on=0.75, off=0.04, item=WIND))


@BOOK.rule(
    Number(name="place.wind_m_s", value=P(lambda wind: wind <= MOST_WIND_FOR_GAS_M_S)),
    concludes=(Shows,),
)
def wind_is_within_the_limit(conclude: Conclude) -> None:
    """The wind was measured below the limit, though it comes in gusts."""
    conclude(Shows(node="wind", on=0.10, off=0.95, item=WIND))


@BOOK.rule(Is(name="surface", value="paint"), concludes=(Shows,))
def work_is_painted(conclude: Conclude) -> None:
    """Paint in the joint burns to gas in the pool."""
    conclude(Shows(node="surface_paint", on=0.85, off=0.10, item=SURFACE))


@BOOK.rule(Listed(name="surface"), NOT(Is(name="surface", value="paint")), concludes=(Shows,))
def no_paint_was_named(conclude: Conclude) -> None:
    """The surface was described and paint is not in it."""
    conclude(Shows(node="surface_paint", on=0.15, off=0.90, item=SURFACE))


@BOOK.rule(Is(name="surface", value="zinc"), concludes=(Shows,))
def work_is_zinc_coated(conclude: Conclude) -> None:
    """Zinc boils far below the melting point of steel and blows through the pool."""
    conclude(Shows(node="surface_zinc", on=0.92, off=0.05, item=SURFACE))


@BOOK.rule(Listed(name="surface"), NOT(Is(name="surface", value="zinc")), concludes=(Shows,))
def no_zinc_was_named(conclude: Conclude) -> None:
    """The surface was described without zinc; primer with zinc is easily taken for paint."""
    conclude(Shows(node="surface_zinc", on=0.08, off=0.95, item=SURFACE))


@BOOK.rule(Is(name="surface", value=one_of("rust", "scale")), concludes=(Shows,))
def work_is_rusty_or_scaly(conclude: Conclude) -> None:
    """Rust and scale bring oxygen and water into the pool; much steel carries some without harm."""
    conclude(Shows(node="surface_rust_scale", on=0.90, off=0.25, item=SURFACE))


@BOOK.rule(
    Listed(name="surface"),
    NOT(Is(name="surface", value=one_of("rust", "scale"))),
    concludes=(Shows,),
)
def no_rust_or_scale_was_named(conclude: Conclude) -> None:
    """The surface was described and neither rust nor scale is in it."""
    conclude(Shows(node="surface_rust_scale", on=0.10, off=0.75, item=SURFACE))


@BOOK.rule(Is(name="surface", value="oil"), concludes=(Shows, Caution))
def work_is_oily(conclude: Conclude) -> None:
    """Oil gives hydrogen in the pool, and the wrong cleaner gives poison in the arc."""
    conclude(Shows(node="surface_oil", on=0.80, off=0.10, item=SURFACE))
    conclude(
        Caution(
            text="Take oil off with a cleaner without chlorine and let it dry. "
            "Vapour of chlorinated solvent turns to poison gas in the arc."
        )
    )


@BOOK.rule(Listed(name="surface"), NOT(Is(name="surface", value="oil")), concludes=(Shows,))
def no_oil_was_named(conclude: Conclude) -> None:
    """The surface was described and oil is not in it; a thin film is easily missed."""
    conclude(Shows(node="surface_oil", on=0.20, off=0.90, item=SURFACE))


@BOOK.rule(Is(name="surface", value="wet"), concludes=(Shows, Caution))
def work_is_wet(conclude: Conclude) -> None:
    """Water on the work gives hydrogen in the pool, and wet things conduct to a hand."""
    conclude(Shows(node="surface_moisture", on=0.85, off=0.06, item=SURFACE))
    conclude(Caution(text="The work is wet: dry it and your gloves before touching gun or work."))


@BOOK.rule(Listed(name="surface"), NOT(Is(name="surface", value="wet")), concludes=(Shows,))
def no_water_was_named(conclude: Conclude) -> None:
    """The surface was described and water is not in it."""
    conclude(Shows(node="surface_moisture", on=0.15, off=0.94, item=SURFACE))


@BOOK.rule(Is(name="surface", value="scale"), concludes=(Shows,))
def edges_may_carry_oxide(conclude: Conclude) -> None:
    """Scale was named, and the skin of a flame, laser or plasma cut counts as such."""
    conclude(Shows(node="cut_edge_oxide", on=0.70, off=0.15, item=SURFACE))


@BOOK.rule(Listed(name="surface"), NOT(Is(name="surface", value="scale")), concludes=(Shows,))
def no_scale_was_named(conclude: Conclude) -> None:
    """The surface was described and scale is not in it; people forget the cut edge."""
    conclude(Shows(node="cut_edge_oxide", on=0.30, off=0.85, item=SURFACE))


@BOOK.rule(Is(name="surface", value=_COATING), concludes=(Shows,))
def clamp_may_bite_a_coating(conclude: Conclude) -> None:
    """Where the work carries paint, rust or scale, the clamp is likely to sit on it too."""
    conclude(Shows(node="clamp_on_paint", on=0.60, off=0.25, item=SURFACE))


@BOOK.rule(Listed(name="surface"), NOT(Is(name="surface", value=_COATING)), concludes=(Shows,))
def clamp_bites_bare_metal(conclude: Conclude) -> None:
    """The surface was described without coating; the clamp may still sit on another part."""
    conclude(Shows(node="clamp_on_paint", on=0.40, off=0.75, item=SURFACE))


@BOOK.rule(Is(name="joint", value=one_of("lap", "fillet")), concludes=(Shows,))
def joint_can_hold_air(conclude: Conclude) -> None:
    """A lap or a T closes a gap in which air, sealer and coating are shut in."""
    conclude(Shows(node="trapped_air_or_sealer", on=0.92, off=0.60, item=JOINT))


@BOOK.rule(Is(name="joint", value=one_of("butt", "open_root")), concludes=(Shows,))
def joint_is_open(conclude: Conclude) -> None:
    """A butt or an open root lets gas out at the back."""
    conclude(Shows(node="trapped_air_or_sealer", on=0.08, off=0.40, item=JOINT))


@BOOK.rule(
    Number(name="work.thickness_mm", value=P(lambda thickness: thickness <= THIN_MM)),
    concludes=(Shows,),
)
def work_is_thin(conclude: Conclude) -> None:
    """Sheet of 2 mm or less melts through soon and does not chill the pool."""
    conclude(Shows(node="metal_thin_or_gapped", on=0.65, off=0.22, item=THICKNESS))
    conclude(Shows(node="metal_cold_thick", on=0.03, off=0.26, item=THICKNESS))


@BOOK.rule(
    Number(name="work.thickness_mm", value=P(lambda thickness: THIN_MM < thickness < MEDIUM_MM)),
    concludes=(Shows,),
)
def work_is_of_middle_thickness(conclude: Conclude) -> None:
    """Between sheet and plate the metal takes heat away moderately."""
    conclude(Shows(node="metal_thin_or_gapped", on=0.20, off=0.34, item=THICKNESS))
    conclude(Shows(node="metal_cold_thick", on=0.07, off=0.36, item=THICKNESS))


@BOOK.rule(
    Number(name="work.thickness_mm", value=P(lambda thickness: MEDIUM_MM <= thickness < THICK_MM)),
    concludes=(Shows,),
)
def work_is_plate(conclude: Conclude) -> None:
    """Plate rarely melts through unless the fit-up gapes."""
    conclude(Shows(node="metal_thin_or_gapped", on=0.12, off=0.30, item=THICKNESS))


@BOOK.rule(
    Number(name="work.thickness_mm", value=P(lambda thickness: thickness >= THICK_MM)),
    concludes=(Shows,),
)
def work_is_thick(conclude: Conclude) -> None:
    """Plate of 12 mm and more draws the heat out of the pool as fast as it comes."""
    conclude(Shows(node="metal_cold_thick", on=0.68, off=0.13, item=THICKNESS))
    conclude(Shows(node="metal_thin_or_gapped", on=0.03, off=0.14, item=THICKNESS))
