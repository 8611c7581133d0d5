"""The nearest known id to a mistyped one."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches


def nearest(name: str, known: Iterable[str]) -> str:
    """Return the known id closest to `name`, or an empty string when none is close.

    >>> nearest("porosty", ["porosity", "spatter"])
    'porosity'
    """
    close = get_close_matches(name, sorted(known), n=1, cutoff=0.6)
    return close[0] if close else ""
