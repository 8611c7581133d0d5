"""What was seen shows what was there, and so what cannot be missing."""

from __future__ import annotations

from typing import Any

import pytest


def _denied(conclusions: Any) -> set[str]:
    return {fact.word("symptom") for fact in conclusions.all("Denied")}


def _seen(*ids: str, seen: str = "yes") -> list[dict[str, str]]:
    return [{"id": symptom, "seen": seen} for symptom in ids]


def test_pores_mean_there_was_an_arc_and_power(judge: Any) -> None:
    result = judge(symptoms=_seen("porosity"))
    assert {"dead", "no_arc"} <= _denied(result)


def test_the_reason_is_walked_down_to_the_symptom(judge: Any) -> None:
    result = judge(symptoms=_seen("porosity"))
    (denied,) = result.all("Denied", symptom="no_arc")
    text = " ".join(result.why(denied).lines())
    assert "Symptom(id=porosity, seen=yes, by=welder)" in text
    assert "it_cannot_have_been_missing" in text


def test_a_symptom_that_was_answered_yes_is_never_denied(judge: Any) -> None:
    # "Pores, and then no arc at all": both stand.
    result = judge(symptoms=_seen("porosity", "no_arc"))
    assert "no_arc" not in _denied(result)
    assert "dead" in _denied(result)


def test_recognised_words_count_like_answers(judge: Any) -> None:
    assert "no_arc" in _denied(judge(recognised=(("porosity", "yes"),)))
    # A tap comes before the words.
    tapped = judge(symptoms=_seen("porosity", seen="no"), recognised=(("porosity", "yes"),))
    assert "no_arc" not in _denied(tapped)


@pytest.mark.parametrize("seen", ["no", "not_sure"])
def test_what_was_not_seen_implies_nothing(judge: Any, seen: str) -> None:
    assert _denied(judge(symptoms=_seen("porosity", seen=seen))) == set()


def test_a_dead_machine_denies_nothing_that_needs_no_power(judge: Any) -> None:
    assert _denied(judge(symptoms=_seen("dead"))) == set()


def test_what_was_tried_beats_what_was_told(judge: Any) -> None:
    told = {"id": "porosity", "seen": "no", "by": "welder"}
    tried = {"id": "porosity", "seen": "yes", "by": "tried_it"}
    (symptom,) = judge(symptoms=[told, tried]).all("Symptom")
    assert (symptom["seen"], symptom["by"]) == ("yes", "tried_it")


def test_yes_and_no_from_one_mouth_is_not_sure(judge: Any) -> None:
    both = [*_seen("porosity"), *_seen("porosity", seen="no")]
    (symptom,) = judge(symptoms=both).all("Symptom")
    assert symptom["seen"] == "not_sure"
