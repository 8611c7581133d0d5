"""Questions of a guided session, priced as checks are: minutes saved per minute of asking."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from diagnose import diagnosis as out
from diagnose.advice import ASK_MINUTES, Adviser, Chances, Option, Probe
from diagnose.asks import asks, symptom_options
from diagnose.reason import Reasoned
from diagnose.session.history import History, plain_id
from diagnose.starts import start_chance
from knowledge.loader import Knowledge

READ_LABEL_MINUTES = 0.5
"""What it costs to walk to spool or cylinder and read a label aloud (common practice)."""
QUESTIONS_TO_TIRE = 4.0
"""After so many questions the next one costs twice as much: a welder who is only asked stops
listening (judgement)."""
TOLD_RIGHT = 0.90
"""How often what is only told about a lead or a cylinder is so (judgement, as the rules have it)."""
SETTLED_BY_LABEL: Mapping[str, tuple[str, ...]] = {
    "station.wire.class": ("shielding", "wire_polarity", "process", "wire_form", "wire_metal"),
    "station.gas.name": ("gas_group",),
}
"""Question -> attributes that its answer settles by way of the tables."""
JUDGED_BY_RULES: Mapping[str, tuple[str, ...]] = {
    "station.polarity": (
        "electrode_negative_wants_positive",
        "electrode_positive_wants_negative",
        "polarity_not_as_maker_says",
    ),
    "station.gas.name": ("wrong_gas",),
}
"""Question -> faults that a rule speaks for or against once it is answered."""


def priced_questions(
    reasoned: Reasoned, adviser: Adviser, history: History
) -> list[tuple[Option, out.Ask]]:
    """Return the questions that save more minutes than they cost, each with its wording.

    Those passed over are not put again, and each question costs more than the one before.
    """
    passed = history.passed
    priced = [
        (option, _symptom_ask(reasoned.knowledge, option))
        for option in symptom_options(reasoned, adviser)
        if _can_have_been_noticed(reasoned, option.id)
    ]
    for ask in asks(reasoned, adviser):
        if ask.kind != "symptom" and plain_id(ask.id) not in passed and not _told(reasoned, ask.id):
            priced += [(option, ask) for option in _options(reasoned, adviser, ask)]
    tired = 1.0 + history.questions_put / QUESTIONS_TO_TIRE
    dearer = [(replace(option, minutes=option.minutes * tired), ask) for option, ask in priced]
    return [(o, ask) for o, ask in dearer if o.rate > 1.0 and plain_id(ask.id) not in passed]


def _can_have_been_noticed(reasoned: Reasoned, symptom: str) -> bool:
    """Return whether a symptom can go with those seen: who has no arc is not asked about the bead."""
    symptoms = reasoned.knowledge.symptoms
    missing = {state for seen in reasoned.seen_yes for state in symptoms[seen].means_no}
    return missing.isdisjoint(symptoms[symptom].presupposes)


def _told(reasoned: Reasoned, question: str) -> bool:
    """Return whether a label was read already, though our tables do not hold what it says."""
    station = reasoned.case.station
    return bool(
        (question == "station.wire.class" and station.wire and station.wire.class_)
        or (question == "station.gas.name" and station.gas and station.gas.name)
    )


def _symptom_ask(knowledge: Knowledge, option: Option) -> out.Ask:
    return out.Ask(
        kind="symptom",
        id=option.id,
        question=knowledge.symptoms[option.id].question,
        answers=["yes", "no"],
        why="",
    )


def _options(reasoned: Reasoned, adviser: Adviser, ask: out.Ask) -> list[Option]:
    """Return what one question is worth: its dearest use, where it serves several."""
    if ask.kind == "started":
        return [adviser.option(_start_probe(reasoned.knowledge, ask), ASK_MINUTES)]
    minutes = READ_LABEL_MINUTES if ask.id in SETTLED_BY_LABEL else ASK_MINUTES
    uses = [
        adviser.option(probe, minutes)
        for probe in (*_by_attribute(reasoned, ask.id), *_by_rule(ask.id))
    ]
    return sorted(uses, key=lambda option: -option.rate)[:1]


def _start_probe(knowledge: Knowledge, ask: out.Ask) -> Probe:
    facet = ask.id.removeprefix("started.")
    bases = {kind: knowledge.starts[kind].base for kind in ask.answers}

    def chances(_: int, faults: Sequence[str]) -> list[float]:
        starts = [knowledge.faults[fault].starts for fault in faults]
        return [
            sum(start_chance(start, facet, kind, bases) for start in starts) / len(starts)
            for kind in ask.answers
        ]

    return Probe(ask.id, tuple(ask.answers), chances)


def _by_attribute(reasoned: Reasoned, question: str) -> list[Probe]:
    """Return, for each attribute the answer settles, its values and their chances under some faults.

    A fault that needs a value makes that value certain; what no fault needs is as common as it is.
    """
    knowledge = reasoned.knowledge
    names = SETTLED_BY_LABEL.get(question) or [
        row.id for row in knowledge.attributes.values() if row.path == question
    ]
    found = []
    for name in names:
        shares = knowledge.attributes[name].shares if name in knowledge.attributes else None
        if shares and name not in reasoned.station:
            found.append(Probe(question, tuple(shares.of), _needing(knowledge, name, shares.of)))
    return found


def _needing(knowledge: Knowledge, attribute: str, shares: Mapping[str, float]) -> Chances:
    def chances(_: int, faults: Sequence[str]) -> list[float]:
        row = []
        for value, share in shares.items():
            wanted = [knowledge.faults[fault].when.get(attribute, value) for fault in faults]
            fits = all(value in want for want in map(_listed, wanted))
            row.append(share if fits else 0.0)
        total = sum(row)
        return [part / total for part in row] if total else list(shares.values())

    return chances


def _listed(wanted: str | list[str]) -> list[str]:
    return [wanted] if isinstance(wanted, str) else wanted


def _by_rule(question: str) -> list[Probe]:
    judged = JUDGED_BY_RULES.get(question)
    if not judged:
        return []

    def chances(_: int, faults: Sequence[str]) -> tuple[float, float]:
        wrong = TOLD_RIGHT if any(fault in judged for fault in faults) else 1.0 - TOLD_RIGHT
        return wrong, 1.0 - wrong

    return [Probe(question, ("wrong", "right"), chances)]


def band(rate: float) -> float:
    """Return the rate in steps of about a tenth: rates in one step count as equal.

    >>> band(2.0) == band(2.05), band(2.0) == band(3.0)
    (True, False)
    """
    return round(math.log(rate), 1)
