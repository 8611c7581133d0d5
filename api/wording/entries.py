"""Entries of the knowledge in words."""

from __future__ import annotations

from api.entry_shown import TellsApart
from api.wording.figures import lower_first
from knowledge.loader import Knowledge

BASIS = {
    "published": "published",
    "common_practice": "common practice",
    "from_memory": "from memory",
    "judgement": "judgement",
}


def sign_in_words(knowledge: Knowledge, row: TellsApart) -> str:
    """Return a sign in words: a symptom, the result of a check, or how it started."""
    if row.kind == "symptom":
        return knowledge.title(row.id)
    if row.kind == "start":
        return f"Start: {lower_first(knowledge.starts[row.id.partition('.')[2]].title)}"
    name, _, result = row.id.partition(":")
    check = knowledge.checks[name]
    says = {looked.result: looked.says for looked in check.looks_for}
    return f"{check.title} ({name}): {says.get(result, check.nothing_found.says).rstrip('.')}"
