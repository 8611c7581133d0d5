"""What the page of a case shows: the diagnosis, the next step, and the buttons that answer it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from api.json_text import to_json
from api.page.fields import POLARITIES, words_of
from api.page.log import Log
from api.wording.figures import WHO, chance_in_words, lower_first, weight_in_words
from api.wording.heard import ANSWER, finding_in_words, taken_for, unused_in_words
from api.wording.station import reading_in_words, set_up
from diagnose.answer import in_words
from diagnose.asks import question_of
from diagnose.case import Case, Finding
from diagnose.diagnosis import (
    Ask,
    Diagnosis,
    LikelyFault,
    points_to_our_list,
    something_to_go_on,
    standing,
)
from diagnose.reason import Reasoned, reason
from diagnose.session.answers import BETTER, DONE, IN_ORDER, PASSED, SKIP, UNKNOWN
from diagnose.session.moves import hand_over, next_move
from diagnose.session.steps import PERSON, Choice, Step
from knowledge.loader import Knowledge
from knowledge.rules.stop_cards import may_lift

UNFOLDED = 3
"""Faults shown at once; the rest stand behind one line."""
WORTH_A_LINE = 1.15
ROLES = ("operator", "maintenance", "electrician", "service")


@dataclass(frozen=True)
class Button:
    """One answer to press: what it sends, what it says, and what would follow."""

    sends: str
    says: str
    mark: str = ""
    then: str = ""


@dataclass(frozen=True)
class Node:
    """One link of a causal chain: what it is called, what kind it is, the physics behind it."""

    kind: str
    id: str
    title: str
    physics: str = ""


@dataclass(frozen=True)
class FaultView:
    """One likely fault as the page shows it."""

    fault: LikelyFault
    odds: str
    chain: tuple[Node, ...]
    speaks_for: tuple[str, ...]
    speaks_against: tuple[str, ...]
    common: str


@dataclass(frozen=True)
class Question:
    """One question worth asking, with a button an answer; none where a label is read out."""

    ask: Ask
    why: str
    buttons: tuple[Button, ...]


@dataclass(frozen=True)
class CaseView:
    """Everything the page of a case shows."""

    log: Log
    case: Case
    found: Diagnosis
    goes_by: tuple[tuple[str, str], ...]
    cards: tuple[str, ...]
    faults: tuple[FaultView, ...]
    step: Step
    buttons: tuple[Button, ...]
    lifters: tuple[tuple[str, str], ...]
    questions: tuple[Question, ...]
    ruled_out: tuple[tuple[str, tuple[str, ...]], ...]
    done: tuple[str, ...]
    lost: tuple[str, ...]
    unused: tuple[tuple[str, str], ...]
    to_go_on: bool
    trusted: bool
    body: str

    @property
    def heading(self) -> str:
        """The station and the complaint, as they were told."""
        parts = [self.case.station.name or "", "; ".join(self.case.said)]
        told = ": ".join(filter(None, parts))[:160]
        return told[:1].upper() + told[1:] or "What was found so far"

    @property
    def ended(self) -> str:
        """How the case ended, in words; '' while it goes on."""
        end = self.log.ended
        if end is None:
            return ""
        if end.kind == "handed_over":
            return f"Handed over to {PERSON[end.body['to']]}."
        if end.body["outcome"] == "cured":
            return "Put right and proved."
        return "Closed: the cause is not in our list."


def view_of(
    log: Log,
    knowledge: Knowledge,
    learned: Mapping[str, float] | None,
    *,
    give_up: bool = False,
) -> CaseView:
    """Return what the page shows of a case. Raises UnknownId for ids that are not known.

    `give_up`: the user asked to hand the case over, whatever could still be done.
    """
    case, lost = log.as_it_stands(knowledge)
    reasoned = reason(case, knowledge, learned)
    found = in_words(reasoned, learned is not None)
    history = log.history
    step = hand_over(reasoned, history) if give_up else next_move(reasoned, history)
    return CaseView(
        log=log,
        case=case,
        found=found,
        goes_by=tuple(_goes_by(case, knowledge, found)),
        cards=tuple(card.id for card in standing(found.stop_cards)),
        faults=tuple(_fault(reasoned, fault, found) for fault in found.faults),
        step=step,
        buttons=tuple(_buttons(step, knowledge)),
        lifters=tuple(_lifters(step, found)),
        questions=tuple(_questions(found.asks, step, knowledge)),
        ruled_out=tuple(_ruled_out(reasoned)),
        done=tuple(line for answer in log.answers for line in _done(answer.entries, knowledge)),
        lost=tuple(lost),
        unused=tuple((unused_in_words(knowledge, row.item), row.why) for row in found.unused),
        to_go_on=something_to_go_on(found),
        trusted=points_to_our_list(found),
        body=to_json(case),
    )


def _goes_by(case: Case, knowledge: Knowledge, found: Diagnosis) -> Iterator[tuple[str, str]]:
    """Give what the reasoning goes by: set-up, answers, what words were taken for, readings, findings."""
    if told := set_up(case):
        yield "Set-up", told
    for row in found.recognised:
        mark, thing = taken_for(knowledge, row)
        yield mark, f"{thing.rstrip('.')} (“{row.said}”)"
    for seen in case.symptoms:
        yield ANSWER[seen.seen], knowledge.title(seen.id)
    for kind in (*case.started.change, case.started.pattern, case.started.only):
        if kind:
            yield "Start", knowledge.starts[kind].title
    for one in case.readings:
        yield "Reading", reading_in_words(one)
    for finding in case.findings:
        yield "Found", finding_in_words(knowledge, finding.check, finding.result)
    for remedied in case.remedied:
        result = "cured" if remedied.cured else "did not cure"
        yield "Tried", f"{knowledge.title(remedied.fault)}: {result}"
    for safe in case.made_safe:
        title = knowledge.stop_cards[safe.stop_card].title
        yield "Made safe", f"{title}: found safe by {PERSON[safe.by]}"


def _fault(reasoned: Reasoned, fault: LikelyFault, found: Diagnosis) -> FaultView:
    weighty = [item for item in fault.evidence if max(item.factor, 1 / item.factor) >= WORTH_A_LINE]
    lines = [
        (item.factor, f"{item.says.rstrip('.')} ({weight_in_words(item.factor)})")
        for item in weighty
    ]
    common = ""
    if found.knowledge.learned:
        here = reasoned.ranker.per_thousand[fault.id] / reasoned.cut.share.get(fault.id, 1.0)
        shipped = 1000.0 * fault.share_shipped
        common = f"{here:.1f} of 1,000 by your closed cases, {shipped:.1f} as shipped"
    return FaultView(
        fault=fault,
        odds=chance_in_words(fault.probability),
        chain=tuple(node(reasoned.knowledge, name) for name in fault.path),
        speaks_for=tuple(line for factor, line in lines if factor > 1),
        speaks_against=tuple(line for factor, line in lines if factor < 1),
        common=common,
    )


def node(knowledge: Knowledge, name: str) -> Node:
    """Return a node of the cause graph as a link of a chain."""
    if name in knowledge.mechanisms:
        found = knowledge.mechanisms[name]
        return Node("mechanism", name, found.title, found.physics)
    kind = "fault" if name in knowledge.faults else "symptom"
    return Node(kind, name, knowledge.title(name))


def _buttons(step: Step, knowledge: Knowledge) -> Iterator[Button]:
    """Give a button for each answer a step takes; a stop card is lifted in a form of its own."""
    if step.kind not in ("stop", "cured"):
        good = knowledge.checks[step.id].nothing_found.result if step.kind == "check" else ""
        for choice in step.choices:
            mark = "" if not good else "Good" if choice.key == good else "Bad"
            yield Button(f"{step.kind}|{step.id}|{choice.key}", choice.says, mark, _then(choice))
    for key, words in _BESIDE.get(step.kind, ()):
        yield Button(f"{step.kind}|{step.id}|{key}", words)


_BESIDE = {
    "check": ((SKIP, "It cannot be done here"), (UNKNOWN, "Not sure what I see")),
    "symptom": ((UNKNOWN, "Not sure"), (SKIP, "Ask something else")),
    "station": ((SKIP, "Not known here"),),
    "started": ((SKIP, "Not known"),),
    "remedy": ((SKIP, "It cannot be done here"),),
    "stop": ((SKIP, "Nobody here can lift it: go on with what it leaves open"),),
}
"""Kind of step -> the answers it takes besides its choices."""


def _then(choice: Choice) -> str:
    if not choice.then_leads or choice.then_probability is None:
        return ""
    return (
        f"Then {lower_first(choice.then_leads)} leads, {chance_in_words(choice.then_probability)}."
    )


def _lifters(step: Step, found: Diagnosis) -> Iterator[tuple[str, str]]:
    """Give the people who may lift the card that a step is about."""
    if step.kind != "stop":
        return
    card = next(card for card in found.stop_cards if card.id == step.id)
    for role in ROLES:
        if may_lift(role, card.who):
            yield role, PERSON[role][:1].upper() + PERSON[role][1:]


def _questions(asks: Sequence[Ask], step: Step, knowledge: Knowledge) -> Iterator[Question]:
    for ask in asks:
        if (ask.kind, ask.id) == (step.kind, step.id):
            continue
        rows = _answers(ask, knowledge)
        buttons = [Button(f"{ask.kind}|{ask.id}|{key}", words) for key, words in rows.items()]
        yield Question(ask, _why(ask), tuple(buttons))


def _why(ask: Ask) -> str:
    """Return why to ask, or '' where every answer leaves the same fault in the lead."""
    leads = {part.partition(": ")[2] for part in ask.why.rstrip(".").split("; ")}
    return "" if ask.kind == "symptom" and len(leads) == 1 else ask.why


def _answers(ask: Ask, knowledge: Knowledge) -> dict[str, str]:
    """Return the answers to a question, each with its words."""
    if ask.kind == "symptom":
        return {"yes": "Yes", "no": "No", UNKNOWN: "Not sure"}
    if ask.kind == "started":
        return {kind: knowledge.starts[kind].title for kind in ask.answers}
    if ask.id.startswith("station.polarity"):
        return POLARITIES
    for row in knowledge.attributes.values():
        if row.path == ask.id:
            return words_of(row)
    return {}


def _ruled_out(reasoned: Reasoned) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Give what the station rules out, with the faults that cannot be for it."""
    knowledge = reasoned.knowledge
    groups: dict[str, list[str]] = {}
    for fault, attribute in reasoned.cut.gone.items():
        groups.setdefault(attribute, []).append(fault)
    for attribute, faults in sorted(groups.items()):
        row = knowledge.attributes[attribute]
        has = ", ".join(row.answers[value] for value in sorted(reasoned.station[attribute]))
        titles = tuple(knowledge.title(fault) for fault in sorted(faults))
        yield f"{row.title}: {has}", titles


