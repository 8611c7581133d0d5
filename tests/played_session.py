"""A session played without a terminal, and the complaints that every session must bring to an end."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

from truthful_station import TruthfulStation

from api.casebook.events import Event, check_next, checked_body, replay, standing
from diagnose.reason import Reasoned, reason
from diagnose.session.answers import SKIP, UNKNOWN, Entry, entries_of, history_of
from diagnose.session.history import History, as_it_stands
from diagnose.session.moves import next_move
from diagnose.session.steps import Step, proved_by
from knowledge.loader import Knowledge

ENDS = ("cured", "hand_over", "not_in_our_list", "stop", "words")
MOMENT = datetime(2031, 5, 4, tzinfo=UTC)


@dataclass
class Play:
    """A session played in memory, entry by entry as the casebook would keep them."""

    knowledge: Knowledge
    first: dict[str, Any]
    events: list[Event] = field(default_factory=list)
    typed: list[str] = field(default_factory=list)
    """What a user would type for the answers so far."""

    def __post_init__(self) -> None:
        self._append("reported", self.first)

    def _append(self, kind: Any, body: Mapping[str, Any]) -> None:
        number = len(self.events) + 1
        event = Event("c", number, str(number), kind, MOMENT, None, checked_body(kind, body))
        if self.events:
            check_next(self.events, event)
        self.events.append(event)

    @property
    def history(self) -> History:
        return history_of((event.kind, event.body) for event in standing(self.events))

    def reasoned(self) -> Reasoned:
        case = as_it_stands(replay(self.events), self.history, self.knowledge)
        return reason(case, self.knowledge)

    def step(self) -> Step:
        return next_move(self.reasoned(), self.history)

    def answer(self, step: Step, key: str, text: str = "") -> None:
        """Keep an answer. Raises ValueError where the step does not take it."""
        keys = [choice.key for choice in step.choices]
        letters = {SKIP: "s", UNKNOWN: "n"}
        number = str(keys.index(key) + 1) if key in keys else ""
        self.typed.append(text or letters.get(key) or number)
        may = replay(self.events).user.may
        proof = proved_by(self.knowledge, step.id, may) if step.kind == "proof" else ""
        for kind, body in entries_of(step, key, self.history, proved_by=proof, text=text):
            self._append(kind, body)

    def add(self, *entries: Entry) -> Play:
        for kind, body in entries:
            self._append(kind, body)
        return self

    def to_the_end(self, station: TruthfulStation, most: int = 40) -> Step:
        """Answer truthfully until the session ends; return the step it ends with."""
        for _ in range(most):
            step = self.step()
            if step.kind in ENDS:
                return step
            told = station.answer(step)
            text = told if step.takes_text else ""
            self.answer(step, "" if text else (told or UNKNOWN), text)
        raise AssertionError(f"no end after {most} steps: {station.asked}")


CANONICAL: Mapping[str, tuple[dict[str, Any], str, str, int]] = {
    # Complaint -> the case, the true fault, how it ends for an operator, the most steps that may take.
    "no arc, clamp off": ({"said": ["wire feeds, no arc"]}, "work_clamp_off", "cured", 8),
    "polarity of a self-shielded wire": (
        {
            "said": ["pops and spatters", "no penetration"],
            "station": {
                "wire": {"class": "E71T-11"},
                "polarity": {"electrode": "positive", "known": "looked"},
            },
        },
        "electrode_positive_wants_negative",
        "cured",
        6,
    ),
    "pores in the wind": (
        {
            "said": ["porosity"],
            "station": {"wire": {"class": "ER70S-6"}, "gas": {"name": "75Ar/25CO2"}},
        },
        "wind",
        "cured",
        12,
    ),
    "pores, cylinder empty": (
        {
            "said": ["porosity"],
            "station": {"wire": {"class": "ER70S-6"}, "gas": {"name": "75Ar/25CO2"}},
        },
        "cylinder_empty",
        "cured",
        12,
    ),
    "hot clamp": (
        {"said": ["clamp too hot to hold", "arc is weak", "wire stubs"]},
        "clamp_jaws_loose",
        "cured",
        12,
    ),
    "arc changes with the gun cable": (
        {"said": ["erratic arc", "changes when the gun cable bends"]},
        "liner_clogged",
        "cured",
        24,
    ),
    "bird's nest": ({"said": ["bird's nest at the rolls"]}, "roll_pressure_high", "cured", 14),
    "dead machine": ({"said": ["machine is dead"]}, "breaker_tripped", "cured", 12),
    "lost phase": (
        {
            "said": ["machine hums", "arc is weak and rough"],
            "station": {"source": {"phases": 3, "kind": "transformer"}},
        },
        "supply_phase_lost",
        "hand_over",
        14,
    ),
}
