"""The hook-up check: what is wrong on paper, what was not told, and the walk-round for this station.

Pure. It advises and does not certify: `ready` says that nothing told or ticked speaks against an arc.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from diagnose import diagnosis as out
from diagnose.answer import DISCLAIMER
from diagnose.cards import stop_cards
from diagnose.case import Case, Id, MadeSafe, Part, Reading, Station
from diagnose.facts import case_facts
from diagnose.graph import Station as Told
from diagnose.graph import applies
from diagnose.readiness.on_paper import NotTold, PaperLine, not_told, on_paper
from diagnose.readings.measure import measure
from diagnose.us_units import in_us
from knowledge.errors import UnknownId
from knowledge.expert import think
from knowledge.loader import Knowledge
from knowledge.models import Hazard, WalkLine, When, Who
from knowledge.nearest import nearest

__all__ = ["Readiness", "ReadinessAsked", "WalkStep", "readiness"]

Tick = Literal["good", "bad", "not_done"]
Verdict = Literal["ready", "not_ready", "cant_tell"]
Stage = Literal["before_power", "power_up", "first_arc"]

USUAL: Mapping[str, str] = {"wire_polarity": "open"}
"""What is supposed of a station where it was not told, if not the commonest answer: a polarity is read
off the label, never guessed."""


class ReadinessAsked(Part):
    """The body of POST /v1/readiness: the station, readings, ticks by line, cards that were lifted."""

    station: Station = Station()
    readings: Annotated[list[Reading], Field(max_length=50)] = Field(default_factory=list)
    ticks: Annotated[dict[Id, Tick], Field(max_length=200)] = Field(default_factory=dict)
    made_safe: Annotated[list[MadeSafe], Field(max_length=50)] = Field(default_factory=list)
    units: Literal["metric", "us"] = "metric"


class WalkStep(BaseModel):
    """One line of the walk-round as it stands for this station, with its tick."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    id: str
    number: int
    stage: Stage
    title: str
    do: str
    why: str
    good: str
    bad: str
    hazard: Hazard
    who: Who
    essential: bool
    supposing: str | None
    tick: Tick
    wait: str | None
    points_to: list[str]
    sources: list[str]


