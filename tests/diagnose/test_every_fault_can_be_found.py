"""Every fault can be found from what it shows.

Each fault gets the three symptoms that tell most about it, its usual start, the kind of station it needs,
and no checks; it has to stand in the top three. The faults that cannot be told apart without a check are
listed by name with the check that does it, and the result of that check has to bring them there.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any

import networkx as nx
import pytest

from diagnose.case import Case, Finding
from diagnose.graph import Cut, cause_graph
from diagnose.rank import prior_odds
from diagnose.reason import Reasoned, reason
from diagnose.walk import chance
from knowledge.loader import load
from knowledge.models import Fault

OFTEN = 0.30
"""Chance from which on a symptom is expected of a fault."""
USUAL = 0.15
"""Chance from which on a kind of start is usual for a fault."""

STATION_WITH: Mapping[tuple[str, str], dict[str, Any]] = {
    ("shielding", "gas"): {"process": "GMAW"},
    ("wire_polarity", "positive"): {"wire": {"class": "ER70S-6"}},
    ("wire_polarity", "negative"): {"wire": {"class": "E71T-11"}},
    ("wire_polarity", "open"): {"wire": {"class": "E71T-GS"}},
    ("wire_passes", "single"): {"wire": {"class": "E71T-14"}},
    ("wire_metal", "aluminium"): {"wire": {"class": "ER4043"}},
    ("gas_group", "co2"): {"gas": {"name": "CO2"}},
    ("supply_phases", "three"): {"source": {"phases": 3}},
    ("extension_cord", "yes"): {"source": {"extension": True}},
    ("extraction_gun", "yes"): {"gun": {"extraction": True}},
}
"""What a case says of a station where the attribute has that value; others have a path of their own."""

NEEDS_A_CHECK: Mapping[str, tuple[str, str]] = {
    # the arc does not say which of the leads has the broken strands; the warm spot does
    "electrode_lead_strands_broken": ("feel_lead_along_its_length", "one_spot_on_electrode_lead"),
    # nor which plug or lug is loose
    "electrode_lug_loose": ("tug_each_lug", "electrode_lug_moves"),
    # drags like the liner that it fills
    "inlet_wiper_dirty": ("look_at_wire_path", "wiper_dirty"),
    # a label tells; the ball floats just as well on the wrong scale
    "meter_wrong_scale": ("look_at_meter_scale", "other_gas_or_pressure"),
    # warm and loose like any plug; only the hand that turns it feels the size
    "plug_size_mismatch": ("push_and_turn_plugs", "wrong_size"),
    # a tall bead as from other ways to hold the gun; only watching the hand tells
    "push_drag_wrong": ("watch_hand_and_stickout", "wrong_direction"),
    # pores as from a long stick-out or a tilted gun
    "nozzle_too_far": ("other_stickout_side_by_side", "shorter_is_better"),
}
"""Fault that cannot be told apart by what the welder sees -> the check that does it, and its result."""


def station_for(fault: Fault) -> dict[str, Any]:
    """Return the least a case says of a station on which the fault can be."""
    station: dict[str, Any] = {}
    for attribute, wanted in fault.when.items():
        value = wanted if isinstance(wanted, str) else wanted[0]
        parts = STATION_WITH.get((attribute, value)) or _by_path(attribute, value)
        for part, told in parts.items():
            if isinstance(told, dict):
                station.setdefault(part, {}).update(told)
            else:
                station[part] = told
    return station


def _by_path(attribute: str, value: str) -> dict[str, Any]:
    path = load().attributes[attribute].path
    assert path, f"say in STATION_WITH what a station with {attribute} {value} looks like"
    told: Any = value
    for part in reversed(path.split(".")[1:]):
        told = {part: told}
    assert isinstance(told, dict)
    return told


@lru_cache(maxsize=64)
def _cut_for(case_json: str) -> tuple[Cut, dict[str, float]]:
    reasoned = reason(Case.model_validate_json(case_json), load())
    return reasoned.cut, dict(reasoned.ranker.per_thousand)


@lru_cache(maxsize=64)
def symptom_chances(case_json: str) -> dict[str, dict[str, float]]:
    """Return symptom -> fault -> P(symptom | that fault alone) on one station."""
    left, _ = _cut_for(case_json)
    faults = [n for n, about in left.graph.nodes(data=True) if about["kind"] == "fault"]
    return {
        node: chance(left.graph, node, faults)
        for node, about in left.graph.nodes(data=True)
        if about["kind"] == "symptom"
    }


def telling_symptoms(fault: str, station: dict[str, Any]) -> list[str]:
    """Return the three symptoms with the largest P(s | fault) / P(s), of those it often shows.

    A symptom that cannot be reported together with one already chosen is passed over.
    """
    case_json = Case.model_validate({"station": station}).model_dump_json(by_alias=True)
    _, per_thousand = _cut_for(case_json)
    lifts = []
    for symptom, by_fault in symptom_chances(case_json).items():
        odds = {one: prior_odds(per_thousand[one]) for one in by_fault}
        base = sum(odds[one] * by_fault[one] for one in by_fault) / sum(odds.values())
        if by_fault[fault] >= OFTEN:
            lifts.append((-by_fault[fault] / base, symptom))
    chosen: list[str] = []
    for _, symptom in sorted(lifts):
        if len(chosen) < 3 and not any(_contradict(symptom, other) for other in chosen):
            chosen.append(symptom)
    return chosen


def _contradict(one: str, other: str) -> bool:
    first, second = load().symptoms[one], load().symptoms[other]
    return bool(
        set(first.presupposes) & set(second.means_no)
        or set(second.presupposes) & set(first.means_no)
    )


def usual_start(fault: Fault) -> dict[str, Any]:
    """Return, for each facet, the kind of start that is usual for the fault and says most about it."""
    start: dict[str, Any] = {}
    for facet in ("change", "pattern", "only"):
        named: dict[str, float] = getattr(fault.starts, facet)
        usual = {kind: p / load().starts[kind].base for kind, p in named.items() if p >= USUAL}
        usual = {kind: lift for kind, lift in usual.items() if lift > 1.0}
        if usual:
            kind = max(sorted(usual), key=usual.__getitem__)
            start[facet] = [kind] if facet == "change" else kind
    return start


@lru_cache(maxsize=512)
def case_of(fault: str) -> Case:
    """Return the case a welder would bring who has this fault: no check done."""
    entry = load().faults[fault]
    station = station_for(entry)
    return Case.model_validate(
        {
            "symptoms": [{"id": s, "seen": "yes"} for s in telling_symptoms(fault, station)],
            "started": usual_start(entry),
            "station": station,
        }
    )


def place_of(fault: str, *findings: tuple[str, str]) -> int:
    """Return the place of a fault in the ranking of its own case, the first being 1."""
    found = tuple(Finding(check=check, result=result) for check, result in findings)
    reasoned: Reasoned = reason(case_of(fault).model_copy(update={"findings": found}), load())
    return reasoned.ranking.order().index(fault) + 1


CIRCUMSTANCES = {"wet_place", "cylinder_damaged", "smouldering", "gas_in_confined_space"}
"""Dangers that are told and raise a stop card, and that no fault of the station brings about."""


@pytest.mark.parametrize("symptom", sorted(set(load().symptoms) - CIRCUMSTANCES))
def test_every_symptom_can_come_about_in_three_ways(symptom: str) -> None:
    graph = cause_graph(load())
    ways = [n for n in nx.ancestors(graph, symptom) if graph.nodes[n]["kind"] == "fault"]
    assert len(ways) >= 3, ways


@pytest.mark.parametrize("fault", sorted(load().faults))
def test_every_fault_shows_something(fault: str) -> None:
    assert case_of(fault).symptoms, "no symptom is seen with it in three of ten cases"


@pytest.mark.parametrize("fault", sorted(set(load().faults) - set(NEEDS_A_CHECK)))
def test_fault_is_found_from_what_it_shows(fault: str) -> None:
    case = case_of(fault)
    shown = [symptom.id for symptom in case.symptoms]
    assert place_of(fault) <= 3, f"{shown}, {case.started}, {case.station}"


@pytest.mark.parametrize("fault", sorted(NEEDS_A_CHECK))
def test_fault_that_looks_like_others_is_found_by_its_check(fault: str) -> None:
    assert place_of(fault) > 3, "it is found without the check: take it off the list"
    assert place_of(fault, NEEDS_A_CHECK[fault]) <= 3
