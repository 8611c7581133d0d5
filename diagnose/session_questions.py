"""Questions of a guided session, priced as checks are: minutes saved per minute of asking."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from diagnose import diagnosis as out
from diagnose.advice import ASK_MINUTES, Adviser, Option, Outcome, Prices, likely_hypotheses
from diagnose.asks import asks, symptom_options
from diagnose.graph import upstream
from diagnose.reason import Reasoned
from diagnose.session_history import History, plain_id
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

Chances = Callable[[Sequence[str]], Sequence[float]]
"""The faults of one hypothesis -> the chance of each answer, in order; they sum to one."""


class Pricer:
    """Prices questions that are no node of the graph, on the same hypotheses as the adviser."""

    def __init__(self, reasoned: Reasoned, prices: Prices) -> None:
        self.knowledge = reasoned.knowledge
        self._prices = prices
        ranking = reasoned.ranking
        if reasoned.seen_yes:
            ranking = ranking.of_what_explains(upstream(reasoned.cut.graph, reasoned.seen_yes))
        self._hypotheses = likely_hypotheses(ranking)
        self._now_min = prices.plan(self._shares([1.0] * len(self._hypotheses))).minutes

    def option(self, name: str, minutes: float, answers: Sequence[str], chances: Chances) -> Option:
        """Return what it is worth to put a question at this price in minutes."""
        rows = [chances(hypothesis.faults) for hypothesis in self._hypotheses]
        known = sum(hypothesis.probability for hypothesis in self._hypotheses)
        expected, outcomes = 0.0, []
        for index, answer in enumerate(answers):
            column = [row[index] for row in rows]
            pairs = zip(self._hypotheses, column, strict=True)
            average = sum(h.probability * chance for h, chance in pairs) / known
            if average <= 0.0:
                continue
            # what is not in our list answers as the rest does on average
            shares = self._shares([chance / average for chance in column])
            expected += average * self._prices.plan(shares).minutes
            leads = max(sorted(shares), key=shares.__getitem__)
            outcomes.append(Outcome(answer, average, leads, shares[leads]))
        return Option(name, minutes, self._now_min - expected, tuple(outcomes))

    def _shares(self, factors: Sequence[float]) -> dict[str, float]:
        shares: dict[str, float] = {}
        for hypothesis, factor in zip(self._hypotheses, factors, strict=True):
            part = hypothesis.probability * factor / len(hypothesis.faults)
            for fault in hypothesis.faults:
                shares[fault] = shares.get(fault, 0.0) + part
        return shares


def priced_questions(
    reasoned: Reasoned, adviser: Adviser, prices: Prices, history: History
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
    pricer = Pricer(reasoned, prices)
    for ask in asks(reasoned, adviser):
        if ask.kind != "symptom" and plain_id(ask.id) not in passed and not _told(reasoned, ask.id):
            priced += [(option, ask) for option in _options(reasoned, pricer, ask)]
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


def _options(reasoned: Reasoned, pricer: Pricer, ask: out.Ask) -> list[Option]:
    """Return what one question is worth: its dearest use, where it serves several."""
    if ask.kind == "started":
        return [_start_option(pricer, ask)]
    minutes = READ_LABEL_MINUTES if ask.id in SETTLED_BY_LABEL else ASK_MINUTES
    uses = [
        pricer.option(ask.id, minutes, values, chances)
        for values, chances in (*_by_attribute(reasoned, ask.id), *_by_rule(ask.id))
    ]
    return sorted(uses, key=lambda option: -option.rate)[:1]


def _start_option(pricer: Pricer, ask: out.Ask) -> Option:
    facet, knowledge = ask.id.removeprefix("started."), pricer.knowledge
    bases = {kind: knowledge.starts[kind].base for kind in ask.answers}

    def chances(faults: Sequence[str]) -> list[float]:
        starts = [knowledge.faults[fault].starts for fault in faults]
        return [
            sum(start_chance(start, facet, kind, bases) for start in starts) / len(starts)
            for kind in ask.answers
        ]

    return pricer.option(ask.id, ASK_MINUTES, ask.answers, chances)


def _by_attribute(reasoned: Reasoned, question: str) -> list[tuple[list[str], Chances]]:
    """Return, for each attribute the answer settles, its values and their chances under some faults.

    A fault that needs a value makes that value certain; what no fault needs is as common as it is.
    """
    knowledge = reasoned.knowledge
    names = SETTLED_BY_LABEL.get(question) or [
        row.id for row in knowledge.attributes.values() if row.path == question
    ]
    found: list[tuple[list[str], Chances]] = []
    for name in names:
        shares = knowledge.attributes[name].shares if name in knowledge.attributes else None
        if shares and name not in reasoned.station:
            found.append((list(shares.of), _needing(knowledge, name, shares.of)))
    return found


def _needing(knowledge: Knowledge, attribute: str, shares: Mapping[str, float]) -> Chances:
    def chances(faults: Sequence[str]) -> list[float]:
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


def _by_rule(question: str) -> list[tuple[list[str], Chances]]:
    judged = JUDGED_BY_RULES.get(question)
    if not judged:
        return []

    def chances(faults: Sequence[str]) -> tuple[float, float]:
        wrong = TOLD_RIGHT if any(fault in judged for fault in faults) else 1.0 - TOLD_RIGHT
        return wrong, 1.0 - wrong

    return [(["wrong", "right"], chances)]


def band(rate: float) -> float:
    """Return the rate in steps of about a tenth: rates in one step count as equal.

    >>> band(2.0) == band(2.05), band(2.0) == band(3.0)
    (True, False)
    """
    return round(math.log(rate), 1)
