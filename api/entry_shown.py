"""What the reasoning adds to an entry that is shown: signs, look-alikes, shares."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from pydantic import BaseModel, ConfigDict, Field

from diagnose.case import Case, Station
from diagnose.evidence import symptom_evidence
from diagnose.explain import expected_signs, path_in_words, path_to
from diagnose.graph import Cut
from diagnose.look_alikes import Signs
from diagnose.rank import Ranker, prior_odds
from diagnose.reason import reason
from knowledge.loader import Knowledge
from knowledge.models import Fault, Symptom


class Part(BaseModel):
    """A part of what `knowledge show --json` prints."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Sign(Part):
    """What one would notice if a fault were the only thing wrong."""

    symptom: str
    title: str
    chance: float = Field(description="Chance of the symptom, this fault alone being on.")
    lift: float = Field(description="That chance over the average one of all faults.")


class TellsApart(Part):
    """One sign, its chance with this fault and with the other."""

    kind: str
    id: str
    here: float
    there: float


class LooksLike(Part):
    """A fault that looks the same, how alike (0 to 1), and what tells the two apart."""

    fault: str
    title: str
    likeness: float
    told_apart_by: list[TellsApart]


class FaultShown(Fault):
    """A fault with what it brings about, what one would see, and what looks the same."""

    path: list[str]
    path_in_words: str
    expected: list[Sign] = Field(description="Likeliest first, then by id.")
    looks_like: list[LooksLike] = Field(description="The most alike first.")
    cannot_be: str | None = Field(description="The attribute that rules it out on this station.")


class Cause(Part):
    """A fault that brings a symptom, and its share of the complaints of which only that is known."""

    fault: str
    title: str
    share: float


class SymptomShown(Symptom):
    """A symptom with the faults that bring it, most common first."""

    causes: list[Cause]
    not_in_our_list: float


@dataclass(frozen=True)
class Setting:
    """The knowledge as it stands on a station, or on one of which nothing is known."""

    knowledge: Knowledge
    cut: Cut
    per_thousand: dict[str, float]

    @classmethod
    def of(cls, knowledge: Knowledge, station: Station | None = None) -> Setting:
        """Return the setting of a station."""
        reasoned = reason(Case(station=station or Station()), knowledge)
        return cls(knowledge, reasoned.cut, dict(reasoned.ranker.per_thousand))

    @cached_property
    def signs(self) -> Signs:
        """What each fault would show here."""
        return Signs(self.knowledge, self.cut)

    def fault(self, name: str) -> FaultShown:
        """Return a fault with what the reasoning adds; no signs where it cannot be on this station."""
        knowledge, entry = self.knowledge, self.knowledge.faults[name]
        if name in self.cut.gone:
            return FaultShown(
                **dict(entry),
                path=[],
                path_in_words="",
                expected=[],
                looks_like=[],
                cannot_be=self.cut.gone[name],
            )
        main = self.signs.main_symptom(name)
        path = path_to(self.cut.graph, name, [main]) if main else []
        odds = {f: prior_odds(n) for f, n in self.per_thousand.items() if f in self.cut.graph}
        symptoms = [symptom for symptom in knowledge.symptoms if symptom in self.cut.below(name)]
        return FaultShown(
            **dict(entry),
            path=path,
            path_in_words=path_in_words(knowledge, path),
            expected=[
                Sign(
                    symptom=sign.node,
                    title=knowledge.title(sign.node),
                    chance=sign.chance,
                    lift=sign.lift,
                )
                for sign in expected_signs(self.cut.graph, odds, name, symptoms)
            ],
            looks_like=[
                LooksLike(
                    fault=one.fault,
                    title=knowledge.title(one.fault),
                    likeness=one.likeness,
                    told_apart_by=[
                        TellsApart(kind=row.kind, id=row.id, here=row.here, there=row.there)
                        for row in one.separators
                    ],
                )
                for one in self.signs.look_alikes(name)
            ],
            cannot_be=None,
        )

    def symptom(self, name: str) -> SymptomShown:
        """Return a symptom with the faults that bring it, each with its share."""
        entry = self.knowledge.symptoms[name]
        if name not in self.cut.graph:
            return SymptomShown(**dict(entry), causes=[], not_in_our_list=1.0)
        seen = symptom_evidence(name, "yes", "tried_it", entry.leak.chance)
        ranking = Ranker(self.cut.graph, self.per_thousand, [seen] if seen else []).rank()
        causes = [
            Cause(fault=fault, title=self.knowledge.title(fault), share=ranking.on[fault])
            for fault in ranking.order()
            if name in self.cut.below(fault)
        ]
        return SymptomShown(**dict(entry), causes=causes, not_in_our_list=ranking.not_in_list)

    def shown(self, kind: str, name: str) -> BaseModel:
        """Return an entry with what the reasoning adds to it."""
        if kind == "faults":
            return self.fault(name)
        if kind == "symptoms":
            return self.symptom(name)
        entry: BaseModel = self.knowledge.entries(kind)[name]
        return entry
