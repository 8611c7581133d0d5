"""How it started, as evidence."""

from __future__ import annotations

import pytest

from diagnose.case import Started
from diagnose.starts import SAID_AS_SYMPTOM, start_chance, start_evidence
from knowledge.loader import Knowledge

FACETS = ("change", "pattern", "only")


def bases(knowledge: Knowledge, facet: str) -> dict[str, float]:
    return {name: row.base for name, row in knowledge.starts.items() if row.facet == facet}


@pytest.mark.parametrize("facet", FACETS)
def test_kinds_of_start_have_chances_that_sum_to_one(knowledge: Knowledge, facet: str) -> None:
    of_facet = bases(knowledge, facet)
    assert sum(of_facet.values()) == pytest.approx(1.0, abs=1e-9)
    for name, fault in knowledge.faults.items():
        chances = [start_chance(fault.starts, facet, kind, of_facet) for kind in of_facet]
        assert sum(chances) == pytest.approx(1.0, abs=1e-9), name
        assert min(chances) > 0.0, name


@pytest.mark.parametrize("facet", FACETS)
def test_lift_is_the_chance_over_the_base(knowledge: Knowledge, facet: str) -> None:
    of_facet = bases(knowledge, facet)
    kind = sorted(of_facet)[0]
    told = Started.model_validate({facet: [kind] if facet == "change" else kind})
    (item,) = start_evidence(knowledge, told, {})
    assert item.item == f"started.{facet}:{kind}"
    for name, fault in knowledge.faults.items():
        wanted = start_chance(fault.starts, facet, kind, of_facet) / of_facet[kind]
        assert item.lift[name] == pytest.approx(wanted)


def test_lifts_of_a_fault_average_to_one_over_the_kinds(knowledge: Knowledge) -> None:
    of_facet = bases(knowledge, "change")
    means = dict.fromkeys(knowledge.faults, 0.0)
    for kind, base in of_facet.items():
        (item,) = start_evidence(knowledge, Started(change=[kind]), {})
        for name in means:
            means[name] += base * item.lift[name]
    assert means == pytest.approx(dict.fromkeys(means, 1.0), abs=1e-9)


def test_of_several_changes_the_lifts_are_averaged_in_any_order(knowledge: Knowledge) -> None:
    kinds = sorted(bases(knowledge, "change"))[:3]
    alone = [start_evidence(knowledge, Started(change=[kind]), {})[0].lift for kind in kinds]
    (together,) = start_evidence(knowledge, Started(change=kinds), {})
    (turned,) = start_evidence(knowledge, Started(change=kinds[::-1]), {})
    assert turned.item == together.item
    for name in knowledge.faults:
        assert together.lift[name] == pytest.approx(sum(lift[name] for lift in alone) / 3)
        assert turned.lift[name] == pytest.approx(together.lift[name], rel=1e-12)


def test_nothing_told_is_no_evidence(knowledge: Knowledge) -> None:
    assert start_evidence(knowledge, Started(), {}) == []
    assert start_evidence(knowledge, Started(change=["no_such_kind"]), {}) == []


@pytest.mark.parametrize("pattern", sorted(SAID_AS_SYMPTOM))
def test_a_pattern_that_is_also_a_symptom_counts_once(knowledge: Knowledge, pattern: str) -> None:
    assert pattern in knowledge.starts
    symptom = SAID_AS_SYMPTOM[pattern]
    assert symptom in knowledge.symptoms
    told = Started(pattern=pattern)
    assert len(start_evidence(knowledge, told, {})) == 1
    assert start_evidence(knowledge, told, {symptom: "yes"}) == []
