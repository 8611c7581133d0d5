"""The handover sheet: a case and its history, so that a stranger can start from it. Pure.

The sheet gives each person the steps meant for that person and nobody else. Its probabilities are in
words that never claim certainty, and what stands against a fault is said with what said so.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from diagnose import diagnosis as out
from diagnose.asks import question_of
from diagnose.candidate import item_in_words
from diagnose.case import Case
from diagnose.explain import factors
from diagnose.graph import cause_graph, upstream
from diagnose.handover.history import CURED, Noted, done_of, proof_title, title_of
from diagnose.handover.sheet import (
    Done,
    HandedTo,
    HandoverSheet,
    LeftOver,
    Noticed,
    Opened,
    RuledOut,
    State,
    StopCardState,
)
from diagnose.handover.tasks import LISTED, asked_of, to_bring
from diagnose.in_words import chance_in_words
from diagnose.plate import plate_lines
from diagnose.reason import Reasoned
from diagnose.session.answers import DONE, history_of
from diagnose.session.history import History
from knowledge.loader import PROOF_WELD, Knowledge
from knowledge.models import Who

MOST_LEFT = 6
LEAST_LEFT = 3
NAMED = 4
"""Faults named of a group that cannot be on the station; the rest are counted."""
MOST_RULED_OUT = 8
_AGAINST = 1 / 3
"""A factor on the odds from which an item is said to rule a fault out so far (judgement)."""
_WAS_LIKELY = 0.03
_TOLD = ("symptom:", "understood:", "started.")
"""What the welder said; everything else was checked, read, put right or looked at."""
_OUTCOMES = {
    "cured": "Cured",
    "not_in_our_list": "Closed: the fault is not in our list",
    "nothing_found": "Closed: nothing found",
    "withdrawn": "Closed: the complaint was withdrawn",
}
_CARD_ACTION: Mapping[Who, str] = {
    "operator": "the operator",
    "maintenance": "maintenance",
    "electrician": "an electrician",
    "service": "service",
}


def handover_sheet(
    reasoned: Reasoned,
    diagnosis: out.Diagnosis,
    noted: Sequence[Noted],
    case_id: str | None = None,
    lost: Sequence[str] = (),
) -> HandoverSheet:
    """Return the sheet of a case.

    Parameters
    ----------
    reasoned, diagnosis : what the case as it stands comes to (`session_history.as_it_stands`)
    noted : the entries that count, oldest first, at least one
    case_id : the case's name in the casebook; None for a case that is kept nowhere
    lost : ids in the case that the knowledge does not hold (`known_ids.only_known`)
    """
    case, knowledge = reasoned.case, reasoned.knowledge
    cards = _cards(diagnosis.stop_cards, case)
    state = _state(noted)
    history = history_of((entry.kind, entry.body) for entry in noted)
    left = _left(reasoned, diagnosis, history.awaiting_proof)
    likely = [
        fault.id
        for fault in left
        if not (fault.tried or fault.to_be_proved) and fault.probability >= LISTED
    ]
    asked = asked_of(reasoned, cards, likely) if state != "closed" else []
    done = done_of(noted, knowledge)
    return HandoverSheet(
        case_id=case_id,
        station=case.station.name,
        state=state,
        opened=Opened(at=noted[0].at, who=noted[0].who),
        changed_at=noted[-1].at,
        handed_over=_handed_over(noted),
        minutes_spent=sum(row.minutes or 0.0 for row in done),
        complaint=list(case.said),
        symptoms=_symptoms(case, knowledge),
        started=list(_started(case, knowledge)),
        plate=plate_lines(case.station, case.units),
        not_known=_not_known(diagnosis, history, knowledge),
        lost=list(lost),
        stop_cards=cards,
        done=done,
        ruled_out=[*_ruled_out_by_what_was_done(reasoned), *_cannot_be(reasoned)],
        left=left if state != "closed" else [],
        not_in_our_list=chance_in_words(diagnosis.not_in_our_list),
        also_wrong=[row.title for row in diagnosis.also_wrong],
        unexplained=[knowledge.title(symptom) for symptom in diagnosis.unexplained],
        asked_of=asked,
        open_safety=_open_safety(cards, done, diagnosis, knowledge),
        bring=to_bring(reasoned, asked),
        ended=_ended(noted, knowledge),
        knowledge_version=diagnosis.knowledge.version,
        disclaimer=diagnosis.disclaimer,
    )


def _last(noted: Sequence[Noted], kind: str) -> Noted | None:
    return next((entry for entry in reversed(noted) if entry.kind == kind), None)


def _state(noted: Sequence[Noted]) -> State:
    if _last(noted, "closed"):
        return "closed"
    return "handed_over" if _last(noted, "handed_over") else "open"


def _handed_over(noted: Sequence[Noted]) -> HandedTo | None:
    if entry := _last(noted, "handed_over"):
        body = entry.body
        return HandedTo(at=entry.at, who=entry.who, to=body["to"], note=body.get("note"))
    return None


def _ended(noted: Sequence[Noted], knowledge: Knowledge) -> str | None:
    entry = _last(noted, "closed")
    if entry is None:
        return None
    faults = [title_of(knowledge, fault) for fault in entry.body.get("faults", ())]
    return ": ".join((_OUTCOMES[entry.body["outcome"]], *(["; ".join(faults)] if faults else [])))


def _cards(cards: Sequence[out.Card], case: Case) -> list[StopCardState]:
    lifted = {item.stop_card: item.by for item in case.made_safe}
    return [
        StopCardState(
            id=card.id,
            title=card.title,
            signal_word=card.signal_word,
            state=card.state,
            why=card.why,
            do=card.do,
            who=card.who,
            lifted_by=lifted.get(card.id) if card.state == "made_safe" else None,
        )
        for card in cards
    ]


def _symptoms(case: Case, knowledge: Knowledge) -> list[Noticed]:
    return [
        Noticed(title=knowledge.title(one.id), seen=one.seen, tried=one.by == "tried_it")
        for one in case.symptoms
    ]


def _started(case: Case, knowledge: Knowledge) -> Iterator[str]:
    started = case.started
    for kind in (*started.change, started.pattern, started.only):
        if kind:
            yield knowledge.starts[kind].title
    if started.after_min is not None:
        yield f"after {started.after_min:g} minutes"


def _not_known(diagnosis: out.Diagnosis, history: History, knowledge: Knowledge) -> list[str]:
    """Return the questions that are open: on the station, and those the session put in vain."""
    asked = [ask.question for ask in diagnosis.asks if ask.kind == "station"]
    faults_and_cards = knowledge.faults.keys() | {f"stop_{card}" for card in knowledge.stop_cards}
    passed = sorted(history.passed - faults_and_cards)
    return list(dict.fromkeys([*asked, *(question_of(knowledge, name) for name in passed)]))


def _left(
    reasoned: Reasoned, diagnosis: out.Diagnosis, awaiting_proof: str | None
) -> list[LeftOver]:
    tried = {item.fault for item in reasoned.case.remedied if not item.cured}
    return [
        LeftOver(
            id=fault.id,
            title=fault.title,
            place=fault.place,
            probability=fault.probability,
            in_words=chance_in_words(fault.probability),
            who=fault.remedy.who,
            tried=fault.id in tried,
            to_be_proved=fault.id == awaiting_proof,
        )
        for rank, fault in enumerate(diagnosis.faults[:MOST_LEFT])
        if rank < LEAST_LEFT or fault.probability >= LISTED
    ]


def _ruled_out_by_what_was_done(reasoned: Reasoned) -> list[RuledOut]:
    """Return the faults that were likely and are no longer, by what was found, read or put right."""
    on, knowledge = reasoned.ranking.on, reasoned.knowledge
    was = _shares_by_words_alone(reasoned)
    faults = [f for f in reasoned.ranking.order() if on[f] < LISTED and was[f] >= _WAS_LIKELY]
    why: dict[str, list[str]] = {}
    for fault, weights in factors(reasoned.ranker, faults).items():
        against = [(f, i) for i, f in weights if f <= _AGAINST and not i.startswith(_TOLD)]
        if against:
            why.setdefault(min(against)[1], []).append(fault)
    groups = [
        RuledOut(
            faults=[knowledge.title(fault) for fault in group[:NAMED]],
            more=len(group[NAMED:]),
            why=item_in_words(reasoned, item),
        )
        for item, group in why.items()
    ]
    return groups[:MOST_RULED_OUT]


def _shares_by_words_alone(reasoned: Reasoned) -> dict[str, float]:
    """Return fault -> its share of the single faults before anything was checked, read or put right."""
    ranker = reasoned.ranker
    for item in sorted({one.item for one in ranker.evidence}):
        if not item.startswith(_TOLD):
            ranker = ranker.without(item)
    weights = ranker.single_weights()
    total = sum(weights.values())
    return {fault: weight / total for fault, weight in weights.items()}


def _cannot_be(reasoned: Reasoned) -> list[RuledOut]:
    """Return what would explain the complaint but cannot be on this station, by what says so."""
    knowledge = reasoned.knowledge
    anywhere = cause_graph(knowledge)
    explaining = upstream(anywhere, reasoned.seen_yes or anywhere)
    groups: dict[str, list[str]] = {}
    for fault, attribute in reasoned.cut.gone.items():
        if fault not in explaining:
            continue
        groups.setdefault(attribute, []).append(fault)
    rows = []
    for attribute, faults in sorted(groups.items(), key=lambda row: (-len(row[1]), row[0])):
        faults.sort(key=lambda name: (-knowledge.faults[name].prevalence.per_thousand, name))
        entry = knowledge.attributes[attribute]
        found = sorted(reasoned.station[attribute])
        answers = ", ".join(entry.answers.get(value, value) for value in found)
        rows.append(
            RuledOut(
                faults=[knowledge.title(fault) for fault in faults[:NAMED]],
                more=len(faults[NAMED:]),
                why=f"Cannot be on this station. {entry.title}: {answers}",
            )
        )
    return rows


def _open_safety(
    cards: Sequence[StopCardState],
    done: Sequence[Done],
    diagnosis: out.Diagnosis,
    knowledge: Knowledge,
) -> list[str]:
    points = [
        f"{card.signal_word}: {card.title}. To be found safe by {_CARD_ACTION[card.who]}."
        for card in cards
        if card.state != "made_safe"
    ]
    if points:
        points.append("No check on a live circuit, and no welding, until that is done.")
    points += [
        f"{row.what}: not proved yet. To be proved first: {_proof_of(knowledge, row.id)}."
        for row in done
        if row.outcome == DONE or (row.outcome == CURED and not _proved(done))
    ]
    return points + list(diagnosis.cautions)


def _proof_of(knowledge: Knowledge, fault: str) -> str:
    entry = knowledge.faults.get(fault)
    return proof_title(knowledge, entry.remedy.proved_by if entry else PROOF_WELD)


def _proved(done: Sequence[Done]) -> bool:
    proofs = [row for row in done if row.kind == "proof"]
    return bool(proofs) and proofs[-1].outcome == "good"
