"""A diagnosis to read at the station: danger first, then what was heard, what is likely, what to do."""

from __future__ import annotations

from collections.abc import Sequence

from api.cli.show.asked import put_asks
from api.cli.show.cards import put_cards
from api.cli.show.heard import put_heard
from api.cli.show.page import Page
from api.cli.show.steps import put_next, put_remedy
from api.wording.figures import WHO, chance_in_words, lower_first, minutes_in_words, weight_in_words
from diagnose.diagnosis import (
    Diagnosis,
    LikelyFault,
    points_to_our_list,
    something_to_go_on,
    standing,
)
from diagnose.reason import Reasoned

EXPLAINED = 3
LISTED = 5
MOST_ITEMS = 3
"""Items of evidence shown for a fault, on each side, unless all is asked for."""

WORTH_A_LINE = 1.5
"""A factor on the odds nearer to one than this is left to `--all`."""
MANY = 3
"""Faults that one thing about the station must rule out before it is worth a line."""


def put_diagnosis(page: Page, reasoned: Reasoned, found: Diagnosis, *, everything: bool) -> None:
    """Put the whole diagnosis on the page."""
    put_cards(page, found.stop_cards)
    put_heard(page, reasoned, found, everything=everything)
    if something_to_go_on(found):
        _put_faults(page, reasoned, found, everything=everything)
        _put_beside(page, reasoned, found, everything=everything)
    else:
        page.blank()
        page.put("Nothing here points to any fault yet.", style="strong")
    put_asks(page, reasoned.knowledge, found, everything=everything)
    if something_to_go_on(found):
        put_next(page, reasoned, found, everything=everything)
        first = found.faults[0] if found.faults else None
        if first and not standing(found.stop_cards):
            put_remedy(page, reasoned.knowledge, first, found)
    _put_cautions(page, found)


def put_short(page: Page, found: Diagnosis, *, everything: bool) -> None:
    """Put a line for each stop card and each fault."""
    put_cards(page, found.stop_cards, short=True)
    if not something_to_go_on(found):
        page.put("Nothing to go on.")
        return
    for rank, fault in enumerate(found.faults[: None if everything else LISTED], 1):
        page.put(
            f"{chance_in_words(fault.probability)}: {fault.title} ({fault.id})", mark=f"{rank}."
        )


def _put_faults(page: Page, reasoned: Reasoned, found: Diagnosis, *, everything: bool) -> None:
    page.heading("Likely faults")
    shown = found.faults if everything else found.faults[:LISTED]
    explained: set[str] = set()
    for rank, fault in enumerate(shown, 1):
        if rank <= EXPLAINED:
            _put_explained(page, reasoned, rank, fault, explained, everything=everything)
            if found.knowledge.learned:
                page.put(_how_common(reasoned, fault), mark="How common:", indent=3, style="quiet")
        else:
            if rank == EXPLAINED + 1:
                page.blank()
            text = f"{fault.title}, {chance_in_words(fault.probability)}, {_who(fault)}"
            page.put(text, mark=f"{rank}.")
    rest = len(found.faults) - len(shown)
    if rest > 0:
        page.put(f"{rest} more, each less likely: --all", indent=3, style="quiet")


def _put_explained(
    page: Page,
    reasoned: Reasoned,
    rank: int,
    fault: LikelyFault,
    explained: set[str],
    *,
    everything: bool,
) -> None:
    page.blank()
    page.put(fault.title, mark=f"{rank}.", style="strong")
    chance = chance_in_words(fault.probability)
    page.put(f"{_sentence(chance)} At: {fault.place}. {_sentence(_who(fault))}", indent=3)
    if fault.path:
        page.put(why(reasoned, fault.path, explained), mark="Why:", indent=3)
    said = {item.says for item in fault.evidence}
    reasons = [rule.reason for rule in fault.rules if rule.reason not in said]
    if fault.from_set_up and reasons:
        page.put(" ".join(dict.fromkeys(reasons)), mark="Set-up:", indent=3)
    most = MOST_ITEMS if rank == 1 else MOST_ITEMS - 1
    weighty = [item for item in fault.evidence if everything or _weighty(item.factor)]
    for mark, style, items in (
        ("For:", "for", [item for item in weighty if item.factor > 1]),
        ("Against:", "against", [item for item in weighty if item.factor < 1]),
    ):
        for item in items if everything else items[:most]:
            text = f"{item.says.rstrip('.')} ({weight_in_words(item.factor)})"
            page.put(text, mark=mark, indent=3, mark_style=style)
    if everything:
        for rule in fault.rules:
            page.put(f"{rule.reason} [{rule.id}]", mark="Rule:", indent=3)
            for fact in rule.from_:
                page.put(fact, mark="from", indent=5, style="quiet")
        if fault.sources:
            page.put("; ".join(fault.sources), mark="Source:", indent=3, style="quiet")


