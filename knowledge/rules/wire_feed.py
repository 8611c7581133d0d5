"""Tip, liner, rolls and gun against the wire. Sizes in millimetres.

Inch and metric marks of one size differ by up to 0.06 mm (0.045 in wire is 1.14 mm, its metric
neighbour 1.2 mm), so a part counts as too small only when it is smaller by more than that. A tip
may be given by its mark or by its bore, and a good bore is the wire plus 0.1 to 0.3 mm (common
practice), so only more than that is too large. Groove by wire: V for hard wire, U for soft
(published in a trade textbook), knurled for tubular wire (common practice). Strengths are
judgement: a size read off a part is misread in a few of 100.
"""

from __future__ import annotations

from knowledge.expert import MATCH, TEST, Conclude, P, RuleBook, one_of
from knowledge.vocabulary import (
    Detail,
    Established,
    Is,
    Mismatch,
    Needs,
    Number,
    Shows,
    Suits,
)

BOOK = RuleBook("wire_feed")

SAME_SIZE_MM = 0.07
LARGEST_TIP_PLAY_MM = 0.35
LARGEST_LINER_RATIO = 2.6
LONG_GUN_FOR_SOFT_WIRE_M = 3.0

TIP = "station.gun.tip_mm"
LINER = "station.gun.liner_mm"
ROLL = "station.feeder.roll_mm"
GROOVE = "station.feeder.groove"
GUN_KIND = "station.gun.kind"
GUN_RATED = "station.gun.rated_a"

_WIRE = Number(name="wire.diameter_mm", value=MATCH.wire)


def _mm(size: float) -> str:
    return f"{size:g} mm"


@BOOK.rule(
    _WIRE,
    Number(name="gun.tip_mm", value=MATCH.tip),
    TEST(lambda wire, tip: not -SAME_SIZE_MM <= tip - wire <= LARGEST_TIP_PLAY_MM),
    concludes=(Mismatch,),
)
def tip_is_not_for_this_wire(conclude: Conclude, wire: float, tip: float) -> None:
    """The tip is smaller than the wire, or so large that the wire hardly touches it."""
    conclude(Mismatch(what="tip", needs=_mm(wire), has=_mm(tip)))


@BOOK.rule(Mismatch(what="tip"), concludes=(Shows, Established))
def tip_size_is_wrong(conclude: Conclude) -> None:
    """A tip of the wrong size holds the wire or lets it wander; few sizes are misread."""
    conclude(Shows(node="tip_wrong_size", on=0.95, off=0.03, item=TIP))
    conclude(Established(fault="tip_wrong_size", item=TIP))


@BOOK.rule(
    _WIRE,
    Number(name="gun.tip_mm", value=MATCH.tip),
    TEST(lambda wire, tip: -SAME_SIZE_MM <= tip - wire <= LARGEST_TIP_PLAY_MM),
    concludes=(Suits, Shows),
)
def tip_is_for_this_wire(conclude: Conclude, tip: float) -> None:
    """The tip is marked for this wire, or its bore leaves it the usual play."""
    conclude(Suits(what="tip", has=_mm(tip)))
    conclude(Shows(node="tip_wrong_size", on=0.05, off=0.97, item=TIP))


@BOOK.rule(
    _WIRE,
    Number(name="gun.liner_mm", value=MATCH.liner),
    TEST(lambda wire, liner: not -SAME_SIZE_MM <= liner - wire <= (LARGEST_LINER_RATIO - 1) * wire),
    concludes=(Mismatch,),
)
def liner_is_not_for_this_wire(conclude: Conclude, wire: float, liner: float) -> None:
    """The liner is narrower than the wire, or so wide that the wire snakes in it."""
    conclude(Mismatch(what="liner", needs=_mm(wire), has=_mm(liner)))


@BOOK.rule(Mismatch(what="liner"), concludes=(Shows, Established))
def liner_size_is_wrong(conclude: Conclude) -> None:
    """A narrow liner drags and a wide one lets the wire buckle; few sizes are misread."""
    conclude(Shows(node="liner_wrong_size", on=0.85, off=0.03, item=LINER))
    conclude(Established(fault="liner_wrong_size", item=LINER))


