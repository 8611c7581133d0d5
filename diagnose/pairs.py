"""Likelihoods of all pairs of faults, sharing what pairs have in common.

Along the order of the walk a pair differs from one of its faults alone only between the first and the
last step that the other touches directly. Before that the states are those of the one fault's own walk
(kept as it goes); after that what is still to come depends only on the state and on the fault that still
has direct links (kept by state). So a pair costs the steps in which its two faults overlap. The result is
that of `Walk.likelihood`, to rounding.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Mapping, Sequence

from diagnose.walk import Walk

States = dict[int, float]


class PairWalk:
    """One walk's likelihoods for pairs, over that of no fault at all."""

    def __init__(self, walk: Walk, faults: Sequence[str]) -> None:
        self._walk = walk
        self._touch = {fault: walk.direct(fault) for fault in faults}
        self._reach = {fault: walk.reach(fault) for fault in faults}
        self._first = {fault: min(touch, default=walk.end) for fault, touch in self._touch.items()}
        self._last = {fault: max(touch, default=-1) for fault, touch in self._touch.items()}
        self._heads = {fault: self._head(fault) for fault in faults}
        self._tails: dict[str, dict[tuple[int, int], float]] = {fault: {} for fault in faults}
        self._no_fault: dict[tuple[int, int], float] = {}

    def likelihood(self, first: str, second: str) -> float:
        """Return P(evidence | exactly these two), over that of no fault at all."""
        if self._first[first] > self._first[second]:
            first, second = second, first
        start = self._first[second]
        stop = min(self._last[first], self._last[second]) + 1
        states = self._before(first, start)
        if stop > start:
            both = (self._touch[first], self._touch[second])
            reach = self._reach[first] | self._reach[second]
            states = self._walk.advance(states, both, reach & _span(start, stop))
        stop = max(start, stop)
        later = max((first, second), key=lambda fault: (self._last[fault], fault))
        return sum(weight * self._after(later, stop, state) for state, weight in states.items())

    def _head(self, fault: str) -> tuple[list[int], list[States]]:
        """Return the steps the fault alone reaches, and the states after each."""
        places: list[int] = []
        kept: list[States] = [{0: 1.0}]
        reach = self._reach[fault]
        for index in range(self._walk.end):
            if reach >> index & 1:
                kept.append(self._walk.advance(kept[-1], (self._touch[fault],), 1 << index))
                places.append(index)
        return places, kept

    def _before(self, fault: str, index: int) -> States:
        places, kept = self._heads[fault]
        return kept[bisect_left(places, index)]

    def _after(self, fault: str, index: int, state: int) -> float:
        """Return the weight of all steps from `index` on, from one state, with one fault on."""
        if index > self._last[fault]:
            if not state:
                return 1.0
            touch: tuple[Mapping[int, float], ...] = ()
            memo, reach = self._no_fault, 0
        else:
            touch, memo, reach = (self._touch[fault],), self._tails[fault], self._reach[fault]
        if (index, state) in memo:
            return memo[index, state]
        ahead = (reach | self._walk.reach_of_state(state)) & _span(index, self._walk.end)
        value = 1.0
        if ahead:
            step = ahead & -ahead
            after = step.bit_length()
            states = self._walk.advance({state: 1.0}, touch, step)
            value = sum(w * self._after(fault, after, next_) for next_, w in states.items())
        memo[index, state] = value
        return value


def _span(start: int, stop: int) -> int:
    return (1 << stop) - (1 << start)
