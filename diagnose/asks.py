"""What is worth asking: what the rules want to know, what `when` waits for, what splits."""

from __future__ import annotations

from diagnose import diagnosis as out
from diagnose.advice import Adviser, Option
from diagnose.reason import Reasoned
from diagnose.session.history import plain_id
from knowledge.loader import Knowledge

ASKS_OF_OUR_OWN = {
    "station.wire.class": "What class is printed on the label of the spool?",
    "station.gas.name": "What does the label on the gas cylinder say is in it?",
    "station.settings.mode": "Which process or mode is the set switched to?",
}
STARTED_ASKS = {
    "change": "What was changed last?",
    "pattern": "How does it come: at once, slowly, when warm?",
    "only": "Is it this job, this machine, this welder, or all?",
}


def question_of(knowledge: Knowledge, name: str) -> str:
    """Return a question in words; `name` is its id as an entry of the case holds it (`plain_id`).

    What the knowledge asks no more is named by its id.
    """
    if name in knowledge.symptoms:
        return knowledge.symptoms[name].question
    if (facet := name.removeprefix("started_")) in STARTED_ASKS:
        return STARTED_ASKS[facet]
    for place, question in ASKS_OF_OUR_OWN.items():
        if plain_id(place) == name:
            return question
    for row in knowledge.attributes.values():
        if row.path and name in (plain_id(row.path), plain_id(row.path.rpartition(".")[0])):
            return row.question
    return f"The question about {name.removeprefix('station_').replace('_', ' ')}"


def asks(reasoned: Reasoned, adviser: Adviser) -> list[out.Ask]:
    """Return what is worth asking: what the rules want to know, what `when` waits for, what splits."""
    return [
        *_station_asks(reasoned),
        *_started_asks(reasoned),
        *_symptom_asks(reasoned, adviser),
    ]


def _station_asks(reasoned: Reasoned) -> list[out.Ask]:
    knowledge, on = reasoned.knowledge, reasoned.ranking.on
    by_path = {row.path: row for row in knowledge.attributes.values() if row.path}
    asks: dict[str, tuple[float, out.Ask]] = {}
    for fact in reasoned.conclusions.all("Ask"):
        where = fact.word("id")
        row = by_path.get(where) or by_path.get(f"{where}.electrode")
        reasons = [f.reason for f in reasoned.conclusions.firings.get(fact, ())]
        asks[where] = (
            2.0,
            out.Ask(
                kind="station",
                id=where,
                question=row.question if row else ASKS_OF_OUR_OWN[where],
                answers=list(row.answers) if row else [],
                why=reasons[0],
            ),
        )
    for attribute, faults in reasoned.cut.unknown.items():
        row = knowledge.attributes[attribute]
        weight = sum(on[fault] for fault in faults)
        if weight < 0.05 or not row.path or row.path in asks:
            continue
        ask = out.Ask(
            kind="station",
            id=row.path,
            question=row.question,
            answers=list(row.answers),
            why=row.why,
        )
        asks[row.path] = (weight, ask)
    ordered = sorted(asks.items(), key=lambda item: (-item[1][0], item[0]))
    return [ask for _, (_, ask) in ordered[:5]]


def _started_asks(reasoned: Reasoned) -> list[out.Ask]:
    started, knowledge = reasoned.heard.started, reasoned.knowledge
    asks = []
    for facet, question in STARTED_ASKS.items():
        if getattr(started, facet):
            continue
        kinds = [name for name, row in knowledge.starts.items() if row.facet == facet]
        why = "How it started shifts almost every fault, often by four times or more."
        ask = out.Ask(
            kind="started", id=f"started.{facet}", question=question, answers=kinds, why=why
        )
        asks.append(ask)
    return asks


def _symptom_asks(reasoned: Reasoned, adviser: Adviser) -> list[out.Ask]:
    options = symptom_options(reasoned, adviser)
    return [
        out.Ask(
            kind="symptom",
            id=option.id,
            question=reasoned.knowledge.symptoms[option.id].question,
            answers=["yes", "no", "not_sure"],
            why=_splits(reasoned.knowledge, option),
        )
        for option in options[:3]
    ]


def symptom_options(reasoned: Reasoned, adviser: Adviser) -> list[Option]:
    """Return the questions about symptoms that save more minutes than they cost, best first."""
    denied = {fact.word("symptom") for fact in reasoned.conclusions.all("Denied")}
    options = [
        adviser.question(name)
        for name in sorted(reasoned.knowledge.symptoms)
        if name in reasoned.cut.graph and name not in reasoned.heard.answers and name not in denied
    ]
    worth = [option for option in options if option.rate > 1.0]
    return sorted(worth, key=lambda option: (-option.rate, option.id))


def _splits(knowledge: Knowledge, option: Option) -> str:
    parts = [
        f"{outcome.result}: {knowledge.title(outcome.leads)} leads" for outcome in option.outcomes
    ]
    return "; ".join(parts) + "."
