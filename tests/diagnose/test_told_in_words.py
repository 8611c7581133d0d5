"""What the words tell of the set-up and of what was found, beside the symptoms they name."""

from __future__ import annotations

import pytest

from diagnose.case import Case
from diagnose.hearing.listen import listen
from knowledge.loader import load

ATTRIBUTES = [
    (name, answer, phrase)
    for name, entry in load().attributes.items()
    for answer, phrases in entry.phrases.items()
    for phrase in phrases
]
RESULTS = [
    (name, found.result, phrase)
    for name, check in load().checks.items()
    for found in check.results()
    for phrase in found.phrases
]


def told(*said: str) -> set[str]:
    heard = listen(Case(said=list(said)), load())
    return {row.told for row in heard.recognised if row.told}


@pytest.mark.parametrize(("about", "value", "phrase"), [*ATTRIBUTES, *RESULTS])
def test_every_phrase_tells_what_it_stands_for_and_no_symptom(
    about: str, value: str, phrase: str
) -> None:
    heard = listen(Case(said=[phrase]), load())
    assert [row.told for row in heard.recognised] == [f"{about}={value}"]
    assert not heard.unrecognised
    assert not heard.danger


def test_the_case_then_says_so_too() -> None:
    said = ["welding outdoors with gasless wire", "one fuse is cold and the others warm"]
    case = listen(Case(said=said), load()).case
    assert case.station.process == "FCAW-S"
    assert case.station.place is not None
    assert case.station.place.outdoors
    assert [(f.check, f.result) for f in case.findings] == [
        ("fuses_warm_or_cold", "one_cold_two_warm")
    ]


def test_what_the_case_says_outright_stands() -> None:
    case = Case.model_validate(
        {
            "said": ["outdoors", "clamp sits beside the weld"],
            "station": {"place": {"outdoors": False, "wind_m_s": 1.0}},
            "findings": [{"check": "look_at_work_clamp", "result": "good"}],
        }
    )
    assert listen(case, load()).case == case


def test_what_is_said_both_ways_is_not_used_and_said_so() -> None:
    heard = listen(Case(said=["electrode on positive", "electrode on negative"]), load())
    assert heard.case.station.polarity is None
    assert heard.unused == (("electrode_polarity", "said both ways"),)


@pytest.mark.parametrize(
    "said",
    ["porosity, not outdoors", "outside corner weld has pores", "electrode sticks", "output"],
)
def test_nothing_is_told_where_it_is_denied_or_only_alike(said: str) -> None:
    assert told(said) == set()


@pytest.mark.parametrize("said", ["output is always on", "output stays on when I let go"])
def test_an_output_that_stays_on_is_still_a_danger(said: str) -> None:
    heard = listen(Case(said=[said]), load())
    assert heard.answers.get("output_without_trigger") == "yes" or heard.danger["output_live"]


def test_a_start_outdoors_only_is_a_start() -> None:
    heard = listen(Case(said=["porosity only outdoors"]), load())
    assert heard.started.only == "outdoors"
    assert told("porosity only outdoors") == set()


@pytest.mark.parametrize(
    ("said", "class_"),
    [
        ("the E71T-11 pops and spatters", "E71T-11"),
        ("porosity with er70s-6, arc is fine", "ER70S-6"),
        ("we put E70C-6M on it", "E70C-6M"),
    ],
)
def test_a_wire_class_is_heard(said: str, class_: str) -> None:
    heard = listen(Case(said=[said]), load())
    assert f"station.wire.class={class_}" in told(said)
    assert heard.case.station.wire
    assert heard.case.station.wire.class_ == class_


def test_two_wire_classes_are_not_decided_between() -> None:
    heard = listen(Case(said=["E71T-11 or was it E71T-1C"]), load())
    assert heard.case.station.wire is None
    assert ("station.wire.class", "said both ways") in heard.unused


def test_figures_with_letters_are_no_class() -> None:
    assert not told("200A and 19V on bay3, MIG2 does it too, 75/25, 035 wire")


@pytest.mark.parametrize(
    ("said", "wanted"),
    [
        ("runs weak on the long orange extension cord", {"extension_cord=yes"}),
        ("arc is weak on the generator", {"fed_by=generator"}),
        ("spits, clamp's on painted angle", {"look_at_work_clamp=not_on_bright_metal"}),
        ("tip looks like an egg", {"look_at_tip=worn"}),
    ],
)
def test_supply_and_what_was_seen_are_told_in_shop_talk(said: str, wanted: set[str]) -> None:
    assert told(said) == wanted