def _done(entries: Sequence[object], knowledge: Knowledge) -> Iterator[str]:
    """Give a line for each entry of an answer."""
    for entry in entries:
        kind, body = getattr(entry, "kind"), getattr(entry, "body")  # noqa: B009
        if line := _line(kind, body, knowledge):
            yield line


def _line(kind: str, body: Mapping[str, object], knowledge: Knowledge) -> str:
    match kind:
        case "found":
            finding = Finding(check=str(body["check"]), result=str(body["result"]))
            if finding.check not in knowledge.checks:
                return f"{finding.check}: {finding.result}"
            return finding_in_words(knowledge, finding.check, finding.result)
        case "remedied":
            return f"{_title(knowledge, body['fault'])}: {_cured(body)}"
        case "advised" if body.get("why") == DONE:
            return f"{_title(knowledge, body['id'])}: carried out, not proved yet"
        case "advised" if body.get("why") == PASSED:
            return f"Passed over: {_title(knowledge, body['id'])}"
        case "proved":
            return f"Proof: {'good' if body['good'] else 'not good yet'}"
        case "handed_over":
            return f"Handed over to {WHO[str(body['to'])]}"
        case "closed":
            return "Closed"
        case "read":
            return f"Reading: {body['what']} {body['value']} {body['unit']}"
        case _:
            return _reported(Case.model_validate(body), knowledge)


