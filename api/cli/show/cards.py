"""Stop cards: what comes before any fault, signal word first."""

from __future__ import annotations

from collections.abc import Sequence

from api.cli.show.page import Page
from api.wording.figures import WHO
from diagnose.diagnosis import Card


def put_cards(page: Page, cards: Sequence[Card], *, short: bool = False) -> None:
    """Put the cards on the page, those that stand first."""
    for card in cards:
        page.blank()
        page.put(_title(card), mark=card.signal_word, style="strong", mark_style=card.signal_word)
        if short or card.state == "made_safe":
            continue
        page.put(card.why, indent=2)
        for number, step in enumerate(card.do, 1):
            page.put(step, indent=2, mark=f"{number}.")
        page.put(
            f"Only {WHO[card.who]} can lift this card, by what they find "
            f"(--made-safe {card.id}={card.who}).",
            indent=2,
        )


def _title(card: Card) -> str:
    if card.state == "perhaps":
        return f"{card.title}? The words come near it, so treat it as so until you know."
    return f"{card.title} (made safe)" if card.state == "made_safe" else card.title
