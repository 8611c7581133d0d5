"""Mode and output type against a wire fed at constant speed, and arc volts against their window.

The window is reckoned from wire, gas and feed; without it nothing is said about the dials.
Strengths are judgement: what a selector shows is misread, or read off another machine, in a few
of 100.
"""

from __future__ import annotations

from knowledge.expert import MATCH, NOT, TEST, Conclude, P, RuleBook
from knowledge.vocabulary import (
    Caution,
    Detail,
    Established,
    Is,
    Mismatch,
    Needs,
    Number,
    Reckoned,
    Shows,
    Station,
    Suits,
)

BOOK = RuleBook("settings")

MODE = "station.settings.mode"
OUTPUT = "station.source.output"
OUTPUT_SWITCH = "station.settings.output"
ARC_V = "station.settings.arc_v"
EDGE_V = 1.0
"""How far past its window a dial may stand and convict nobody: one volt is what tables differ by."""


@BOOK.rule(Station(), concludes=(Needs,))
def wire_is_fed_here(conclude: Conclude) -> None:
    """A wire-feed station needs the set in wire mode."""
    conclude(Needs(what="mode", value="wire"))


@BOOK.rule(Station(), NOT(Is(name="feeder_fed_from", value="arc_voltage")), concludes=(Needs,))
def steady_feed_wants_constant_voltage(conclude: Conclude) -> None:
    """With the wire fed at a steady speed only constant voltage holds the arc length by itself."""
    conclude(Needs(what="output", value="constant_voltage"))


@BOOK.rule(
    Needs(what="mode", value="wire"),
    Detail(name="settings.mode", value=P(lambda mode: mode != "wire") & MATCH.has),
    concludes=(Mismatch,),
)
def mode_is_not_wire(conclude: Conclude, has: str) -> None:
    """The set stands in another mode than wire."""
    conclude(Mismatch(what="mode", needs="wire", has=has))


@BOOK.rule(Is(name="weld_output", value="on"), concludes=(Shows,))
def output_is_said_to_be_on(conclude: Conclude) -> None:
    """The weld output is said to be switched on; a lamp for the mains is now and then taken for it."""
    conclude(Shows(node="output_not_switched_on", on=0.08, off=0.92, item=OUTPUT_SWITCH))


@BOOK.rule(Is(name="weld_output", value="off"), concludes=(Shows, Established))
def output_is_said_to_be_off(conclude: Conclude) -> None:
    """The weld output is said to be switched off."""
    conclude(Shows(node="output_not_switched_on", on=0.92, off=0.03, item=OUTPUT_SWITCH))
    conclude(Established(fault="output_not_switched_on", item=OUTPUT_SWITCH))


@BOOK.rule(Mismatch(what="mode"), concludes=(Shows, Established))
def mode_is_wrong(conclude: Conclude) -> None:
    """In another mode the trigger, the feed or the output does not do what wire needs."""
    conclude(Shows(node="wrong_mode", on=0.97, off=0.02, item=MODE))
    conclude(Established(fault="wrong_mode", item=MODE))


@BOOK.rule(
    Needs(what="mode", value="wire"),
    Detail(name="settings.mode", value="wire"),
    concludes=(Suits, Shows),
)
def mode_is_wire(conclude: Conclude) -> None:
    """The set stands in wire mode."""
    conclude(Suits(what="mode", has="wire"))
    conclude(Shows(node="wrong_mode", on=0.05, off=0.98, item=MODE))


@BOOK.rule(
    Needs(what="output", value="constant_voltage"),
    Is(name="source_output", value="constant_current"),
    concludes=(Mismatch,),
)
def output_is_constant_current(conclude: Conclude) -> None:
    """The set gives constant current where a steady feed wants constant voltage."""
    conclude(Mismatch(what="output", needs="constant_voltage", has="constant_current"))


@BOOK.rule(Mismatch(what="output"), concludes=(Shows, Established))
def output_type_does_not_suit(conclude: Conclude) -> None:
    """On constant current nothing pulls the arc back to length: it stubs, then burns to the tip."""
    conclude(Shows(node="output_type_wrong", on=0.95, off=0.03, item=OUTPUT))
    conclude(Established(fault="output_type_wrong", item=OUTPUT))


