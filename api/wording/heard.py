"""What words were taken for, in words."""

from __future__ import annotations

import re

from api.wording.figures import lower_first
from diagnose.diagnosis import Recognised
from diagnose.hearing.classes_said import WIRE_CLASS
from knowledge.loader import Knowledge

ANSWER = {"yes": "Yes", "no": "No", "not_sure": "Not sure"}


def taken_for(knowledge: Knowledge, row: Recognised) -> tuple[str, str]:
    """Return what kind of thing some words were taken for, and the thing."""
    if row.symptom:
        return ANSWER[row.seen], knowledge.title(row.symptom)
    if row.started:
        return "Start", knowledge.starts[row.started.partition(".")[2]].title
    about, _, value = (row.told or "").partition("=")
    if about == WIRE_CLASS:
        return "Set-up", f"Wire class: {value}"
    if about in knowledge.attributes:
        attribute = knowledge.attributes[about]
        return "Set-up", f"{attribute.title}: {attribute.answers[value]}"
    return "Found", finding_in_words(knowledge, about, value)


def unused_in_words(knowledge: Knowledge, item: str) -> str:
    """Return what was not used as a person would call it.

    >>> from knowledge.loader import load
    >>> unused_in_words(load(), "readings[0]")
    'reading 1'
    """
    if place := re.fullmatch(r"readings\[(\d+)\]", item):
        return f"reading {int(place[1]) + 1}"
    _, _, check = item.partition("finding:")
    return lower_first(knowledge.title(check)) if check in knowledge.checks else item


def finding_in_words(knowledge: Knowledge, check: str, result: str) -> str:
    """Return the result of a check in words, after the title of the check."""
    said = {"cannot_do": "could not be done", "not_sure": "not sure"}.get(result)
    if said is None:
        rows = {found.result: found.says for found in knowledge.checks[check].results()}
        said = lower_first(rows.get(result, result.replace("_", " ")))
    return f"{knowledge.title(check)}: {said}"
