"""What is asked of whom: each person's own steps, and what that person has to bring."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from diagnose.advice import (
    Adviser,
    Prices,
    allowed_checks,
    open_hazards,
    paid_outfits,
    price,
    unpaid_outfits,
)
from diagnose.handover.history import proof_title
from diagnose.handover.sheet import AskedOf, StopCardState, Task, ToBring
from diagnose.in_words import chance_in_words
from diagnose.reason import Reasoned
from knowledge.models import Check, Fault, Hazard, Who
from knowledge.rules.stop_cards import may_lift

WHO: tuple[Who, ...] = ("operator", "maintenance", "electrician", "service")
LISTED = 0.04
"""A fault less likely than this is named nowhere on the sheet's list of work (judgement)."""
MOST_REMEDIES = 4
MOST_CHECKS = 3
_TO_MAKE_SAFE = (
    "Find what raised the card, put that right and prove it safe.",
    "Say so with your name. Only that lifts the card, and until then it holds as it stands above.",
)


def asked_of(
    reasoned: Reasoned, cards: Sequence[StopCardState], likely: Sequence[str]
) -> list[AskedOf]:
    """Return the work that is left, by person, stop cards first.

    `likely` are the faults whose remedies were not tried yet, most probable first.
    """
    standing = [card for card in cards if card.state != "made_safe"]
    tasks: dict[Who, list[Task]] = {who: [] for who in WHO}
    for card in standing:
        tasks[card.who].append(_card_task(card))
    for check in checks_left(reasoned):
        waits = _waits(standing, check.who, check.hazard)
        tasks[check.who].append(_check_task(reasoned, check, waits=waits))
    for fault in likely[:MOST_REMEDIES]:
        entry = reasoned.knowledge.faults[fault]
        waits = _waits(standing, entry.remedy.who, "touch_machine_off")
        tasks[entry.remedy.who].append(_remedy_task(reasoned, entry, waits=waits))
    return [AskedOf(who=who, tasks=tasks[who]) for who in WHO if tasks[who]]


def _waits(standing: Sequence[StopCardState], who: Who, hazard: Hazard) -> bool:
    """Return whether work has to wait for the stop cards.

    Nobody works on a live weld circuit under a card. What else the card forbids is how those who may
    lift it find its cause.
    """
    lifts_all = all(may_lift(who, card.who) for card in standing)
    if lifts_all and hazard != "live_weld_circuit":
        return False
    return hazard not in open_hazards(card.state for card in standing)


def checks_left(reasoned: Reasoned) -> list[Check]:
    """Return the checks that save more minutes than they cost, whoever may do them, best first."""
    knowledge, case = reasoned.knowledge, reasoned.case
    tried = {item.fault for item in case.remedied}
    prices = Prices({n: f.remedy.minutes for n, f in knowledge.faults.items() if n not in tried})
    adviser = Adviser(reasoned.cut.graph, reasoned.evidence, reasoned.ranking, prices)
    done = {finding.check for finding in case.findings}
    paid = paid_outfits(knowledge, done)
    options = [
        adviser.check(check, unpaid_outfits(knowledge, check, paid))
        for check in _anybodys(reasoned, done)
    ]
    worth = [option for option in options if option.rate > 1.0]
    worth.sort(key=lambda option: (-option.rate, option.id))
    return [knowledge.checks[option.id] for option in worth[:MOST_CHECKS]]


def _anybodys(reasoned: Reasoned, done: set[str]) -> Iterable[Check]:
    """Return every check that applies; the sheet says whose it is, so nobody's is filtered out."""
    whose: tuple[Who, ...] = ("electrician", "service")
    found: dict[str, Check] = {}
    for may in whose:
        for check in allowed_checks(
            reasoned.knowledge,
            reasoned.station,
            may=may,
            tools=None,
            done=done,
        ):
            found[check.id] = check
    return [found[name] for name in sorted(found)]


def to_bring(reasoned: Reasoned, asked: Sequence[AskedOf]) -> ToBring:
    """Return the tools of the checks on the sheet, and the parts that its remedies may take."""
    knowledge = reasoned.knowledge
    tasks = [task for person in asked for task in person.tasks]
    checks = [knowledge.checks[task.id] for task in tasks if task.kind == "check"]
    remedies = [knowledge.faults[task.id].remedy for task in tasks if task.kind == "remedy"]
    proofs = [remedy.proved_by for remedy in remedies]
    checks += [knowledge.checks[proof] for proof in proofs if proof in knowledge.checks]
    tools = dict.fromkeys(tool for check in checks for tool in check.tools)
    outfits = [knowledge.outfits[tool] for tool in tools]
    return ToBring(
        tools=[outfit.title for outfit in outfits if outfit.kind == "tool"],
        parts=list(dict.fromkeys(part for remedy in remedies for part in remedy.parts)),
    )


def _card_task(card: StopCardState) -> Task:
    return Task(
        kind="make_safe",
        id=card.id,
        title=f"{card.signal_word}: {card.title}",
        why=card.why,
        steps=list(_TO_MAKE_SAFE),
        minutes=0.0,
        waits=False,
    )


def _check_task(reasoned: Reasoned, check: Check, *, waits: bool) -> Task:
    return Task(
        kind="check",
        id=check.id,
        title=check.title,
        why=check.why,
        steps=list(check.steps),
        minutes=price(reasoned.knowledge, check, paid_outfits(reasoned.knowledge, _done(reasoned))),
        hazard=check.hazard,
        good=check.nothing_found.says,
        bad=[row.says for row in check.looks_for],
        waits=waits,
    )


def _done(reasoned: Reasoned) -> set[str]:
    return {finding.check for finding in reasoned.case.findings}


def _remedy_task(reasoned: Reasoned, entry: Fault, *, waits: bool) -> Task:
    chance = chance_in_words(reasoned.ranking.on[entry.id])
    return Task(
        kind="remedy",
        id=entry.id,
        title=f"If it is this, {chance}: {entry.title}",
        why=entry.about,
        steps=list(entry.remedy.steps),
        minutes=entry.remedy.minutes,
        proved_by=proof_title(reasoned.knowledge, entry.remedy.proved_by),
        waits=waits,
    )
