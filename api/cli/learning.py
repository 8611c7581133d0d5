"""The shop's figures for a command: read from its casebook, or said why not."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from knowledge.loader import Knowledge


def learned_or_say(known: Knowledge, *, off: bool) -> Mapping[str, float] | None:
    """Return fault -> complaints of 1,000 as the shop's closed cases shift them, None for the shipped.

    A casebook that cannot be read is no reason not to answer: it is said on stderr.
    """
    from api.learned import from_casebook

    found = from_casebook(known, off=off)
    if found.trouble:
        from api.cli.emit import say

        say(f"note: the shop's own figures are left out: {found.trouble}")
    return found.prevalence
