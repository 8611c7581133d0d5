"""What to do next: one check, one remedy, or whom to fetch."""

from __future__ import annotations

from api.cli.show.page import Page
from api.wording.figures import HAZARD, WHO, chance_in_words, lower_first, minutes_in_words
from diagnose.diagnosis import Diagnosis, LikelyFault, NextCheck, ResultWeight, standing
from diagnose.reason import Reasoned
from diagnose.seen_wrong import seen_wrong
from knowledge.loader import PROOF_WELD, Knowledge

MOST_RESULTS = 4


def put_next(page: Page, reasoned: Reasoned, found: Diagnosis, *, everything: bool) -> None:
    """Put the next step, and the next check in full where nothing stands in its way."""
    step, check = found.next_step, found.next_check
    if step is None:
        return
    page.heading("Next")
    cards = standing(found.stop_cards)
    if step.kind == "stop":
        names = ", ".join(lower_first(card.title) for card in cards)
        page.put(f"Stop. Do what the card says first ({names}).", style="strong")
        if check:
            page.put(f"Checks and repairs wait; after that: {lower_first(check.title)}.")
        return
    if step.kind == "check" and check:
        _put_check(page, reasoned, check, everything=everything)
        return
    if step.kind == "hand_over":
        page.put(f"{step.title}, to {WHO[step.who]}.", style="strong")
    else:
        took = minutes_in_words(step.minutes)
        likely = any(one.id == step.id and one.probability >= 0.5 for one in found.faults)
        lead = "Put this right" if likely else "Cheapest to try first"
        page.put(f"{lead}: {lower_first(step.title)} ({took}).", style="strong")
    page.put(step.why, indent=2)
    if step.kind == "remedy" and step.id != found.faults[0].id:
        page.put(f"Its steps: wontweld knowledge show {step.id}", indent=2)
    if check and step.id not in seen_wrong(reasoned):
        page.put(
            f"If you would sooner check first: {lower_first(check.title)} "
            f"({minutes_in_words(check.minutes)}; wontweld knowledge show {check.id}).",
            indent=2,
        )


def _put_check(page: Page, reasoned: Reasoned, check: NextCheck, *, everything: bool) -> None:
    page.put(f"{check.title} ({minutes_in_words(check.minutes)})", style="strong")
    tools = f" Take along: {lower_first(', '.join(check.tools))}." if check.tools else ""
    page.put(f"{HAZARD[check.hazard]}{tools}", indent=2)
    for number, step in enumerate(check.steps, 1):
        page.put(step, mark=f"{number}.", indent=2)
    good_id = reasoned.knowledge.checks[check.id].nothing_found.result
    good = [result for result in check.results if result.result == good_id]
    bad = sorted(
        (result for result in check.results if result.result != good_id),
        key=lambda result: -result.probability,
    )
    page.put(f"What it can show (tell it with --found {check.id}=[...]):", indent=2)
    shown = bad if everything else bad[:MOST_RESULTS]
    for mark, results in (("Good:", good), ("Bad:", shown)):
        for result in results:
            page.put(_result(reasoned.knowledge, result), mark=mark, indent=2)
    if len(bad) > len(shown):
        page.put(
            f"More, but rarer ({len(bad) - len(shown)}): wontweld knowledge show {check.id}",
            indent=2,
            style="quiet",
        )
    page.put(check.why, mark="Why this now:", indent=2)


def _result(knowledge: Knowledge, result: ResultWeight) -> str:
    leads = lower_first(knowledge.title(result.then_leads))
    then = f"Then: {leads}, {chance_in_words(result.then_probability)}."
    return f"{result.says.rstrip('.')}. {then} [{result.result}]"


def put_remedy(page: Page, knowledge: Knowledge, fault: LikelyFault, found: Diagnosis) -> None:
    """Put how the first fault is put right, where this user may do it, and how to prove it."""
    remedy = fault.remedy
    sure = found.next_step is not None and found.next_step.kind == "remedy"
    here = sure and found.next_step is not None and found.next_step.id == fault.id
    page.heading("How to put it right" if here else f"If it is that: {lower_first(fault.title)}")
    if remedy.withheld:
        page.put(remedy.withheld, indent=2)
        return
    for number, step in enumerate(remedy.steps, 1):
        page.put(step, mark=f"{number}.", indent=2)
    proof = "a weld like the one that failed"
    if remedy.proved_by != PROOF_WELD:
        proof = lower_first(knowledge.title(remedy.proved_by))
    page.put(f"{proof}.", mark="Proved by:", indent=2)
