"""The shape of a handover sheet: everything a stranger needs to start at the station."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from pydantic import Field

from diagnose.diagnosis import Part, Seen, Who
from diagnose.plate import PlateLine

State = Literal["open", "closed", "handed_over"]


class Opened(Part):
    """Who did something, and when; times are UTC. Nobody has to say who they are."""

    at: datetime | None = None
    who: str | None = None


class HandedTo(Opened):
    """To whom the case went, and what was said with it."""

    to: Who
    note: str | None = None


class Noticed(Part):
    """A symptom that was answered outright, in words. `tried` when somebody tried it."""

    title: str
    seen: Seen
    tried: bool


class StopCardState(Part):
    """A stop card and how it stands; `lifted_by` once a qualified person made it safe."""

    id: str
    title: str
    signal_word: Literal["DANGER", "WARNING", "CAUTION", "NOTICE"]
    state: Literal["stands", "perhaps", "made_safe"]
    why: str
    do: list[str]
    who: Who
    lifted_by: Who | None = None


class Done(Part):
    """Something that was checked, read, put right or proved, with its outcome. Times are UTC."""

    kind: Literal["check", "reading", "remedy", "proof"]
    id: str
    what: str
    outcome: str
    at: datetime | None = None
    who: str | None = None
    minutes: float | None = None
    note: str | None = None
    stale: bool = Field(False, description="Taken before a remedy that changed what it shows.")


class RuledOut(Part):
    """Faults that are hardly to blame, and why. `more` counts those not named."""

    faults: list[str]
    more: int = 0
    why: str


class LeftOver(Part):
    """A fault that is still likely, in words that never claim certainty."""

    id: str
    title: str
    place: str
    probability: float
    in_words: str
    who: Who
    tried: bool = Field(False, description="Its remedy was carried out and did not cure.")
    to_be_proved: bool = Field(
        False, description="Its remedy was carried out and is not proved yet."
    )


class Task(Part):
    """One thing asked of one person, with the steps meant for that person and nobody else."""

    kind: Literal["make_safe", "check", "remedy"]
    id: str
    title: str
    why: str
    steps: list[str]
    minutes: float
    hazard: (
        Literal["look", "touch_machine_off", "live_weld_circuit", "covers_off_or_supply"] | None
    ) = None
    good: str | None = None
    bad: list[str] = Field(default_factory=list)
    proved_by: str | None = None
    waits: bool = Field(False, description="Not before the stop cards are lifted.")


class AskedOf(Part):
    """Everything asked of one kind of person."""

    who: Who
    tasks: list[Task]


class ToBring(Part):
    """Tools of the checks that are left, and the parts that the remedies left may take."""

    tools: list[str]
    parts: list[str]


class HandoverSheet(Part):
    """A case as it is handed over. Lists are in the order they are best read in."""

    case_id: str | None
    station: str | None
    state: State
    opened: Opened
    changed_at: datetime | None
    handed_over: HandedTo | None
    minutes_spent: float
    complaint: list[str]
    symptoms: list[Noticed]
    started: list[str]
    plate: list[PlateLine]
    not_known: list[str]
    lost: list[str] = Field(description="Ids in the case that this program does not know.")
    stop_cards: list[StopCardState]
    done: list[Done]
    ruled_out: list[RuledOut]
    left: list[LeftOver]
    not_in_our_list: str
    also_wrong: list[str]
    unexplained: list[str]
    asked_of: list[AskedOf]
    open_safety: list[str]
    bring: ToBring
    ended: str | None
    knowledge_version: str
    disclaimer: str
