"""The diagnosis: what `why --json` prints and the API answers. One shape everywhere."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from pydantic import BaseModel, ConfigDict

Who = Literal["operator", "maintenance", "electrician", "service"]
Seen = Literal["yes", "no", "not_sure"]


class Part(BaseModel):
    """A part of the diagnosis: frozen and closed."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class KnowledgeUsed(Part):
    """Which knowledge gave this answer, and whether the shop's own cases shifted it."""

    version: str
    digest: str
    learned: bool = False


class Card(Part):
    """A stop card: what comes before any ranking."""

    id: str
    title: str
    signal_word: Literal["DANGER", "WARNING", "CAUTION", "NOTICE"]
    state: Literal["stands", "perhaps", "made_safe"]
    why: str
    do: list[str]
    who: Who
    because: list[str]


class Recognised(Part):
    """What the welder's words were taken for; one of the three is set.

    `symptom`; `started` as 'facet.kind'; `told` as 'attribute=answer' or 'check=result'.
    """

    said: str
    symptom: str | None = None
    started: str | None = None
    told: str | None = None
    seen: Seen = "yes"
    score: float


class Understood(Part):
    """A symptom that nobody answered but that follows from what was said."""

    symptom: str
    seen: Seen
    because: str


class Unrecognised(Part):
    """Words that were not taken for anything, with the nearest symptoms."""

    said: str
    nearest: list[str]


class Unused(Part):
    """Something that was entered and not used, and why."""

    item: str
    why: str


class EvidenceWeight(Part):
    """One item for (factor above 1) or against (below 1): what it does to the odds, over the singles."""

    item: str
    says: str
    factor: float


class RuleFired(Part):
    """A rule that fired for this fault: its reason, and the facts it fired on."""

    id: str
    reason: str
    from_: list[str]

    model_config = ConfigDict(
        frozen=True, extra="forbid", populate_by_name=True, alias_generator=lambda n: n.rstrip("_")
    )


class RemedyAdvised(Part):
    """What puts the fault right. Steps that are not this user's are withheld, with the reason."""

    who: Who
    minutes: float
    steps: list[str]
    proved_by: str
    withheld: str | None = None


class LikelyFault(Part):
    """One candidate, with its path to what was noticed and everything that bears on it."""

    id: str
    title: str
    area: str
    place: str
    probability: float
    share_before: float
    share_shipped: float
    explains: list[str]
    from_set_up: bool
    path: list[str]
    path_in_words: str
    evidence: list[EvidenceWeight]
    rules: list[RuleFired]
    remedy: RemedyAdvised
    cautions: list[str]
    sources: list[str]


class AlsoWrong(Part):
    """A fault that the set-up establishes but that explains nothing reported."""

    id: str
    title: str
    rules: list[RuleFired]
    remedy: RemedyAdvised


class Pair(Part):
    """The hypothesis "exactly these two", where it beats both singles."""

    faults: list[str]
    probability: float


class CannotBe(Part):
    """A fault that cannot be to blame on this station, and why."""

    fault: str
    because: str


class Ask(Part):
    """A question whose answer would change the picture."""

    kind: Literal["station", "symptom", "started"]
    id: str
    question: str
    answers: list[str]
    why: str


class ResultWeight(Part):
    """What one result of the check would do: how likely it is, and what would lead then."""

    result: str
    says: str
    probability: float
    then_leads: str
    then_probability: float


class NextCheck(Part):
    """The next check: what to do, what good and bad look like, and why now."""

    id: str
    title: str
    steps: list[str]
    minutes: float
    hazard: Literal["look", "touch_machine_off", "live_weld_circuit", "covers_off_or_supply"]
    who: Who
    tools: list[str]
    results: list[ResultWeight]
    saves_min: float
    why: str


class NextStep(Part):
    """The cheapest first move: a check, a remedy, or handing over."""

    kind: Literal["stop", "check", "remedy", "hand_over"]
    id: str
    title: str
    who: Who
    minutes: float
    why: str


class Diagnosis(Part):
    """Ranked likely faults with their reasons. Every ranked list: most probable first, then id."""

    knowledge: KnowledgeUsed
    stop_cards: list[Card]
    recognised: list[Recognised]
    understood: list[Understood]
    unrecognised: list[Unrecognised]
    unused: list[Unused]
    faults: list[LikelyFault]
    also_wrong: list[AlsoWrong]
    pairs: list[Pair]
    not_in_our_list: float
    unexplained: list[str]
    cannot_be: list[CannotBe]
    asks: list[Ask]
    next_step: NextStep | None
    next_check: NextCheck | None
    cautions: list[str]
    disclaimer: str


def standing(cards: Sequence[Card]) -> list[Card]:
    """Return the cards that nobody entitled has lifted."""
    return [card for card in cards if card.state != "made_safe"]


def something_to_go_on(found: Diagnosis) -> bool:
    """Return whether anything told bears on any fault."""
    return found.next_step is not None and any(fault.evidence for fault in found.faults)


def points_to_our_list(found: Diagnosis) -> bool:
    """Return whether the first fault is likelier than a cause that is not in the list."""
    return bool(found.faults) and found.faults[0].probability > found.not_in_our_list
