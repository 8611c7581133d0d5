"""What is wrong with a station on paper: what the rules and the sums say of what was told."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Literal

from pydantic import BaseModel, ConfigDict

from diagnose.graph import Station as Told
from diagnose.readings.measured import Sums
from diagnose.reckon.result import Result
from knowledge.expert import Conclusions, Known
from knowledge.loader import Knowledge
from knowledge.models import Who

__all__ = ["NotTold", "PaperLine", "not_told", "on_paper"]

Standing = Literal["wrong", "at_the_edge", "right"]


class PaperLine(BaseModel):
    """One thing that the set-up tells: what is needed, what is there, why, and who puts it right."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    what: str
    title: str
    standing: Standing
    needs: str
    has: str
    says: str
    sources: list[str]
    fault: str | None = None
    who: Who | None = None
    remedy: list[str] = []


class NotTold(BaseModel):
    """Something that cannot be judged, because it was not told."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    id: str
    question: str
    why: str
    essential: bool


TITLES: Mapping[str, str] = {
    "polarity": "Polarity",
    "gas": "Gas or none",
    "gas_group": "Kind of gas",
    "gas_flow": "Gas flow",
    "meter_scale": "Scale of the flow meter",
    "wire_metal": "Metal of the wire",
    "tip": "Contact tip",
    "liner": "Liner",
    "roll_size": "Size of the groove",
    "groove": "Shape of the groove",
    "gun_kind": "Kind of gun",
    "gun_rating": "Rating of the gun",
    "clamp_rating": "Rating of the work clamp",
    "cable_rating": "Rating of the weld leads",
    "leads": "How the leads lie",
    "leads_drop": "Volts lost in the leads",
    "mode": "Mode",
    "output": "Kind of output",
    "arc_v": "Volts on the dial",
    "duty": "Duty",
    "cord_drop": "Extension cord",
    "breaker": "Breaker",
    "wind": "Wind",
}
_ITEMS: Mapping[str, str] = {
    "gas_flow": "station.gas.flow_l_min",
    "meter_scale": "station.gas.meter_scaled_for",
    "leads_drop": "station.leads",
    "cable_rating": "station.leads.rating",
    "duty": "station.settings.duty_pct",
    "cord_drop": "station.source.extension_area_mm2",
}
"""What -> the item under which its sum stands."""
_SOFT = frozenset({"arc_v", "gun_kind", "leads_drop", "cord_drop"})
"""Where a limit is passed that a good hand may know how to live with, unless it is gross."""

_NEEDED: tuple[tuple[tuple[str, ...], str, str, str, bool], ...] = (
    (
        ("polarity",),
        "station.polarity",
        "Which stud is the electrode lead on? Trace it by hand.",
        "Wrong polarity looks like a dozen other faults.",
        True,
    ),
    (
        ("gas", "gas_group"),
        "station.gas.name",
        "What does the label on the gas cylinder say is in it?",
        "The wrong gas spoils every weld.",
        True,
    ),
    (
        ("mode",),
        "station.settings.mode",
        "Which mode is the set switched to?",
        "The machine does what its selector says, whoever set it last.",
        True,
    ),
    (
        ("clamp_rating",),
        "station.clamp.rated_a",
        "What is the work clamp rated for, and what current is meant to flow?",
        "A clamp that is too small heats though it is clean and tight.",
        True,
    ),
    (
        ("tip",),
        "station.gun.tip_mm",
        "What size is the tip, and what size the wire?",
        "A tip of another size holds the wire or lets it wander.",
        True,
    ),
    (
        ("leads_drop", "cable_rating"),
        "station.leads",
        "How long and how thick is each lead, and what current is meant to flow?",
        "Thin or long leads take the volts that the arc needs.",
        False,
    ),
    (
        ("roll_size",),
        "station.feeder.roll_mm",
        "What size is the groove in the rolls?",
        "The wrong groove slips or crushes.",
        False,
    ),
    (
        ("liner",),
        "station.gun.liner_mm",
        "What size is the liner?",
        "The wrong liner drags or lets the wire buckle.",
        False,
    ),
    (
        ("gun_rating",),
        "station.gun.rated_a",
        "What is the gun rated for?",
        "A gun that is too small heats though it is sound.",
        False,
    ),
    (
        ("duty",),
        "station.source.rated_duty_pct",
        "What current and duty does the plate give, and what duty is meant?",
        "Past its duty the set stops itself in the middle of a seam.",
        False,
    ),
    (
        ("gas_flow",),
        "station.gas.flow_l_min",
        "How much gas flows, and is it read at the meter or at the nozzle?",
        "Too little starves the pool, too much whirls air in.",
        False,
    ),
    (
        ("breaker", "cord_drop"),
        "station.source.breaker_a",
        "What do the plate, the breaker and the extension cord say?",
        "A weak supply makes a sound machine weak.",
        False,
    ),
)
_OF_GAS = frozenset({"gas", "gas_group", "gas_flow"})


def on_paper(knowledge: Knowledge, conclusions: Conclusions, sums: Sums) -> list[PaperLine]:
    """Return what the set-up tells, what is wrong first, then what is at its edge, then what is right."""
    lines = [_mismatch(knowledge, conclusions, sums, fact) for fact in conclusions.all("Mismatch")]
    lines += [_clash(conclusions, fact) for fact in conclusions.all("Clash")]
    lines += [_suits(conclusions, sums, fact) for fact in conclusions.all("Suits")]
    lines += _from_sums(sums, {line.what for line in lines})
    order = {"wrong": 0, "at_the_edge": 1, "right": 2}
    places = {what: at for at, what in enumerate(TITLES)}
    return sorted(
        lines, key=lambda x: (order[x.standing], places.get(x.what, 99), x.what, x.needs, x.has)
    )


def _mismatch(knowledge: Knowledge, conclusions: Conclusions, sums: Sums, fact: Known) -> PaperLine:
    what = fact.word("what")
    established = sorted(
        found.word("fault")
        for found in conclusions.all("Established")
        if _rests_on(conclusions, found, fact)
    )
    fault = knowledge.faults.get(established[0]) if established else None
    result = sums.results.get(_ITEMS.get(what, ""))
    soft = what in _SOFT and not established
    return PaperLine(
        what=what,
        title=TITLES.get(what, what.replace("_", " ").capitalize()),
        standing="at_the_edge" if soft else "wrong",
        needs=_plain(fact.word("needs")),
        has=_plain(fact.word("has")),
        says=_reason(conclusions, fact, result),
        sources=_sources(result) or [c.ref for c in (fault.sources if fault else ())],
        fault=fault.id if fault else None,
        who=fault.remedy.who if fault else None,
        remedy=list(fault.remedy.steps) if fault and fault.remedy.who == "operator" else [],
    )


def _rests_on(conclusions: Conclusions, found: Known, fact: Known) -> bool:
    """Return whether a fault is established by this mismatch, or by the rule that concluded both."""
    own = {(firing.rule, firing.facts) for firing in conclusions.firings.get(fact, ())}
    return any(
        fact in firing.facts or (firing.rule, firing.facts) in own
        for firing in conclusions.firings.get(found, ())
    )


def _reason(conclusions: Conclusions, fact: Known, result: Result | None = None) -> str:
    firings = conclusions.firings.get(fact, ())
    text = firings[0].reason if firings else ""
    return f"{text} {result.says}".strip() if result else text


def _clash(conclusions: Conclusions, fact: Known) -> PaperLine:
    what = fact.word("name")
    return PaperLine(
        what=what,
        title=what.replace("_", " ").capitalize(),
        standing="wrong",
        needs=_plain(fact.word("fixed")),
        has=_plain(fact.word("told")),
        says=_reason(conclusions, fact),
        sources=[],
    )


def _suits(conclusions: Conclusions, sums: Sums, fact: Known) -> PaperLine:
    what = fact.word("what")
    result = sums.results.get(_ITEMS.get(what, ""))
    return PaperLine(
        what=what,
        title=TITLES.get(what, what.replace("_", " ").capitalize()),
        standing="right",
        needs="",
        has=_plain(fact.word("has")),
        says=_reason(conclusions, fact, result),
        sources=_sources(result),
    )


def _from_sums(sums: Sums, told: set[str]) -> Iterator[PaperLine]:
    """Yield the sums that no rule has spoken of: a value between comfortable and too much."""
    for what, item in _ITEMS.items():
        result = sums.results.get(item)
        if result is None or what in told or result.verdict == "no_limit":
            continue
        value = (
            "" if result.value is None else f"{result.value:.3g} {result.unit}".removesuffix(" 1")
        )
        yield PaperLine(
            what=what,
            title=TITLES[what],
            standing="right" if result.verdict == "good" else "at_the_edge",
            needs=", ".join(
                f"{x.name} {x.value:.3g} {x.unit}".removesuffix(" 1") for x in result.limits
            ),
            has=value,
            says=result.says,
            sources=_sources(result),
        )


def _sources(result: Result | None) -> list[str]:
    if result is None:
        return []
    return sorted({f"{x.source} ({x.basis.replace('_', ' ')})" for x in result.limits})


def _plain(word: str) -> str:
    return word.replace("_", " ")


def not_told(
    knowledge: Knowledge, conclusions: Conclusions, lines: list[PaperLine], told: Told
) -> list[NotTold]:
    """Return what cannot be judged because it was not told, what is essential first."""
    judged = {line.what for line in lines}
    shielding = told.get("shielding", set())
    rows: list[NotTold] = []
    asked = {fact.word("id") for fact in conclusions.all("Ask")}
    if asked & {"station.wire.class", "station.process"} and not told.get("process"):
        rows.append(
            NotTold(
                id="station.wire.class",
                question="What class is printed on the label of the spool?",
                why="The class settles polarity, gas and process at one glance.",
                essential=True,
            )
        )
    no_cord = "no" in told.get("extension_cord", set())
    for whats, place, question, why, essential in _NEEDED:
        if judged & set(whats) or ("none" in shielding and set(whats) & _OF_GAS):
            continue
        if "breaker" in whats and no_cord and "engine" in told.get("source_kind", set()):
            continue
        rows.append(NotTold(id=place, question=question, why=why, essential=essential))
    return sorted(rows, key=lambda row: not row.essential)
