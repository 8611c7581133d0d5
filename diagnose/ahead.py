"""Two steps ahead: which of the best few moves leaves the fewest minutes, if one more check may follow it.

One step ahead, a check is worth what it saves when only remedies follow. That misprices two checks that
tell little apart and much together, and a cheap remedy that can as well be tried before asking.
"""

from __future__ import annotations

from collections.abc import Sequence, Set

from diagnose.advice import Adviser, Option

LEADS = 2
"""How many of the best checks are tried as the first step."""
LATER = 4
"""How many of the best checks are tried as the second."""


def first_option(
    adviser: Adviser, ranked: Sequence[Option], least_gain_min: float = 0.0
) -> Option | None:
    """Return the check or question to put first; None where the plan's own first move comes before it.

    `ranked` are those that save more than they cost, best first. One has to be better than the remedy
    by `least_gain_min`. Nothing is put before handing over that would not save its price.
    """
    if not ranked:
        return None
    later = ranked[:LATER]
    minutes = [_minutes_with(adviser, option, later) for option in ranked[:LEADS]]
    best = ranked[minutes.index(min(minutes))]
    fault = adviser.plan.first
    if fault is None:
        return best
    after = 1.0 - adviser.shares[fault]
    remedy = adviser.remedy_min(fault) + after * _least(adviser.without(fault), later)
    return best if min(minutes) + least_gain_min < remedy else None


def _minutes_with(adviser: Adviser, option: Option, later: Sequence[Option]) -> float:
    """Return the expected minutes when this comes first and the best of `later`, or none, after it."""
    others = [other for other in later if other is not option]
    return option.minutes + sum(
        outcome.probability
        * _least(adviser.given(option.probe, outcome.result), others, option.outfits.keys())
        for outcome in option.outcomes
    )


def _least(adviser: Adviser, options: Sequence[Option], paid: Set[str] = frozenset()) -> float:
    """Return the fewest expected minutes of remedies alone, or after one of some checks."""
    plans = [adviser.plan.minutes]
    for option in options if adviser.shares else ():
        minutes = option.minutes - sum(m for name, m in option.outfits.items() if name in paid)
        plans.append(
            adviser.plan.minutes + minutes - adviser.option(option.probe, minutes).saves_min
        )
    return min(plans)
