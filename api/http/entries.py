"""The knowledge, to read: what is there, lists in pages, and each entry by its id."""

# No `from __future__ import annotations`: FastAPI reads the annotations of functions made here.

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Depends, Path, Query
from pydantic import BaseModel, ConfigDict, Field
from starlette.responses import Response

from api.http.answers import Known, TaggedRoute, answer, if_none_match
from api.http.described import documented
from api.http.listing import NoQuery, Page, Paging, page_of
from diagnose.explain import expected_signs
from diagnose.graph import Cut, cut
from diagnose.rank import prior_odds
from knowledge import models
from knowledge.errors import UnknownId
from knowledge.loader import Knowledge
from knowledge.nearest import nearest


class ByArea(Paging):
    """Which page of the faults, all or of one area."""

    area: models.Area | None = None


class ByGroup(Paging):
    """Which page of the symptoms, all or of one group."""

    group: (
        Literal["will_it_go", "arc", "wire", "bead", "gas", "heat_and_sound", "danger"] | None
    ) = None


class ByHazard(Paging):
    """Which page of the checks, all or of one hazard class."""

    hazard: models.Hazard | None = None


class ByFacet(Paging):
    """Which page of the kinds of start, all or of one facet."""

    facet: Literal["change", "pattern", "only"] | None = None


class ByForm(Paging):
    """Which page of the wire classes, all or of one form of wire."""

    form: Literal["solid", "metal_cored", "flux_cored"] | None = None


class ExpectedSign(BaseModel):
    """What one would notice if this fault were the only thing wrong, on a station not known further."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    symptom: str
    title: str
    chance: float = Field(description="Chance of the symptom, this fault alone being on.")
    lift: float = Field(
        description="That chance over the average one of all faults, by prevalence."
    )


class FaultShown(models.Fault):
    """A fault, with what one would notice if it were this one."""

    expected: list[ExpectedSign] = Field(description="Likeliest first, then by id.")


class KnowledgeSummary(BaseModel):
    """Which knowledge the server answers from, and how much of it there is."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    version: str = Field(description="Version of the program, which ships the knowledge.")
    digest: str = Field(description="Of all knowledge files, the shop's own among them.")
    counts: dict[str, int] = Field(description="Kind of entry -> entries that are active.")


@dataclass(frozen=True)
class Kind:
    """One kind of entry: its name in the knowledge, in English, its models, and what narrows its list."""

    plural: str
    singular: str
    listed: type[BaseModel]
    shown: type[BaseModel]
    narrowed_by: type[Paging] = Paging

    @property
    def path(self) -> str:
        """Return the kind's place in an address."""
        return self.plural.replace("_", "-")


KINDS = (
    Kind("faults", "fault", models.Fault, FaultShown, ByArea),
    Kind("mechanisms", "mechanism", models.Mechanism, models.Mechanism),
    Kind("symptoms", "symptom", models.Symptom, models.Symptom, ByGroup),
    Kind("checks", "check", models.Check, models.Check, ByHazard),
    Kind("sources", "source", models.Source, models.Source),
    Kind("stop_cards", "stop_card", models.StopCard, models.StopCard),
    Kind("starts", "start", models.StartKind, models.StartKind, ByFacet),
    Kind("attributes", "attribute", models.Attribute, models.Attribute),
    Kind("outfits", "outfit", models.Outfit, models.Outfit),
    Kind("consumables", "consumable", models.Consumable, models.Consumable, ByForm),
    Kind("gases", "gas", models.Gas, models.Gas),
    Kind("cables", "cable", models.Cable, models.Cable),
    Kind("walk_round", "walk_line", models.WalkLine, models.WalkLine),
)
"""Every kind of entry, as it stands in addresses: /v1/knowledge/<path>."""


def page_model(kind: Kind) -> type[BaseModel]:
    """Return the model of one page of a kind's list."""
    return Page[kind.listed]  # type: ignore[name-defined]


