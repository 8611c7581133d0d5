"""From a case as it is written down to what the rules make of it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from diagnose.case import Case
from diagnose.facts import case_facts
from knowledge.conclusions import Conclusions
from knowledge.expert import think
from knowledge.loader import load

Judge = Callable[..., Conclusions]


@pytest.fixture
def judge() -> Judge:
    """Return a function from station (and more of the case) to conclusions."""

    def made_of(
        station: dict[str, Any] | None = None,
        danger: tuple[tuple[str, str], ...] = (),
        recognised: tuple[tuple[str, str], ...] = (),
        reckoned: dict[str, float] | None = None,
        **case: Any,
    ) -> Conclusions:
        whole = Case.model_validate({"station": station or {}, **case})
        return think(case_facts(whole, load(), recognised, danger, reckoned))

    return made_of


@pytest.fixture
def shown() -> Callable[[Conclusions], dict[str, tuple[float, float]]]:
    """Return a function from conclusions to node -> (on, off), where each node has one item."""

    def table(conclusions: Conclusions) -> dict[str, tuple[float, float]]:
        rows = [
            (fact.word("node"), (fact.number("on"), fact.number("off")))
            for fact in conclusions.all("Shows")
        ]
        assert len(dict(rows)) == len(rows)
        return dict(rows)

    return table


@pytest.fixture
def established() -> Callable[[Conclusions], set[str]]:
    """Return a function from conclusions to the faults that the set-up establishes."""
    return lambda conclusions: {fact.word("fault") for fact in conclusions.all("Established")}


@pytest.fixture
def station_is() -> Callable[[Conclusions], dict[str, str]]:
    """Return a function from conclusions to the attributes of the station that take one answer."""

    def attributes(conclusions: Conclusions) -> dict[str, str]:
        rows = [(fact.word("name"), fact.word("value")) for fact in conclusions.all("Is")]
        single = [row for row in rows if not load().attributes[row[0]].many]
        assert len(dict(single)) == len(single), "an attribute has two values"
        return dict(single)

    return attributes
