"""Ranges: a number is looked at once, at the door of the function that uses it."""

from __future__ import annotations

import math

from knowledge.errors import QuantityError


def finite(value: float, name: str) -> float:
    """Return `value`; `name` (which ends in the unit) goes into the message.

    Raises
    ------
    QuantityError : not a finite number

    >>> finite(2.0, "drop_v")
    2.0
    """
    if not math.isfinite(value):
        raise QuantityError(
            f"{value} is not a finite number", where=name, next_step="Read the instrument again."
        )
    return value


def positive(value: float, name: str) -> float:
    """Return `value`, which must be above zero.

    Raises
    ------
    QuantityError : not finite, or not above zero

    >>> positive(200.0, "current_a")
    200.0
    """
    if finite(value, name) <= 0.0:
        raise QuantityError(
            f"{value:g} must be above zero", where=name, next_step="Check the sign and the unit."
        )
    return value


def not_negative(value: float, name: str) -> float:
    """Return `value`, which must not be below zero.

    Raises
    ------
    QuantityError : not finite, or below zero

    >>> not_negative(0.0, "drop_v")
    0.0
    """
    if finite(value, name) < 0.0:
        raise QuantityError(
            f"{value:g} must not be below zero",
            where=name,
            next_step="Check which probe sat where, then give the size without the sign.",
        )
    return value


def between(value: float, low: float, high: float, name: str) -> float:
    """Return `value`, which must lie from `low` to `high`, both included.

    Raises
    ------
    QuantityError : not finite, or outside

    >>> between(0.6, 0.0, 1.0, "duty")
    0.6
    """
    if not low <= finite(value, name) <= high:
        raise QuantityError(
            f"{value:g} is outside {low:g} to {high:g}", where=name, next_step="Check the unit."
        )
    return value
