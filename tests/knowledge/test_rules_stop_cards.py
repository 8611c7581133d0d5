"""Stop cards: raised early, lifted only by somebody entitled to it."""

from __future__ import annotations

from typing import Any

import pytest

from knowledge.loader import load
from knowledge.rules.stop_cards import may_lift


def _cards(conclusions: Any) -> dict[str, str]:
    cards = conclusions.all("Card")
    assert len({card["id"] for card in cards}) == len(cards), "a card has two states"
    return {card.word("id"): card.word("state") for card in cards}


def _tingle(seen: str = "yes") -> list[dict[str, str]]:
    return [{"id": "tingle", "seen": seen}]


def test_every_card_stands_on_each_of_its_symptoms(judge: Any) -> None:
    for card in load().stop_cards.values():
        for symptom in card.raised_by:
            result = judge(symptoms=[{"id": symptom, "seen": "yes"}])
            assert _cards(result)[card.id] == "stands", (card.id, symptom)


def test_not_sure_of_a_danger_is_perhaps_and_no_is_nothing(judge: Any) -> None:
    assert _cards(judge(symptoms=_tingle("not_sure"))) == {"tingle": "perhaps"}
    assert _cards(judge(symptoms=_tingle("no"))) == {}


def test_danger_words(judge: Any) -> None:
    assert _cards(judge(danger=(("tingle", "yes"),))) == {"tingle": "stands"}
    assert _cards(judge(danger=(("tingle", "perhaps"),))) == {"tingle": "perhaps"}
    both = judge(danger=(("tingle", "perhaps"),), symptoms=_tingle())
    assert _cards(both) == {"tingle": "stands"}


def test_a_danger_that_anybody_saw_counts_whoever_else_did_not(judge: Any) -> None:
    answers = [*_tingle(), {"id": "tingle", "seen": "no", "by": "tried_it"}]
    assert _cards(judge(symptoms=answers)) == {"tingle": "stands"}


@pytest.mark.parametrize("by", ["operator", "maintenance", "electrician", "service"])
def test_only_somebody_entitled_lifts_a_card(judge: Any, by: str) -> None:
    # The shock card asks for an electrician: what anybody else says leaves it standing.
    result = judge(symptoms=_tingle(), made_safe=[{"stop_card": "tingle", "by": by}])
    lifted = by == "electrician"
    assert _cards(result) == {"tingle": "made_safe" if lifted else "stands"}
    stays = [fact for fact in result.all("Caution") if "stop card stays" in fact.word("text")]
    assert bool(stays) is not lifted


def test_no_card_at_all_is_lifted_by_an_operator(judge: Any) -> None:
    for card in load().stop_cards.values():
        assert not may_lift("operator", card.who)
        result = judge(
            symptoms=[{"id": card.raised_by[0], "seen": "yes"}],
            made_safe=[{"stop_card": card.id, "by": "operator"}],
        )
        assert _cards(result)[card.id] == "stands"


def test_a_card_nothing_raised_does_not_appear(judge: Any) -> None:
    assert _cards(judge(made_safe=[{"stop_card": "tingle", "by": "electrician"}])) == {}


@pytest.mark.parametrize(
    ("station", "raised"),
    [
        ({"process": "GMAW", "place": {"confined": True}}, True),
        ({"gas": {"name": "argon"}, "place": {"confined": True}}, True),
        ({"process": "FCAW-S", "place": {"confined": True}}, False),
        ({"process": "GMAW", "place": {"confined": False}}, False),
    ],
)
def test_gas_in_a_confined_space(judge: Any, station: dict[str, Any], raised: bool) -> None:
    cards = _cards(judge(station))
    assert (cards.get("gas_in_confined_space") == "perhaps") is raised


@pytest.mark.parametrize(
    ("surface", "raised"), [("zinc", True), ("paint", True), ("rust", False), ("clean", False)]
)
def test_coated_work(judge: Any, surface: str, raised: bool) -> None:
    cards = _cards(judge({"work": {"surface": [surface]}}))
    assert (cards.get("hazardous_workpiece") == "perhaps") is raised


def test_oily_work_warns_of_the_cleaner(judge: Any) -> None:
    result = judge({"work": {"surface": ["oil"]}})
    assert any("chlorin" in fact.word("text") for fact in result.all("Caution"))
