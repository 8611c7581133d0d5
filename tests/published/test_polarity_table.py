"""Polarity, shield and passes of carbon-steel flux-cored wire by usability designator.

Source: AWS A5.20 usability designators as restated by a trade textbook, its table 23-2 (seen; the
standard itself was not), with the gas letter by the same table. The designators stand here as the
source has them, not as our table has them.
"""

from __future__ import annotations

from typing import Any

import pytest

from diagnose.case import Case
from diagnose.facts import case_facts
from knowledge.conclusions import Conclusions
from knowledge.expert import think
from knowledge.loader import load

# class, shield, polarity, passes
TABLE = [
    ("E70T-1C", "gas", "positive", "multi"),
    ("E71T-1C", "gas", "positive", "multi"),
    ("E71T-1", "gas", "positive", "multi"),
    ("E71T-1M", "gas", "positive", "multi"),
    ("E70T-2", "gas", "positive", "single"),
    ("E70T-2M", "gas", "positive", "single"),
    ("E70T-3", "none", "positive", "single"),
    ("E70T-4", "none", "positive", "multi"),
    ("E70T-5", "gas", "positive", "multi"),
    ("E70T-5M", "gas", "positive", "multi"),
    ("E71T-5", "gas", "either", "multi"),
    ("E71T-5M", "gas", "either", "multi"),
    ("E70T-6", "none", "positive", "multi"),
    ("E70T-7", "none", "negative", "multi"),
    ("E71T-8", "none", "negative", "multi"),
    ("E71T-9", "gas", "positive", "multi"),
    ("E71T-9M", "gas", "positive", "multi"),
    ("E70T-10", "none", "negative", "single"),
    ("E71T-11", "none", "negative", "multi"),
    ("E71T-12", "gas", "positive", "multi"),
    ("E71T-12M", "gas", "positive", "multi"),
    ("E71T-13", "none", "negative", "single"),
    ("E71T-14", "none", "negative", "single"),
    ("E71T-G", None, "open", "multi"),
    ("E71T-GS", None, "open", "single"),
]
FAULT = {
    "positive": "electrode_negative_wants_positive",
    "negative": "electrode_positive_wants_negative",
}


def _judge(wire: str, electrode: str | None = None) -> Conclusions:
    station: dict[str, Any] = {"wire": {"class": wire}}
    if electrode:
        station["polarity"] = {"electrode": electrode, "known": "looked"}
    return think(case_facts(Case.model_validate({"station": station}), load()))


def _is(conclusions: Conclusions, name: str) -> str | None:
    values = [fact.word("value") for fact in conclusions.all("Is", name=name)]
    assert len(values) <= 1
    return values[0] if values else None


@pytest.mark.parametrize(("wire", "shield", "polarity", "passes"), TABLE)
def test_the_rules_say_what_the_table_says(
    wire: str, shield: str | None, polarity: str, passes: str
) -> None:
    result = _judge(wire)
    assert _is(result, "shielding") == shield
    assert _is(result, "wire_polarity") == polarity
    assert _is(result, "wire_passes") == passes


@pytest.mark.parametrize("electrode", ["positive", "negative"])
@pytest.mark.parametrize(("wire", "shield", "polarity", "passes"), TABLE)
def test_only_the_polarity_that_the_table_forbids_is_blamed(
    wire: str, shield: str | None, polarity: str, passes: str, electrode: str
) -> None:
    blamed = {fact.word("fault") for fact in _judge(wire, electrode).all("Established")}
    forbidden = polarity in FAULT and polarity != electrode
    assert blamed == ({FAULT[polarity]} if forbidden else set())


@pytest.mark.parametrize(("wire", "shield", "polarity", "passes"), TABLE)
def test_polarity_is_asked_for_unless_either_way_is_right(
    wire: str, shield: str | None, polarity: str, passes: str
) -> None:
    asked = {fact.word("id") for fact in _judge(wire).all("Ask")}
    assert ("station.polarity" in asked) is (polarity != "either")


def test_the_sets_that_catch_people() -> None:
    def which(shield: str | None, polarity: str) -> set[str]:
        return {
            row[0].split("T-")[1].rstrip("CM") for row in TABLE if row[1:3] == (shield, polarity)
        }

    assert which("none", "positive") == {"3", "4", "6"}
    assert which("none", "negative") == {"7", "8", "10", "11", "13", "14"}
    assert which(None, "open") == {"G", "GS"}
    assert {row[0].split("T-")[1].rstrip("CM") for row in TABLE if row[3] == "single"} == {
        *("2", "3", "10", "13", "14", "GS")
    }
