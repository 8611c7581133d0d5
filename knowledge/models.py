"""The shape of every knowledge entry. One class a kind of entry; YAML in, frozen objects out.

The grammar for people is `entries/FORMAT.md`; the JSON Schemas beside it are generated from here.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

Id = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]*$", max_length=64)]
Text = Annotated[str, Field(min_length=3, max_length=600)]
Chance = Annotated[float, Field(gt=0.0, lt=1.0)]
Basis = Literal["published", "common_practice", "from_memory", "judgement"]
Who = Literal["operator", "maintenance", "electrician", "service"]
Hazard = Literal["look", "touch_machine_off", "live_weld_circuit", "covers_off_or_supply"]
Area = Literal[
    "connections",
    "polarity",
    "work_return",
    "gas",
    "wire_feed",
    "settings",
    "supply",
    "power_source",
    "consumable",
    "base_metal",
    "technique",
]
Polarity = Literal["positive", "negative"]
When = dict[Id, str | list[str]]
"""Attribute -> the value, or any one of the values, it must have; every attribute must agree."""
Phrases = list[Annotated[str, Field(min_length=2, max_length=80)]]
"""Everyday words that mean the entry they stand in."""


class Entry(BaseModel):
    """What all entries share: an id that is never renamed and never reused."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    id: Id
    title: Text
    status: Literal["active", "retired"] = "active"


class Stated(BaseModel):
    """A number or a set of numbers that says where it comes from."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    basis: Basis
    source: Id | None = None
    note: Text | None = None

    @model_validator(mode="after")
    def _published_names_its_source(self) -> Stated:
        if self.basis == "published" and self.source is None:
            raise ValueError("basis 'published' needs a source")
        return self


class Cited(BaseModel):
    """A source, and the place in it that was used."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    ref: Id
    where: Text | None = None


class Source(Entry):
    """Where a fact comes from, and how well it was seen."""

    year: int | None = None
    seen: Literal["own_text", "restated", "memory"]
    address: str | None = None


class Link(Stated):
    """The chance that this cause alone brings that effect about."""

    effect: Id
    strength: Chance
    when: When = Field(default_factory=dict)


class Prevalence(Stated):
    """Of 1,000 complaints on stations where this fault can occur, how many are this fault."""

    per_thousand: Annotated[float, Field(gt=0.0, le=200.0)]


class Starts(Stated):
    """How a fault tends to start: for each facet, the chance of the kinds that stand out.

    What is left of one is spread over the kinds not named, in proportion to their base chance.
    """

    change: dict[Id, Chance] = Field(default_factory=dict)
    pattern: dict[Id, Chance] = Field(default_factory=dict)
    only: dict[Id, Chance] = Field(default_factory=dict)

    @model_validator(mode="after")
    def _each_facet_leaves_something_over(self) -> Starts:
        for facet in ("change", "pattern", "only"):
            if sum(getattr(self, facet).values()) > 0.99:
                raise ValueError(f"the chances under '{facet}' sum to more than 0.99")
        return self


class Remedy(Stated):
    """What puts a fault right, and who may do it. `minutes` for one person at the station.

    `parts` are what it may take that does not lie at the station.
    """

    who: Who
    minutes: Annotated[float, Field(gt=0.0, le=1000.0)]
    steps: Annotated[list[Text], Field(min_length=1, max_length=12)]
    parts: Annotated[list[Text], Field(max_length=4)] = Field(default_factory=list)
    proved_by: Id


class Fault(Entry):
    """One thing in one place that a person can put right."""

    area: Area
    place: Text
    about: Text
    when: When = Field(default_factory=dict)
    prevalence: Prevalence
    leads_to: Annotated[list[Link], Field(min_length=1)]
    starts: Starts
    excludes: list[Id] = Field(default_factory=list)
    remedy: Remedy
    cautions: list[Text] = Field(default_factory=list)
    sources: list[Cited] = Field(default_factory=list)


class Mechanism(Entry):
    """What happens in between: one sentence of physics, and where it leads."""

    physics: Text
    when: When = Field(default_factory=dict)
    leads_to: Annotated[list[Link], Field(min_length=1)]
    sources: list[Cited] = Field(default_factory=list)


