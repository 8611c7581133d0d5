"""Evidence has one form: a node, and how likely this item is when the node is on and when it is off."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, order=True)
class Evidence:
    """One item that was said, found, read or seen in the set-up.

    `item` names what was seen ("symptom:no_arc"); `node` is a fault, mechanism, symptom or finding;
    `on` and `off` are the chances of the item when the node is on and when it is off, off 0 and 1.
    """

    item: str
    node: str
    on: float
    off: float


@dataclass(frozen=True)
class StartEvidence:
    """How it started, weighed by each fault's own `starts`: one facet, fault -> lift over the base."""

    item: str
    lift: Mapping[str, float]


WELDER_YES = (0.90, 0.006)
WELDER_NO = (0.12, 0.92)
TRIED_YES = (0.97, 0.002)
TRIED_NO = (0.04, 0.97)
UNDERSTOOD_NO = (0.15, 0.92)
"""Chance of the answer when the symptom is there, and when it is not (judgement).

A welder mostly names what is there, seldom names what is not (the everyday ones that come by themselves
are the symptom's leak), and passes over one in eight; somebody who has just tried it errs in a few of a
hundred."""


REMEDY_CURED = (0.90, 0.04)
REMEDY_DID_NOT_CURE = (0.12, 0.90)
"""A remedy that cured shows that the fault was there; one that did not may have been done badly, so it
is evidence against, not proof (judgement)."""


def symptom_evidence(symptom: str, seen: str, by: str, leak: float = 1.0) -> Evidence | None:
    """Return the evidence of an answer about a symptom, or None for 'not sure'.

    `leak` is how often the symptom comes by itself: what hardly ever does (a trip, a shock) is hardly
    ever named in error either, so a yes is false no more often than that.
    """
    if seen == "not_sure":
        return None
    table = {
        ("yes", "welder"): WELDER_YES,
        ("no", "welder"): WELDER_NO,
        ("yes", "tried_it"): TRIED_YES,
        ("no", "tried_it"): TRIED_NO,
    }
    on, off = table[seen, by]
    if seen == "yes":
        off = min(off, leak)
    return Evidence(f"symptom:{symptom}", symptom, on, off)
