"""One candidate fault in words: its path, what speaks for and against it, the rules, the remedy."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose import diagnosis as out
from diagnose.advice import MAY
from diagnose.case import Case
from diagnose.explain import WORTH_SAYING, path_in_words, path_to
from diagnose.in_words import lower_first
from diagnose.reason import Reasoned
from knowledge.models import Fault


def likely_fault(
    reasoned: Reasoned,
    fault: str,
    explains: Sequence[str],
    weights: Sequence[tuple[str, float]],
    card_stands: bool,
) -> out.LikelyFault:
    """Return one candidate in words. `explains` are symptoms seen; `weights` are (item, factor)."""
    entry = reasoned.knowledge.faults[fault]
    path = path_to(reasoned.cut.graph, fault, explains)
    return out.LikelyFault(
        id=fault,
        title=entry.title,
        area=entry.area,
        place=entry.place,
        probability=reasoned.ranking.on[fault],
        share_before=reasoned.ranker.per_thousand[fault] / 1000.0,
        share_shipped=entry.prevalence.per_thousand / 1000.0,
        explains=list(explains),
        from_set_up=bool(reasoned.conclusions.all("Established", fault=fault)),
        path=path,
        path_in_words=path_in_words(reasoned.knowledge, path),
        evidence=[
            out.EvidenceWeight(item=item, says=_says(reasoned, fault, item, factor), factor=factor)
            for item, factor in weights
            if not 1 / WORTH_SAYING < factor < WORTH_SAYING
        ],
        rules=rules_about(reasoned, fault),
        remedy=remedy_advised(entry, reasoned.case, card_stands),
        cautions=list(entry.cautions),
        sources=[
            cited.ref + (f", {cited.where}" if cited.where else "") for cited in entry.sources
        ],
    )


def _says(reasoned: Reasoned, fault: str, item: str, factor: float) -> str:
    """Return an item in words; where it speaks against a fault only by speaking for others, say so."""
    nodes = [e.node for e in reasoned.evidence if e.item == item and e.node in reasoned.cut.graph]
    others = nodes and all(reasoned.cut.graph.nodes[node]["kind"] == "fault" for node in nodes)
    text = item_in_words(reasoned, item)
    if factor < 1.0 and others and fault not in nodes:
        return f"points elsewhere: {lower_first(text)}"
    return text


def item_in_words(reasoned: Reasoned, item: str) -> str:
    """Return one item of evidence in words."""
    kind, _, name = item.partition(":")
    knowledge = reasoned.knowledge
    if kind == "symptom":
        said = {"yes": "", "no": "not: "}.get(reasoned.heard.answers.get(name, ""), "")
        return f"{said}{knowledge.title(name)}"
    if kind == "understood":
        return f"follows from what was said, not: {knowledge.title(name)}"
    if kind == "finding":
        check = knowledge.checks[name]
        result = {f.check: f.result for f in reasoned.case.findings}[name]
        texts = {r.result: r.says for r in check.looks_for}
        return f"{check.title}: {texts.get(result, check.nothing_found.says)}"
    if kind == "remedied":
        cured = {r.fault: r.cured for r in reasoned.case.remedied}[name]
        return f"{knowledge.title(name)}: put right, and it {'cured' if cured else 'did not cure'}"
    if kind.startswith("started."):
        titles = [knowledge.starts[one].title for one in name.split("+")]
        return f"how it started: {', or '.join(titles)}"
    texts_of_rules = [
        firing.reason
        for fact in reasoned.conclusions.all("Shows", item=item)
        for firing in reasoned.conclusions.firings.get(fact, ())
    ]
    in_numbers = reasoned.sums.says.get(item)
    if item.startswith("readings[") and in_numbers:
        return in_numbers
    reason = texts_of_rules[0] if texts_of_rules else item
    return f"{reason} {in_numbers}" if in_numbers else reason


def rules_about(reasoned: Reasoned, fault: str) -> list[out.RuleFired]:
    """Return the rules that bear on a fault, from what they concluded down to what was told."""
    conclusions = reasoned.conclusions
    facts = [
        *conclusions.all("Established", fault=fault),
        *conclusions.all("Shows", node=fault),
    ]
    fired: dict[str, out.RuleFired] = {}
    pending = list(facts)
    seen = set()
    while pending:
        fact = pending.pop(0)
        if fact in seen:
            continue
        seen.add(fact)
        for firing in conclusions.firings.get(fact, ()):
            if firing.rule not in fired:
                fired[firing.rule] = out.RuleFired(
                    id=firing.rule,
                    reason=firing.reason,
                    from_=[str(support) for support in firing.facts],
                )
            pending.extend(firing.facts)
    return list(fired.values())


def remedy_advised(entry: Fault, case: Case, card_stands: bool) -> out.RemedyAdvised:
    """Return the remedy, its steps withheld while a stop card stands or where they are not this user's."""
    remedy = entry.remedy
    withheld = None
    if remedy.who not in MAY[case.user.may]:
        withheld = f"This is a job for {_a_person(remedy.who)}; hand it over with what was found."
    elif card_stands:
        withheld = "A stop card stands: nothing is touched until a qualified person has lifted it."
    return out.RemedyAdvised(
        who=remedy.who,
        minutes=remedy.minutes,
        steps=[] if withheld else list(remedy.steps),
        proved_by=remedy.proved_by,
        withheld=withheld,
    )


def _a_person(who: str) -> str:
    return {
        "operator": "the operator",
        "maintenance": "maintenance",
        "electrician": "an electrician",
        "service": "service",
    }[who]