State = Literal["power", "trigger", "feed", "gas", "arc", "bead"]


class Leak(Stated):
    """How often a symptom is there without any cause of ours."""

    chance: Chance


class Imperfection(BaseModel):
    """A number of ISO 6520-1:2007, and whether it was seen in a text or recalled."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    number: Annotated[str, Field(pattern=r"^\d{3,4}$")]
    basis: Literal["published", "from_memory"]
    source: Id


class Symptom(Entry):
    """What is noticed while welding. `presupposes` and `means_no` say what it implies."""

    group: Literal["will_it_go", "arc", "wire", "bead", "gas", "heat_and_sound", "danger"]
    question: Text
    phrases: Annotated[Phrases, Field(min_length=1)]
    leak: Leak
    when: When = Field(default_factory=dict)
    presupposes: list[State] = Field(default_factory=list)
    means_no: list[State] = Field(default_factory=list)
    iso_6520_1: Imperfection | None = None
    sources: list[Cited] = Field(default_factory=list)


class Result(Stated):
    """One thing a check can find: the nodes it shows, and how often it is found by mistake."""

    result: Id
    says: Text
    shows: Annotated[dict[Id, Chance], Field(min_length=1)]
    mistaken: Chance
    phrases: Phrases = Field(default_factory=list)


class NothingFound(BaseModel):
    """The result of a check that finds none of the things it looks for."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    result: Id
    says: Text
    phrases: Phrases = Field(default_factory=list)


class Check(Stated):
    """Something to look at, feel, measure or try. Results are tried in order, else nothing found."""

    id: Id
    title: Text
    status: Literal["active", "retired"] = "active"
    steps: Annotated[list[Text], Field(min_length=1, max_length=10)]
    why: Text
    minutes: Annotated[float, Field(gt=0.0, le=240.0)]
    hazard: Hazard
    who: Who
    tools: list[Id] = Field(default_factory=list)
    opens: Id | None = None
    when: When = Field(default_factory=dict)
    looks_for: Annotated[list[Result], Field(min_length=1)]
    nothing_found: NothingFound
    sources: list[Cited] = Field(default_factory=list)

    def results(self) -> list[Result | NothingFound]:
        """Return what the check can find, in order, 'nothing found' last."""
        return [*self.looks_for, self.nothing_found]

    @model_validator(mode="after")
    def _results_and_hazard_agree(self) -> Check:
        names = [found.result for found in self.looks_for] + [self.nothing_found.result]
        if len(names) != len(set(names)):
            raise ValueError("two results have the same id")
        if self.hazard == "covers_off_or_supply" and self.who not in ("electrician", "service"):
            raise ValueError("covers off or supply side belongs to an electrician or service")
        return self


class Outfit(Stated):
    """A tool to fetch and set up, or a place to open: paid once in a session."""

    id: Id
    title: Text
    status: Literal["active", "retired"] = "active"
    kind: Literal["tool", "place"]
    minutes: Annotated[float, Field(ge=0.0, le=120.0)]


class StartKind(Stated):
    """One kind of start within a facet, with the chance that a complaint starts so at all."""

    id: Id
    title: Text
    status: Literal["active", "retired"] = "active"
    facet: Literal["change", "pattern", "only"]
    base: Chance
    phrases: Phrases = Field(default_factory=list)


class Shares(Stated):
    """How common each answer is among stations with a complaint; used while it is not known."""

    of: dict[str, Chance]

    @model_validator(mode="after")
    def _sum_to_one(self) -> Shares:
        if abs(sum(self.of.values()) - 1.0) > 1e-9:
            raise ValueError("the shares do not sum to 1")
        return self


