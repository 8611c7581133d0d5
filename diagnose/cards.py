"""Stop cards as a reader sees them."""

from __future__ import annotations

from diagnose import diagnosis as out
from knowledge.expert import Conclusions
from knowledge.loader import Knowledge

_RANKS = {"DANGER": 0, "WARNING": 1, "CAUTION": 2, "NOTICE": 3}


def stop_cards(knowledge: Knowledge, conclusions: Conclusions) -> list[out.Card]:
    """Return the stop cards that the rules came to: those not lifted first, the gravest first."""
    states: dict[str, set[str]] = {}
    for fact in conclusions.all("Card"):
        states.setdefault(fact.word("id"), set()).add(fact.word("state"))
    cards = []
    for name, found in states.items():
        entry = knowledge.stop_cards[name]
        state = next(s for s in ("made_safe", "stands", "perhaps") if s in found)
        because = {
            str(support)
            for fact in conclusions.all("Card", id=name)
            for firing in conclusions.firings.get(fact, ())
            for support in firing.facts
        }
        cards.append(
            out.Card(
                id=name,
                title=entry.title,
                signal_word=entry.signal_word,
                state=state,
                why=entry.why,
                do=list(entry.do),
                who=entry.who,
                because=sorted(because),
            )
        )
    return sorted(
        cards, key=lambda card: (card.state == "made_safe", _RANKS[card.signal_word], card.id)
    )
