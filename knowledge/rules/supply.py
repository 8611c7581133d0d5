"""The supply as far as the plate and what is plugged in tell, nothing opened.

The effective supply current of a set is its rated current times the root of its duty factor; the
factors of NEC table 630.11(A) equal that root (published, own text). Strengths are judgement.
"""

from __future__ import annotations

from math import sqrt

from knowledge.expert import MATCH, NOT, TEST, Conclude, P, RuleBook
from knowledge.vocabulary import Established, Is, Mismatch, Number, Reckoned, Shows, Suits

BOOK = RuleBook("supply")

CORD = "station.source.extension"
CORD_SIZE = "station.source.extension_area_mm2"
BREAKER = "station.source.breaker_a"
MOST_DROP_IN_CORD_PCT = 5.0
GROSS_DROP_IN_CORD_PCT = 6.5
EASY_DROP_IN_CORD_PCT = 2.0


@BOOK.rule(
    Is(name="extension_cord", value="yes"),
    NOT(Reckoned(quantity="supply_cord_drop_pct")),
    concludes=(Shows,),
)
def set_is_fed_through_a_cord(conclude: Conclude) -> None:
    """There is an extension cord, and nothing says that it is stout enough."""
    conclude(Shows(node="extension_cord_too_thin", on=0.97, off=0.30, item=CORD))


@BOOK.rule(Is(name="extension_cord", value="no"), concludes=(Shows,))
def set_is_fed_without_a_cord(conclude: Conclude) -> None:
    """There is no extension cord, so none can be too thin; few such answers are wrong."""
    conclude(Shows(node="extension_cord_too_thin", on=0.03, off=0.70, item=CORD))


@BOOK.rule(
    Reckoned(
        quantity="supply_cord_drop_pct",
        value=P(lambda drop: drop > GROSS_DROP_IN_CORD_PCT) & MATCH.drop,
    ),
    concludes=(Mismatch, Shows, Established),
)
def cord_costs_too_much(conclude: Conclude, drop: float) -> None:
    """By length and section the cord alone takes far more than 5 % of the supply voltage."""
    conclude(Mismatch(what="cord_drop", needs="5 % or less", has=f"{drop:.1f} %"))
    conclude(Shows(node="extension_cord_too_thin", on=0.75, off=0.03, item=CORD_SIZE))
    conclude(Established(fault="extension_cord_too_thin", item=CORD_SIZE))


@BOOK.rule(
    Reckoned(
        quantity="supply_cord_drop_pct",
        value=P(lambda drop: MOST_DROP_IN_CORD_PCT < drop <= GROSS_DROP_IN_CORD_PCT) & MATCH.drop,
    ),
    concludes=(Mismatch, Shows),
)
def cord_costs_more_than_usual(conclude: Conclude, drop: float) -> None:
    """By length and section the cord takes more than the usual 5 %, which many sets bear."""
    conclude(Mismatch(what="cord_drop", needs="5 % or less", has=f"{drop:.1f} %"))
    conclude(Shows(node="extension_cord_too_thin", on=0.15, off=0.09, item=CORD_SIZE))


@BOOK.rule(
    Reckoned(quantity="supply_cord_drop_pct", value=P(lambda drop: drop <= EASY_DROP_IN_CORD_PCT)),
    concludes=(Shows,),
)
def cord_costs_little(conclude: Conclude) -> None:
    """By length and section the cord takes 2 % of the supply voltage or less."""
    conclude(Shows(node="extension_cord_too_thin", on=0.05, off=0.80, item=CORD_SIZE))


@BOOK.rule(
    Number(name="source.breaker_a", value=MATCH.breaker),
    Number(name="source.rated_primary_a", value=MATCH.primary),
    Number(name="source.rated_duty_pct", value=MATCH.duty),
    TEST(lambda breaker, primary, duty: breaker < primary * sqrt(duty / 100.0)),
    concludes=(Mismatch, Shows, Established),
)
def breaker_is_below_the_effective_current(
    conclude: Conclude, breaker: float, primary: float, duty: float
) -> None:
    """The breaker is smaller than the effective supply current at the rated duty of the set."""
    effective = primary * sqrt(duty / 100.0)
    conclude(Mismatch(what="breaker", needs=f"{effective:.0f} A or more", has=f"{breaker:g} A"))
    conclude(Shows(node="breaker_too_small", on=0.85, off=0.03, item=BREAKER))
    conclude(Established(fault="breaker_too_small", item=BREAKER))


@BOOK.rule(
    Number(name="source.breaker_a", value=MATCH.breaker),
    Number(name="source.rated_primary_a", value=MATCH.primary),
    TEST(lambda breaker, primary: breaker >= primary),
    concludes=(Suits, Shows),
)
def breaker_carries_the_full_current(conclude: Conclude, breaker: float) -> None:
    """The breaker carries the full rated supply current; only inrush could still trip it."""
    conclude(Suits(what="breaker", has=f"{breaker:g} A"))
    conclude(Shows(node="breaker_too_small", on=0.15, off=0.90, item=BREAKER))
