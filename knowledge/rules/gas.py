"""Gas: what the wire needs against the gas that is there, and flow against its window.

A gas suits when one of the groups that the class names begins its ISO 14175 designation.
Strengths are judgement: a cylinder label is read wrong, or the mixture is not what it says, in a
few of 100 cases. The flow window itself is reckoned, not stated here.
"""

from __future__ import annotations

from knowledge.expert import MATCH, NOT, TEST, Conclude, P, RuleBook, one_of
from knowledge.vocabulary import (
    Ask,
    Caution,
    Detail,
    Established,
    GasName,
    GasRow,
    Is,
    Mismatch,
    Needs,
    Number,
    Reckoned,
    Shows,
    Suits,
    Symptom,
)

BOOK = RuleBook("gas")

NAME = "station.gas.name"
FLOW = "station.gas.flow_l_min"
CLEARLY_LOW = 0.8
CLEARLY_HIGH = 1.2
"""Between these shares of a limit and the limit itself a flow convicts nobody: meters hold to 10 %."""


def gas_fits(groups: str, iso: str, group: str) -> bool:
    """Return whether a gas suits: one of `groups` is our word for it or begins its designation.

    >>> gas_fits("C1 M2", "M21", "mixed"), gas_fits("inert", "I3", "inert")
    (True, True)
    >>> gas_fits("C1", "M21", "mixed")
    False
    """
    return any(wanted == group or iso.startswith(wanted) for wanted in groups.split())


@BOOK.rule(Is(name="shielding", value="gas"), GasName(name="none"), concludes=(Mismatch,))
def gas_wire_without_gas(conclude: Conclude) -> None:
    """The wire needs gas from outside, and the station runs without any."""
    conclude(Mismatch(what="gas", needs="gas", has="none"))


@BOOK.rule(Mismatch(what="gas", needs="gas", has="none"), concludes=(Shows, Established))
def nothing_shields_this_wire(conclude: Conclude) -> None:
    """Without gas the arc of this wire is bare: connect gas, or fit wire that needs none."""
    conclude(Shows(node="gas_hose_not_connected", on=0.90, off=0.03, item=NAME))
    conclude(Shows(node="wire_wrong_class", on=0.40, off=0.04, item=NAME))
    conclude(Established(fault="gas_hose_not_connected", item=NAME))


@BOOK.rule(
    Needs(what="gas_group", value=MATCH.groups),
    GasRow(iso=MATCH.iso, group=MATCH.group),
    TEST(gas_fits),
    concludes=(Suits,),
)
def gas_is_of_a_group_the_wire_takes(conclude: Conclude, iso: str) -> None:
    """The gas is of a group that the class of the wire names."""
    conclude(Suits(what="gas_group", has=iso))


@BOOK.rule(
    Needs(what="gas_group", value=MATCH.groups),
    GasRow(iso=MATCH.iso, group=MATCH.group),
    TEST(lambda groups, iso, group: not gas_fits(groups, iso, group)),
    concludes=(Mismatch,),
)
def gas_is_of_no_group_the_wire_takes(conclude: Conclude, groups: str, iso: str) -> None:
    """The gas is of none of the groups that the class of the wire names."""
    conclude(Mismatch(what="gas_group", needs=groups, has=iso))


@BOOK.rule(Mismatch(what="gas_group"), concludes=(Shows, Established))
def gas_does_not_suit(conclude: Conclude) -> None:
    """The gas on the label does not suit; a label is misread in about 2 of 100, as a lead is."""
    conclude(Shows(node="wrong_gas", on=0.90, off=0.02, item=NAME))
    conclude(Established(fault="wrong_gas", item=NAME))


@BOOK.rule(Suits(what="gas_group"), concludes=(Shows,))
def gas_suits(conclude: Conclude) -> None:
    """The gas on the label suits; only a wrong label could make it wrong."""
    conclude(Shows(node="wrong_gas", on=0.10, off=0.98, item=NAME))