@BOOK.rule(
    _WIRE,
    Number(name="gun.liner_mm", value=MATCH.liner),
    TEST(lambda wire, liner: -SAME_SIZE_MM <= liner - wire <= (LARGEST_LINER_RATIO - 1) * wire),
    concludes=(Suits, Shows),
)
def liner_is_for_this_wire(conclude: Conclude, liner: float) -> None:
    """The bore of the liner is in the range for this wire; its kind may still be wrong."""
    conclude(Suits(what="liner", has=_mm(liner)))
    conclude(Shows(node="liner_wrong_size", on=0.15, off=0.97, item=LINER))


@BOOK.rule(
    _WIRE,
    Number(name="feeder.roll_mm", value=MATCH.roll),
    TEST(lambda wire, roll: abs(roll - wire) > SAME_SIZE_MM),
    concludes=(Mismatch,),
)
def groove_is_for_another_size(conclude: Conclude, wire: float, roll: float) -> None:
    """The groove in the rolls is cut for another diameter of wire."""
    conclude(Mismatch(what="roll_size", needs=_mm(wire), has=_mm(roll)))


@BOOK.rule(Mismatch(what="roll_size"), concludes=(Shows, Established))
def roll_size_is_wrong(conclude: Conclude) -> None:
    """A wide groove slips and a narrow one crushes; few marks on rolls are misread."""
    conclude(Shows(node="roll_wrong_groove", on=0.80, off=0.03, item=ROLL))
    conclude(Established(fault="roll_wrong_groove", item=ROLL))


@BOOK.rule(
    _WIRE,
    Number(name="feeder.roll_mm", value=MATCH.roll),
    TEST(lambda wire, roll: abs(roll - wire) <= SAME_SIZE_MM),
    concludes=(Suits, Shows),
)
def groove_is_for_this_size(conclude: Conclude, roll: float) -> None:
    """The groove is cut for this diameter; its shape may still be wrong."""
    conclude(Suits(what="roll_size", has=_mm(roll)))
    conclude(Shows(node="roll_wrong_groove", on=0.20, off=0.97, item=ROLL))


@BOOK.rule(
    Is(name="wire_form", value="solid"),
    Is(name="wire_metal", value=one_of("carbon_steel", "stainless")),
    concludes=(Needs,),
)
def hard_wire_wants_a_v(conclude: Conclude) -> None:
    """Solid steel wire is hard: a plain V grips it without cutting."""
    conclude(Needs(what="groove", value="V"))


@BOOK.rule(Is(name="wire_metal", value="aluminium"), concludes=(Needs,))
def soft_wire_wants_a_u(conclude: Conclude) -> None:
    """Aluminium wire is soft: only a smooth U carries it without marks."""
    conclude(Needs(what="groove", value="U"))


@BOOK.rule(Is(name="wire_form", value=one_of("flux_cored", "metal_cored")), concludes=(Needs,))
def tubular_wire_wants_knurls(conclude: Conclude) -> None:
    """A tubular wire is crushed by pressure, so it is carried by knurled rolls and little of it."""
    conclude(Needs(what="groove", value="knurled"))


@BOOK.rule(
    Needs(what="groove", value=one_of("V", "U", bind="needs")),
    Detail(name="feeder.groove", value=MATCH.has),
    TEST(lambda needs, has: needs != has),
    concludes=(Mismatch,),
)
def groove_is_of_another_shape(conclude: Conclude, needs: str, has: str) -> None:
    """The rolls have a groove of another shape than this wire wants."""
    conclude(Mismatch(what="groove", needs=needs, has=has))


@BOOK.rule(
    Needs(what="groove", value=MATCH.needs),
    Detail(name="feeder.groove", value=MATCH.needs),
    concludes=(Suits,),
)
def groove_is_of_the_right_shape(conclude: Conclude, needs: str) -> None:
    """The rolls have a groove of the shape that this wire wants."""
    conclude(Suits(what="groove", has=needs))


