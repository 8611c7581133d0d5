"""Pages to read and teach from: faults, symptoms, checks and mechanisms, with cause charts."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from fastapi import APIRouter
from starlette.responses import Response

from api.entry_shown import Setting, TellsApart
from api.http.answers import Known
from api.page.render import html
from api.page.view import node
from api.wording.entries import BASIS, sign_in_words
from api.wording.figures import lower_first
from diagnose.chart import Branch, causes_of, effects_of
from knowledge.errors import UnknownId
from knowledge.loader import FACETS, PROOF_WELD, Knowledge
from knowledge.models import Fault, Link, Mechanism, When
from knowledge.nearest import nearest

router = APIRouter(include_in_schema=False)
GROUPS = {
    "will_it_go": "Will it go at all",
    "arc": "Arc",
    "wire": "Wire",
    "bead": "Bead",
    "gas": "Gas",
    "heat_and_sound": "Heat and sound",
    "danger": "Danger",
}
"""Group of symptoms -> its heading, in the order they stand."""
KINDS = {"fault": "faults", "symptom": "symptoms", "check": "checks", "mechanism": "mechanisms"}
CHART_DEPTH = 4
LEAST_SIGN = 0.1
"""A sign less likely than this is not worth a line."""


@dataclass(frozen=True)
class Cause:
    """What brings a mechanism about, with the chance that it alone does."""

    kind: str
    id: str
    title: str
    link: Link


@router.get("/know")
def index(knowledge: Known) -> Response:
    """Return the list of everything there is to read."""
    symptoms = {
        heading: [row for row in knowledge.symptoms.values() if row.group == group]
        for group, heading in GROUPS.items()
    }
    faults: dict[str, list[Fault]] = {}
    for fault in knowledge.faults.values():
        faults.setdefault(fault.area, []).append(fault)
    return html("know_index.html", symptoms=symptoms, faults=faults, knowledge=knowledge)


@router.get("/know/{kind}/{name}")
def entry(kind: str, name: str, knowledge: Known) -> Response:
    """Return one entry to read. Raises UnknownId with the nearest."""
    if kind not in KINDS:
        close = nearest(kind, KINDS)
        raise UnknownId("kind of entry", kind, [close] if close else list(KINDS))
    entries = knowledge.entries(KINDS[kind])
    if name not in entries:
        close = nearest(name, entries)
        raise UnknownId(kind, name, [close] if close else [])
    setting = _setting(knowledge)
    return html(
        f"know_{kind}.html",
        kind=kind,
        entry=setting.shown(KINDS[kind], name),
        knowledge=knowledge,
        chart=_chart(setting, kind, name),
        causes=list(_causes(knowledge, name)),
        whens=lambda when: list(whens(knowledge, when)),
        sign=lambda row: _sign(knowledge, row),
        node=lambda name: node(knowledge, name),
        basis=BASIS,
        starts=_starts(knowledge, name) if kind == "fault" else (),
        proof_weld=PROOF_WELD,
        least=LEAST_SIGN,
        theirs=("electrician", "service"),
    )


@lru_cache(maxsize=4)
def _setting(knowledge: Knowledge) -> Setting:
    return Setting.of(knowledge)


def _chart(setting: Setting, kind: str, name: str) -> Branch | None:
    """Return what brings a symptom or mechanism about, or what a fault does; None for a check."""
    knowledge, cut = setting.knowledge, setting.cut
    if kind == "check" or name not in cut.graph:
        return None
    if kind == "fault":
        return effects_of(knowledge, cut, name, CHART_DEPTH)
    return causes_of(knowledge, cut, name, setting.per_thousand, CHART_DEPTH)


def _causes(knowledge: Knowledge, name: str) -> Iterator[Cause]:
    """Give what brings a node about directly, by chance."""
    rows: list[tuple[str, Fault | Mechanism]] = []
    rows += [("fault", fault) for fault in knowledge.faults.values()]
    rows += [("mechanism", one) for one in knowledge.mechanisms.values()]
    found = [
        Cause(kind, one.id, one.title, link)
        for kind, one in rows
        for link in one.leads_to
        if link.effect == name
    ]
    yield from sorted(found, key=lambda cause: (-cause.link.strength, cause.id))


def _sign(knowledge: Knowledge, row: TellsApart) -> str:
    """Return a sign in words, without the id of the check that looks for it."""
    return sign_in_words(knowledge, row).replace(f" ({row.id.partition(':')[0]})", "")


def _starts(knowledge: Knowledge, fault: str) -> list[tuple[str, float]]:
    """Return how a fault tends to start, the likeliest first."""
    starts = knowledge.faults[fault].starts
    named = [(chance, kind) for facet in FACETS for kind, chance in getattr(starts, facet).items()]
    named.sort(key=lambda row: (-row[0], row[1]))
    return [(knowledge.starts[kind].title, chance) for chance, kind in named]


def whens(knowledge: Knowledge, when: When) -> Iterator[str]:
    """Give the conditions of an entry in words."""
    for attribute, wanted in when.items():
        row = knowledge.attributes[attribute]
        answers = [row.answers[v] for v in ([wanted] if isinstance(wanted, str) else wanted)]
        yield f"{lower_first(row.title)} is {' or '.join(answers)}"
