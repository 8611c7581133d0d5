"""How it started, as evidence: P(kind of start | fault) over the chance of that kind at all."""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.case import Started
from diagnose.evidence import StartEvidence
from knowledge.loader import Knowledge
from knowledge.models import Starts

SAID_AS_SYMPTOM = {"when_cable_moves": "changes_with_cable", "when_warm": "worse_when_warm"}
"""Patterns that are also symptoms: said both ways they count once."""


def start_evidence(
    knowledge: Knowledge, started: Started, symptoms_answered: Mapping[str, str]
) -> list[StartEvidence]:
    """Return an item for each facet that is told.

    Of several changes one is taken to be the one that matters, none more likely than another, so
    their lifts are averaged.
    """
    facets: dict[str, list[str]] = {"change": list(started.change)}
    if started.pattern and SAID_AS_SYMPTOM.get(started.pattern) not in symptoms_answered:
        facets["pattern"] = [started.pattern]
    if started.only:
        facets["only"] = [started.only]
    items = []
    for facet, told in facets.items():
        kinds = [kind for kind in told if kind in knowledge.starts]
        if not kinds:
            continue
        bases = {n: row.base for n, row in knowledge.starts.items() if row.facet == facet}
        lift = {
            name: sum(_lift(fault.starts, facet, kind, bases) for kind in kinds) / len(kinds)
            for name, fault in knowledge.faults.items()
        }
        items.append(StartEvidence(f"started.{facet}:{'+'.join(sorted(kinds))}", lift))
    return items


def start_chance(starts: Starts, facet: str, kind: str, bases: Mapping[str, float]) -> float:
    """Return P(kind of start | fault): as named, else the rest shared out by base chance."""
    named: dict[str, float] = getattr(starts, facet)
    if kind in named:
        return named[kind]
    rest = 1.0 - sum(named.values())
    return rest * bases[kind] / sum(base for name, base in bases.items() if name not in named)


def _lift(starts: Starts, facet: str, kind: str, bases: Mapping[str, float]) -> float:
    return start_chance(starts, facet, kind, bases) / bases[kind]
