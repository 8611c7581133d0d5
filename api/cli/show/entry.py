"""One entry of the knowledge, to read: for a fault also what one would see and what looks the same."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from pydantic import BaseModel

from api.cli.entries import SINGULAR
from api.cli.show.page import Page
from api.entry_shown import FaultShown, LooksLike, SymptomShown, TellsApart
from api.wording.entries import BASIS, sign_in_words
from api.wording.figures import HAZARD, WHO, chance_in_words, lower_first, minutes_in_words
from knowledge import models
from knowledge.loader import FACETS, PROOF_WELD, Knowledge

MOST = 8
LEAST = 0.1
"""Signs and causes shown at the most, and the least chance worth a line."""


def put_entry(page: Page, knowledge: Knowledge, kind: str, entry: BaseModel) -> None:
    """Put an entry on the page, by its kind."""
    title = getattr(entry, "title")  # noqa: B009 - every kind has one
    page.blank()
    page.put(title, style="strong")
    page.put(f"{SINGULAR[kind].replace('_', ' ')} {getattr(entry, 'id')}", style="quiet")  # noqa: B009
    match entry:
        case FaultShown():
            _put_fault(page, knowledge, entry)
        case SymptomShown():
            _put_symptom(page, knowledge, entry)
        case models.Mechanism():
            _put_mechanism(page, knowledge, entry)
        case models.Check():
            _put_check(page, knowledge, entry)
        case models.StopCard():
            _put_card(page, entry)
        case _:
            _put_rest(page, entry)
    _put_sources(page, knowledge, getattr(entry, "sources", []))


def _put_fault(page: Page, knowledge: Knowledge, fault: FaultShown) -> None:
    page.put(f"{fault.area.replace('_', ' ')}; at: {fault.place}", style="quiet")
    page.blank()
    page.put(fault.about)
    _put_when(page, knowledge, fault.when)
    _put_stated(page, f"{fault.prevalence.per_thousand:g} of 1,000 complaints", fault.prevalence)
    if fault.cannot_be:
        row = knowledge.attributes[fault.cannot_be]
        page.put(f"Cannot be on this station ({lower_first(row.title)}).", style="strong")
    if fault.path_in_words:
        page.heading("How it comes to be noticed")
        page.put(fault.path_in_words, indent=2)
    page.heading("What it leads to")
    for link in fault.leads_to:
        _put_link(page, knowledge, link)
    if fault.expected:
        page.heading("What one would see if it were this")
        for sign in fault.expected[:MOST]:
            if sign.chance >= LEAST:
                often = f"; {sign.lift:.0f} times as often as over all" if sign.lift >= 2 else ""
                page.put(f"{sign.title}: {chance_in_words(sign.chance)}{often}", mark="-", indent=2)
    if fault.looks_like:
        page.heading("What looks the same, and what tells it apart")
        for one in fault.looks_like:
            _put_look_alike(page, knowledge, one)
    _put_starts(page, knowledge, fault.starts)
    _put_remedy(page, knowledge, fault)


def _put_look_alike(page: Page, knowledge: Knowledge, one: LooksLike) -> None:
    page.put(f"{one.title} ({one.fault})", mark="-", indent=2)
    if not one.told_apart_by:
        page.put("Nothing we know tells the two apart.", indent=4)
    for row in one.told_apart_by:
        page.put(_tells(knowledge, row), indent=4)


def _tells(knowledge: Knowledge, row: TellsApart) -> str:
    return (
        f"{sign_in_words(knowledge, row)}: {chance_in_words(row.here)} here, "
        f"{chance_in_words(row.there)} there"
    )


def _put_starts(page: Page, knowledge: Knowledge, starts: models.Starts) -> None:
    named = [(chance, kind) for facet in FACETS for kind, chance in getattr(starts, facet).items()]
    if not named:
        return
    page.heading("How it tends to start")
    for chance, kind in sorted(named, key=lambda row: (-row[0], row[1])):
        page.put(f"{knowledge.starts[kind].title}: {chance_in_words(chance)}", mark="-", indent=2)
    page.put(f"({BASIS[starts.basis]})", indent=2, style="quiet")


def _put_remedy(page: Page, knowledge: Knowledge, fault: models.Fault) -> None:
    remedy = fault.remedy
    page.heading(f"Remedy: {minutes_in_words(remedy.minutes)} for {WHO[remedy.who]}")
    for number, step in enumerate(remedy.steps, 1):
        page.put(step, mark=f"{number}.", indent=2)
    proof = "a weld like the one that failed"
    if remedy.parts:
        page.put(f"It may take: {'; '.join(remedy.parts)}.", indent=2)
    if remedy.proved_by != PROOF_WELD:
        proof = f"{lower_first(knowledge.title(remedy.proved_by))} ({remedy.proved_by})"
    page.put(f"{proof}.", mark="Proved by:", indent=2)
    for caution in fault.cautions:
        page.put(caution, mark="Take care:", indent=2)


def _put_symptom(page: Page, knowledge: Knowledge, symptom: SymptomShown) -> None:
    page.blank()
    page.put(symptom.question)
    page.put("; ".join(symptom.phrases), mark="As people say it:")
    _put_when(page, knowledge, symptom.when)
    if symptom.presupposes:
        page.put(f"{', '.join(symptom.presupposes)}.", mark="It shows that there was:")
    if symptom.means_no:
        page.put(f"{', '.join(symptom.means_no)}.", mark="It means that there is no:")
    if symptom.iso_6520_1:
        number = symptom.iso_6520_1
        page.put(f"{number.number} ({BASIS[number.basis]})", mark="ISO 6520-1:")
    page.heading("What brings it about, if nothing else is known")
    for cause in symptom.causes[: MOST + 2]:
        page.put(f"{cause.title}: {chance_in_words(cause.share)}", mark="-", indent=2)
    rest = len(symptom.causes) - MOST - 2
    if rest > 0:
        page.put(
            f"{rest} more: wontweld knowledge show {symptom.id} --json", indent=2, style="quiet"
        )
    page.put(
        f"Something not in our list: {chance_in_words(symptom.not_in_our_list)}", mark="-", indent=2
    )


def _put_mechanism(page: Page, knowledge: Knowledge, mechanism: models.Mechanism) -> None:
    page.blank()
    page.put(mechanism.physics)
    _put_when(page, knowledge, mechanism.when)
    page.heading("What brings it about")
    causes: dict[str, models.Fault | models.Mechanism] = {**knowledge.faults}
    causes |= knowledge.mechanisms
    for name, entry in causes.items():
        for link in entry.leads_to:
            if link.effect == mechanism.id:
                text = f"{entry.title} ({name}): {chance_in_words(link.strength)}"
                page.put(f"{text}; {BASIS[link.basis]}", mark="-", indent=2)
    page.heading("What it leads to")
    for link in mechanism.leads_to:
        _put_link(page, knowledge, link)


def _put_check(page: Page, knowledge: Knowledge, check: models.Check) -> None:
    tools = [knowledge.outfits[tool].title for tool in check.tools]
    place = [knowledge.outfits[check.opens].title] if check.opens else []
    page.put(f"{minutes_in_words(check.minutes)} for {WHO[check.who]}. {HAZARD[check.hazard]}")
    if tools or place:
        page.put(f"{'; '.join([*tools, *place])}.", mark="Take or open:")
    page.blank()
    page.put(check.why)
    _put_when(page, knowledge, check.when)
    page.heading("Steps")
    for number, step in enumerate(check.steps, 1):
        page.put(step, mark=f"{number}.", indent=2)
    page.heading("Results; the first that is there counts")
    for looked in check.looks_for:
        page.put(looked.says, mark=f"{looked.result}:", indent=2)
        shows = "; ".join(
            f"{lower_first(knowledge.title(node))} ({chance_in_words(chance)} when it is that)"
            for node, chance in looked.shows.items()
        )
        mistaken = f"By mistake {chance_in_words(looked.mistaken)}; {BASIS[looked.basis]}."
        page.put(f"Shows: {shows}. {mistaken}", indent=4, style="quiet")
    page.put(check.nothing_found.says, mark=f"{check.nothing_found.result}:", indent=2)


def _put_card(page: Page, card: models.StopCard) -> None:
    page.put(card.why, mark=card.signal_word, mark_style=card.signal_word)
    for number, step in enumerate(card.do, 1):
        page.put(step, mark=f"{number}.", indent=2)
    page.put(f"{WHO[card.who]}, by what they find.", mark="Lifted only by:")
    page.put("; ".join([*card.raised_by, *card.phrases]), mark="Raised by:")


def _put_rest(page: Page, entry: BaseModel) -> None:
    """Put an entry of a table: every field that says something."""
    skipped = {"id", "title", "status", "sources"}
    for name, value in entry.model_dump(exclude=skipped, exclude_none=True).items():
        if value not in ("", [], {}):
            page.put(_in_words(value), mark=f"{name.replace('_', ' ')}:")


def _in_words(value: Any) -> str:
    if isinstance(value, Mapping):
        return "; ".join(f"{key} {_in_words(inner)}" for key, inner in value.items())
    if isinstance(value, (list, tuple)):
        return "; ".join(_in_words(inner) for inner in value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else BASIS.get(str(value), str(value))


def _put_link(page: Page, knowledge: Knowledge, link: models.Link) -> None:
    where = f"; only where {', '.join(_whens(knowledge, link.when))}" if link.when else ""
    text = f"{knowledge.title(link.effect)}: {chance_in_words(link.strength)}{where}"
    page.put(f"{text} ({BASIS[link.basis]})", mark="-", indent=2)


def _put_when(page: Page, knowledge: Knowledge, when: models.When) -> None:
    if when:
        page.put(f"{'; '.join(_whens(knowledge, when))}.", mark="Only where:")


def _whens(knowledge: Knowledge, when: models.When) -> Iterator[str]:
    for attribute, wanted in when.items():
        row = knowledge.attributes[attribute]
        answers = [row.answers[v] for v in ([wanted] if isinstance(wanted, str) else wanted)]
        yield f"{lower_first(row.title)} is {' or '.join(answers)}"


def _put_stated(page: Page, text: str, stated: models.Stated) -> None:
    page.put(f"{text} ({BASIS[stated.basis]}).", mark="How common:")


def _put_sources(page: Page, knowledge: Knowledge, cited: Sequence[models.Cited]) -> None:
    if not cited:
        return
    page.heading("Sources")
    for one in cited:
        where = f", {one.where}" if one.where else ""
        page.put(f"{knowledge.sources[one.ref].title}{where}", mark="-", indent=2)
