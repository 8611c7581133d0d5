"""What is asked of whom when a session is handed over: titles only, never another person's steps."""

from __future__ import annotations

from collections.abc import Sequence, Set

from diagnose import diagnosis as out
from diagnose.advice import MAY
from diagnose.reason import Reasoned
from knowledge.models import Who

LISTED = 0.03
"""A fault less likely than this is not put on the list (judgement)."""
MOST = 5


class HandOverItem(out.Part):
    """One thing asked of one person. `probability` is that of the fault, None for a stop card."""

    who: Who
    what: str
    about: str
    probability: float | None = None


def hand_over_items(
    reasoned: Reasoned, passed: Set[str], standing: Sequence[out.Card]
) -> list[HandOverItem]:
    """Return what is left for others: stop cards, then the faults this user may or could not put right."""
    items = [HandOverItem(who=card.who, what=card.title, about=card.id) for card in standing]
    on, knowledge = reasoned.ranking.on, reasoned.knowledge
    allowed = MAY[reasoned.case.user.may]
    tried = {item.fault for item in reasoned.case.remedied}
    for fault in reasoned.ranking.order():
        remedy = knowledge.faults[fault].remedy
        if on[fault] < LISTED or len(items) >= MOST + len(standing):
            break
        if fault in tried:
            continue
        mine = remedy.who in allowed and fault not in passed
        if mine and not standing:
            continue
        who: Who = remedy.who
        if fault in passed and who == reasoned.case.user.may:
            who = "maintenance" if who == "operator" else "service"
        title = knowledge.title(fault)
        items.append(HandOverItem(who=who, what=title, about=fault, probability=on[fault]))
    return items


def to_whom(items: Sequence[HandOverItem], may: Who) -> Who:
    """Return the person most is asked of: a stop card's first, else by probability."""
    cards = [item for item in items if item.probability is None]
    if cards:
        return cards[0].who
    weight: dict[Who, float] = {}
    for item in items:
        weight[item.who] = weight.get(item.who, 0.0) + (item.probability or 0.0)
    if weight:
        return max(sorted(weight), key=lambda who: weight[who])
    return "maintenance" if may == "operator" else "service"
