"""What the class on the spool fixes, and what is settled about the station.

A class beats a told process: the spool carries its class in print, the process is what somebody
says.
"""

from __future__ import annotations

from knowledge.expert import MATCH, NOT, TEST, Conclude, P, RuleBook, one_of
from knowledge.vocabulary import (
    Ask,
    Caution,
    Clash,
    ClassRow,
    Fixed,
    GasName,
    GasRow,
    Needs,
    Settled,
    Station,
    WireClass,
    Word,
)

BOOK = RuleBook("wire")

_SETTLED_BY_CLASS = one_of("GMAW", "FCAW-G", "FCAW-S", "gas", "none", bind="value")


@BOOK.rule(
    ClassRow(form=MATCH.form, metal=MATCH.metal, passes=MATCH.passes, polarity=MATCH.polarity),
    concludes=(Fixed,),
)
def class_describes_the_wire(
    conclude: Conclude, form: str, metal: str, passes: str, polarity: str
) -> None:
    """The classification says what the wire is made of, how it is built and what it is made for."""
    conclude(Fixed(name="wire_form", value=form))
    conclude(Fixed(name="wire_metal", value=metal))
    conclude(Fixed(name="wire_passes", value=passes))
    conclude(Fixed(name="wire_polarity", value=polarity))


@BOOK.rule(ClassRow(process=_SETTLED_BY_CLASS), concludes=(Fixed,))
def class_fixes_the_process(conclude: Conclude, value: str) -> None:
    """The classification says which process the wire is made for."""
    conclude(Fixed(name="process", value=value))


@BOOK.rule(ClassRow(shielding=_SETTLED_BY_CLASS), concludes=(Fixed,))
def class_fixes_the_shield(conclude: Conclude, value: str) -> None:
    """The classification says whether the wire makes its own shield or needs gas from outside."""
    conclude(Fixed(name="shielding", value=value))


@BOOK.rule(GasRow(group=MATCH.group), concludes=(Fixed,))
def gas_belongs_to_a_group(conclude: Conclude, group: str) -> None:
    """The gas that was named belongs to this group of shielding gases."""
    conclude(Fixed(name="gas_group", value=group))


@BOOK.rule(GasName(name="none"), concludes=(Fixed,))
def no_gas_at_the_station(conclude: Conclude) -> None:
    """The station was said to run without gas."""
    conclude(Fixed(name="gas_group", value="none"))


@BOOK.rule(
    Fixed(name=MATCH.name, value=MATCH.fixed),
    Word(name=MATCH.name, value=MATCH.told),
    TEST(lambda fixed, told: fixed != told),
    concludes=(Clash, Caution),
)
def class_beats_what_was_told(conclude: Conclude, name: str, told: str, fixed: str) -> None:
    """What is printed on the spool beats what was said; the two do not agree here."""
    conclude(Clash(name=name, told=told, fixed=fixed))
    what = name.replace("_", " ")
    conclude(
        Caution(
            text=f"The {what} was given as {_plain(told)}, but the wire class means "
            f"{_plain(fixed)}. The class was taken. Read the spool label again."
        )
    )


def _plain(word: str) -> str:
    return word.replace("_", " ")


@BOOK.rule(Fixed(name=MATCH.name, value=MATCH.value), concludes=(Settled,))
def what_the_class_fixes_is_settled(conclude: Conclude, name: str, value: str) -> None:
    """The class on the spool or the name on the cylinder settles it."""
    conclude(Settled(name=name, value=value))


@BOOK.rule(
    Word(name=MATCH.name, value=MATCH.value), NOT(Fixed(name=MATCH.name)), concludes=(Settled,)
)
def what_was_told_is_settled(conclude: Conclude, name: str, value: str) -> None:
    """It was told so, and nothing on the spool or the cylinder says otherwise."""
    conclude(Settled(name=name, value=value))


@BOOK.rule(ClassRow(polarity=MATCH.value), concludes=(Needs,))
def class_asks_for_polarity(conclude: Conclude, value: str) -> None:
    """The classification of the wire fixes the polarity of the electrode, or leaves it open."""
    conclude(Needs(what="polarity", value=value))


@BOOK.rule(ClassRow(passes=MATCH.value), concludes=(Needs,))
def class_limits_the_passes(conclude: Conclude, value: str) -> None:
    """The classification says whether a second pass may be laid with this wire."""
    conclude(Needs(what="passes", value=value))


@BOOK.rule(ClassRow(groups=P(bool) & MATCH.value), concludes=(Needs,))
def class_asks_for_gas_group(conclude: Conclude, value: str) -> None:
    """The classification of the wire names the groups of shielding gas it was tested with."""
    conclude(Needs(what="gas_group", value=value))


@BOOK.rule(Station(), NOT(WireClass()), concludes=(Ask,))
def ask_for_the_class(conclude: Conclude) -> None:
    """The class on the spool label settles polarity, gas and process at one glance."""
    conclude(Ask(id="station.wire.class"))


@BOOK.rule(
    WireClass(designator=MATCH.designator),
    NOT(ClassRow(designator=MATCH.designator)),
    concludes=(Ask,),
)
def ask_for_a_class_we_know(conclude: Conclude, designator: str) -> None:
    """The class is not in our table, so what the wire needs has to be read from its label."""
    conclude(Ask(id="station.wire.class"))


@BOOK.rule(
    Station(), NOT(Settled(name="process")), NOT(Settled(name="wire_form")), concludes=(Ask,)
)
def ask_for_the_process(conclude: Conclude) -> None:
    """Gas, polarity and voltage all follow from the process, and nothing here tells it."""
    conclude(Ask(id="station.process"))
