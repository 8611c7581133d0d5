"""One step of a guided session: its shape, and each kind of step in words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Literal

from diagnose import diagnosis as out
from diagnose.advice import MAY, Option, Outcome
from diagnose.in_words import lower_first
from diagnose.next_step import next_check
from diagnose.reason import Reasoned, results_of
from diagnose.session.hand_over import HandOverItem
from knowledge.loader import PROOF_WELD, Knowledge
from knowledge.models import Hazard, Who
from knowledge.rules.stop_cards import may_lift

StepKind = Literal[
    "stop",
    "words",
    "check",
    "symptom",
    "station",
    "started",
    "remedy",
    "proof",
    "hand_over",
    "not_in_our_list",
    "cured",
]
ROLES: tuple[Who, ...] = ("operator", "maintenance", "electrician", "service")
PERSON: Mapping[str, str] = {
    "operator": "the operator",
    "maintenance": "maintenance",
    "electrician": "an electrician",
    "service": "service",
}
PROOF_WELD_MINUTES = 2.0
"""A short bead like the one that failed (judgement)."""
_WELD_AGAIN = "Weld a bead like the one that failed: same wire, same place, same settings."
_HANDS_OFF = ("settings", "technique", "base_metal")
"""Areas whose remedies put no hand on the weld circuit."""


class Choice(out.Part):
    """One answer that can be given by its number, and what it would do where that is known."""

    key: str
    says: str
    probability: float | None = None
    then_leads: str | None = None
    then_probability: float | None = None


class Step(out.Part):
    """What is put to the user next. `choices` are numbered from 1 as they stand.

    `takes_name`: the answer needs the name of the person who stands for it. `takes_text`: words typed
    as they are answer it. `items` are what is asked of whom when the case is handed over.
    """

    kind: StepKind
    id: str
    title: str
    why: str = ""
    steps: tuple[str, ...] = ()
    minutes: float | None = None
    hazard: Hazard | None = None
    who: Who = "operator"
    tools: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    choices: tuple[Choice, ...] = ()
    takes_text: bool = False
    takes_name: bool = False
    items: tuple[HandOverItem, ...] = ()
    signal_word: str | None = None


def stop_step(card: out.Card) -> Step:
    """Return a stop card as a step: only those who may lift it are offered as having done so."""
    return Step(
        kind="stop",
        id=card.id,
        title=card.title if card.state == "stands" else f"Perhaps: {card.title}",
        why=card.why,
        steps=tuple(card.do),
        who=card.who,
        signal_word=card.signal_word,
        choices=tuple(
            Choice(key=role, says=f"{_first_upper(PERSON[role])} found it safe")
            for role in ROLES
            if may_lift(role, card.who)
        ),
        takes_name=True,
    )


def words_step(reasoned: Reasoned) -> Step:
    """Return the step that asks for the complaint, with the nearest to what was not understood."""
    near = dict.fromkeys(n for row in reasoned.heard.unrecognised for n in row.nearest)
    knowledge = reasoned.knowledge
    return Step(
        kind="words",
        id="words",
        title="What does the welder notice?",
        why="Nothing that we know was recognised yet.",
        choices=tuple(Choice(key=name, says=knowledge.title(name)) for name in list(near)[:5]),
        takes_text=True,
    )


def check_step(reasoned: Reasoned, option: Option) -> Step:
    """Return a check as a step, its results numbered in the order they are looked for."""
    check = next_check(reasoned, option)
    entry = reasoned.knowledge.checks[option.id]
    says = {result.result: result.says for result in entry.looks_for}
    says[entry.nothing_found.result] = entry.nothing_found.says
    return Step(
        kind="check",
        id=check.id,
        title=check.title,
        why=f"{entry.why} {worth(option)}",
        steps=tuple(check.steps),
        minutes=check.minutes,
        hazard=check.hazard,
        who=check.who,
        tools=tuple(check.tools),
        choices=_weighed([(r, says[r]) for r in results_of(entry)], option, reasoned.knowledge),
    )


def question_step(reasoned: Reasoned, option: Option, ask: out.Ask) -> Step:
    """Return a question as a step; one whose answer is read off a label takes text."""
    choices = _weighed(_told(reasoned.knowledge, ask), option, reasoned.knowledge)
    return Step(
        kind=ask.kind,
        id=ask.id,
        title=ask.question,
        why=f"{ask.why} {worth(option)}".strip(),
        minutes=option.minutes,
        choices=choices,
        takes_text=not choices,
    )


def _weighed(
    says: Iterable[tuple[str, str]], option: Option, knowledge: Knowledge
) -> tuple[Choice, ...]:
    outcomes = {outcome.result: outcome for outcome in option.outcomes}
    return tuple(_choice(key, text, outcomes.get(key), knowledge) for key, text in says)


def _choice(key: str, says: str, outcome: Outcome | None, knowledge: Knowledge) -> Choice:
    if outcome is None:
        return Choice(key=key, says=says)
    return Choice(
        key=key,
        says=says,
        probability=outcome.probability,
        then_leads=knowledge.title(outcome.leads),
        then_probability=outcome.leads_probability,
    )


def _told(knowledge: Knowledge, ask: out.Ask) -> list[tuple[str, str]]:
    """Return the answers of a question as (key, words); none where a label is read out."""
    if ask.kind == "symptom":
        return [("yes", "Yes"), ("no", "No")]
    if ask.kind == "started":
        return [(kind, knowledge.starts[kind].title) for kind in ask.answers]
    if ask.id == "station.polarity":
        return [
            (f"{side}.{known}", f"Electrode {side}, {how}")
            for known, how in (("looked", "traced to the stud"), ("told", "somebody said so"))
            for side in ("positive", "negative")
        ]
    rows = [row for row in knowledge.attributes.values() if row.path == ask.id]
    return [(v, _first_upper(says)) for row in rows for v, says in row.answers.items()]


def remedy_step(reasoned: Reasoned, fault: str, why: str) -> Step:
    """Return the remedy of a fault as a step."""
    entry = reasoned.knowledge.faults[fault]
    return Step(
        kind="remedy",
        id=fault,
        title=f"Put right: {entry.title}",
        why=why,
        steps=tuple(entry.remedy.steps),
        minutes=entry.remedy.minutes,
        hazard=None if entry.area in _HANDS_OFF else "touch_machine_off",
        who=entry.remedy.who,
        cautions=tuple(entry.cautions),
        choices=(
            Choice(key="done", says="Done"),
            Choice(key="in_order", says="It was in order, nothing to put right"),
        ),
    )


def proof_step(reasoned: Reasoned, fault: str) -> Step:
    """Return the proof of a remedy: its own check where this user may do it, and a weld."""
    knowledge = reasoned.knowledge
    check = knowledge.checks.get(proved_by(knowledge, fault, reasoned.case.user.may))
    good = f"{check.nothing_found.says.rstrip('.')}, and it" if check else "It"
    choices = [
        Choice(key="cured", says=f"{good} welds as it should"),
        Choice(key="better", says="Better, but still not right"),
        Choice(key="as_before", says="As bad as before"),
    ]
    if check:
        choices.append(Choice(key="not_good", says="The check is not good yet"))
    return Step(
        kind="proof",
        id=fault,
        title=f"Prove it: {lower_first(check.title) if check else 'weld again'}",
        why=f"A remedy counts when it is proved: {knowledge.title(fault)}.",
        steps=(*(check.steps if check else ()), _WELD_AGAIN),
        minutes=PROOF_WELD_MINUTES + (check.minutes if check else 0.0),
        hazard="live_weld_circuit",
        tools=tuple(knowledge.outfits[tool].title for tool in check.tools) if check else (),
        choices=tuple(choices),
    )


def proved_by(knowledge: Knowledge, fault: str, may: Who) -> str:
    """Return the check that proves a remedy for this user, or the proof weld."""
    by = knowledge.faults[fault].remedy.proved_by
    check = knowledge.checks.get(by)
    return by if check and check.who in MAY[may] else PROOF_WELD


def hand_over_step(items: tuple[HandOverItem, ...], first: Who, why: str) -> Step:
    """Return the step that gives the case to others, the one most is asked of first."""
    others = [role for role in ROLES[1:] if role != first]
    return Step(
        kind="hand_over",
        id="hand_over",
        title=f"Hand over to {PERSON[first]}",
        why=why,
        who=first,
        items=items,
        choices=tuple(
            Choice(key=to, says=f"Handed over to {PERSON[to]}") for to in (first, *others)
        ),
    )


def worth(option: Option) -> str:
    """Return what an option is expected to save, in words.

    >>> worth(Option("look", 1.0, 0.4, ()))
    'It is expected to save under a minute.'
    """
    if option.saves_min < 1.0:
        return "It is expected to save under a minute."
    return f"It is expected to save about {option.saves_min:.0f} min."


def _first_upper(text: str) -> str:
    return text[:1].upper() + text[1:]
