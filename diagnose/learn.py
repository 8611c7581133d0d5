"""Closed cases shift the shop's own prevalence: Dirichlet pseudo-counts on the shipped table."""

from __future__ import annotations

from collections.abc import Mapping

SHIPPED_WEIGHS_AS_CASES = 500.0
"""The shipped table counts as this many closed cases (judgement): two or three to a fault, so that one
odd case does not reach past what leads, and a season of one fault does."""


def learned_prevalence(
    shipped: Mapping[str, float],
    closed: Mapping[str, float],
    weight: float = SHIPPED_WEIGHS_AS_CASES,
) -> dict[str, float]:
    """Return fault -> complaints of 1,000 as this shop's closed cases shift the shipped figures.

    Parameters
    ----------
    shipped : fault -> complaints of 1,000, as shipped
    closed : fault -> cases closed and proved with that fault, parts of a case allowed; faults not in
        `shipped` count for nothing
    weight : what the shipped table weighs, in cases, > 0

    Raises
    ------
    ValueError : a count below zero, or `weight` not above zero

    Source
    ------
    Mean of a Dirichlet distribution: (a_i + c_i) / (A + N), with a_i the shipped shares times `weight`.
    The sum of all figures stays what it was.

    >>> learned = learned_prevalence({"a": 10.0, "b": 90.0}, {"a": 30}, weight=70.0)
    >>> round(learned["a"], 6), round(learned["b"], 6)
    (37.0, 63.0)
    """
    if weight <= 0.0:
        raise ValueError("the weight of the shipped table must be above zero")
    if any(count < 0 for count in closed.values()):
        raise ValueError("a count of closed cases cannot be below zero")
    counted = {fault: closed.get(fault, 0) for fault in shipped}
    total, cases = sum(shipped.values()), sum(counted.values())
    return {
        fault: total * (weight * shipped[fault] / total + counted[fault]) / (weight + cases)
        for fault in shipped
    }
