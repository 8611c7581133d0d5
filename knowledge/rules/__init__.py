"""The rule base, a module an area. Rules get their turn in the order of the books.

A rule may say NOT only about facts that earlier rules have finished with, so what settles the
station comes first (wire, exclusions) and what lists or lifts comes last (stop_cards).
"""

from __future__ import annotations

from knowledge.rules import (
    consumable,
    exclusions,
    gas,
    place,
    polarity,
    readings,
    settings,
    stop_cards,
    supply,
    wire,
    wire_feed,
    words,
    work_return,
)

BOOKS = (
    wire.BOOK,
    exclusions.BOOK,
    words.BOOK,
    polarity.BOOK,
    gas.BOOK,
    wire_feed.BOOK,
    settings.BOOK,
    work_return.BOOK,
    supply.BOOK,
    consumable.BOOK,
    place.BOOK,
    readings.BOOK,
    stop_cards.BOOK,
)
