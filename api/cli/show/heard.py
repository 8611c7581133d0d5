"""What was understood, what was not, and what was not used."""

from __future__ import annotations

from api.cli.show.page import Page
from api.wording.figures import lower_first
from api.wording.heard import ANSWER, finding_in_words, taken_for, unused_in_words
from api.wording.station import reading_in_words, set_up
from diagnose.diagnosis import Diagnosis
from diagnose.reason import Reasoned
from knowledge.loader import Knowledge


def put_heard(page: Page, reasoned: Reasoned, found: Diagnosis, *, everything: bool) -> None:
    """Put what was taken from words and answers, then what was not."""
    knowledge, case = reasoned.knowledge, reasoned.given
    rows = _told(reasoned)
    for row in found.recognised:
        kind, thing = taken_for(knowledge, row)
        rows.append((f"{kind}:", f'{thing.rstrip(".")} ("{row.said}")'))
    told = set_up(case)
    if rows or told or case.readings or case.findings:
        page.heading("What I go by")
    if told:
        page.put(told, mark="Set-up:", indent=2)
    for mark, text in rows:
        page.put(text, mark=mark, indent=2)
    for reading in case.readings:
        page.put(reading_in_words(reading), mark="Reading:", indent=2)
    for finding in case.findings:
        page.put(
            finding_in_words(knowledge, finding.check, finding.result), mark="Found:", indent=2
        )
    if found.understood and everything:
        titles = "; ".join(lower_first(knowledge.title(row.symptom)) for row in found.understood)
        page.put(f"{titles}.", mark="So not:", indent=2)
    _put_not_understood(page, knowledge, found)


def _told(reasoned: Reasoned) -> list[tuple[str, str]]:
    """Return what was answered outright."""
    knowledge, case = reasoned.knowledge, reasoned.given
    by = {"tried_it": "tried", "welder": "asked"}
    rows = [
        (f"{ANSWER[row.seen]}:", f"{knowledge.title(row.id)} ({by[row.by]})")
        for row in case.symptoms
    ]
    kinds = [*case.started.change, case.started.pattern, case.started.only]
    rows += [("Start:", knowledge.starts[kind].title) for kind in kinds if kind]
    return rows


def _put_not_understood(page: Page, knowledge: Knowledge, found: Diagnosis) -> None:
    for row in found.unrecognised:
        page.put(f'"{row.said}"', mark="Not understood:", indent=2, mark_style="strong")
        if row.nearest:
            page.put("The nearest I know:", indent=4)
        for name in row.nearest:
            page.put(f"{knowledge.title(name)} (--symptom {name})", mark="-", indent=4)
    for unused in found.unused:
        item = unused_in_words(knowledge, unused.item)
        page.put(f"{item}: {unused.why}.", mark="Not used:", indent=2, mark_style="strong")