def _cured(body: Mapping[str, object]) -> str:
    if body["cured"]:
        return "cured"
    note = str(body.get("note", ""))
    return note if note in (BETTER, IN_ORDER) else "did not cure"


def _title(knowledge: Knowledge, name: object) -> str:
    text = str(name)
    for entries in (knowledge.faults, knowledge.checks, knowledge.symptoms, knowledge.stop_cards):
        if text.removeprefix("stop_") in entries:
            return str(entries[text.removeprefix("stop_")].title)
    return question_of(knowledge, text)


def _reported(told: Case, knowledge: Knowledge) -> str:
    parts = [f"“{words}”" for words in told.said]
    for row in told.symptoms:
        title = knowledge.symptoms[row.id].title if row.id in knowledge.symptoms else row.id
        parts.append(f"{title}: {ANSWER[row.seen].lower()}")
    for kind in (*told.started.change, told.started.pattern, told.started.only):
        if kind:
            parts.append(knowledge.starts[kind].title if kind in knowledge.starts else kind)
    if station := set_up(told):
        parts.append(station)
    parts += [
        f"{row.stop_card.replace('_', ' ')}: found safe by {PERSON[row.by]}"
        for row in told.made_safe
    ]
    if not parts and "units" in told.model_fields_set:
        parts.append(f"Units: {told.units}")
    return "; ".join(parts) or "Told more of the set-up"