@BOOK.rule(Mismatch(what="groove", needs="V"), concludes=(Shows, Established))
def groove_cuts_or_slips_on_hard_wire(conclude: Conclude) -> None:
    """Knurls shave solid wire and fill the liner with dust; a U slips on it."""
    conclude(Shows(node="roll_wrong_groove", on=0.75, off=0.05, item=GROOVE))
    conclude(Established(fault="roll_wrong_groove", item=GROOVE))


@BOOK.rule(Mismatch(what="groove", needs="U"), concludes=(Shows, Established))
def groove_marks_soft_wire(conclude: Conclude) -> None:
    """V and knurled rolls bite into aluminium, and the shavings pack the liner."""
    conclude(Shows(node="soft_wire_setup", on=0.85, off=0.05, item=GROOVE))
    conclude(Established(fault="soft_wire_setup", item=GROOVE))


@BOOK.rule(Suits(what="groove", has=one_of("V", "knurled")), concludes=(Shows,))
def groove_shape_is_right(conclude: Conclude) -> None:
    """The shape of the groove is right; its size may still be wrong."""
    conclude(Shows(node="roll_wrong_groove", on=0.45, off=0.93, item=GROOVE))


@BOOK.rule(Suits(what="groove", has="U"), concludes=(Shows,))
def groove_is_right_for_soft_wire(conclude: Conclude) -> None:
    """The rolls are right for soft wire; liner and gun may still be those for steel."""
    conclude(Shows(node="soft_wire_setup", on=0.35, off=0.93, item=GROOVE))
    conclude(Shows(node="roll_wrong_groove", on=0.45, off=0.93, item=GROOVE))


@BOOK.rule(
    Is(name="wire_metal", value="aluminium"),
    Is(name="gun_kind", value="ordinary"),
    Number(name="gun.length_m", value=P(lambda length: length > LONG_GUN_FOR_SOFT_WIRE_M)),
    concludes=(Mismatch, Shows),
)
def soft_wire_is_pushed_far(conclude: Conclude) -> None:
    """Aluminium wire pushed through a long ordinary gun buckles rather than runs."""
    conclude(Mismatch(what="gun_kind", needs="spool gun or push-pull", has="ordinary"))
    conclude(Shows(node="soft_wire_setup", on=0.65, off=0.12, item=GUN_KIND))


@BOOK.rule(
    Is(name="wire_metal", value="aluminium"),
    Is(name="gun_kind", value=one_of("spool_gun", "push_pull")),
    concludes=(Shows,),
)
def soft_wire_is_pulled(conclude: Conclude) -> None:
    """A spool gun or a push-pull gun pulls the soft wire, so it has no reason to buckle."""
    conclude(Shows(node="soft_wire_setup", on=0.12, off=0.55, item=GUN_KIND))


@BOOK.rule(
    Number(name="gun.rated_a", value=MATCH.rated),
    Number(name="settings.current_a", value=MATCH.current),
    TEST(lambda rated, current: rated < current),
    concludes=(Mismatch, Shows, Established),
)
def gun_is_rated_below_the_current(conclude: Conclude, rated: float, current: float) -> None:
    """The gun is rated for less current than is dialled, so it heats though it is sound."""
    conclude(Mismatch(what="gun_rating", needs=f"{current:g} A", has=f"{rated:g} A"))
    conclude(Shows(node="gun_underrated", on=0.93, off=0.03, item=GUN_RATED))
    conclude(Established(fault="gun_underrated", item=GUN_RATED))


@BOOK.rule(
    Number(name="gun.rated_a", value=MATCH.rated),
    Number(name="settings.current_a", value=MATCH.current),
    TEST(lambda rated, current: rated >= current),
    concludes=(Suits, Shows),
)
def gun_is_rated_for_the_current(conclude: Conclude, rated: float) -> None:
    """The gun is rated for the current; a rating in carbon dioxide means less in argon."""
    conclude(Suits(what="gun_rating", has=f"{rated:g} A"))
    conclude(Shows(node="gun_underrated", on=0.07, off=0.97, item=GUN_RATED))
