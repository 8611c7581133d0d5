"""From a case to a diagnosis: words and facts, rules, evidence, ranking, explanation, advice.

Data flows one way. Nothing here reads a clock, a file or the network, and the same case gives the same
bytes under any hash seed and any order of what was entered.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.case import Case
from diagnose.evidence import (
    REMEDY_CURED,
    REMEDY_DID_NOT_CURE,
    UNDERSTOOD_NO,
    Evidence,
    StartEvidence,
    symptom_evidence,
)
from diagnose.facts import case_facts
from diagnose.graph import Cut, Station, cut, finding_id
from diagnose.hearing.listen import Heard, listen
from diagnose.rank import Ranker, Ranking
from diagnose.readings.measure import measure
from diagnose.readings.measured import Sums
from diagnose.starts import start_evidence
from knowledge.errors import UnknownId
from knowledge.expert import Conclusions, think
from knowledge.loader import Knowledge
from knowledge.models import Check
from knowledge.nearest import nearest


@dataclass(frozen=True)
class Reasoned:
    """Everything the reasoning came to, before it is put in words.

    `given` is the case as it was entered, `case` the same with what its words tell of the set-up.
    """

    given: Case
    case: Case
    knowledge: Knowledge
    heard: Heard
    sums: Sums
    conclusions: Conclusions
    station: Station
    cut: Cut
    evidence: tuple[Evidence, ...]
    starts: tuple[StartEvidence, ...]
    ranker: Ranker
    ranking: Ranking
    seen_yes: tuple[str, ...]


def reason(
    case: Case, knowledge: Knowledge, learned: Mapping[str, float] | None = None
) -> Reasoned:
    """Return what the case comes to: facts, evidence and the exact ranking. Raises UnknownId."""
    check_ids(case, knowledge)
    given, heard = case, listen(case, knowledge)
    case = heard.case
    danger = [(card, "yes" if sure else "perhaps") for card, sure in heard.danger.items()]
    sums = measure(case, knowledge)
    conclusions = think(
        case_facts(
            case,
            knowledge,
            heard.answers.items(),
            danger,
            sums.figures,
            measured=sums.measured,
            replaced=sums.replaces,
        )
    )
    station: dict[str, set[str]] = {}
    for fact in conclusions.all("Is"):
        station.setdefault(fact.word("name"), set()).add(fact.word("value"))
    left = cut(knowledge, station)
    evidence = tuple(sorted(_evidence(case, knowledge, heard, conclusions)))
    starts = tuple(start_evidence(knowledge, heard.started, heard.answers))
    shipped = {name: fault.prevalence.per_thousand for name, fault in knowledge.faults.items()}
    shares = {
        name: count * left.share.get(name, 1.0)
        for name, count in {**shipped, **(learned or {})}.items()
    }
    excludes = {
        frozenset((name, other))
        for name, fault in knowledge.faults.items()
        for other in fault.excludes
    }
    ranker = Ranker(left.graph, shares, evidence, starts, excludes)
    seen = tuple(sorted(name for name, answer in heard.answers.items() if answer == "yes"))
    return Reasoned(
        given=given,
        case=case,
        knowledge=knowledge,
        heard=heard,
        sums=sums,
        conclusions=conclusions,
        station=station,
        cut=left,
        evidence=evidence,
        starts=starts,
        ranker=ranker,
        ranking=ranker.rank(),
        seen_yes=seen,
    )


def check_ids(case: Case, knowledge: Knowledge) -> None:
    """Raise UnknownId, with the nearest, for the first id in the case that is not known."""
    used: list[tuple[str, str, Mapping[str, object]]] = []
    used += [("symptom", item.id, knowledge.symptoms) for item in case.symptoms]
    used += [("check", item.check, knowledge.checks) for item in case.findings]
    used += [("fault", item.fault, knowledge.faults) for item in case.remedied]
    used += [("stop card", item.stop_card, knowledge.stop_cards) for item in case.made_safe]
    used += [("tool", tool, knowledge.outfits) for tool in case.user.tools or ()]
    for facet in ("change", "pattern", "only"):
        told = getattr(case.started, facet)
        kinds = {n: row for n, row in knowledge.starts.items() if row.facet == facet}
        for kind in told if isinstance(told, list) else [told] if told else []:
            used.append((f"kind of start ({facet})", kind, kinds))
    for kind, name, known in used:
        if name not in known:
            close = nearest(name, known)
            raise UnknownId(kind, name, [close] if close else [])
    for item in case.findings:
        names = results_of(knowledge.checks[item.check])
        if item.result not in (*names, "cannot_do", "not_sure"):
            close = nearest(item.result, names)
            raise UnknownId(f"result of {item.check}", item.result, [close] if close else names)


def results_of(check: Check) -> list[str]:
    """Return the results a check can have, in order, 'nothing found' last."""
    return [found.result for found in check.results()]


def _evidence(
    case: Case, knowledge: Knowledge, heard: Heard, conclusions: Conclusions
) -> list[Evidence]:
    found: list[Evidence] = []
    for symptom, answer in heard.answers.items():
        leak = knowledge.symptoms[symptom].leak.chance
        if item := symptom_evidence(symptom, answer, heard.by[symptom], leak):
            found.append(item)
    for fact in conclusions.all("Denied"):
        if (symptom := fact.word("symptom")) not in heard.answers:
            found.append(Evidence(f"understood:{symptom}", symptom, *UNDERSTOOD_NO))
    found += [
        Evidence(f.word("item"), f.word("node"), f.number("on"), f.number("off"))
        for f in conclusions.all("Shows")
    ]
    latest = {finding.check: finding.result for finding in case.findings}
    for name, result in sorted(latest.items()):
        found += finding_evidence(knowledge.checks[name], result)
    remedied = {item.fault: item.cured for item in case.remedied}
    for fault, cured in sorted(remedied.items()):
        on, off = REMEDY_CURED if cured else REMEDY_DID_NOT_CURE
        found.append(Evidence(f"remedied:{fault}", fault, on, off))
    return found


def finding_evidence(check: Check, result: str) -> list[Evidence]:
    """Return the evidence of a check's result: what was looked for before it was not found.

    'cannot_do' and 'not_sure' say nothing.
    """
    if result in ("cannot_do", "not_sure"):
        return []
    found = []
    for looked in check.looks_for:
        here = looked.result == result
        node = finding_id(check.id, looked.result)
        found.append(Evidence(f"finding:{check.id}", node, float(here), float(not here)))
        if here:
            break
    return found
