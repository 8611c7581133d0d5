"""What was understood, what was not, and what was not used."""

from __future__ import annotations

from api.cli.show.page import Page
from api.cli.show.station import reading_in_words, set_up
from api.cli.show.words import lower_first
from diagnose.diagnosis import Diagnosis, Recognised
from diagnose.reason import Reasoned
from knowledge.loader import Knowledge

_ANSWER = {"yes": "Yes:", "no": "No:", "not_sure": "Not sure:"}


def put_heard(page: Page, reasoned: Reasoned, found: Diagnosis, *, everything: bool) -> None:
    """Put what was taken from words and answers, then what was not."""
    knowledge, case = reasoned.knowledge, reasoned.case
    rows = [*_told(reasoned), *(_said(knowledge, row) for row in found.recognised)]
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
        title = knowledge.checks[finding.check].title
        page.put(f"{title}: {finding.result.replace('_', ' ')}", mark="Found:", indent=2)
    if found.understood and everything:
        titles = "; ".join(lower_first(knowledge.title(row.symptom)) for row in found.understood)
        page.put(f"{titles}.", mark="So not:", indent=2)
    _put_not_understood(page, knowledge, found)


def _told(reasoned: Reasoned) -> list[tuple[str, str]]:
    """Return what was answered outright."""
    knowledge, case = reasoned.knowledge, reasoned.case
    by = {"tried_it": "tried", "welder": "asked"}
    rows = [
        (_ANSWER[row.seen], f"{knowledge.title(row.id)} ({by[row.by]})") for row in case.symptoms
    ]
    kinds = [*case.started.change, case.started.pattern, case.started.only]
    rows += [("Start:", knowledge.starts[kind].title) for kind in kinds if kind]
    return rows


def _said(knowledge: Knowledge, row: Recognised) -> tuple[str, str]:
    if row.symptom:
        return _ANSWER[row.seen], f'{knowledge.title(row.symptom)} ("{row.said}")'
    kind = (row.started or "").rpartition(".")[2]
    return "Start:", f'{knowledge.starts[kind].title} ("{row.said}")'


def _put_not_understood(page: Page, knowledge: Knowledge, found: Diagnosis) -> None:
    for row in found.unrecognised:
        page.put(f'"{row.said}"', mark="Not understood:", indent=2, mark_style="strong")
        if row.nearest:
            page.put("The nearest I know:", indent=4)
        for name in row.nearest:
            page.put(f"{knowledge.title(name)} (--symptom {name})", mark="-", indent=4)
    for unused in found.unused:
        page.put(f"{unused.item}: {unused.why}.", mark="Not used:", indent=2, mark_style="strong")
