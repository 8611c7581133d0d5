"""The way of the current home from the work: clamp, leads, and what else it could take.

A regulation wants the return to carry the full output of the machine it serves (29 CFR
1926.351(c)(1), restated), and weld current kept out of chains, wire rope, hoists, pipes and
conduit (29 CFR 1910.254(c)(2), restated). 4 V lost in the leads is the usual ceiling (restated
safety sheet). The strengths are judgement.
"""

from __future__ import annotations

from knowledge.expert import MATCH, NOT, TEST, Conclude, P, RuleBook, one_of
from knowledge.vocabulary import (
    Caution,
    Detail,
    Established,
    Is,
    Listed,
    Mismatch,
    Number,
    Reckoned,
    Shows,
    Suits,
)

BOOK = RuleBook("work_return")

CLAMP_RATED = "station.clamp.rated_a"
LEADS = "station.leads"
BONDED = "station.place.bonded_to"
MOST_DROP_IN_LEADS_V = 4.0
GROSS_DROP_IN_LEADS_V = 5.0
EASY_DROP_IN_LEADS_V = 2.0
GROSS_CABLE_DUTY = 2.25
"""Times the duty that rubber cable to 60 °C bears; one marked for 85 °C bears up to this. Judgement."""

_STEEL_PATHS = one_of("building_steel", "chain", "pipe", "protective_earth")


@BOOK.rule(
    Number(name="clamp.rated_a", value=MATCH.rated),
    Number(name="settings.current_a", value=MATCH.current),
    TEST(lambda rated, current: rated < current),
    concludes=(Mismatch,),
)
def clamp_is_rated_below_the_current(conclude: Conclude, rated: float, current: float) -> None:
    """The work clamp is rated for less current than is dialled."""
    conclude(Mismatch(what="clamp_rating", needs=f"{current:g} A", has=f"{rated:g} A"))


@BOOK.rule(
    Reckoned(quantity="clamp_bears_less_a", value=MATCH.bears),
    Number(name="settings.current_a", value=MATCH.current),
    concludes=(Mismatch,),
)
def clamp_is_rated_below_the_duty(conclude: Conclude, bears: float, current: float) -> None:
    """The work clamp is rated for this current, but not for this much of the time."""
    conclude(
        Mismatch(
            what="clamp_rating",
            needs=f"{current:g} A",
            has=f"{bears:.0f} A at the duty that is meant",
        )
    )


@BOOK.rule(Mismatch(what="clamp_rating"), concludes=(Shows, Established))
def clamp_is_too_small(conclude: Conclude) -> None:
    """A clamp rated below the current heats though it is clean and tight."""
    conclude(Shows(node="clamp_underrated", on=0.97, off=0.03, item=CLAMP_RATED))
    conclude(Established(fault="clamp_underrated", item=CLAMP_RATED))


@BOOK.rule(
    Number(name="clamp.rated_a", value=MATCH.rated),
    Number(name="settings.current_a", value=MATCH.current),
    TEST(lambda rated, current: rated >= current),
    NOT(Reckoned(quantity="clamp_bears_less_a")),
    concludes=(Suits, Shows),
)
def clamp_is_rated_for_the_current(conclude: Conclude, rated: float) -> None:
    """The work clamp is rated for the current that is dialled."""
    conclude(Suits(what="clamp_rating", has=f"{rated:g} A"))
    conclude(Shows(node="clamp_underrated", on=0.03, off=0.97, item=CLAMP_RATED))


@BOOK.rule(
    Number(name="clamp.rated_a", value=MATCH.rated),
    Number(name="source.rated_a", value=MATCH.output),
    TEST(lambda rated, output: rated < output),
    NOT(Number(name="settings.current_a")),
    concludes=(Shows, Caution),
)
def clamp_is_rated_below_the_machine(conclude: Conclude, rated: float, output: float) -> None:
    """The clamp is rated below the output of the machine; the current itself is not known."""
    conclude(Shows(node="clamp_underrated", on=0.90, off=0.20, item=CLAMP_RATED))
    conclude(
        Caution(
            text=f"The work clamp is rated {rated:g} A and the machine gives up to {output:g} A. "
            "A return should carry the full output of the machine it serves."
        )
    )


@BOOK.rule(Detail(name="leads.coiled", value="yes"), concludes=(Mismatch, Shows, Established))
def leads_lie_in_a_coil(conclude: Conclude) -> None:
    """A weld lead left in a coil heats in the coil and chokes a fast-changing current."""
    conclude(Mismatch(what="leads", needs="spread out", has="coiled"))
    conclude(Shows(node="leads_coiled", on=0.95, off=0.05, item=LEADS))
    conclude(Established(fault="leads_coiled", item=LEADS))


@BOOK.rule(Detail(name="leads.coiled", value="no"), concludes=(Shows,))
def leads_lie_spread_out(conclude: Conclude) -> None:
    """Every lead is said to lie spread out."""
    conclude(Shows(node="leads_coiled", on=0.05, off=0.95, item=LEADS))


