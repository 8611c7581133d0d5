"""What the words imply: a symptom that was seen shows what the station had when it was seen.

A symptom that somebody spoke about is never denied here, whatever the answer was.
"""

from __future__ import annotations

from knowledge.expert import MATCH, NOT, Conclude, RuleBook
from knowledge.vocabulary import Denied, MeansNo, Presupposes, StateHad, Symptom

BOOK = RuleBook("words")


@BOOK.rule(
    Symptom(id=MATCH.symptom, seen="yes"),
    Presupposes(symptom=MATCH.symptom, state=MATCH.state),
    concludes=(StateHad,),
)
def symptom_shows_what_was_there(conclude: Conclude, state: str) -> None:
    """What was seen can be seen only when this was there."""
    conclude(StateHad(state=state))


@BOOK.rule(StateHad(state="bead"), concludes=(StateHad,))
def bead_means_there_was_an_arc(conclude: Conclude) -> None:
    """Metal was laid down, so there was an arc."""
    conclude(StateHad(state="arc"))


@BOOK.rule(StateHad(state="arc"), concludes=(StateHad,))
def arc_means_there_was_power(conclude: Conclude) -> None:
    """There was an arc, so the machine was on."""
    conclude(StateHad(state="power"))


@BOOK.rule(StateHad(state="feed"), concludes=(StateHad,))
def feed_means_there_was_power(conclude: Conclude) -> None:
    """Wire was fed, so the machine was on."""
    conclude(StateHad(state="power"))


@BOOK.rule(StateHad(state="trigger"), concludes=(StateHad,))
def trigger_means_there_was_power(conclude: Conclude) -> None:
    """The trigger did something, so the machine was on."""
    conclude(StateHad(state="power"))


@BOOK.rule(
    StateHad(state=MATCH.state),
    MeansNo(symptom=MATCH.symptom, state=MATCH.state),
    NOT(Symptom(id=MATCH.symptom)),
    concludes=(Denied,),
)
def it_cannot_have_been_missing(conclude: Conclude, symptom: str) -> None:
    """What was seen needs the very thing that this would mean is missing."""
    conclude(Denied(symptom=symptom))
