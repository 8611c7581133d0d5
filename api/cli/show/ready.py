"""The hook-up check on a page, and as a Markdown sheet to print."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from api.cli.emit import visible

if TYPE_CHECKING:
    from api.cli.show.page import Page
    from diagnose.readiness.hook_up import Readiness, WalkStep
    from diagnose.readiness.on_paper import PaperLine

VERDICTS = {
    "ready": "Ready, as far as told and ticked.",
    "not_ready": "Not ready.",
    "cant_tell": "Nobody can tell yet.",
}
STAGES = {
    "before_power": "Walk round, before power",
    "power_up": "Power up",
    "first_arc": "First arc",
}
STANDINGS = {"wrong": "Wrong", "at_the_edge": "At the edge", "right": "Right"}
HAZARDS = {
    "look": "look only",
    "touch_machine_off": "hands on, machine off",
    "live_weld_circuit": "live weld circuit",
    "covers_off_or_supply": "covers off or supply side",
}
BOXES = {"good": "[x]", "bad": "[BAD]", "not_done": "[ ]"}


def put_readiness(page: Page, found: Readiness) -> None:
    """Put the check: stop cards first, then the verdict, the paper, and the walk-round."""
    _put_cards(page, found)
    page.heading(f"{found.station or 'Station'}: {VERDICTS[found.verdict]}")
    for why in found.because:
        page.put(why, indent=2, mark="-")
    _put_on_paper(page, found)
    for stage, title in STAGES.items():
        steps = [step for step in found.walk_round if step.stage == stage]
        page.heading(title)
        wait = next((step.wait for step in steps if step.wait), None)
        if wait:
            page.put(wait, mark="Wait:")
        for step in steps:
            _put_step(page, step)
    page.blank()
    page.put(found.disclaimer)


def _put_cards(page: Page, found: Readiness) -> None:
    for card in found.stop_cards:
        state = {"stands": "", "perhaps": " (perhaps)", "made_safe": " (made safe)"}[card.state]
        page.put(f"{card.title}{state}", mark=f"{card.signal_word}:", mark_style=card.signal_word)
        if card.state != "made_safe":
            for step in card.do:
                page.put(step, indent=2, mark="-")


def _put_on_paper(page: Page, found: Readiness) -> None:
    for standing, title in STANDINGS.items():
        rows = [line for line in found.on_paper if line.standing == standing]
        if rows:
            page.heading(f"{title} on paper")
            for line in rows:
                _put_paper(page, line)
    if found.not_told:
        page.heading("Not told, so not judged")
        for row in found.not_told:
            page.put(f"{row.question} {row.why}", indent=2, mark="?")
    for left in found.unused:
        page.put(f"{left.item} was not used: {left.why}", mark="!")


def _put_paper(page: Page, line: PaperLine) -> None:
    if line.standing == "right":
        page.put(f"{line.title}: {line.has}", indent=2, mark="-")
        return
    page.put(f"{line.title}: has {line.has}, needs {line.needs}. {line.says}", indent=2, mark="-")
    if line.who and line.who != "operator":
        page.put(f"A job for {line.who}.", indent=4)
    for step in line.remedy:
        page.put(step, indent=4, mark="-")


def _put_step(page: Page, step: WalkStep) -> None:
    page.put(
        f"{step.title} ({step.id}; {HAZARDS[step.hazard]})",
        mark=f"{step.number}. {BOXES[step.tick]}",
        style="heading",
    )
    page.put(step.do, indent=4)
    page.put(step.why, indent=4, mark="Why:")
    page.put(step.good, indent=4, mark="Good:")
    page.put(step.bad, indent=4, mark="Bad:")
    if step.supposing:
        page.put(step.supposing, indent=4, mark="Supposing")
    if step.who != "operator":
        page.put(step.who, indent=4, mark="Who:")


def as_markdown(found: Readiness) -> str:
    """Return the check as a Markdown sheet with a box for each line."""
    return "\n".join(_markdown_lines(found)) + "\n"


def _markdown_lines(found: Readiness) -> Iterator[str]:
    yield f"# Hook-up check: {_md(found.station or 'station')}"
    yield ""
    for card in found.stop_cards:
        if card.state != "made_safe":
            yield f"> **{card.signal_word}** {_md(card.title)}"
            yield from (f"> - {_md(step)}" for step in card.do)
            yield ""
    yield f"**{VERDICTS[found.verdict]}**"
    yield ""
    yield from (f"- {_md(why)}" for why in found.because)
    yield from ("", "## On paper", "")
    for line in found.on_paper:
        needs = f", needs {line.needs}" if line.needs else ""
        says = f" {line.says}" if line.standing != "right" else ""
        yield f"- {STANDINGS[line.standing]}: {_md(f'{line.title}: has {line.has}{needs}.{says}')}"
    yield from (f"- Not told: {_md(row.question)}" for row in found.not_told)
    for stage, title in STAGES.items():
        yield from ("", f"## {title}", "")
        for step in found.walk_round:
            if step.stage == stage:
                yield from _markdown_step(step)
    yield ""
    yield f"_{_md(found.disclaimer)}_"


def _markdown_step(step: WalkStep) -> Iterator[str]:
    box = "[x]" if step.tick == "good" else "[ ]"
    bad = " **found bad**" if step.tick == "bad" else ""
    yield f"- {box} **{step.number}. {_md(step.title)}**{bad} ({HAZARDS[step.hazard]}, {step.who})"
    yield f"  {_md(step.do)}"
    yield f"  - Why: {_md(step.why)}"
    yield f"  - Good: {_md(step.good)}"
    yield f"  - Bad: {_md(step.bad)}"
    if step.supposing:
        yield f"  - Supposing {_md(step.supposing)}"


def _md(text: str) -> str:
    """Return text that Markdown shows as it stands.

    >>> _md("<b> text")
    '&lt;b&gt; text'
    """
    shown = visible(text).replace("\\", "\\\\").replace("&", "&amp;")
    shown = shown.replace("<", "&lt;").replace(">", "&gt;")
    for sign in "*_`[]#|":
        shown = shown.replace(sign, f"\\{sign}")
    return " ".join(shown.split())
