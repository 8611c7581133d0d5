"""What is worth asking, and how to give the answer."""

from __future__ import annotations

from api.cli.show.page import Page
from diagnose.diagnosis import Ask, Diagnosis
from knowledge.loader import Knowledge

MOST = 4
OPTION_FOR = {
    "station.process": "--process",
    "station.wire.class": "--wire",
    "station.wire.diameter_mm": "--wire-size",
    "station.polarity": "--polarity, with --looked once traced",
    "station.polarity.electrode": "--polarity, with --looked once traced",
    "station.gas.name": "--gas",
    "station.gas.flow_l_min": "--flow",
    "station.work.metal": "--metal",
    "station.work.surface": "--surface",
    "station.work.joint": "--joint",
    "station.place.outdoors": "--outdoors or --indoors",
}


def put_asks(page: Page, knowledge: Knowledge, found: Diagnosis, *, everything: bool) -> None:
    """Put the questions whose answers would change the picture, the ones about the start as one."""
    asks = [ask for ask in found.asks if ask.kind != "started"]
    starts = [ask for ask in found.asks if ask.kind == "started"]
    if not asks and not starts:
        return
    page.heading("Worth asking")
    symptoms = [ask for ask in asks if ask.kind == "symptom"]
    station = [ask for ask in asks if ask.kind == "station"]
    room = len(asks) if everything else MOST
    station = station[: max(2, room - len(symptoms))]
    for ask in [*station, *symptoms[: room - len(station)]]:
        page.put(f"{ask.question} {_answers(ask)}", mark="-")
        if everything:
            page.put(ask.why, indent=2, style="quiet")
    if starts:
        _put_starts(page, knowledge, starts, everything=everything)


def _answers(ask: Ask) -> str:
    if ask.kind == "symptom":
        return f"(--symptom {ask.id}=yes or =no)"
    options = f": {', '.join(ask.answers)}" if ask.answers else ""
    option = OPTION_FOR.get(ask.id, f"--set {ask.id.removeprefix('station.')}=")
    return f"({option}{options})"


def _put_starts(page: Page, knowledge: Knowledge, starts: list[Ask], *, everything: bool) -> None:
    if not everything:
        text = " ".join(ask.question for ask in starts)
        page.put(f"{text} (--started KIND; kinds: wontweld knowledge list starts)", mark="-")
        return
    for ask in starts:
        page.put(ask.question, mark="-")
        for kind in ask.answers:
            page.put(f"--started {kind}: {knowledge.starts[kind].title}", indent=2)