class Attribute(Entry):
    """One word about a station that `when` may ask for: told by the user or concluded by a rule."""

    question: Text
    why: Text
    answers: Annotated[dict[str, str], Field(min_length=2)]
    shares: Shares | None = None
    path: str | None = None
    many: bool = False
    phrases: dict[str, Phrases] = Field(default_factory=dict)

    @model_validator(mode="after")
    def _shares_are_of_answers(self) -> Attribute:
        if self.shares and set(self.shares.of) != set(self.answers):
            raise ValueError("shares must be given for exactly the answers")
        return self

    @model_validator(mode="after")
    def _phrases_say_one_answer_of_the_station(self) -> Attribute:
        if not set(self.phrases) <= set(self.answers):
            raise ValueError("phrases must be given for answers")
        if self.phrases and (self.path is None or self.many):
            raise ValueError("phrases need a path that holds one answer")
        return self


class StopCard(Entry):
    """What comes before any ranking because somebody can get hurt."""

    signal_word: Literal["DANGER", "WARNING", "CAUTION", "NOTICE"]
    why: Text
    do: Annotated[list[Text], Field(min_length=1)]
    who: Who
    raised_by: Annotated[list[Id], Field(min_length=1)]
    phrases: Phrases = Field(default_factory=list)
    sources: list[Cited] = Field(default_factory=list)


class Consumable(Stated):
    """A wire class or designator and what it asks for. `open` leaves it to maker or seller."""

    id: Id
    title: Text
    status: Literal["active", "retired"] = "active"
    pattern: str
    form: Literal["solid", "metal_cored", "flux_cored"]
    metal: Literal["carbon_steel", "stainless", "aluminium"]
    process: Literal["GMAW", "FCAW-G", "FCAW-S", "open"]
    shielding: Literal["gas", "none", "open"]
    polarity: Literal["positive", "negative", "either", "open"]
    passes: Literal["single", "multi", "open"]
    gas_groups: list[str] = Field(default_factory=list)


class Gas(Stated):
    """A shielding gas or mixture by ISO 14175 group, in volume fractions that sum to one."""

    id: Id
    title: Text
    status: Literal["active", "retired"] = "active"
    names: Annotated[list[str], Field(min_length=1)]
    iso_14175: str
    group: Literal["inert", "mixed", "co2", "other"]
    parts: dict[Literal["Ar", "CO2", "He", "O2", "N2", "H2"], Annotated[float, Field(gt=0, le=1)]]

    @model_validator(mode="after")
    def _parts_sum_to_one(self) -> Gas:
        if abs(sum(self.parts.values()) - 1.0) > 1e-9:
            raise ValueError("the parts do not sum to 1")
        return self


class Cable(Stated):
    """One size of copper welding cable: the largest resistance at 20 °C that a standard allows."""

    id: Id
    title: Text
    status: Literal["active", "retired"] = "active"
    area_mm2: Annotated[float, Field(gt=0)]
    ohm_per_km_20c: Annotated[float, Field(gt=0)]
    continuous_a: Annotated[float, Field(gt=0)] | None = None
    continuous_basis: Basis | None = None
    continuous_source: Id | None = None


class WalkLine(Entry):
    """One line of the walk-round: what to look at, why it matters, what good and bad look like.

    Lines stand in the order in which they are walked. A bad tick points at `faults`, and raises
    `stop_card` where somebody can get hurt.
    """

    stage: Literal["before_power", "power_up", "first_arc"]
    do: Text
    why: Text
    good: Text
    bad: Text
    hazard: Hazard
    who: Who
    when: When = Field(default_factory=dict)
    faults: list[Id] = Field(default_factory=list)
    stop_card: Id | None = None
    essential: bool = True
    sources: list[Cited] = Field(default_factory=list)

    @model_validator(mode="after")
    def _hazard_is_not_the_operators(self) -> WalkLine:
        if self.hazard == "covers_off_or_supply" and self.who not in ("electrician", "service"):
            raise ValueError("covers off or supply side belongs to an electrician or service")
        return self


KINDS: dict[str, type[BaseModel]] = {
    "sources": Source,
    "attributes": Attribute,
    "starts": StartKind,
    "outfits": Outfit,
    "faults": Fault,
    "mechanisms": Mechanism,
    "symptoms": Symptom,
    "checks": Check,
    "stop_cards": StopCard,
    "consumables": Consumable,
    "gases": Gas,
    "cables": Cable,
    "walk_round": WalkLine,
}
"""Kind of entry (the first part of the path under `entries/`) -> its model."""
