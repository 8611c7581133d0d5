"""What follows about the station though nobody told it, and so what cannot be to blame there.

A rule here concludes an attribute; the `when` of an entry then cuts what cannot occur.
"""

from __future__ import annotations

from knowledge.expert import MATCH, NOT, Conclude, RuleBook, one_of
from knowledge.vocabulary import Implied, Is, Needs, Settled

BOOK = RuleBook("exclusions")

_GAS_PROCESS = one_of("GMAW", "FCAW-G")
_GAS_FORM = one_of("solid", "metal_cored")


@BOOK.rule(
    Settled(name="wire_form", value=_GAS_FORM), NOT(Settled(name="process")), concludes=(Implied,)
)
def solid_and_metal_cored_wire_run_gmaw(conclude: Conclude) -> None:
    """A solid or metal-cored wire has no flux, so the process is gas metal arc."""
    conclude(Implied(name="process", value="GMAW"))


@BOOK.rule(
    Settled(name="wire_form", value="flux_cored"),
    Settled(name="shielding", value="none"),
    NOT(Settled(name="process")),
    concludes=(Implied,),
)
def flux_cored_without_gas_is_self_shielded(conclude: Conclude) -> None:
    """A flux-cored wire whose class takes no gas runs self-shielded."""
    conclude(Implied(name="process", value="FCAW-S"))


@BOOK.rule(
    Settled(name="wire_form", value="flux_cored"),
    Settled(name="shielding", value="gas"),
    NOT(Settled(name="process")),
    concludes=(Implied,),
)
def flux_cored_with_gas_is_gas_shielded(conclude: Conclude) -> None:
    """A flux-cored wire whose class needs gas runs gas-shielded."""
    conclude(Implied(name="process", value="FCAW-G"))


@BOOK.rule(
    Settled(name="process", value=one_of("FCAW-G", "FCAW-S")),
    NOT(Settled(name="wire_form")),
    concludes=(Implied,),
)
def flux_cored_process_has_flux_cored_wire(conclude: Conclude) -> None:
    """The process runs flux-cored wire by its name."""
    conclude(Implied(name="wire_form", value="flux_cored"))


@BOOK.rule(
    Settled(name="process", value="FCAW-S"), NOT(Settled(name="shielding")), concludes=(Implied,)
)
def no_gas_in_this_process(conclude: Conclude) -> None:
    """A self-shielded wire makes its own shield; no gas fault can spoil this weld."""
    conclude(Implied(name="shielding", value="none"))


@BOOK.rule(
    Settled(name="process", value=_GAS_PROCESS),
    NOT(Settled(name="shielding")),
    concludes=(Implied,),
)
def gas_in_this_process(conclude: Conclude) -> None:
    """The process shields the arc with gas from outside."""
    conclude(Implied(name="shielding", value="gas"))


@BOOK.rule(
    Settled(name="wire_form", value=_GAS_FORM),
    NOT(Settled(name="shielding")),
    NOT(Settled(name="process")),
    concludes=(Implied,),
)
def wire_without_flux_needs_gas(conclude: Conclude) -> None:
    """A solid or metal-cored wire has nothing to shield itself with."""
    conclude(Implied(name="shielding", value="gas"))


@BOOK.rule(
    Settled(name="shielding", value="none"), NOT(Settled(name="gas_group")), concludes=(Implied,)
)
def no_gas_with_this_wire(conclude: Conclude) -> None:
    """The class of the wire takes no gas and nobody named one."""
    conclude(Implied(name="gas_group", value="none"))


@BOOK.rule(
    Settled(name="process", value="FCAW-S"),
    NOT(Settled(name="shielding")),
    NOT(Settled(name="gas_group")),
    concludes=(Implied,),
)
def no_gas_named_in_this_process(conclude: Conclude) -> None:
    """The self-shielded process takes no gas and nobody named one."""
    conclude(Implied(name="gas_group", value="none"))


@BOOK.rule(
    Settled(name="process", value=_GAS_PROCESS),
    NOT(Settled(name="wire_polarity")),
    concludes=(Implied, Needs),
)
def gas_shielded_process_wants_positive(conclude: Conclude) -> None:
    """Wire with gas from outside runs on electrode positive, bar what a class says."""
    conclude(Implied(name="wire_polarity", value="positive"))
    conclude(Needs(what="polarity", value="positive"))


@BOOK.rule(
    Settled(name="wire_form", value=_GAS_FORM),
    NOT(Settled(name="process")),
    NOT(Settled(name="wire_polarity")),
    concludes=(Implied, Needs),
)
def wire_without_flux_wants_positive(conclude: Conclude) -> None:
    """Solid and metal-cored wire runs on electrode positive, bar what its class leaves open."""
    conclude(Implied(name="wire_polarity", value="positive"))
    conclude(Needs(what="polarity", value="positive"))


@BOOK.rule(
    Settled(name="work_metal", value=MATCH.metal),
    NOT(Settled(name="wire_metal")),
    concludes=(Implied,),
)
def wire_is_of_the_metal_of_the_work(conclude: Conclude, metal: str) -> None:
    """Nobody named the class, and wire is of the metal of the work nearly always."""
    conclude(Implied(name="wire_metal", value=metal))


@BOOK.rule(
    Settled(name="wire_metal", value=one_of("aluminium", "carbon_steel", bind="metal")),
    NOT(Settled(name="work_metal")),
    concludes=(Implied,),
)
def work_is_of_the_metal_of_the_wire(conclude: Conclude, metal: str) -> None:
    """Nobody named the metal of the work, and such wire welds nothing else; stainless wire does."""
    conclude(Implied(name="work_metal", value=metal))


@BOOK.rule(
    Settled(name="gun_kind", value="spool_gun"),
    NOT(Settled(name="wire_supply")),
    concludes=(Implied,),
)
def spool_gun_carries_its_spool(conclude: Conclude) -> None:
    """A spool gun carries its own small spool, so there is no drum."""
    conclude(Implied(name="wire_supply", value="spool"))


@BOOK.rule(
    Settled(name="source_kind", value="engine"),
    NOT(Settled(name="extension_cord")),
    concludes=(Implied,),
)
def engine_set_has_no_cord(conclude: Conclude) -> None:
    """An engine-driven set makes its own power, so no extension cord feeds it."""
    conclude(Implied(name="extension_cord", value="no"))


@BOOK.rule(Settled(name=MATCH.name, value=MATCH.value), concludes=(Is,))
def what_is_settled_holds(conclude: Conclude, name: str, value: str) -> None:
    """It is settled by the class, the cylinder or what was told."""
    conclude(Is(name=name, value=value))


@BOOK.rule(Implied(name=MATCH.name, value=MATCH.value), concludes=(Is,))
def what_follows_holds(conclude: Conclude, name: str, value: str) -> None:
    """Nobody told it, but it follows from what is settled."""
    conclude(Is(name=name, value=value))