@BOOK.rule(
    Symptom(id="large_drops", seen="yes"),
    Is(name="wire_form", value=one_of("solid", "metal_cored")),
    Is(name="wire_metal", value="carbon_steel"),
    GasRow(iso=P(lambda iso: iso.startswith("C"))),
    concludes=(Caution,),
)
def carbon_dioxide_gives_no_spray(conclude: Conclude) -> None:
    """Under carbon dioxide the arc sits on the drop and holds it up, so it leaves late and large."""
    conclude(
        Caution(
            text="Steel wire does not go into spray under carbon dioxide, whatever the voltage. "
            "Spray wants argon with little carbon dioxide, as the wire's label says."
        )
    )


@BOOK.rule(
    Is(name="shielding", value="none"), GasRow(group=MATCH.group), concludes=(Mismatch, Caution)
)
def gas_on_a_wire_that_takes_none(conclude: Conclude, group: str) -> None:
    """The wire makes its own shield; gas on top is not asked for and changes the weld metal."""
    conclude(Mismatch(what="gas", needs="none", has=group))
    conclude(
        Caution(
            text="This wire makes its own shield. "
            "Shut the gas off unless the maker of the wire asks for it."
        )
    )


@BOOK.rule(Is(name="shielding", value="gas"), NOT(GasName()), concludes=(Ask,))
def ask_which_gas(conclude: Conclude) -> None:
    """The wire needs gas from outside, and nobody has said which gas is on the station."""
    conclude(Ask(id=NAME))


@BOOK.rule(
    GasName(name=P(lambda name: name != "none") & MATCH.name),
    NOT(GasRow(name=MATCH.name)),
    concludes=(Ask,),
)
def ask_for_a_gas_we_know(conclude: Conclude) -> None:
    """The gas is not in our table: read its parts or its ISO 14175 designation off the label."""
    conclude(Ask(id=NAME))


@BOOK.rule(
    Number(name="gas.flow_l_min", value=MATCH.flow),
    Reckoned(quantity="gas_flow_least_l_min", value=MATCH.least),
    TEST(lambda flow, least: flow < CLEARLY_LOW * least),
    NOT(Detail(name="gas.measured_at", value="nozzle")),
    concludes=(Mismatch, Shows),
)
def flow_on_the_meter_is_low(conclude: Conclude, flow: float, least: float) -> None:
    """The meter shows clearly less flow than this wire and nozzle need."""
    conclude(Mismatch(what="gas_flow", needs=f"{least:.0f} L/min or more", has=f"{flow:g} L/min"))
    conclude(Shows(node="flow_set_low", on=0.78, off=0.03, item=FLOW))
    conclude(Shows(node="flow_set_high", on=0.02, off=0.16, item=FLOW))


@BOOK.rule(
    Number(name="gas.flow_l_min", value=MATCH.flow),
    Reckoned(quantity="gas_flow_least_l_min", value=MATCH.least),
    TEST(lambda flow, least: CLEARLY_LOW * least <= flow < least),
    NOT(Detail(name="gas.measured_at", value="nozzle")),
    concludes=(Shows,),
)
def flow_on_the_meter_is_at_its_least(conclude: Conclude) -> None:
    """The meter shows a little less than the usual least, which sound stations do too."""
    conclude(Shows(node="flow_set_low", on=0.12, off=0.09, item=FLOW))


@BOOK.rule(
    Number(name="gas.flow_l_min", value=MATCH.flow),
    Reckoned(quantity="gas_flow_least_l_min", value=MATCH.least),
    TEST(lambda flow, least: flow < CLEARLY_LOW * least),
    Detail(name="gas.measured_at", value="nozzle"),
    concludes=(Mismatch, Shows),
)
def flow_at_the_nozzle_is_low(conclude: Conclude, flow: float, least: float) -> None:
    """Clearly less gas leaves the nozzle than this wire needs: set low, or lost on the way."""
    conclude(Mismatch(what="gas_flow", needs=f"{least:.0f} L/min or more", has=f"{flow:g} L/min"))
    conclude(Shows(node="gas_flow_low", on=0.80, off=0.05, item=FLOW))


