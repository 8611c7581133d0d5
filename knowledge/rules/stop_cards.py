"""Stop cards: what comes before any ranking because somebody can get hurt.

A card stands on a symptom or on a danger word that is sure, and is marked perhaps on a near miss.
Only a person who may lift this very card makes it safe; what an operator says never does.
"""

from __future__ import annotations

from knowledge.expert import MATCH, NOT, TEST, Conclude, P, RuleBook, one_of
from knowledge.vocabulary import (
    Card,
    CardWho,
    Caution,
    DangerWord,
    Is,
    Lifted,
    MadeSafe,
    Raised,
    RaisedBy,
    Symptom,
)

BOOK = RuleBook("stop_cards")

_MAY_LIFT = {
    "operator": frozenset({"maintenance", "electrician", "service"}),
    "maintenance": frozenset({"maintenance", "electrician", "service"}),
    "electrician": frozenset({"electrician"}),
    "service": frozenset({"service"}),
}


def may_lift(by: str, who: str) -> bool:
    """Return whether a person of this kind may lift a card of that kind.

    >>> may_lift("electrician", "maintenance"), may_lift("service", "electrician")
    (True, False)
    >>> may_lift("operator", "operator")
    False
    """
    return by in _MAY_LIFT.get(who, ())


@BOOK.rule(
    Symptom(id=MATCH.symptom, seen="yes"),
    RaisedBy(card=MATCH.card, symptom=MATCH.symptom),
    concludes=(Raised,),
)
def danger_was_seen(conclude: Conclude, card: str) -> None:
    """What was seen can hurt somebody."""
    conclude(Raised(card=card, sure="yes"))


@BOOK.rule(
    Symptom(id=MATCH.symptom, seen="not_sure"),
    RaisedBy(card=MATCH.card, symptom=MATCH.symptom),
    concludes=(Raised,),
)
def danger_is_not_ruled_out(conclude: Conclude, card: str) -> None:
    """Somebody was asked about this danger and could not rule it out."""
    conclude(Raised(card=card, sure="perhaps"))


@BOOK.rule(DangerWord(card=MATCH.card, sure="yes"), concludes=(Raised,))
def danger_was_said(conclude: Conclude, card: str) -> None:
    """The words name this danger."""
    conclude(Raised(card=card, sure="yes"))


@BOOK.rule(DangerWord(card=MATCH.card, sure="perhaps"), concludes=(Raised,))
def danger_was_hinted_at(conclude: Conclude, card: str) -> None:
    """The words come close to this danger; better ask than miss it."""
    conclude(Raised(card=card, sure="perhaps"))


@BOOK.rule(Is(name="confined", value="yes"), Is(name="shielding", value="gas"), concludes=(Raised,))
def gas_where_air_is_short(conclude: Conclude) -> None:
    """Shielding gas is used in a confined space, where it pushes out the air to breathe."""
    conclude(Raised(card="gas_in_confined_space", sure="perhaps"))


@BOOK.rule(
    Is(name="confined", value="yes"),
    Is(name="gas_group", value=P(lambda group: group != "none")),
    concludes=(Raised,),
)
def cylinder_where_air_is_short(conclude: Conclude) -> None:
    """There is a shielding gas at a confined space, where it pushes out the air to breathe."""
    conclude(Raised(card="gas_in_confined_space", sure="perhaps"))


@BOOK.rule(Is(name="surface", value=one_of("zinc", "paint")), concludes=(Raised,))
def work_is_coated(conclude: Conclude) -> None:
    """A coating on the work gives fume in the arc that can poison, whatever it is."""
    conclude(Raised(card="hazardous_workpiece", sure="perhaps"))


@BOOK.rule(
    MadeSafe(card=MATCH.card, by=MATCH.by),
    CardWho(card=MATCH.card, who=MATCH.who),
    TEST(may_lift),
    concludes=(Lifted,),
)
def qualified_person_lifted_it(conclude: Conclude, card: str) -> None:
    """A person qualified for it found the cause and made it safe."""
    conclude(Lifted(card=card))


@BOOK.rule(
    MadeSafe(card=MATCH.card, by=MATCH.by),
    CardWho(card=MATCH.card, who=MATCH.who),
    TEST(lambda by, who: not may_lift(by, who)),
    concludes=(Caution,),
)
def that_person_may_not_lift_it(conclude: Conclude, who: str) -> None:
    """A stop card is lifted by the finding of a qualified person only."""
    need = "qualified person" if who == "operator" else f"person qualified for it ({who})"
    conclude(Caution(text=f"The stop card stays: only a {need} may lift it."))


@BOOK.rule(Raised(card=MATCH.card, sure="yes"), NOT(Lifted(card=MATCH.card)), concludes=(Card,))
def card_stands(conclude: Conclude, card: str) -> None:
    """The danger is there and nobody qualified has lifted the card."""
    conclude(Card(id=card, state="stands"))


@BOOK.rule(
    Raised(card=MATCH.card, sure="perhaps"),
    NOT(Raised(card=MATCH.card, sure="yes")),
    NOT(Lifted(card=MATCH.card)),
    concludes=(Card,),
)
def card_may_stand(conclude: Conclude, card: str) -> None:
    """The danger may be there; look before going on."""
    conclude(Card(id=card, state="perhaps"))


@BOOK.rule(Raised(card=MATCH.card), Lifted(card=MATCH.card), concludes=(Card,))
def card_was_made_safe(conclude: Conclude, card: str) -> None:
    """The danger was there and a qualified person made it safe."""
    conclude(Card(id=card, state="made_safe"))
