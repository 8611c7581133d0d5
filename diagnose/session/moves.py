"""The guided session: what to put to the user next. Pure: the case and its history in, one step out.

Safety first, then the cheapest way to a working station: checks, questions and remedies stand in one
order by the minutes they save per minute they cost. What does not split the candidates is not asked.
"""

from __future__ import annotations

from collections.abc import Sequence

from diagnose import diagnosis as out
from diagnose.advice import Adviser, Option, Prices, open_hazards
from diagnose.ahead import first_option
from diagnose.answer import cards_of
from diagnose.next_step import adviser_for, check_options, prices
from diagnose.reason import Reasoned
from diagnose.seen_wrong import WHY as SEEN_WRONG
from diagnose.seen_wrong import seen_wrong
from diagnose.session.hand_over import hand_over_items, to_whom
from diagnose.session.history import History
from diagnose.session.questions import band, priced_questions
from diagnose.session.steps import (
    Choice,
    Step,
    check_step,
    hand_over_step,
    proof_step,
    question_step,
    remedy_step,
    stop_step,
    words_step,
)
from knowledge.loader import Knowledge

_HAZARDS = ("", "look", "touch_machine_off", "live_weld_circuit", "covers_off_or_supply")
LISTED = 0.02
"""A fault less likely than this is not worth a line."""
WORTH_ASKING_MIN = 0.5
"""With a likely fault in hand, what gains fewer minutes than this is not worth a question (judgement)."""
CARD_STANDS = "A stop card stands: no live work until it is lifted."
CARD_PERHAPS = "A danger is not ruled out: no live work until somebody qualified has looked."
LIKELY = 0.5
"""From this chance on a fault is a candidate for being put right before more is asked (judgement)."""


class Leader(out.Part):
    """One of the leading faults as the case stands; `id` None is a fault not in our list."""

    id: str | None
    title: str
    probability: float


def leaders(reasoned: Reasoned, most: int = 3) -> list[Leader]:
    """Return the likeliest faults, with "not in our list" in its place among them."""
    on, knowledge = reasoned.ranking.on, reasoned.knowledge
    rows = [
        Leader(id=fault, title=knowledge.title(fault), probability=on[fault])
        for fault in reasoned.ranking.order()[:most]
    ]
    other = reasoned.ranking.not_in_list
    rows.append(Leader(id=None, title="A fault not in our list", probability=other))
    rows.sort(key=lambda row: -row.probability)
    return [row for row in rows[:most] if row.probability >= LISTED]


def next_move(reasoned: Reasoned, history: History) -> Step:
    """Return the next step of the session.

    `reasoned` comes from the case as it stands (`session_history.as_it_stands`).
    """
    if fault := history.cured:
        return Step(kind="cured", id=fault, title=reasoned.knowledge.title(fault))
    standing = _standing(reasoned)
    for card in standing:
        if f"stop_{card.id}" not in history.passed:
            return stop_step(card)
    if not reasoned.evidence and not reasoned.starts:
        return words_step(reasoned)
    if not standing and (fault := history.awaiting_proof):
        return proof_step(reasoned, fault)
    if not standing and (fault := history.not_good_yet):
        return remedy_step(reasoned, fault, "The proof was not good yet: carry it out once more.")
    if not standing and (plain := [f for f in seen_wrong(reasoned) if f not in history.passed]):
        return remedy_step(reasoned, plain[0], SEEN_WRONG)
    return _cheapest(reasoned, history, standing)


def hand_over(
    reasoned: Reasoned, history: History, why: str = "You asked to hand it over."
) -> Step:
    """Return the step that hands the case over, whatever else could be done."""
    items = hand_over_items(reasoned, history.passed, _standing(reasoned))
    return hand_over_step(tuple(items), to_whom(items, reasoned.case.user.may), why)


def _standing(reasoned: Reasoned) -> list[out.Card]:
    return [card for card in cards_of(reasoned) if card.state != "made_safe"]


def _cheapest(reasoned: Reasoned, history: History, standing: Sequence[out.Card]) -> Step:
    payable = Prices({}) if standing else _prices(reasoned, history)
    adviser = adviser_for(reasoned, payable)
    asked: list[tuple[Option, out.Ask | None]] = [
        *priced_questions(reasoned, adviser, history),
        *((check, None) for check in _checks(reasoned, adviser, standing)),
    ]
    asked.sort(key=lambda one: _place(reasoned.knowledge, *one))
    plan, options = adviser.plan, [option for option, _ in asked]
    likely = plan.first is not None and reasoned.ranking.on[plan.first] >= LIKELY
    first = first_option(adviser, options, WORTH_ASKING_MIN if likely else 0.0)
    if first:
        ask = asked[options.index(first)][1]
        return question_step(reasoned, first, ask) if ask else check_step(reasoned, first)
    if plan.first:
        why = "Putting it right costs no more than checking further."
        return remedy_step(reasoned, plan.first, why)
    return _nothing_left(reasoned, history, standing)


def _prices(reasoned: Reasoned, history: History) -> Prices:
    """Return what the remedies cost this user, without those passed over."""
    payable = prices(reasoned.knowledge, reasoned.case).remedy_min
    return Prices({fault: m for fault, m in payable.items() if fault not in history.passed})


def _checks(reasoned: Reasoned, adviser: Adviser, standing: Sequence[out.Card]) -> list[Option]:
    """Return the checks that save more than they cost and that the stop cards leave open."""
    hazards = open_hazards(card.state for card in standing)
    options = check_options(reasoned, adviser, hazards)
    return [option for option in options if option.rate > 1.0]


def _place(
    knowledge: Knowledge, option: Option, ask: out.Ask | None
) -> tuple[float, int, float, str]:
    """Return the key of the one order: most saved per minute; of equals what is done at a glance."""
    hazard = 0 if ask else _HAZARDS.index(knowledge.checks[option.id].hazard)
    return -band(option.rate), hazard, option.minutes, option.id


def _nothing_left(reasoned: Reasoned, history: History, standing: Sequence[out.Card]) -> Step:
    """Return the end without a cure: to the person whose job it is, or honestly not in our list."""
    if standing:
        stands = any(card.state == "stands" for card in standing)
        return hand_over(reasoned, history, CARD_STANDS if stands else CARD_PERHAPS)
    step = hand_over(
        reasoned,
        history,
        "What is left to do here costs more than it can save, or is not yours to do.",
    )
    tried = {item.fault for item in reasoned.case.remedied}
    left = [p for fault, p in reasoned.ranking.on.items() if fault not in tried]
    if reasoned.ranking.not_in_list < max(left, default=0.0):
        return step
    return step.model_copy(
        update={
            "kind": "not_in_our_list",
            "id": "not_in_our_list",
            "title": "The cause is probably not in our list",
            "why": "Nothing that we know of explains this well enough to be worth trying.",
            "choices": (
                *step.choices,
                Choice(key="close", says="Close the case: not in our list"),
            ),
        }
    )
