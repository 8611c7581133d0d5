"""Polarity: need against station, weighed by how well it is known."""

from __future__ import annotations

from typing import Any

import pytest

WRONG_POSITIVE = "electrode_positive_wants_negative"
WRONG_NEGATIVE = "electrode_negative_wants_positive"


def _station(wire: str, electrode: str | None, known: str = "looked") -> dict[str, Any]:
    station: dict[str, Any] = {"wire": {"class": wire}}
    if electrode:
        station["polarity"] = {"electrode": electrode, "known": known}
    return station


@pytest.mark.parametrize(
    ("electrode", "known", "on", "off", "wrong"),
    [
        ("positive", "looked", 0.98, 0.02, True),
        ("positive", "told", 0.90, 0.10, True),
        ("negative", "looked", 0.02, 0.98, False),
        ("negative", "told", 0.10, 0.90, False),
    ],
)
def test_a_look_weighs_more_than_a_word(
    *,
    judge: Any,
    shown: Any,
    established: Any,
    electrode: str,
    known: str,
    on: float,
    off: float,
    wrong: bool,
) -> None:
    # A polarity somebody looked at is wrong in 2 of 100, one that was told in 10 of 100.
    result = judge(_station("E71T-11", electrode, known))
    assert shown(result)[WRONG_POSITIVE] == (pytest.approx(on), pytest.approx(off))
    assert (WRONG_POSITIVE in established(result)) is wrong


def test_a_mismatch_is_explained_from_the_class_down(judge: Any) -> None:
    # Class -> need -> what the station has -> mismatch -> evidence: what a trainee should follow.
    result = judge(_station("E71T-11", "positive"))
    (evidence,) = result.all("Shows", node=WRONG_POSITIVE)
    rules = [line.strip().split(":")[0] for line in result.why(evidence).lines()]
    chain = [
        "wrong_polarity_was_traced",
        "polarity_is_not_what_the_wire_needs",
        "class_asks_for_polarity",
    ]
    assert [rule for rule in rules if rule in chain] == chain


@pytest.mark.parametrize("wire", ["E70T-3", "E70T-4", "E70T-6"])
def test_self_shielded_positive_classes_are_not_blamed_on_positive(
    judge: Any, shown: Any, established: Any, station_is: Any, wire: str
) -> None:
    # Self-shielded does not mean electrode negative.
    result = judge(_station(wire, "positive"))
    assert WRONG_POSITIVE not in shown(result)
    assert shown(result)[WRONG_NEGATIVE] == (pytest.approx(0.02), pytest.approx(0.98))
    assert established(result) == set()
    assert station_is(result)["shielding"] == "none"
    assert WRONG_NEGATIVE in established(judge(_station(wire, "negative")))


@pytest.mark.parametrize("wire", ["E71T-GS", "E71T-G", "E81C-G"])
def test_an_open_class_is_asked_about_and_nothing_is_assumed(
    judge: Any, shown: Any, wire: str
) -> None:
    # G means: as agreed between maker and buyer. Only the label can tell.
    result = judge(_station(wire, None))
    assert "station.polarity" in {fact.word("id") for fact in result.all("Ask")}
    assert not {WRONG_POSITIVE, WRONG_NEGATIVE} & set(shown(result))
    assert any("leaves the polarity open" in fact.word("text") for fact in result.all("Caution"))


def test_a_gs_wire_on_positive_is_a_hint_and_no_more(
    judge: Any, shown: Any, established: Any
) -> None:
    # Most of it is sold self-shielded for negative, but the class does not say so.
    result = judge(_station("E71T-GS", "positive"))
    on, off = shown(result)["polarity_not_as_maker_says"]
    assert 1.0 < on / off < 3.0
    assert established(result) == set()


def test_a_gs_wire_on_negative_is_as_mostly_sold(judge: Any, shown: Any) -> None:
    on, off = shown(judge(_station("E71T-GS", "negative")))["polarity_not_as_maker_says"]
    assert on / off < 0.5


@pytest.mark.parametrize("wire", ["ER70S-G", "E70C-GS"])
def test_a_g_on_wire_without_flux_is_no_reason_to_doubt_positive(
    judge: Any, established: Any, wire: str
) -> None:
    # Nobody swaps a solid wire off positive because of a G; on negative it is the first suspect.
    def weight(electrode: str | None) -> float:
        product = 1.0
        for fact in judge(_station(wire, electrode)).all(
            "Shows", node="polarity_not_as_maker_says"
        ):
            product *= float(fact["on"]) / float(fact["off"])
        return product

    assert weight("positive") < 0.05
    assert weight(None) < 0.5
    assert weight("negative") > 5.0
    assert established(judge(_station(wire, "negative"))) == set()


def test_either_way_is_never_a_mismatch(judge: Any, shown: Any) -> None:
    # The all-position T-5 runs on both.
    for electrode in ("positive", "negative"):
        result = judge(_station("E71T-5C", electrode))
        assert not {WRONG_POSITIVE, WRONG_NEGATIVE} & set(shown(result))
        assert result.all("Mismatch", what="polarity") == ()


def test_solid_wire_on_negative_without_a_class(judge: Any, established: Any) -> None:
    station = {"process": "GMAW", "polarity": {"electrode": "negative", "known": "looked"}}
    assert established(judge(station)) == {WRONG_NEGATIVE}
