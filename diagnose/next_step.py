"""The next check and the cheapest first move, with why now."""

from __future__ import annotations

from collections.abc import Sequence, Set

from diagnose import diagnosis as out
from diagnose.advice import (
    ANY_HAZARD,
    MAY,
    Adviser,
    Option,
    Prices,
    allowed_checks,
    paid_outfits,
    unpaid_outfits,
)
from diagnose.ahead import first_option
from diagnose.case import Case
from diagnose.graph import upstream
from diagnose.reason import Reasoned
from diagnose.seen_wrong import WHY as SEEN_WRONG
from diagnose.seen_wrong import seen_wrong
from knowledge.loader import Knowledge
from knowledge.models import Hazard, Who

LONG_SHOT = 0.1
"""Nobody starts on a fault below this probability while one that is another's job is likelier than not."""


def adviser_for(reasoned: Reasoned, payable: Prices | None = None) -> Adviser:
    """Return what prices the next steps: it looks at the faults that explain what was noticed.

    `payable` are the prices of the remedies, this user's where not given.
    """
    ranking = reasoned.ranking
    if reasoned.seen_yes:
        ranking = ranking.of_what_explains(upstream(reasoned.cut.graph, reasoned.seen_yes))
    if payable is None:
        payable = prices(reasoned.knowledge, reasoned.case)
    return Adviser(reasoned.cut.graph, reasoned.evidence, ranking, payable)


def prices(knowledge: Knowledge, case: Case) -> Prices:
    """Return what the remedies cost this user; what failed already is not offered again."""
    allowed = MAY[case.user.may]
    tried = {item.fault for item in case.remedied if not item.cured}
    return Prices(
        {
            name: fault.remedy.minutes
            for name, fault in knowledge.faults.items()
            if fault.remedy.who in allowed and name not in tried
        }
    )


def check_options(
    reasoned: Reasoned, adviser: Adviser, hazards: Set[Hazard] = ANY_HAZARD
) -> list[Option]:
    """Return the checks worth their price, best first, then by id."""
    case, knowledge = reasoned.case, reasoned.knowledge
    done = {finding.check for finding in case.findings}
    tools = None if case.user.tools is None else frozenset(case.user.tools)
    paid = paid_outfits(knowledge, done)
    options = [
        adviser.check(check, unpaid_outfits(knowledge, check, paid))
        for check in allowed_checks(
            knowledge,
            reasoned.station,
            may=case.user.may,
            tools=tools,
            done=done,
            hazards=hazards,
        )
    ]
    worth = [option for option in options if option.saves_min > 1e-6]
    return sorted(worth, key=lambda option: (-option.rate, option.id))


def first_check(
    adviser: Adviser, options: Sequence[Option], cards: Sequence[out.Card]
) -> Option | None:
    """Return the check to do now; None where the first remedy, or handing over, comes before any."""
    worth = [option for option in options if option.rate > 1.0]
    if any(card.state != "made_safe" for card in cards):
        return worth[0] if worth else None
    return first_option(adviser, worth)


def next_check(reasoned: Reasoned, option: Option) -> out.NextCheck:
    """Return a check in words, with what each result would do."""
    knowledge = reasoned.knowledge
    check = knowledge.checks[option.id]
    says = {result.result: result.says for result in check.looks_for}
    says[check.nothing_found.result] = check.nothing_found.says
    outfits = [knowledge.outfits[tool].title for tool in check.tools]
    return out.NextCheck(
        id=check.id,
        title=check.title,
        steps=list(check.steps),
        minutes=option.minutes,
        hazard=check.hazard,
        who=check.who,
        tools=outfits,
        results=[
            out.ResultWeight(
                result=outcome.result,
                says=says[outcome.result],
                probability=outcome.probability,
                then_leads=outcome.leads,
                then_probability=outcome.leads_probability,
            )
            for outcome in option.outcomes
        ],
        saves_min=option.saves_min,
        why=f"{check.why} {_worth(option)}",
    )


def next_step(
    reasoned: Reasoned, adviser: Adviser, best: Option | None, cards: Sequence[out.Card]
) -> out.NextStep | None:
    """Return the cheapest first move, or None where there is nothing to go on.

    `best` is the check to do now, where a check comes first (`first_check`).
    """
    knowledge = reasoned.knowledge
    standing = [card for card in cards if card.state != "made_safe"]
    if standing:
        card = standing[0]
        return out.NextStep(
            kind="stop", id=card.id, title=card.title, who=card.who, minutes=0.0, why=card.why
        )
    if not reasoned.evidence and not reasoned.starts:
        return None
    if plain := seen_wrong(reasoned):
        return _remedy(knowledge, plain[0], SEEN_WRONG)
    if best:
        check = knowledge.checks[best.id]
        return out.NextStep(
            kind="check",
            id=check.id,
            title=check.title,
            who=check.who,
            minutes=best.minutes,
            why="It saves more minutes than it costs, more than any other move.",
        )
    if adviser.plan.first is None or _long_shot(reasoned, adviser.plan.first):
        return out.NextStep(
            kind="hand_over",
            id="hand_over",
            title="Hand over with what was found",
            who=_whose(reasoned),
            minutes=prices(knowledge, reasoned.case).hand_over_min,
            why="What is left to do here costs more than it can save, or is not yours to do.",
        )
    why = "Putting it right costs no more than checking further."
    return _remedy(knowledge, adviser.plan.first, why)


def _remedy(knowledge: Knowledge, fault: str, why: str) -> out.NextStep:
    entry = knowledge.faults[fault]
    return out.NextStep(
        kind="remedy",
        id=entry.id,
        title=entry.title,
        who=entry.remedy.who,
        minutes=entry.remedy.minutes,
        why=why,
    )


def _whose(reasoned: Reasoned) -> Who:
    """Return who the likeliest fault that is not this user's belongs to; service where none stands out."""
    for fault in reasoned.ranking.order()[:5]:
        who = reasoned.knowledge.faults[fault].remedy.who
        if who not in MAY[reasoned.case.user.may]:
            return who
    return "service"


def _long_shot(reasoned: Reasoned, fault: str) -> bool:
    """Return whether a remedy is a long shot beside a likely fault that is not this user's to mend."""
    leader = reasoned.ranking.order()[0]
    theirs = reasoned.knowledge.faults[leader].remedy.who not in MAY[reasoned.case.user.may]
    on = reasoned.ranking.on
    return theirs and on[leader] > 0.5 and on[fault] < LONG_SHOT


def _worth(option: Option) -> str:
    return f"It is expected to save {option.saves_min:.0f} min for {option.minutes:.1f} min spent."
