"""What the class fixes, what was told, what follows: the attributes that `when` looks at."""

from __future__ import annotations

from typing import Any

import pytest


def _asks(conclusions: Any) -> set[str]:
    return {fact.word("id") for fact in conclusions.all("Ask")}


def test_the_class_describes_the_wire(judge: Any, station_is: Any) -> None:
    # One look at the spool settles what three questions would ask.
    known = station_is(judge({"wire": {"class": "e71t - 11"}}))
    assert known == {
        "wire_form": "flux_cored",
        "wire_metal": "carbon_steel",
        "work_metal": "carbon_steel",
        "wire_passes": "multi",
        "wire_polarity": "negative",
        "process": "FCAW-S",
        "shielding": "none",
        "gas_group": "none",
    }


def test_the_class_beats_a_told_process_and_the_clash_is_named(judge: Any, station_is: Any) -> None:
    # The spool carries its class in print; "we run MIG here" is habit.
    result = judge({"process": "GMAW", "wire": {"class": "E71T-11"}})
    assert station_is(result)["process"] == "FCAW-S"
    assert station_is(result)["shielding"] == "none"
    (clash,) = result.all("Clash")
    assert (clash["name"], clash["told"], clash["fixed"]) == ("process", "GMAW", "FCAW-S")
    assert any("Read the spool label" in fact.word("text") for fact in result.all("Caution"))


def test_a_told_process_that_agrees_is_no_clash(judge: Any) -> None:
    assert judge({"process": "FCAW-S", "wire": {"class": "E71T-11"}}).all("Clash") == ()


def test_a_class_that_leaves_it_open_takes_what_was_told(judge: Any, station_is: Any) -> None:
    # T-GS does not say whether it wants gas; the process the user named does.
    known = station_is(judge({"process": "FCAW-S", "wire": {"class": "E71T-GS"}}))
    assert (known["process"], known["shielding"], known["wire_polarity"]) == (
        "FCAW-S",
        "none",
        "open",
    )


def test_without_a_class_the_process_tells_form_and_shield(judge: Any, station_is: Any) -> None:
    known = station_is(judge({"process": "FCAW-G"}))
    assert (known["wire_form"], known["shielding"]) == ("flux_cored", "gas")
    assert known["wire_polarity"] == "positive"


def test_without_class_and_process_the_form_tells(judge: Any, station_is: Any) -> None:
    # Solid wire has nothing to shield itself with.
    known = station_is(judge({"wire": {"form": "solid"}}))
    assert (known["process"], known["shielding"]) == ("GMAW", "gas")


def test_flux_cored_alone_tells_neither_process_nor_polarity(judge: Any, station_is: Any) -> None:
    # There are gas-shielded and self-shielded ones, of both polarities.
    known = station_is(judge({"wire": {"form": "flux_cored"}}))
    assert known == {"wire_form": "flux_cored"}


def test_self_shielded_process_alone_does_not_tell_the_polarity(
    judge: Any, station_is: Any
) -> None:
    # T-3, T-4 and T-6 are self-shielded and positive.
    known = station_is(judge({"process": "FCAW-S"}))
    assert "wire_polarity" not in known
    assert known["shielding"] == "none"
    assert known["gas_group"] == "none"


def test_why_no_gas_fault_can_be_to_blame_is_named(judge: Any) -> None:
    result = judge({"process": "FCAW-S"})
    (shield,) = result.all("Is", name="shielding")
    rules = " ".join(result.why(shield).lines())
    assert "no_gas_in_this_process" in rules


def test_an_unknown_class_is_asked_for_and_nothing_is_assumed(judge: Any, station_is: Any) -> None:
    result = judge({"wire": {"class": "XYZ-99"}})
    assert "station.wire.class" in _asks(result)
    assert station_is(result) == {}


@pytest.mark.parametrize(
    ("station", "asked"),
    [
        ({}, {"station.wire.class", "station.process"}),
        ({"process": "GMAW"}, {"station.wire.class", "station.gas.name", "station.polarity"}),
        ({"process": "FCAW-S"}, {"station.wire.class"}),
        ({"wire": {"class": "E71T-11"}}, {"station.polarity"}),
        ({"wire": {"class": "ER70S-6"}}, {"station.polarity", "station.gas.name"}),
        (
            {
                "wire": {"class": "ER70S-6"},
                "gas": {"name": "75/25"},
                "polarity": {"electrode": "positive"},
            },
            set(),
        ),
    ],
)
def test_what_is_asked(judge: Any, station: dict[str, Any], asked: set[str]) -> None:
    assert _asks(judge(station)) == asked


def test_wire_is_taken_to_be_of_the_metal_of_the_work(judge: Any, station_is: Any) -> None:
    known = station_is(judge({"process": "GMAW", "work": {"metal": "aluminium"}}))
    assert known["wire_metal"] == "aluminium"


def test_gun_and_source_tell_about_spool_and_cord(judge: Any, station_is: Any) -> None:
    known = station_is(judge({"gun": {"kind": "spool_gun"}, "source": {"kind": "engine"}}))
    assert (known["wire_supply"], known["extension_cord"]) == ("spool", "no")


def test_phases_and_yes_or_no_become_words(judge: Any, station_is: Any) -> None:
    station = {"source": {"phases": 3, "remote": False, "extension": True}}
    known = station_is(judge(station))
    assert known == {"supply_phases": "three", "remote_control": "no", "extension_cord": "yes"}


def test_aluminium_wire_tells_the_metal_of_the_work(judge: Any, station_is: Any) -> None:
    # Steel rust cannot spoil aluminium, and nobody says "the work is aluminium" with such a wire.
    assert station_is(judge({"wire": {"class": "ER5356"}}))["work_metal"] == "aluminium"
    told = judge({"wire": {"class": "ER4043"}, "work": {"metal": "carbon_steel"}})
    assert station_is(told)["work_metal"] == "carbon_steel"


def test_stainless_wire_does_not_tell_the_metal_of_the_work(judge: Any, station_is: Any) -> None:
    # It is put on carbon steel on purpose, to join the two or to clad.
    assert "work_metal" not in station_is(judge({"wire": {"class": "ER309L"}}))


def test_a_guessed_metal_of_the_work_is_no_evidence_about_the_wire(judge: Any) -> None:
    assert judge({"wire": {"class": "ER5356"}}).all("Shows", node="wire_wrong_class") == ()


@pytest.mark.parametrize("label", ["E71T-1C/-9C", "E71T-1C/9C-J", "E71T-1M/T-9M", "E71T-1/T-9"])
def test_two_designators_on_one_label_need_the_same_set_up(
    judge: Any, station_is: Any, label: str
) -> None:
    # T-1, T-9 and T-12 run alike, and makers print both.
    known = station_is(judge({"wire": {"class": label}}))
    assert (known["process"], known["wire_polarity"]) == ("FCAW-G", "positive")


def test_a_label_for_both_gases_asks_for_neither_alone(judge: Any) -> None:
    (need,) = judge({"wire": {"class": "E71T-1C/1M"}}).all("Needs", what="gas_group")
    assert set(need.word("value").split()) == {"C1", "M2"}


@pytest.mark.parametrize(
    ("label", "polarity"), [("E71T11-AZ-CS3", "negative"), ("E70T4-AZ-CS3", "positive")]
)
def test_self_shielded_wire_in_the_open_classification(
    judge: Any, station_is: Any, label: str, polarity: str
) -> None:
    known = station_is(judge({"wire": {"class": label}}))
    assert (known["shielding"], known["wire_polarity"]) == ("none", polarity)
