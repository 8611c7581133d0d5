"""What a sum gives back: the value, what it was held against, and how sure it is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from diagnose.reckon.quantity import not_negative
from knowledge.models import Basis

Verdict = Literal["good", "suspect", "bad", "no_limit"]
SHOP = "shop_practice"
"""Source id of figures that are trade practice or our own judgement; `basis` tells which."""


@dataclass(frozen=True, slots=True)
class Limit:
    """A figure a value is held against. `source` is an id of the knowledge's sources."""

    name: str
    value: float
    unit: str
    source: str
    basis: Basis
    where: str = ""


@dataclass(frozen=True, slots=True)
class HowSure:
    """How far to trust a value: in words, and as a relative uncertainty (0.1 is 10 %)."""

    text: str
    relative: float


@dataclass(frozen=True, slots=True)
class Result:
    """One reckoned quantity. `value` is None where no honest number exists; `says` tells why.

    `working` is for teaching: each step is formula = numbers put in = outcome.
    """

    quantity: str
    value: float | None
    unit: str
    says: str
    verdict: Verdict
    how_sure: HowSure
    limits: tuple[Limit, ...] = ()
    working: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


def held_at_most(value: float, good: float, bad: float, relative: float) -> Verdict:
    """Judge a value that should be small; past `bad` convicts only beyond the uncertainty.

    Raises
    ------
    QuantityError : `relative` is negative

    >>> [held_at_most(v, good=0.3, bad=1.0, relative=0.05) for v in (0.3, 0.31, 1.02, 1.1)]
    ['good', 'suspect', 'suspect', 'bad']
    """
    if value <= good:
        return "good"
    return "bad" if value * (1.0 - not_negative(relative, "relative")) > bad else "suspect"


def held_at_least(value: float, good: float, bad: float, relative: float) -> Verdict:
    """Judge a value that should be large; under `bad` convicts only beyond the uncertainty.

    Raises
    ------
    QuantityError : `relative` is negative

    >>> [held_at_least(v, good=9.0, bad=5.0, relative=0.1) for v in (9.0, 7.0, 4.8, 4.0)]
    ['good', 'suspect', 'suspect', 'bad']
    """
    if value >= good:
        return "good"
    return "bad" if value * (1.0 + not_negative(relative, "relative")) < bad else "suspect"