@BOOK.rule(
    Number(name="gas.flow_l_min", value=MATCH.flow),
    Reckoned(quantity="gas_flow_least_l_min", value=MATCH.least),
    TEST(lambda flow, least: CLEARLY_LOW * least <= flow < least),
    Detail(name="gas.measured_at", value="nozzle"),
    concludes=(Shows,),
)
def flow_at_the_nozzle_is_at_its_least(conclude: Conclude) -> None:
    """A little less than the usual least leaves the nozzle, as it does on some sound stations."""
    conclude(Shows(node="gas_flow_low", on=0.12, off=0.08, item=FLOW))


@BOOK.rule(
    Number(name="gas.flow_l_min", value=MATCH.flow),
    Reckoned(quantity="gas_flow_most_l_min", value=MATCH.most),
    TEST(lambda flow, most: flow > CLEARLY_HIGH * most),
    concludes=(Mismatch, Shows),
)
def flow_is_high(conclude: Conclude, flow: float, most: float) -> None:
    """Clearly more gas than this nozzle can lay down quietly: it tumbles and pulls air in."""
    conclude(Mismatch(what="gas_flow", needs=f"{most:.0f} L/min or less", has=f"{flow:g} L/min"))
    conclude(Shows(node="flow_set_high", on=0.78, off=0.03, item=FLOW))
    conclude(Shows(node="flow_set_low", on=0.02, off=0.16, item=FLOW))


@BOOK.rule(
    Number(name="gas.flow_l_min", value=MATCH.flow),
    Reckoned(quantity="gas_flow_most_l_min", value=MATCH.most),
    TEST(lambda flow, most: most < flow <= CLEARLY_HIGH * most),
    concludes=(Shows,),
)
def flow_is_at_its_most(conclude: Conclude) -> None:
    """A little more than the usual most, which many nozzles still lay down quietly."""
    conclude(Shows(node="flow_set_high", on=0.12, off=0.09, item=FLOW))


@BOOK.rule(
    Number(name="gas.flow_l_min", value=MATCH.flow),
    Reckoned(quantity="gas_flow_least_l_min", value=MATCH.least),
    Reckoned(quantity="gas_flow_most_l_min", value=MATCH.most),
    TEST(lambda flow, least, most: least <= flow <= most),
    NOT(Detail(name="gas.measured_at", value="nozzle")),
    concludes=(Suits, Shows),
)
def flow_is_in_its_window(conclude: Conclude, flow: float) -> None:
    """The flow is where this wire and nozzle want it."""
    conclude(Suits(what="gas_flow", has=f"{flow:g} L/min"))
    conclude(Shows(node="flow_set_low", on=0.08, off=0.72, item=FLOW))
    conclude(Shows(node="flow_set_high", on=0.08, off=0.72, item=FLOW))


@BOOK.rule(
    Number(name="gas.flow_l_min", value=MATCH.flow),
    Reckoned(quantity="gas_flow_least_l_min", value=MATCH.least),
    Reckoned(quantity="gas_flow_most_l_min", value=MATCH.most),
    TEST(lambda flow, least, most: least <= flow <= most),
    Detail(name="gas.measured_at", value="nozzle"),
    concludes=(Suits, Shows),
)
def flow_at_the_nozzle_is_in_its_window(conclude: Conclude, flow: float) -> None:
    """Enough gas leaves the nozzle, so just now nothing before it stops or loses the gas."""
    conclude(Suits(what="gas_flow", has=f"{flow:g} L/min"))
    conclude(Shows(node="gas_absent", on=0.02, off=0.70, item=FLOW))
    conclude(Shows(node="gas_flow_low", on=0.08, off=0.72, item=FLOW))
    conclude(Shows(node="flow_set_high", on=0.08, off=0.72, item=FLOW))