def _how_common(reasoned: Reasoned, fault: LikelyFault) -> str:
    """Return the shop's own figure beside the shipped one, each for stations where it can occur."""
    here = reasoned.ranker.per_thousand[fault.id] / reasoned.cut.share.get(fault.id, 1.0)
    shipped = 1000.0 * fault.share_shipped
    return f"{here:.1f} of 1,000 by your closed cases, {shipped:.1f} as shipped"


def why(reasoned: Reasoned, path: Sequence[str], explained: set[str]) -> str:
    """Return the causal path in words. The physics of a mechanism is said once on a page."""
    knowledge = reasoned.knowledge
    sentences = []
    for node in path[1:-1]:
        mechanism = knowledge.mechanisms[node]
        if node in explained:
            sentences.append(f"{mechanism.title} (as above).")
        else:
            sentences.append(f"{mechanism.title}: {lower_first(mechanism.physics)}")
            explained.add(node)
    seen = lower_first(knowledge.title(path[-1]))
    how = "What is noticed" if len(path) > 2 else "It brings about by itself what is noticed"
    sentences.append(f"{how}: {seen}.")
    return " ".join(sentences)


def _weighty(factor: float) -> bool:
    return not 1 / WORTH_A_LINE < factor < WORTH_A_LINE


def _who(fault: LikelyFault) -> str:
    return f"{minutes_in_words(fault.remedy.minutes)} for {WHO[fault.remedy.who]}"


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}."


def _put_beside(page: Page, reasoned: Reasoned, found: Diagnosis, *, everything: bool) -> None:
    """Put what stands beside the list: pairs, what else is wrong, what is not in it."""
    knowledge = reasoned.knowledge
    page.blank()
    for pair in found.pairs:
        titles = " and ".join(lower_first(knowledge.title(fault)) for fault in pair.faults)
        page.put(f"{titles} ({chance_in_words(pair.probability)}).", mark="Both at once:")
    for also in found.also_wrong:
        reason = also.rules[0].reason if also.rules else ""
        page.put(
            f"{also.title}. {reason} It explains nothing that was reported; "
            f"{minutes_in_words(also.remedy.minutes)} for {WHO[also.remedy.who]} to put right.",
            mark="Also wrong:",
        )
    page.put(f"{chance_in_words(found.not_in_our_list)}.", mark="Something not in our list:")
    if not points_to_our_list(found):
        page.put("That leads: do not trust the order above; ask more, or hand over.", indent=2)
    if found.unexplained:
        titles = "; ".join(lower_first(knowledge.title(s)) for s in found.unexplained)
        page.put(f"{titles}.", mark="Not explained by the first three:")
    _put_cannot_be(page, reasoned, everything=everything)


def _put_cannot_be(page: Page, reasoned: Reasoned, *, everything: bool) -> None:
    """Put what cannot be to blame here, grouped by what rules it out."""
    knowledge = reasoned.knowledge
    groups: dict[str, list[str]] = {}
    for fault, attribute in reasoned.cut.gone.items():
        groups.setdefault(attribute, []).append(fault)
    for attribute, faults in sorted(groups.items()):
        if len(faults) < MANY and not everything:
            continue
        row = knowledge.attributes[attribute]
        has = ", ".join(row.answers[value] for value in sorted(reasoned.station[attribute]))
        titles = [lower_first(knowledge.title(fault)) for fault in sorted(faults)]
        shown = titles if everything else titles[:1]
        more = f" and {len(titles) - len(shown)} more" if len(titles) > len(shown) else ""
        text = f"{'; '.join(shown)}{more} ({lower_first(row.title)}: {has})."
        page.put(text, mark="Cannot be:", style="quiet")


def _put_cautions(page: Page, found: Diagnosis) -> None:
    if found.cautions and something_to_go_on(found) and not standing(found.stop_cards):
        page.heading("Take care")
        for caution in found.cautions:
            page.put(caution, mark="-")
    page.blank()
    page.put(found.disclaimer, style="quiet")
