"""The diagnosis in words: what a reader sees of what the reasoning came to."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from diagnose import diagnosis as out
from diagnose.advice import open_hazards
from diagnose.asks import asks
from diagnose.candidate import likely_fault, remedy_advised, rules_about
from diagnose.cards import stop_cards
from diagnose.case import Case
from diagnose.diagnosis import Diagnosis
from diagnose.explain import factors
from diagnose.next_step import adviser_for, check_options, first_check, next_check, next_step
from diagnose.reason import Reasoned, reason
from knowledge.loader import Knowledge

DISCLAIMER = (
    "Advice, not certification. "
    "Local codes, the manufacturer's instructions and licensed people come first."
)
LISTED = 12
"""Faults listed at the most; those under `LEAST` are left out after the first three."""
LEAST = 0.01


def diagnose(
    case: Case, knowledge: Knowledge, learned: Mapping[str, float] | None = None
) -> Diagnosis:
    """Return the diagnosis of a case.

    `learned` maps faults to their prevalence per 1,000 as the shop's own closed cases shift it.
    Raises UnknownId, naming the nearest, for an id in the case that the knowledge does not hold.
    """
    return in_words(reason(case, knowledge, learned), learned is not None)


def in_words(reasoned: Reasoned, learned: bool = False) -> Diagnosis:
    """Return the diagnosis that a reader sees."""
    knowledge, case = reasoned.knowledge, reasoned.case
    cards = cards_of(reasoned)
    order = reasoned.ranking.order()
    explains = {fault: _explains(reasoned, fault) for fault in order}
    also = _also_wrong(reasoned, explains)
    listed = [fault for fault in order if fault not in also]
    on = reasoned.ranking.on
    listed = [f for rank, f in enumerate(listed[:LISTED]) if rank < 3 or on[f] >= LEAST]
    weights = factors(reasoned.ranker, listed)
    adviser = adviser_for(reasoned)
    options = check_options(reasoned, adviser, open_hazards(card.state for card in cards))
    best = first_check(adviser, options, cards)
    check = next_check(reasoned, best) if best else None
    stands = any(card.state == "stands" for card in cards)
    return Diagnosis(
        knowledge=out.KnowledgeUsed(
            version=knowledge.version, digest=knowledge.digest, learned=learned
        ),
        stop_cards=cards,
        recognised=list(reasoned.heard.recognised),
        understood=_understood(reasoned),
        unrecognised=list(reasoned.heard.unrecognised),
        unused=_unused(reasoned),
        faults=[
            likely_fault(reasoned, fault, explains[fault], weights[fault], stands)
            for fault in listed
        ],
        also_wrong=[
            out.AlsoWrong(
                id=fault,
                title=knowledge.faults[fault].title,
                rules=rules_about(reasoned, fault),
                remedy=remedy_advised(knowledge.faults[fault], case, stands),
            )
            for fault in also
        ],
        pairs=_pairs(reasoned, explains),
        not_in_our_list=reasoned.ranking.not_in_list,
        unexplained=[s for s in reasoned.seen_yes if not any(s in explains[f] for f in listed[:3])],
        cannot_be=_cannot_be(reasoned),
        asks=asks(reasoned, adviser),
        next_step=next_step(reasoned, adviser, best, cards),
        next_check=check,
        cautions=_cautions(reasoned, listed[:3], check),
        disclaimer=DISCLAIMER,
    )


def cards_of(reasoned: Reasoned) -> list[out.Card]:
    """Return the stop cards of a case: those that are not lifted first, the gravest first."""
    return stop_cards(reasoned.knowledge, reasoned.conclusions)


def _explains(reasoned: Reasoned, fault: str) -> list[str]:
    below = reasoned.cut.below(fault)
    return [symptom for symptom in reasoned.seen_yes if symptom in below]


def _also_wrong(reasoned: Reasoned, explains: Mapping[str, Sequence[str]]) -> list[str]:
    if not reasoned.seen_yes:
        return []
    established = sorted({fact.word("fault") for fact in reasoned.conclusions.all("Established")})
    return [fault for fault in established if fault in explains and not explains[fault]]


def _pairs(reasoned: Reasoned, explains: Mapping[str, Sequence[str]]) -> list[out.Pair]:
    singles = reasoned.ranking.singles
    best = [
        (pair, share)
        for pair, share in reasoned.ranking.pairs.items()
        if share >= LEAST
        and share > singles[pair[0]]
        and share > singles[pair[1]]
        and explains[pair[0]]
        and explains[pair[1]]
    ]
    best.sort(key=lambda row: (-row[1], row[0]))
    return [out.Pair(faults=list(pair), probability=share) for pair, share in best[:5]]


def _understood(reasoned: Reasoned) -> list[out.Understood]:
    rows = []
    for fact in reasoned.conclusions.all("Denied"):
        symptom = fact.word("symptom")
        if symptom in reasoned.heard.answers:
            continue
        rules = sorted({f.rule for f in reasoned.conclusions.firings.get(fact, ())})
        rows.append(out.Understood(symptom=symptom, seen="no", because=f"rule:{rules[0]}"))
    return rows


def _cannot_be(reasoned: Reasoned) -> list[out.CannotBe]:
    rows = []
    for fault, attribute in sorted(reasoned.cut.gone.items()):
        rules = {
            firing.rule
            for fact in reasoned.conclusions.all("Is", name=attribute)
            for firing in reasoned.conclusions.firings.get(fact, ())
        }
        because = f"rule:{sorted(rules)[0]}" if rules else f"station:{attribute}"
        rows.append(out.CannotBe(fault=fault, because=because))
    return rows


def _unused(reasoned: Reasoned) -> list[out.Unused]:
    rows = [out.Unused(item=item, why=why) for item, why in reasoned.heard.unused]
    rows += [out.Unused(item=note.item, why=note.why) for note in reasoned.sums.unused]
    for finding in reasoned.case.findings:
        if finding.result in ("cannot_do", "not_sure"):
            why = "no result, so it says nothing either way"
            rows.append(out.Unused(item=f"finding:{finding.check}", why=why))
    return sorted(rows, key=lambda row: (row.item, row.why))


def _cautions(reasoned: Reasoned, faults: Sequence[str], check: out.NextCheck | None) -> list[str]:
    """Return what the rules say of this station first, then what goes with the check and the faults."""
    knowledge = reasoned.knowledge
    found = sorted(fact.word("text") for fact in reasoned.conclusions.all("Caution"))
    if check and check.hazard == "touch_machine_off":
        found.append(
            "Put the output off and keep the wire clear of the work before a hand goes there."
        )
    if check and check.hazard == "live_weld_circuit":
        found.append(
            "Live weld circuit: dry gloves, eye protection, a second person, nobody else near."
        )
    if any(
        knowledge.faults[fault].area in ("work_return", "connections", "wire_feed")
        for fault in faults
    ):
        found.append(
            "Put the output off before the clamp, leads, tip, gun or rolls are touched; "
            "a bench whose clamp is off can float at electrode voltage."
        )
    for fault in faults:
        found += knowledge.faults[fault].cautions
    return list(dict.fromkeys(found))
