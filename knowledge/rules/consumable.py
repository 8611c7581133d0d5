"""Metal of the wire against the work, gas against the metal, and single-pass wire.

Which gas suits which metal is common practice: aluminium takes inert gas only, solid stainless
wire little oxygen or carbon dioxide, steel an active mixture or carbon dioxide. Strengths are
judgement.
"""

from __future__ import annotations

from knowledge.expert import MATCH, NOT, TEST, Conclude, P, RuleBook, one_of
from knowledge.vocabulary import (
    Caution,
    ClassRow,
    Established,
    GasRow,
    Is,
    Mismatch,
    Needs,
    Settled,
    Shows,
    Suits,
)

BOOK = RuleBook("consumable")

CLASS = "station.wire.class"
METAL = "station.work.metal"

_NO_CLASS_GAS = NOT(ClassRow(groups=P(bool)))


@BOOK.rule(
    ClassRow(metal=MATCH.wire),
    Settled(name="work_metal", value=MATCH.work),
    TEST(lambda wire, work: wire != work),
    concludes=(Mismatch,),
)
def wire_is_of_another_metal(conclude: Conclude, wire: str, work: str) -> None:
    """The wire is of another metal than the work."""
    conclude(Mismatch(what="wire_metal", needs=work, has=wire))


@BOOK.rule(
    Mismatch(what="wire_metal", needs="carbon_steel", has="stainless"), concludes=(Shows, Caution)
)
def stainless_wire_on_steel(conclude: Conclude) -> None:
    """Stainless wire is put on carbon steel on purpose at times, to join the two or to clad."""
    conclude(Shows(node="wire_wrong_class", on=0.30, off=0.06, item=METAL))
    conclude(
        Caution(
            text="Stainless wire on carbon steel: make sure that the job asks for this very class."
        )
    )


@BOOK.rule(
    Mismatch(what="wire_metal", needs=MATCH.needs, has=MATCH.has),
    TEST(lambda needs, has: (needs, has) != ("carbon_steel", "stainless")),
    concludes=(Shows, Established),
)
def wire_does_not_suit_the_metal(conclude: Conclude) -> None:
    """Wire of this metal does not make a sound weld on that work."""
    conclude(Shows(node="wire_wrong_class", on=0.70, off=0.02, item=METAL))
    conclude(Established(fault="wire_wrong_class", item=METAL))


@BOOK.rule(
    ClassRow(metal=MATCH.metal),
    Settled(name="work_metal", value=MATCH.metal),
    concludes=(Suits, Shows),
)
def wire_is_of_the_metal(conclude: Conclude, metal: str) -> None:
    """The wire is of the metal of the work; its grade may still be wrong."""
    conclude(Suits(what="wire_metal", has=metal))
    conclude(Shows(node="wire_wrong_class", on=0.45, off=0.92, item=METAL))


@BOOK.rule(
    GasRow(group=one_of("mixed", "co2", "other"), iso=MATCH.iso),
    Is(name="wire_metal", value="aluminium"),
    _NO_CLASS_GAS,
    concludes=(Mismatch,),
)
def aluminium_takes_inert_gas_only(conclude: Conclude, iso: str) -> None:
    """Carbon dioxide or oxygen in the gas turns an aluminium weld black and dirty."""
    conclude(Mismatch(what="gas_group", needs="inert", has=iso))


@BOOK.rule(
    GasRow(group="inert", iso=MATCH.iso),
    Is(name="wire_metal", value="carbon_steel"),
    Is(name="shielding", value="gas"),
    _NO_CLASS_GAS,
    concludes=(Mismatch,),
)
def steel_wants_an_active_gas(conclude: Conclude, iso: str) -> None:
    """In inert gas alone the arc on steel wanders and the bead stands tall."""
    conclude(Mismatch(what="gas_group", needs="mixed co2", has=iso))


@BOOK.rule(
    GasRow(group="co2", iso=MATCH.iso),
    Is(name="wire_metal", value="stainless"),
    Is(name="wire_form", value="solid"),
    _NO_CLASS_GAS,
    concludes=(Mismatch,),
)
def solid_stainless_takes_little_oxygen(conclude: Conclude, iso: str) -> None:
    """Carbon dioxide alone carries carbon and oxide into a stainless weld."""
    conclude(Mismatch(what="gas_group", needs="M12 M13", has=iso))


@BOOK.rule(
    GasRow(group=MATCH.group, iso=MATCH.iso),
    Is(name="wire_metal", value=MATCH.metal),
    Is(name="shielding", value="gas"),
    TEST(
        lambda group, metal: (
            (metal == "aluminium" and group == "inert")
            or (metal == "carbon_steel" and group in ("mixed", "co2"))
        )
    ),
    _NO_CLASS_GAS,
    concludes=(Suits,),
)
def gas_suits_the_metal(conclude: Conclude, iso: str) -> None:
    """No class names its gas here, and this gas is the usual kind for this metal."""
    conclude(Suits(what="gas_group", has=iso))


@BOOK.rule(Needs(what="passes", value="single"), concludes=(Shows, Caution))
def wire_is_for_one_pass(conclude: Conclude) -> None:
    """Wire of this class is made for a single pass; whether it was used for more is not known."""
    conclude(Shows(node="single_pass_wire_multipass", on=0.95, off=0.12, item=CLASS))
    conclude(
        Caution(
            text="Wire of this class is made for a single pass. Do not lay a second pass over it."
        )
    )


@BOOK.rule(Needs(what="passes", value="multi"), concludes=(Shows,))
def wire_is_for_many_passes(conclude: Conclude) -> None:
    """Wire of this class may be used for several passes."""
    conclude(Shows(node="single_pass_wire_multipass", on=0.05, off=0.85, item=CLASS))