class Readiness(BaseModel):
    """What `ready --json` prints and POST /v1/readiness answers. Stop cards come first."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    station: str | None
    verdict: Verdict
    because: list[str]
    stop_cards: list[out.Card]
    on_paper: list[PaperLine]
    not_told: list[NotTold]
    walk_round: list[WalkStep]
    unused: list[out.Unused]
    knowledge: out.KnowledgeUsed
    disclaimer: str


def readiness(asked: ReadinessAsked, knowledge: Knowledge) -> Readiness:
    """Return whether the station is ready, and the walk-round that proves it.

    Raises UnknownId, with the nearest, for a tick of a line or a card that there is not.
    """
    _check_ids(asked, knowledge)
    case = Case(
        station=asked.station,
        readings=asked.readings,
        made_safe=asked.made_safe,
        units=asked.units,
    )
    sums = measure(case, knowledge)
    conclusions = think(
        case_facts(
            case,
            knowledge,
            (),
            _danger(asked, knowledge),
            sums.figures,
            measured=sums.measured,
            replaced=sums.replaces,
        )
    )
    told: dict[str, set[str]] = {}
    for fact in conclusions.all("Is"):
        told.setdefault(fact.word("name"), set()).add(fact.word("value"))
    cards = stop_cards(knowledge, conclusions)
    paper = on_paper(knowledge, conclusions, sums)
    if asked.units == "us":
        paper = [_for_us(line) for line in paper]
    if any(card.state == "stands" for card in cards):
        paper = [line.model_copy(update={"remedy": []}) for line in paper]
    missing = not_told(knowledge, conclusions, paper, told)
    walk = _walk_round(knowledge, told, asked.ticks, cards, paper)
    against = list(_against(cards, paper, walk))
    open_ = list(_open(cards, missing, walk))
    verdict: Verdict = "not_ready" if against else "cant_tell" if open_ else "ready"
    return Readiness(
        station=asked.station.name,
        verdict=verdict,
        because=against + open_,
        stop_cards=cards,
        on_paper=paper,
        not_told=missing,
        walk_round=walk,
        unused=[out.Unused(item=note.item, why=note.why) for note in sums.unused],
        knowledge=out.KnowledgeUsed(version=knowledge.version, digest=knowledge.digest),
        disclaimer=DISCLAIMER,
    )


def _for_us(line: PaperLine) -> PaperLine:
    words = {"needs": in_us(line.needs), "has": in_us(line.has), "says": in_us(line.says)}
    return line.model_copy(update=words | {"remedy": [in_us(step) for step in line.remedy]})


def _check_ids(asked: ReadinessAsked, knowledge: Knowledge) -> None:
    for kind, names, known in (
        ("line of the walk-round", list(asked.ticks), knowledge.walk_round),
        ("stop card", [one.stop_card for one in asked.made_safe], knowledge.stop_cards),
    ):
        for name in names:
            if name not in known:
                close = nearest(name, known)
                raise UnknownId(kind, name, [close] if close else [])


def _danger(asked: ReadinessAsked, knowledge: Knowledge) -> list[tuple[str, str]]:
    """Return the stop cards that bad ticks raise."""
    lines = (knowledge.walk_round[name] for name, tick in asked.ticks.items() if tick == "bad")
    return sorted({(line.stop_card, "yes") for line in lines if line.stop_card is not None})


def _walk_round(
    knowledge: Knowledge,
    told: Told,
    ticks: Mapping[str, Tick],
    cards: list[out.Card],
    paper: list[PaperLine],
) -> list[WalkStep]:
    lines = [
        (line, supposing)
        for line in knowledge.walk_round.values()
        if (supposing := _belongs(line.when, told, knowledge)) is not None
    ]
    wait = _wait(cards, paper, [line for line, _ in lines], ticks)
    return [
        WalkStep(
            id=line.id,
            number=number,
            stage=line.stage,
            title=line.title,
            do=line.do,
            why=line.why,
            good=line.good,
            bad=line.bad,
            hazard=line.hazard,
            who=line.who,
            essential=line.essential,
            supposing=supposing or None,
            tick=ticks.get(line.id, "not_done"),
            wait=wait if line.stage != "before_power" else None,
            points_to=[fault for fault in line.faults if fault in knowledge.faults],
            sources=[
                cited.ref + (f", {cited.where}" if cited.where else "") for cited in line.sources
            ],
        )
        for number, (line, supposing) in enumerate(lines, 1)
    ]


def _belongs(when: When, told: Told, knowledge: Knowledge) -> str | None:
    """Return what is supposed for a line to belong, '' where nothing is, None where it does not belong.

    What was not told is supposed to be as on most stations, or as `USUAL` says.
    """
    verdict = applies(when, told)
    if verdict is not None:
        return "" if verdict else None
    supposed: dict[str, set[str]] = {}
    for name in when:
        row = knowledge.attributes[name]
        if name not in told:
            shares = row.shares.of if row.shares else {}
            usual = USUAL.get(name) or max(shares, key=lambda a: (shares[a], a), default="")
            supposed[name] = {usual}
    if not applies(when, {**told, **supposed}):
        return None
    return ", ".join(
        f"{knowledge.attributes[name].title.lower()}: {knowledge.attributes[name].answers[value]}"
        for name, values in supposed.items()
        for value in values
    )


def _wait(
    cards: list[out.Card],
    paper: list[PaperLine],
    lines: list[WalkLine],
    ticks: Mapping[str, Tick],
) -> str | None:
    """Return why power has to wait, or None."""
    if any(card.state != "made_safe" for card in cards):
        return "A stop card is not lifted: no power."
    if any(line.standing == "wrong" for line in paper):
        return "Put right first what is wrong on paper."
    before = [line for line in lines if line.stage == "before_power"]
    if any(ticks.get(line.id) == "bad" for line in before):
        return "Put right first what the walk-round found."
    if any(line.essential and ticks.get(line.id, "not_done") == "not_done" for line in before):
        return "Walk the lines before power to their end first."
    return None


def _against(cards: list[out.Card], paper: list[PaperLine], walk: list[WalkStep]) -> Iterator[str]:
    for card in cards:
        if card.state == "stands":
            yield f"{card.signal_word}: {card.title}"
    for line in paper:
        if line.standing == "wrong":
            yield f"{line.title}: has {line.has}, needs {line.needs}"
    for step in walk:
        if step.tick == "bad":
            yield f"{step.title}: found bad"


def _open(cards: list[out.Card], missing: list[NotTold], walk: list[WalkStep]) -> Iterator[str]:
    for card in cards:
        if card.state == "perhaps":
            yield f"{card.signal_word}, perhaps: {card.title}"
    for row in missing:
        if row.essential:
            yield f"not told: {row.question}"
    undone = [step for step in walk if step.essential and step.tick == "not_done"]
    if undone:
        yield f"not done: {len(undone)} lines of the walk-round, first '{undone[0].title}'"
