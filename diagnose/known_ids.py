"""A kept case may outlive the entries it names: what is still known of it, and what is not."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.case import Case
from diagnose.reason import results_of
from knowledge.loader import Knowledge


def only_known(case: Case, knowledge: Knowledge) -> tuple[Case, list[str]]:
    """Return the case without what names an unknown entry, and the ids that were left out.

    The order of the rest is kept. What is left out can be reasoned about by nobody.
    """
    lost: list[str] = []
    kept = {
        "symptoms": [
            one for one in case.symptoms if _told(one.id, one.id in knowledge.symptoms, lost)
        ],
        "findings": [
            one
            for one in case.findings
            if _told(
                f"{one.check}={one.result}", _is_result(knowledge, one.check, one.result), lost
            )
        ],
        "remedied": [
            one for one in case.remedied if _told(one.fault, one.fault in knowledge.faults, lost)
        ],
        "made_safe": [
            one
            for one in case.made_safe
            if _told(one.stop_card, one.stop_card in knowledge.stop_cards, lost)
        ],
        "started": case.started.model_copy(update=dict(_started(case, knowledge, lost))),
        "user": case.user.model_copy(update=dict(_tools(case, knowledge, lost))),
    }
    return (case.model_copy(update=kept), lost) if lost else (case, lost)


def _told(name: str, known: bool, lost: list[str]) -> bool:
    if not known:
        lost.append(name)
    return known


def _is_result(knowledge: Knowledge, check: str, result: str) -> bool:
    if check not in knowledge.checks:
        return False
    return result in (*results_of(knowledge.checks[check]), "cannot_do", "not_sure")


def _started(case: Case, knowledge: Knowledge, lost: list[str]) -> Iterator[tuple[str, object]]:
    def known(kind: str, facet: str) -> bool:
        row = knowledge.starts.get(kind)
        return _told(kind, row is not None and row.facet == facet, lost)

    yield "change", [kind for kind in case.started.change if known(kind, "change")]
    for facet in ("pattern", "only"):
        kind = getattr(case.started, facet)
        if kind is not None and not known(kind, facet):
            yield facet, None


def _tools(case: Case, knowledge: Knowledge, lost: list[str]) -> Iterator[tuple[str, object]]:
    if case.user.tools is not None:
        tools = [tool for tool in case.user.tools if _told(tool, tool in knowledge.outfits, lost)]
        yield "tools", tools
