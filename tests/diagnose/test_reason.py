"""From case to diagnosis: the same bytes whatever the order, and what says nothing changes nothing."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from functools import cache
from itertools import combinations
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.answer import diagnose
from diagnose.case import Case
from diagnose.reason import Reasoned, finding_evidence, reason, results_of
from knowledge.errors import UnknownId
from knowledge.loader import Knowledge, load

FULL: dict[str, Any] = {
    "said": ["wire feeds but no arc", "clamp too hot to hold", "no porosity", "gibbering quux"],
    "symptoms": [
        {"id": "wire_stubs", "seen": "yes", "by": "tried_it"},
        {"id": "spatter", "seen": "no"},
        {"id": "burns_back", "seen": "not_sure"},
    ],
    "started": {"change": ["hooked_up", "lead_extended"], "pattern": "at_once"},
    "station": {
        "process": "GMAW",
        "wire": {"class": "ER70S-6", "diameter_mm": 0.9},
        "polarity": {"electrode": "negative", "known": "told"},
        "work": {"metal": "carbon_steel", "surface": ["rust", "paint"]},
    },
    "findings": [
        {"check": "look_at_work_clamp", "result": "cannot_do"},
        {"check": "read_cylinder_gauge", "result": "not_sure"},
    ],
    "remedied": [
        {"fault": "work_clamp_off", "cured": False},
        {"fault": "clamp_on_paint", "cured": False},
    ],
    "user": {"may": "maintenance", "tools": ["multimeter", "hand_tools"]},
}


def bytes_of(case: dict[str, Any]) -> str:
    return diagnose(Case.model_validate(case), load()).model_dump_json(by_alias=True)


@cache
def as_given() -> str:
    return bytes_of(FULL)


def answered(case: dict[str, Any]) -> Reasoned:
    return reason(Case.model_validate(case), load())


def test_the_case_used_here_is_not_empty_of_evidence() -> None:
    reasoned = answered(FULL)
    items = {item.item.split(":")[0] for item in reasoned.evidence}
    assert {"symptom", "remedied"} <= items
    assert len(reasoned.starts) == 2
    assert reasoned.ranking.pairs


@settings(deadline=None, max_examples=6)
@given(st.randoms(use_true_random=False))
def test_order_of_what_was_entered_does_not_change_a_byte(random: Any) -> None:
    def shuffled(rows: list[Any]) -> list[Any]:
        rows = list(rows)
        random.shuffle(rows)
        return rows

    other = dict(shuffled(list(FULL.items())))
    for key in ("said", "symptoms", "findings", "remedied"):
        other[key] = shuffled(other[key])
    other["started"] = {**other["started"], "change": shuffled(other["started"]["change"])}
    work = {**other["station"]["work"], "surface": shuffled(["rust", "paint"])}
    other["station"] = {**other["station"], "work": work}
    other["user"] = {**other["user"], "tools": shuffled(other["user"]["tools"])}
    assert bytes_of(other) == as_given()


def test_two_hash_seeds_give_the_same_bytes() -> None:
    code = (
        "import json, sys\n"
        "from diagnose.answer import diagnose\n"
        "from diagnose.case import Case\n"
        "from knowledge.loader import load\n"
        "case = Case.model_validate(json.load(sys.stdin))\n"
        "print(diagnose(case, load()).model_dump_json(by_alias=True))\n"
    )
    runs = [
        subprocess.run(
            [sys.executable, "-c", code],
            input=json.dumps(FULL),
            capture_output=True,
            text=True,
            check=True,
            env={**os.environ, "PYTHONHASHSEED": seed},
            timeout=120,
        ).stdout.strip()
        for seed in ("1", "4242")
    ]
    assert runs[0].startswith('{"knowledge"')
    assert runs[0] == runs[1]


def test_not_sure_and_cannot_do_change_nothing(knowledge: Knowledge) -> None:
    plain = {**FULL, "findings": []}
    plain["symptoms"] = [row for row in FULL["symptoms"] if row["seen"] != "not_sure"]
    unsure = {**plain, "symptoms": [*plain["symptoms"], {"id": "burns_back", "seen": "not_sure"}]}
    unsure["findings"] = [
        {"check": name, "result": result}
        for name, result in zip(
            sorted(knowledge.checks)[:6], ["cannot_do", "not_sure"] * 3, strict=True
        )
    ]
    assert answered(unsure).ranking == answered(plain).ranking


@pytest.mark.parametrize("said", FULL["said"])
def test_saying_it_again_changes_nothing(said: str) -> None:
    again = {**FULL, "said": [*FULL["said"], said]}
    more, once = answered(again), answered(FULL)
    assert more.evidence == once.evidence
    assert more.ranking == once.ranking


def test_words_and_a_tap_for_one_symptom_count_once() -> None:
    said = {"said": ["wire feeds but no arc"], "station": {"process": "GMAW"}}
    heard = answered(said).heard.answers
    taps = [{"id": name, "seen": seen} for name, seen in heard.items()]
    assert answered({**said, "symptoms": taps}).ranking == answered(said).ranking


def test_results_looked_for_before_the_one_found_were_not_there(knowledge: Knowledge) -> None:
    for check in knowledge.checks.values():
        names = results_of(check)
        for number, result in enumerate(names):
            found = finding_evidence(check, result)
            here = [item for item in found if item.on > item.off]
            assert len(found) == min(number + 1, len(check.looks_for))
            assert [item.node for item in here] == (
                [f"{check.id}:{result}"] if result != check.nothing_found.result else []
            )
            assert {item.item for item in found} == {f"finding:{check.id}"}


def test_a_later_finding_of_a_check_takes_the_place_of_an_earlier_one(knowledge: Knowledge) -> None:
    check = knowledge.checks["look_at_work_clamp"]
    first, last = results_of(check)[0], results_of(check)[-1]
    base = {"said": ["wire feeds but no arc"]}
    both = {
        **base,
        "findings": [{"check": check.id, "result": first}, {"check": check.id, "result": last}],
    }
    only = {**base, "findings": [{"check": check.id, "result": last}]}
    assert answered(both).ranking == answered(only).ranking


@pytest.mark.parametrize(
    "entered",
    [
        {"symptoms": [{"id": "porositty", "seen": "yes"}]},
        {"findings": [{"check": "look_at_work_clmp", "result": "good"}]},
        {"findings": [{"check": "look_at_work_clamp", "result": "no_such_result"}]},
        {"remedied": [{"fault": "work_clamp_of", "cured": True}]},
        {"started": {"change": ["new_spol"]}},
        {"user": {"may": "operator", "tools": ["multimetr"]}},
    ],
)
def test_an_id_that_is_not_known_is_refused(entered: dict[str, Any]) -> None:
    with pytest.raises(UnknownId):
        answered(entered)


def test_every_pair_and_every_single_is_a_hypothesis() -> None:
    reasoned = answered({"said": ["porosity"]})
    faults = reasoned.ranker.faults
    excluded = reasoned.ranker.excludes
    wanted = {p for p in combinations(faults, 2) if frozenset(p) not in excluded}
    assert set(reasoned.ranking.singles) == set(faults)
    assert set(reasoned.ranking.pairs) == wanted
    total = (
        sum(reasoned.ranking.singles.values())
        + sum(reasoned.ranking.pairs.values())
        + reasoned.ranking.not_in_list
    )
    assert total == pytest.approx(1.0, abs=1e-12)
