"""What a session shows: the leading faults and how they moved, one step, and what each answer would do."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from api.cli.chase_talk import LETTERS
from api.cli.show.page import Page
from api.wording.figures import HAZARD, WHO, chance_in_words, lower_first, minutes_in_words
from api.wording.heard import taken_for
from diagnose.answer import DISCLAIMER
from diagnose.asks import question_of
from diagnose.diagnosis import Recognised
from diagnose.reason import Reasoned
from diagnose.session.moves import Leader
from diagnose.session.steps import Step
from knowledge.loader import Knowledge

CAUTIONS: Mapping[str, str] = {
    "touch_machine_off": (
        "Put the output off and keep the wire clear of the work before a hand goes there. "
        "A bench whose clamp is off can float at electrode voltage."
    ),
    "live_weld_circuit": (
        "Live weld circuit: dry gloves, eye protection, a second person, nobody else near."
    ),
    "covers_off_or_supply": "Isolate, lock out and prove dead before a cover comes off.",
}
"""What is said when the hazard of the steps changes."""
_SAME_STEPS = ("remedy", "proof")


def welcome(page: Page, case_id: str | None, *, learned: bool) -> None:
    """Put what is said once, at the start."""
    page.put(DISCLAIMER, style="quiet")
    kept = f"Case {case_id}: each answer is kept as it is given." if case_id else NOT_KEPT
    page.put(kept, style="quiet")
    if learned:
        page.put(LEARNED, style="quiet")
    page.put(_KEYS, style="quiet")


_KEYS = "A number answers; ? why, - undo, s skip, n not known, q stop, help for the rest."
LEARNED = "Your closed cases count in the chances; --no-learning leaves them out."
NOT_KEPT = "Nothing is kept: what is entered is gone when the session ends."


@dataclass(frozen=True)
class Odds:
    """The ranking at one moment, to tell how it moved."""

    on: Mapping[str, float]
    not_in_list: float

    @classmethod
    def of(cls, reasoned: Reasoned) -> Odds:
        """Return the odds of a reasoned case."""
        return cls(dict(reasoned.ranking.on), reasoned.ranking.not_in_list)

    def probability(self, fault: str | None) -> float | None:
        """Return the probability of a fault, or of none in our list; None where it does not occur."""
        return self.not_in_list if fault is None else self.on.get(fault)


def put_leaders(page: Page, now: Sequence[Leader], before: Odds | None) -> None:
    """Put the leading faults, each with what it was before the last answer."""
    _gap(page)
    page.put("Likely now", style="heading")
    for leader in now:
        page.put(f"{leader.title}: {moved(leader, before)}", indent=2, mark="-")


def _gap(page: Page) -> None:
    """Put an empty line, at the top of a page too: pages follow one another in a session."""
    if not page.lines or page.lines[-1]:
        page.lines.append(())


def moved(leader: Leader, before: Odds | None) -> str:
    """Return how likely a fault is, after what it was.

    >>> moved(Leader(id="wind", title="Wind", probability=0.7), Odds({"wind": 0.3}, 0.05))
    '3 in 10 -> 7 in 10'
    """
    now = _short(leader.probability)
    was = before.probability(leader.id) if before else None
    return now if was is None or _short(was) == now else f"{_short(was)} -> {now}"


def _short(probability: float) -> str:
    return chance_in_words(probability).removeprefix("about ")


def put_understood(page: Page, reasoned: Reasoned, words: Sequence[str]) -> None:
    """Put what words were taken for, and what was not understood, with the nearest."""
    knowledge = reasoned.knowledge
    spoken = " ".join(words).lower()
    taken = [
        _taken_for(knowledge, row)
        for row in reasoned.heard.recognised
        if row.said.lower() in spoken
    ]
    if taken:
        page.put(f"Understood: {'; '.join(dict.fromkeys(taken))}.")
    for lost in reasoned.heard.unrecognised:
        if lost.said.lower() in spoken:
            near = "; ".join(knowledge.title(name) for name in lost.nearest)
            page.put(f'Not understood: "{lost.said}".' + (f" Nearest: {near}." if near else ""))


def _taken_for(knowledge: Knowledge, row: Recognised) -> str:
    kind, thing = taken_for(knowledge, row)
    return {"No": f"not: {thing}", "Not sure": f"perhaps: {thing}"}.get(kind, thing.rstrip("."))


def put_step(page: Page, step: Step, *, hazard_before: str | None) -> None:
    """Put one step. What the hazard asks for is said only where it differs from the step before."""
    _gap(page)
    if step.signal_word:
        page.put(step.title, mark=step.signal_word, mark_style=step.signal_word, style="strong")
        page.put(step.why)
    else:
        page.put(step.title, style="heading")
    _put_terms(page, step)
    if step.hazard and step.hazard in CAUTIONS and step.hazard != hazard_before:
        page.put(CAUTIONS[step.hazard], mark="CAUTION", mark_style="CAUTION")
    for caution in step.cautions:
        page.put(caution, mark="CAUTION", mark_style="CAUTION")
    for line in step.steps:
        page.put(line, indent=2, mark="-")
    _put_items(page, step)
    _put_choices(page, step)


def _put_terms(page: Page, step: Step) -> None:
    terms = []
    if step.minutes is not None and step.kind not in ("symptom", "station", "started"):
        terms.append(f"About {minutes_in_words(step.minutes)}.")
    if step.hazard:
        terms.append(HAZARD[step.hazard])
    if step.tools:
        terms.append(f"Tools: {', '.join(lower_first(tool) for tool in step.tools)}.")
    if terms:
        page.put(" ".join(terms), style="quiet")


def _put_items(page: Page, step: Step) -> None:
    if step.kind in ("hand_over", "not_in_our_list"):
        page.put(step.why)
    for item in step.items:
        share = f" ({_short(item.probability)})" if item.probability is not None else ""
        page.put(f"For {WHO[item.who]}: {lower_first(item.what)}{share}", indent=2, mark="-")


def _put_choices(page: Page, step: Step) -> None:
    for number, choice in enumerate(step.choices, 1):
        page.put(choice.says, indent=1, mark=str(number), mark_style="strong")
    if step.takes_name:
        page.put("Give the number and the name, such as: 1 Kim Doe", indent=1)
        page.put(
            "Until then nothing live is offered; s goes on with what the card leaves open.",
            indent=1,
        )
    if step.takes_text:
        page.put("Type it as it is said or printed.", indent=1)


def put_why(page: Page, step: Step) -> None:
    """Put why this step comes now, and what each of its answers would do."""
    if step.why:
        page.put(step.why)
    for number, choice in enumerate(step.choices, 1):
        if choice.probability is None:
            continue
        text = f"{choice.says.rstrip('.')} ({_short(choice.probability)})"
        if choice.then_leads and choice.then_probability is not None:
            leads = lower_first(choice.then_leads)
            text += f": then this leads, {_short(choice.then_probability)}: {leads}"
        page.put(f"{text}.", indent=1, mark=str(number))
    if step.kind in _SAME_STEPS:
        page.put("A remedy that does not cure makes its fault less likely; the rest moves up.")


def put_help(page: Page) -> None:
    """Put what can be typed at any step."""
    page.put("A number answers. An empty line shows the step again. Besides:")
    for letter, (_, says) in LETTERS.items():
        page.put(says, indent=2, mark=letter)


def put_taken_back(page: Page, knowledge: Knowledge, kind: str, body: Mapping[str, Any]) -> None:
    """Put what an undo took back, in words."""
    name = str(body.get("check") or body.get("fault") or body.get("id") or "")
    title = _of_what(knowledge, name) if name else ""
    what = {
        "found": "the result of a check",
        "read": "a reading",
        "remedied": "what came of a remedy",
        "advised": "a step passed over or carried out",
        "reported": "an answer or words",
        "proved": "a proof",
        "closed": "the closing of the case",
        "handed_over": "the handing over",
    }.get(kind, kind)
    page.put(f"Taken back: {what}" + (f" ({title})." if title else "."))


def _of_what(knowledge: Knowledge, name: str) -> str:
    """Return what an entry was about: a fault, a check, a stop card or a question."""
    card = knowledge.stop_cards.get(name.removeprefix("stop_"))
    if card:
        return card.title
    in_title = name in knowledge.faults or name in knowledge.checks
    return knowledge.title(name) if in_title else question_of(knowledge, name)


def put_kept(page: Page, case_id: str | None) -> None:
    """Put where the case is kept and how to go on, when the user stops before an end."""
    _gap(page)
    if case_id is None:
        page.put("Stopped. Nothing was kept.")
    else:
        page.put(f"Stopped. Case {case_id} is kept. Go on with: wontweld chase {case_id}")


def put_closed(
    page: Page, knowledge: Knowledge, body: Mapping[str, Any], case_id: str | None
) -> None:
    """Put how the case was closed."""
    _gap(page)
    names = "; ".join(knowledge.title(fault) for fault in body.get("faults", ()))
    says = {
        "cured": f"Closed: {names}. Put right and proved.",
        "not_in_our_list": "Closed: the cause is not in our list.",
    }
    page.put(says.get(body["outcome"], "Closed."), style="heading")
    if case_id:
        page.put(f"The sheet: wontweld handover {case_id}")
        page.put(f"Should it come back: wontweld chase {case_id} --reopen")


def put_handed_over(page: Page, to: str, case_id: str | None) -> None:
    """Put to whom the case went, and where their sheet is."""
    _gap(page)
    page.put(f"Handed over to {WHO[to]}.", style="heading")
    if case_id:
        page.put(f"The sheet for them: wontweld handover {case_id}")
        page.put(f"To go on here: wontweld chase {case_id}")
