"""The handover sheet of a case of the casebook, or of a case that is kept nowhere."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from diagnose.answer import in_words
from diagnose.case import Case
from diagnose.handover.history import Noted, noted_of
from diagnose.handover.report import handover_sheet
from diagnose.handover.sheet import HandoverSheet
from diagnose.known_ids import only_known
from diagnose.reason import reason
from diagnose.session.answers import history_of
from diagnose.session.history import as_it_stands
from knowledge.loader import Knowledge

if TYPE_CHECKING:
    from api.casebook import StoredCase


def sheet_of(
    stored: StoredCase, knowledge: Knowledge, learned: Mapping[str, float] | None = None
) -> HandoverSheet:
    """Return the sheet of a kept case.

    Ids that the knowledge no longer holds are told as they are and not reasoned about.
    """
    from api.casebook import standing

    noted = [Noted(e.kind, e.body, e.at, e.who) for e in standing(stored.events)]
    if not noted:
        first = stored.events[0]
        noted = [Noted("reported", {}, first.at, first.who)]
    return _sheet(stored.case, noted, knowledge, learned, stored.id)


def sheet_of_case(
    case: Case, knowledge: Knowledge, learned: Mapping[str, float] | None = None
) -> HandoverSheet:
    """Return the sheet of a case that no casebook keeps: without times and names."""
    return _sheet(case, noted_of(case), knowledge, learned, None)


def _sheet(
    case: Case,
    noted: Sequence[Noted],
    knowledge: Knowledge,
    learned: Mapping[str, float] | None,
    case_id: str | None,
) -> HandoverSheet:
    history = history_of((entry.kind, entry.body) for entry in noted)
    standing_case = as_it_stands(case, history, knowledge)
    known, lost = only_known(standing_case, knowledge)
    reasoned = reason(known, knowledge, learned)
    diagnosis = in_words(reasoned, learned is not None)
    return handover_sheet(reasoned, diagnosis, noted, case_id, lost)
