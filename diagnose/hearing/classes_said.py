"""Wire classes as they stand in talk: 'the E71T-11 pops and spatters'."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from diagnose.facts import plain_class, wire_row
from diagnose.hearing.recognise import RecognisedTold
from knowledge.models import Consumable

WIRE_CLASS = "station.wire.class"
_EDGES = ".,;:!?()\"'"


def classes_said(
    said: Iterable[str], table: Mapping[str, Consumable]
) -> tuple[list[RecognisedTold], list[str]]:
    """Return the wire classes that the words name, and the words without them."""
    found, rest = [], []
    for text in said:
        others = []
        for word in text.split():
            bare = word.strip(_EDGES)
            if _has_letters_and_figures(bare) and wire_row(bare, table):
                found.append(RecognisedTold(bare, WIRE_CLASS, plain_class(bare), 1.0))
            else:
                others.append(word)
        rest.append(" ".join(others))
    return found, rest


def _has_letters_and_figures(word: str) -> bool:
    return any(map(str.isdigit, word)) and any(map(str.isalpha, word))
