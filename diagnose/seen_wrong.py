"""What was plainly seen to be wrong is put right, whatever else the complaint comes from.

A clamp that hangs free may not be why the arc is weak. Nobody welds on to find that out.
"""

from __future__ import annotations

from diagnose.advice import MAY
from diagnose.reason import Reasoned
from knowledge.models import Result

PLAIN = 0.9
MISTAKEN = 0.02
QUICK_MIN = 5.0
"""How sure a plain look is, how often it errs, and how long a quick remedy takes (judgement)."""
WHY = "It was seen to be wrong: put it right before anything is switched on again."


def seen_wrong(reasoned: Reasoned) -> list[str]:
    """Return the faults that a check plainly saw and that this user puts right in minutes, untried ones."""
    knowledge, case = reasoned.knowledge, reasoned.case
    tried = {item.fault for item in case.remedied}
    found: dict[str, None] = {}
    for finding in case.findings:
        for result in knowledge.checks[finding.check].looks_for:
            if result.result != finding.result or not (fault := _plainly(result)):
                continue
            entry = knowledge.faults.get(fault)
            if entry is None or fault in tried or fault not in reasoned.cut.graph:
                continue
            if entry.remedy.who in MAY[case.user.may] and entry.remedy.minutes <= QUICK_MIN:
                found[fault] = None
    return list(found)


def _plainly(result: Result) -> str | None:
    """Return the one node that a result plainly shows."""
    if len(result.shows) != 1 or result.mistaken > MISTAKEN:
        return None
    ((node, chance),) = result.shows.items()
    return node if chance >= PLAIN else None
