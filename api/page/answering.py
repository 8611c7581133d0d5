"""What a button or a line of text on the page means: entries for the case."""

from __future__ import annotations

from typing import Any, cast

from api.page.body import Form, FormRefused
from api.page.log import Log
from api.reading_text import reading
from diagnose.case import Case, Finding, MadeSafe, Remedied, SymptomSeen, Who
from diagnose.reason import check_ids
from diagnose.session.answers import SKIP, UNKNOWN, Entry, entries_of
from diagnose.session.steps import Choice, Step, StepKind, proved_by
from knowledge.errors import CaseError, UnknownId, WontweldError
from knowledge.loader import Knowledge
from knowledge.rules.stop_cards import may_lift

KINDS: tuple[StepKind, ...] = (
    "check",
    "symptom",
    "station",
    "started",
    "words",
    "remedy",
    "proof",
    "hand_over",
    "not_in_our_list",
    "stop",
)


class NoSuchAnswer(WontweldError):
    """The page sent an answer that the step does not take."""

    exit_code = 4
    problem_type = "/problems/no-such-answer"
    status = 422
    title = "Not an answer here"


def after(log: Log, form: Form, knowledge: Knowledge) -> Log:
    """Return the log after what a form asks for: an answer, words, a reading, or one answer less.

    Raises WontweldError, with the log left as it was.
    """
    if form.one("do") == "undo":
        return log.taken_back()
    if form.one("do") == "units":
        return log.in_units("metric" if log.folded.units == "us" else "us")
    if form.one("answer"):
        return _pressed(log, form.one("answer"), knowledge)
    if form.one("lift"):
        return _lifted(log, form, knowledge)
    if form.one("ask"):
        return _typed(log, form, knowledge)
    if form.one("reading"):
        return log.answered([Entry("read", _reading(form.one("reading")))])
    if form.one("more"):
        return log.answered([Entry("reported", {"said": _lines(form.one("more"))})])
    return log


def _lines(text: str) -> list[str]:
    return [line.strip() for line in text.split("\n") if line.strip()]


def _reading(text: str) -> dict[str, Any]:
    try:
        return reading(text, "Reading")
    except CaseError as error:
        error.where = "Reading"
        raise


def _pressed(log: Log, answer: str, knowledge: Knowledge) -> Log:
    kind, _, rest = answer.partition("|")
    name, _, key = rest.partition("|")
    step = _step(kind, name, key)
    _check(step, key, log, knowledge)
    prover = ""
    if step.kind == "proof":
        prover = proved_by(knowledge, step.id, log.folded.user.may)
    return log.answered(_entries(step, key, log, prover))


def _step(kind: str, name: str, key: str) -> Step:
    """Return the step that a button belongs to, as far as its answer needs it."""
    if kind not in KINDS or not name or not key:
        raise FormRefused("a button says something unknown", next_step="Go back and press again.")
    choices = () if key in (SKIP, UNKNOWN) else (Choice(key=key, says=""),)
    return Step(kind=kind, id=name, title="", choices=choices)


def _entries(step: Step, key: str, log: Log, prover: str = "", text: str = "") -> list[Entry]:
    try:
        return entries_of(step, key, log.history, proved_by=prover, text=text)
    except (ValueError, KeyError):
        raise NoSuchAnswer(
            f"'{key or text}' is no answer to that",
            where=step.id,
            next_step="Go back and press one of the buttons.",
        ) from None


def _check(step: Step, key: str, log: Log, knowledge: Knowledge) -> None:
    """Raise UnknownId for ids that are not known, NoSuchAnswer for a lift without a name."""
    told: dict[str, Any] = {}
    match step.kind:
        case "check":
            result = {SKIP: "cannot_do", UNKNOWN: "not_sure"}.get(key, key)
            told = {"findings": [Finding(check=step.id, result=result)]}
        case "symptom":
            told = {"symptoms": [SymptomSeen(id=step.id, seen="yes")]}
        case "words":
            told = {"symptoms": [SymptomSeen(id=key, seen="yes")]}
        case "remedy" | "proof":
            told = {"remedied": [Remedied(fault=step.id, cured=False)]}
            _refuse_if_not_theirs(step, key, log, knowledge)
        case "stop":
            _refuse_lift_by_button(step, key)
            told = {"made_safe": [MadeSafe(stop_card=step.id, by="service")]}
    check_ids(Case.model_validate(told), knowledge)


def _refuse_if_not_theirs(step: Step, key: str, log: Log, knowledge: Knowledge) -> None:
    if step.kind == "proof" and log.history.awaiting_proof != step.id:
        raise NoSuchAnswer(
            "this remedy was not carried out yet",
            where=step.id,
            next_step="Carry it out, then say what came of it.",
        )


def _refuse_lift_by_button(step: Step, key: str) -> None:
    if key != SKIP:
        raise NoSuchAnswer(
            "a stop card is lifted with a name", where=step.id, next_step="Give the name."
        )


def _lifted(log: Log, form: Form, knowledge: Knowledge) -> Log:
    """Return the log with a stop card lifted by the person named, who must be entitled to."""
    card, by, name = form.one("lift"), form.one("by"), form.one("name")
    if card not in knowledge.stop_cards:
        raise UnknownId("stop card", card)
    if not by or not name:
        raise NoSuchAnswer(
            "who found it safe, and by what name?",
            where="Stop card",
            next_step="Choose who it was and give the name.",
        )
    who = knowledge.stop_cards[card].who
    if not may_lift(by, who):
        raise NoSuchAnswer(
            "this person cannot lift the card",
            where="Stop card",
            next_step="Only a qualified person's finding lifts it.",
        )
    lifted = {"stop_card": card, "by": cast("Who", by)}
    return log.answered([Entry("reported", {"made_safe": [lifted]})], who=name)


def _typed(log: Log, form: Form, knowledge: Knowledge) -> Log:
    """Return the log with what was typed where a question takes text."""
    kind, _, name = form.one("ask").partition("|")
    text = form.one("text")
    if not text:
        return log
    step = _step(kind, name, "text").model_copy(update={"takes_text": True})
    if step.kind == "words":
        return log.answered([Entry("reported", {"said": _lines(text)})])
    if step.kind != "station":
        raise FormRefused("no text is taken there", next_step="Go back and press a button.")
    return log.answered(_entries(step, "", log, text=text))