EntryId = Annotated[
    str, Path(alias="id", max_length=80, description="Id of the entry, as the list gives it.")
]

router = APIRouter(
    prefix="/v1/knowledge",
    tags=["knowledge"],
    route_class=TaggedRoute,
    dependencies=[Depends(if_none_match)],
)


@router.get(
    "",
    operation_id="knowledge_summary",
    response_model=KnowledgeSummary,
    responses=documented(304, 422),
)
def summary(knowledge: Known, query: Annotated[NoQuery, Query()]) -> Response:
    """Which knowledge this server answers from: version, digest, and how many entries of each kind."""
    counts = {kind.plural: len(knowledge.entries(kind.plural)) for kind in KINDS}
    return answer(
        KnowledgeSummary(version=knowledge.version, digest=knowledge.digest, counts=counts)
    )


def _add_routes(kind: Kind) -> None:
    @router.get(
        f"/{kind.path}",
        operation_id=f"list_{kind.plural}",
        summary=f"List the {kind.plural.replace('_', ' ')}",
        response_model=page_model(kind),
        responses=documented(304, 400, 422),
    )
    def list_entries(
        knowledge: Known,
        query: Annotated[kind.narrowed_by, Query()],  # type: ignore[name-defined]
    ) -> Response:
        return answer(page_of_kind(knowledge, kind, query))

    @router.get(
        f"/{kind.path}/{{id}}",
        operation_id=f"get_{kind.singular}",
        summary=f"One {kind.singular.replace('_', ' ')} by its id",
        response_model=kind.shown,
        responses=documented(304, 404, 422),
    )
    def get_entry(
        knowledge: Known, entry_id: EntryId, query: Annotated[NoQuery, Query()]
    ) -> Response:
        return answer(entry(knowledge, kind, entry_id))


for _kind in KINDS:
    _add_routes(_kind)


def page_of_kind(knowledge: Knowledge, kind: Kind, paging: Paging) -> Page[Any]:
    """Return one page of the entries of a kind, narrowed as asked. Raises BadCursor."""
    wanted = paging.model_dump(exclude={"limit", "cursor"}, exclude_none=True)
    entries = [
        found
        for found in knowledge.entries(kind.plural).values()
        if all(getattr(found, name) == value for name, value in wanted.items())
    ]
    list_name = f"{kind.plural} {sorted(wanted.items())} {knowledge.digest}"
    return page_of(entries, paging, list_name)


def entry(knowledge: Knowledge, kind: Kind, name: str) -> BaseModel:
    """Return one entry, a fault with what it would show. Raises UnknownId with the nearest."""
    entries = knowledge.entries(kind.plural)
    if name not in entries:
        close = nearest(name, entries)
        raise UnknownId(kind.singular.replace("_", " "), name, [close] if close else [])
    found: BaseModel = entries[name]
    return fault_shown(knowledge, name) if kind.shown is FaultShown else found


@lru_cache(maxsize=512)
def fault_shown(knowledge: Knowledge, name: str) -> FaultShown:
    """Return a fault with the symptoms it would show, on a station of which nothing is known."""
    left, odds = _anywhere(knowledge)
    below = left.below(name)
    symptoms = [symptom for symptom in knowledge.symptoms if symptom in below]
    signs = expected_signs(left.graph, odds, name, symptoms)
    expected = [
        ExpectedSign(
            symptom=sign.node, title=knowledge.title(sign.node), chance=sign.chance, lift=sign.lift
        )
        for sign in signs
    ]
    return FaultShown(**dict(knowledge.faults[name]), expected=expected)


@lru_cache(maxsize=4)
def _anywhere(knowledge: Knowledge) -> tuple[Cut, Mapping[str, float]]:
    left = cut(knowledge, {})
    odds = {
        name: prior_odds(fault.prevalence.per_thousand * left.share.get(name, 1.0))
        for name, fault in knowledge.faults.items()
    }
    return left, odds
