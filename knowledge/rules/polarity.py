"""Polarity: what the wire needs against where the electrode lead is, and how well that is known.

Self-shielded does not mean negative: some self-shielded classes want positive, so only the need
that the class states is compared. Strengths are judgement, in line with how the set-up is weighed
everywhere: a polarity somebody traced is wrong in 2 of 100, one that was only told in 10 of 100.
"""

from __future__ import annotations

from knowledge.expert import MATCH, NOT, TEST, Conclude, P, RuleBook, one_of
from knowledge.vocabulary import (
    Ask,
    Caution,
    ClassRow,
    Established,
    Looked,
    Mismatch,
    Needs,
    Shows,
    Suits,
    Word,
)

BOOK = RuleBook("polarity")

ITEM = "station.polarity"
CLASS = "station.wire.class"
NOT_AS_MAKER_SAYS = "polarity_not_as_maker_says"
WRONG_TRACED = 0.02
WRONG_TOLD = 0.10
FAULT_WHEN_NEEDED = {
    "positive": "electrode_negative_wants_positive",
    "negative": "electrode_positive_wants_negative",
}


def _weigh(conclude: Conclude, needs: str, wrong_here: bool, mistaken: float) -> None:
    on, off = (1.0 - mistaken, mistaken) if wrong_here else (mistaken, 1.0 - mistaken)
    conclude(Shows(node=FAULT_WHEN_NEEDED[needs], on=on, off=off, item=ITEM))


@BOOK.rule(
    Needs(what="polarity", value=one_of("positive", "negative", bind="needs")),
    Word(name="electrode_polarity", value=MATCH.has),
    TEST(lambda needs, has: needs != has),
    concludes=(Mismatch,),
)
def polarity_is_not_what_the_wire_needs(conclude: Conclude, needs: str, has: str) -> None:
    """The electrode lead is on the other stud than the wire needs."""
    conclude(Mismatch(what="polarity", needs=needs, has=has))


@BOOK.rule(
    Needs(what="polarity", value=one_of("positive", "negative", bind="needs")),
    Word(name="electrode_polarity", value=MATCH.needs),
    concludes=(Suits,),
)
def polarity_is_what_the_wire_needs(conclude: Conclude, needs: str) -> None:
    """The electrode lead is on the stud that the wire needs."""
    conclude(Suits(what="polarity", has=needs))


@BOOK.rule(
    Mismatch(what="polarity", needs=MATCH.needs),
    Looked(name="electrode_polarity", how="looked"),
    concludes=(Shows, Established),
)
def wrong_polarity_was_traced(conclude: Conclude, needs: str) -> None:
    """The lead was traced to the wrong stud; such a look errs in about 2 of 100."""
    _weigh(conclude, needs, True, WRONG_TRACED)
    conclude(Established(fault=FAULT_WHEN_NEEDED[needs], item=ITEM))


@BOOK.rule(
    Mismatch(what="polarity", needs=MATCH.needs),
    Looked(name="electrode_polarity", how="told"),
    concludes=(Shows, Established),
)
def wrong_polarity_was_told(conclude: Conclude, needs: str) -> None:
    """The lead is said to be on the wrong stud; what is only said errs in about 10 of 100."""
    _weigh(conclude, needs, True, WRONG_TOLD)
    conclude(Established(fault=FAULT_WHEN_NEEDED[needs], item=ITEM))


@BOOK.rule(
    Suits(what="polarity", has=MATCH.needs),
    Looked(name="electrode_polarity", how="looked"),
    concludes=(Shows,),
)
def right_polarity_was_traced(conclude: Conclude, needs: str) -> None:
    """The lead was traced to the right stud; such a look errs in about 2 of 100."""
    _weigh(conclude, needs, False, WRONG_TRACED)


@BOOK.rule(
    Suits(what="polarity", has=MATCH.needs),
    Looked(name="electrode_polarity", how="told"),
    concludes=(Shows,),
)
def right_polarity_was_told(conclude: Conclude, needs: str) -> None:
    """The lead is said to be on the right stud; what is only said errs in about 10 of 100."""
    _weigh(conclude, needs, False, WRONG_TOLD)


@BOOK.rule(
    Needs(what="polarity", value=one_of("positive", "negative")),
    NOT(Word(name="electrode_polarity")),
    concludes=(Ask,),
)
def ask_where_the_electrode_lead_is(conclude: Conclude) -> None:
    """The wire needs one polarity, and nobody has said which stud the electrode lead is on."""
    conclude(Ask(id=ITEM))


@BOOK.rule(
    Needs(what="polarity", value="open"),
    NOT(Word(name="electrode_polarity")),
    concludes=(Ask,),
)
def ask_where_the_class_leaves_it_open(conclude: Conclude) -> None:
    """The class leaves the polarity to maker and buyer, so it has to be asked, never assumed."""
    conclude(Ask(id=ITEM))


@BOOK.rule(Needs(what="polarity", value="open"), concludes=(Caution,))
def label_alone_tells_the_polarity(conclude: Conclude) -> None:
    """The class does not specify the polarity; only the maker of the wire can say."""
    conclude(
        Caution(
            text="The class of this wire leaves the polarity open. "
            "Read it from the label of the spool before changing any lead."
        )
    )


_GS = ClassRow(designator=P(lambda name: name.endswith("GS")), form="flux_cored", polarity="open")
_WITHOUT_FLUX = ClassRow(form=one_of("solid", "metal_cored"), polarity="open")


@BOOK.rule(_GS, Word(name="electrode_polarity", value="positive"), concludes=(Shows,))
def gs_wire_is_mostly_sold_for_negative(conclude: Conclude) -> None:
    """The class leaves it open, but most wire sold in it is self-shielded and wants negative."""
    conclude(Shows(node=NOT_AS_MAKER_SAYS, on=0.75, off=0.35, item=ITEM))


@BOOK.rule(_GS, Word(name="electrode_polarity", value="negative"), concludes=(Shows,))
def gs_wire_on_negative_is_as_mostly_sold(conclude: Conclude) -> None:
    """The class leaves it open, but negative is what most wire sold in it wants."""
    conclude(Shows(node=NOT_AS_MAKER_SAYS, on=0.25, off=0.65, item=ITEM))


@BOOK.rule(_WITHOUT_FLUX, concludes=(Shows,))
def wire_without_flux_is_seldom_on_the_wrong_stud(conclude: Conclude) -> None:
    """The letter G leaves it open, but who guesses wrong has flux-cored wire nearly always."""
    conclude(Shows(node=NOT_AS_MAKER_SAYS, on=0.10, off=0.40, item=CLASS))


@BOOK.rule(_WITHOUT_FLUX, Word(name="electrode_polarity", value="positive"), concludes=(Shows,))
def wire_without_flux_nearly_always_wants_positive(conclude: Conclude) -> None:
    """Solid and metal-cored wire nearly always wants positive, G or not, and here it is."""
    conclude(Shows(node=NOT_AS_MAKER_SAYS, on=0.10, off=0.97, item=ITEM))


@BOOK.rule(_WITHOUT_FLUX, Word(name="electrode_polarity", value="negative"), concludes=(Shows,))
def wire_without_flux_hardly_ever_wants_negative(conclude: Conclude) -> None:
    """Solid and metal-cored wire nearly always wants positive, G or not, and here it is negative."""
    conclude(Shows(node=NOT_AS_MAKER_SAYS, on=0.90, off=0.03, item=ITEM))
