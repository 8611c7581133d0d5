"""For every two faults with a main symptom in common something tells them apart."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from itertools import combinations

import pytest

from diagnose.graph import cut
from diagnose.look_alikes import MAIN, Separator, Signs, not_told_apart
from knowledge.loader import load

NOT_TOLD_APART: dict[tuple[str, str], str] = {}
"""Pairs that nothing we know tells apart, each with the reason why that is so."""


@pytest.fixture(scope="module")
def signs() -> Signs:
    return Signs(load(), cut(load(), {}))


def test_the_pairs_that_nothing_tells_apart_are_those_named(signs: Signs) -> None:
    assert not_told_apart(signs) == sorted(NOT_TOLD_APART)


def test_there_are_many_pairs_to_tell_apart(signs: Signs) -> None:
    shared = [
        pair
        for pair in combinations(signs.faults, 2)
        if any(all(row[fault] >= MAIN for fault in pair) for row in signs.symptoms.values())
    ]
    assert len(shared) > 500


def test_taking_the_checks_away_leaves_pairs_that_nothing_tells_apart() -> None:
    bare = replace(load(), checks={})
    pairs = not_told_apart(Signs(bare, cut(bare, {})))
    assert pairs
    assert all(one < two for one, two in pairs)


def test_the_results_of_a_check_sum_to_one_for_each_fault(signs: Signs) -> None:
    sums: dict[tuple[str, str], float] = defaultdict(float)
    for name, by_fault in signs.results.items():
        for fault, chance in by_fault.items():
            sums[name.split(":")[0], fault] += chance
    assert sums
    assert all(total == pytest.approx(1.0, abs=1e-12) for total in sums.values())


def test_the_first_that_is_there_is_the_result(signs: Signs) -> None:
    """A braid that is broken is found by the look that reaches it, at the chance the entry states."""
    check = load().checks["look_at_work_clamp"]
    before = 1.0
    for looked in check.looks_for:
        if looked.result == "braid_broken":
            own = 1.0 - (1.0 - looked.mistaken) * (1.0 - looked.shows["clamp_braid_broken"])
            expected = before * own
            break
        assert "clamp_braid_broken" not in looked.shows
        before *= 1.0 - looked.mistaken
    found = signs.results["look_at_work_clamp:braid_broken"]["clamp_braid_broken"]
    assert found == pytest.approx(expected)


def test_a_separator_is_as_strong_whichever_way_round() -> None:
    one, other = Separator("symptom", "x", 0.8, 0.1), Separator("symptom", "x", 0.1, 0.8)
    assert one.strength == pytest.approx(other.strength)
    assert one.strength > Separator("symptom", "x", 0.8, 0.5).strength > 0.0
    assert Separator("symptom", "x", 0.5, 0.5).strength == 0.0


def test_look_alikes_share_the_main_symptom_and_come_the_most_alike_first(signs: Signs) -> None:
    main = signs.main_symptom("clamp_jaws_loose")
    assert main is not None
    found = signs.look_alikes("clamp_jaws_loose")
    assert [one.likeness for one in found] == sorted((o.likeness for o in found), reverse=True)
    assert all(signs.symptoms[main][one.fault] >= 0.2 for one in found)
    assert all(one.fault != "clamp_jaws_loose" for one in found)


def test_faults_that_cannot_be_on_one_station_are_no_look_alikes(signs: Signs) -> None:
    assert not signs.can_both_be(
        "electrode_positive_wants_negative", "electrode_negative_wants_positive"
    )


def test_a_fault_looks_most_like_itself(signs: Signs) -> None:
    for fault in signs.faults[:20]:
        assert signs.likeness(fault, fault) == pytest.approx(1.0)