@BOOK.rule(
    Is(name="source_output", value="constant_current"),
    Is(name="feeder_fed_from", value="arc_voltage"),
    concludes=(Shows, Caution),
)
def arc_voltage_feeder_on_constant_current(conclude: Conclude) -> None:
    """A feeder that follows the arc voltage can run on constant current, with thick wire best."""
    conclude(Shows(node="output_type_wrong", on=0.70, off=0.25, item=OUTPUT))
    conclude(
        Caution(
            text="The set is in constant current. A feeder driven by arc voltage runs on it, "
            "but thin wire runs steadier on constant voltage."
        )
    )


@BOOK.rule(Is(name="source_output", value="constant_voltage"), concludes=(Suits, Shows))
def output_is_constant_voltage(conclude: Conclude) -> None:
    """The set gives constant voltage, which suits wire fed at a steady speed."""
    conclude(Suits(what="output", has="constant_voltage"))
    conclude(Shows(node="output_type_wrong", on=0.05, off=0.97, item=OUTPUT))


@BOOK.rule(
    Number(name="settings.arc_v", value=MATCH.dialled),
    Reckoned(quantity="arc_v_least", value=MATCH.least),
    TEST(lambda dialled, least: dialled < least - EDGE_V),
    concludes=(Mismatch, Shows),
)
def arc_volts_are_below_their_window(conclude: Conclude, dialled: float, least: float) -> None:
    """The volts are clearly below the window for this wire, gas and feed."""
    conclude(Mismatch(what="arc_v", needs=f"{least:.1f} V or more", has=f"{dialled:g} V"))
    conclude(Shows(node="voltage_too_low", on=0.68, off=0.04, item=ARC_V))
    conclude(Shows(node="voltage_too_high", on=0.04, off=0.13, item=ARC_V))


@BOOK.rule(
    Number(name="settings.arc_v", value=MATCH.dialled),
    Reckoned(quantity="arc_v_least", value=MATCH.least),
    TEST(lambda dialled, least: least - EDGE_V <= dialled < least),
    concludes=(Shows,),
)
def arc_volts_are_at_the_foot_of_their_window(conclude: Conclude) -> None:
    """The volts are at the foot of the window, where many stations still run."""
    conclude(Shows(node="voltage_too_low", on=0.12, off=0.08, item=ARC_V))


@BOOK.rule(
    Number(name="settings.arc_v", value=MATCH.dialled),
    Reckoned(quantity="arc_v_most", value=MATCH.most),
    TEST(lambda dialled, most: dialled > most + EDGE_V),
    concludes=(Mismatch, Shows),
)
def arc_volts_are_above_their_window(conclude: Conclude, dialled: float, most: float) -> None:
    """The volts are clearly above the window for this wire, gas and feed."""
    conclude(Mismatch(what="arc_v", needs=f"{most:.1f} V or less", has=f"{dialled:g} V"))
    conclude(Shows(node="voltage_too_high", on=0.68, off=0.04, item=ARC_V))
    conclude(Shows(node="voltage_too_low", on=0.04, off=0.13, item=ARC_V))


@BOOK.rule(
    Number(name="settings.arc_v", value=MATCH.dialled),
    Reckoned(quantity="arc_v_most", value=MATCH.most),
    TEST(lambda dialled, most: most < dialled <= most + EDGE_V),
    concludes=(Shows,),
)
def arc_volts_are_at_the_top_of_their_window(conclude: Conclude) -> None:
    """The volts are at the top of the window, where many stations still run."""
    conclude(Shows(node="voltage_too_high", on=0.12, off=0.08, item=ARC_V))


@BOOK.rule(
    Number(name="settings.arc_v", value=MATCH.dialled),
    Reckoned(quantity="arc_v_least", value=MATCH.least),
    Reckoned(quantity="arc_v_most", value=MATCH.most),
    TEST(lambda dialled, least, most: least <= dialled <= most),
    concludes=(Suits, Shows),
)
def arc_volts_are_in_their_window(conclude: Conclude, dialled: float) -> None:
    """The volts are inside the window for this wire, gas and feed; windows are wide."""
    conclude(Suits(what="arc_v", has=f"{dialled:g} V"))
    conclude(Shows(node="voltage_too_low", on=0.16, off=0.75, item=ARC_V))
    conclude(Shows(node="voltage_too_high", on=0.16, off=0.75, item=ARC_V))