@BOOK.rule(
    Reckoned(
        quantity="leads_drop_v", value=P(lambda drop: drop > GROSS_DROP_IN_LEADS_V) & MATCH.drop
    ),
    concludes=(Mismatch, Shows, Established),
)
def leads_cost_too_many_volts(conclude: Conclude, drop: float) -> None:
    """By length, section and current the leads alone take far more than the usual 4 V."""
    conclude(Mismatch(what="leads_drop", needs="4 V or less", has=f"{drop:.1f} V"))
    conclude(Shows(node="lead_too_thin_or_long", on=0.75, off=0.03, item=LEADS))
    conclude(Established(fault="lead_too_thin_or_long", item=LEADS))


@BOOK.rule(
    Reckoned(
        quantity="leads_drop_v",
        value=P(lambda drop: MOST_DROP_IN_LEADS_V < drop <= GROSS_DROP_IN_LEADS_V) & MATCH.drop,
    ),
    concludes=(Mismatch, Shows),
)
def leads_cost_more_than_usual(conclude: Conclude, drop: float) -> None:
    """By length, section and current the leads take more than the usual 4 V; a dial can make it good."""
    conclude(Mismatch(what="leads_drop", needs="4 V or less", has=f"{drop:.1f} V"))
    conclude(Shows(node="lead_too_thin_or_long", on=0.14, off=0.08, item=LEADS))


@BOOK.rule(
    Reckoned(quantity="leads_drop_v", value=P(lambda drop: drop <= EASY_DROP_IN_LEADS_V)),
    concludes=(Shows,),
)
def leads_cost_few_volts(conclude: Conclude) -> None:
    """By length, section and current the leads take 2 V or less, which is comfortable."""
    conclude(Shows(node="lead_too_thin_or_long", on=0.06, off=0.80, item=LEADS))


@BOOK.rule(
    Reckoned(
        quantity="cable_duty_over_allowed",
        value=P(lambda share: share > GROSS_CABLE_DUTY) & MATCH.share,
    ),
    concludes=(Mismatch, Established),
)
def leads_are_rated_far_below_the_current(conclude: Conclude, share: float) -> None:
    """At this current and duty the leads heat far more than cable of their section bears."""
    needs = "what its section bears"
    conclude(Mismatch(what="cable_rating", needs=needs, has=f"{share:.1f} times that heat"))
    conclude(Established(fault="lead_too_thin_or_long", item=LEADS))


@BOOK.rule(
    Reckoned(quantity="cable_duty_over_allowed", value=P(lambda share: share <= 1.0)),
    concludes=(Suits,),
)
def leads_are_rated_for_the_current(conclude: Conclude) -> None:
    """Cable of this section bears the current at this duty."""
    conclude(Suits(what="cable_rating", has="within what its section bears"))


@BOOK.rule(Is(name="bonded_to", value=_STEEL_PATHS), concludes=(Shows, Caution))
def work_touches_another_way_home(conclude: Conclude) -> None:
    """The work touches steel, chain, pipe or earth, so some current can go home that way."""
    conclude(Shows(node="return_through_structure", on=0.90, off=0.40, item=BONDED))
    conclude(
        Caution(
            text="Weld current must not go home through chains, wire rope, hoists, pipes, conduit "
            "or the protective earth. Put the work clamp on the work itself, close to the weld."
        )
    )


@BOOK.rule(
    Listed(name="bonded_to"), NOT(Is(name="bonded_to", value=_STEEL_PATHS)), concludes=(Shows,)
)
def work_touches_no_other_way_home(conclude: Conclude) -> None:
    """The work is said to touch nothing that leads back to the source by another way."""
    conclude(Shows(node="return_through_structure", on=0.10, off=0.60, item=BONDED))


@BOOK.rule(Is(name="bonded_to", value="protective_earth"), concludes=(Shows,))
def bench_is_tied_to_earth(conclude: Conclude) -> None:
    """With the bench on earth, a second tie at the source closes a loop through the earth wire."""
    conclude(Shows(node="weld_circuit_tied_to_earth", on=0.60, off=0.20, item=BONDED))


@BOOK.rule(Is(name="bonded_to", value="other_station"), concludes=(Shows,))
def bench_is_shared(conclude: Conclude) -> None:
    """The bench is shared with another station, so its current can come home through this one."""
    conclude(Shows(node="neighbour_return_off", on=0.70, off=0.12, item=BONDED))


@BOOK.rule(
    Listed(name="bonded_to"),
    NOT(Is(name="bonded_to", value=one_of("other_station", "building_steel"))),
    concludes=(Shows,),
)
def bench_is_not_shared(conclude: Conclude) -> None:
    """The bench touches neither another station nor building steel that could join them."""
    conclude(Shows(node="neighbour_return_off", on=0.12, off=0.55, item=BONDED))
