"""The words in which facts are stated: told, taken from a table, or derived by a rule.

Each kind is a flat class and each slot holds a word or a number, never either: experta tests the
slots of a pattern in no fixed order, so a number and a word must not meet in one slot. What is
not known has no fact.
"""

from __future__ import annotations

from knowledge.expert import Fact

__all__ = [
    "DERIVED",
    "TABLE",
    "TOLD",
    "Ask",
    "Card",
    "CardWho",
    "Caution",
    "Clash",
    "ClassRow",
    "DangerWord",
    "Denied",
    "Detail",
    "Established",
    "Fixed",
    "Found",
    "GasName",
    "GasRow",
    "Implied",
    "Is",
    "Lifted",
    "Listed",
    "Looked",
    "MadeSafe",
    "MeansNo",
    "Measured",
    "Mismatch",
    "Needs",
    "Number",
    "Presupposes",
    "Raised",
    "RaisedBy",
    "Reckoned",
    "Settled",
    "Shows",
    "Start",
    "StateHad",
    "Station",
    "Suits",
    "Symptom",
    "WireClass",
    "Word",
]


class Station(Fact):
    """The station at hand; there is always exactly one."""

    name: str


class Word(Fact):
    """An attribute of the station as told, by the names and answers of attributes.yaml."""

    name: str
    value: str


class Listed(Fact):
    """An attribute that takes many answers was answered; what is not named is not there."""

    name: str


class Detail(Fact):
    """A word that no `when` asks for, such as the mode; `name` is its path in the station."""

    name: str
    value: str


class Number(Fact):
    """A figure of the station as told; `name` is its path in the station and ends in its unit."""

    name: str
    value: float


class Looked(Fact):
    """How well an attribute is known: `how` is looked or told."""

    name: str
    how: str


class WireClass(Fact):
    """The class on the spool, upper-case without blanks, whether the table knows it or not."""

    designator: str


class GasName(Fact):
    """The gas as named by the user, without blanks and in lower case; none = no gas."""

    name: str


class Symptom(Fact):
    """A symptom spoken about: `seen` is yes, no or not_sure; `by` is welder or tried_it."""

    id: str
    seen: str
    by: str


class Start(Fact):
    """How it started: a kind of start in its facet (change, pattern, only)."""

    facet: str
    kind: str


class Found(Fact):
    """The result of a check."""

    check: str
    result: str


class MadeSafe(Fact):
    """Somebody says that what raised a stop card is put right; `by` is what that person may do."""

    card: str
    by: str


class DangerWord(Fact):
    """Words that a stop card listens for: `sure` is yes for a match, perhaps for a near miss."""

    card: str
    sure: str


class Reckoned(Fact):
    """A figure that diagnose.reckon worked out; `quantity` ends in its unit."""

    quantity: str
    value: float


class Measured(Fact):
    """A measured quantity, and how likely it is if the fault it speaks of is on, and if not.

    `quantity` ends in its unit; `item` is the place in the case that tells it.
    """

    quantity: str
    value: float
    if_fault: float
    if_sound: float
    item: str


class ClassRow(Fact):
    """The row of the table for the wire class. `groups` are gas groups, blank between."""

    designator: str
    form: str
    metal: str
    process: str
    shielding: str
    polarity: str
    passes: str
    groups: str


class GasRow(Fact):
    """The row of the gas table for the gas that was named."""

    name: str
    id: str
    iso: str
    group: str


class Presupposes(Fact):
    """What must have been there for a symptom to be noticed."""

    symptom: str
    state: str


class MeansNo(Fact):
    """What was missing when a symptom is there."""

    symptom: str
    state: str


class RaisedBy(Fact):
    """A stop card and a symptom that raises it."""

    card: str
    symptom: str


class CardWho(Fact):
    """Who may lift a stop card."""

    card: str
    who: str


class Fixed(Fact):
    """What the wire class or the gas itself fixes about the station; it beats what was told."""

    name: str
    value: str


class Clash(Fact):
    """The user told one thing and the class fixes another."""

    name: str
    told: str
    fixed: str


class Settled(Fact):
    """An attribute as fixed by a class, or else as told."""

    name: str
    value: str


class Implied(Fact):
    """An attribute that nobody told, but which follows from what is settled."""

    name: str
    value: str


class Is(Fact):
    """An attribute of the station as far as known. This is what `when` looks at."""

    name: str
    value: str


class Needs(Fact):
    """What the wire or the process asks for."""

    what: str
    value: str


class Suits(Fact):
    """What the station has suits what is needed."""

    what: str
    has: str


class Mismatch(Fact):
    """What the station has is not what is needed. Figures stand here as words with their unit."""

    what: str
    needs: str
    has: str


class Shows(Fact):
    """Evidence: how likely this item is when the node is on, and when it is off."""

    node: str
    on: float
    off: float
    item: str


class Established(Fact):
    """The set-up itself establishes the fault."""

    fault: str
    item: str


class StateHad(Fact):
    """The station had power, trigger, feed, gas, arc or bead when the complaint was made."""

    state: str


class Denied(Fact):
    """A symptom that cannot be there, given what was seen."""

    symptom: str


class Ask(Fact):
    """A question worth asking; `id` is the path of the answer in the case."""

    id: str


class Raised(Fact):
    """Something raises a stop card: `sure` is yes or perhaps."""

    card: str
    sure: str


class Lifted(Fact):
    """A person entitled to it has lifted a stop card."""

    card: str


class Card(Fact):
    """A stop card and its state: stands, perhaps or made_safe."""

    id: str
    state: str


class Caution(Fact):
    """A sentence that the user should read before going on."""

    text: str


TOLD: tuple[type[Fact], ...] = (
    Station,
    Word,
    Listed,
    Detail,
    Number,
    Looked,
    WireClass,
    GasName,
    Symptom,
    Start,
    Found,
    MadeSafe,
    DangerWord,
    Reckoned,
    Measured,
)
TABLE: tuple[type[Fact], ...] = (
    ClassRow,
    GasRow,
    Presupposes,
    MeansNo,
    RaisedBy,
    CardWho,
)
DERIVED: tuple[type[Fact], ...] = (
    Fixed,
    Clash,
    Settled,
    Implied,
    Is,
    Needs,
    Suits,
    Mismatch,
    Shows,
    Established,
    StateHad,
    Denied,
    Ask,
    Raised,
    Lifted,
    Card,
    Caution,
)
