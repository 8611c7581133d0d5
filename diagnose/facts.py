"""From the case to the facts that the rules think about. Nothing is concluded here."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import Any

from pydantic import BaseModel

from diagnose.case import Case, Started, Station
from diagnose.readings.measured import Measured
from knowledge import models
from knowledge import vocabulary as words
from knowledge.expert import Fact
from knowledge.loader import Knowledge

__all__ = ["case_facts", "gas_row", "plain_class", "plain_gas", "wire_row"]

_NO_GAS = frozenset({"none", "no", "nogas", "nil", "without", "gasless"})
_PHASES = {1: "single", 3: "three"}


def case_facts(
    case: Case,
    knowledge: Knowledge,
    recognised: Iterable[tuple[str, str]] = (),
    danger: Iterable[tuple[str, str]] = (),
    reckoned: Mapping[str, float] | None = None,
    *,
    measured: Iterable[Measured] = (),
    replaced: Collection[str] = (),
) -> list[Fact]:
    """Return the case as facts, with the rows of the tables that matter for it.

    `recognised` are symptom ids found in the words, each with its `seen` (yes, no, not_sure); what
    was answered outright in the case comes first. `danger` are the stop cards whose words were
    heard, each with yes or perhaps. `reckoned` are figures by quantity, whose name ends in a unit;
    `measured` is what the readings come to, and `replaced` the figures of the station they tell better.
    """
    facts: list[Fact] = [words.Station(name=case.station.name or "station")]
    facts += _attributes(case.station, knowledge.attributes)
    facts += (fact for fact in _figures(case.station) if fact["name"] not in replaced)
    facts += _details(case.station)
    facts += _wire(case.station, knowledge.consumables)
    facts += _gas(case.station, knowledge.gases)
    facts += _symptoms(case, recognised, knowledge)
    facts += _history(case)
    facts += _danger(case, danger, knowledge.stop_cards)
    facts += [
        words.Reckoned(quantity=quantity, value=float(value))
        for quantity, value in sorted((reckoned or {}).items())
    ]
    facts += [
        words.Measured(
            quantity=row.quantity,
            value=float(row.value),
            if_fault=float(row.if_fault),
            if_sound=float(row.if_sound),
            item=row.item,
        )
        for row in measured
    ]
    return facts


def plain_class(told: str) -> str:
    """Return a wire class as it is matched: upper-case, without blanks.

    >>> plain_class("e71t - 11")
    'E71T-11'
    """
    return "".join(told.upper().split())


def plain_gas(told: str) -> str:
    """Return the name of a gas as it is matched: lower-case, without blanks.

    >>> plain_gas("75Ar / 25CO2")
    '75ar/25co2'
    """
    return "".join(told.lower().split())


def wire_row(told: str, table: Mapping[str, models.Consumable]) -> models.Consumable | None:
    """Return the first row of the table whose pattern the whole class matches, or None."""
    name = plain_class(told)
    for row in table.values():
        if re.fullmatch(row.pattern, name, re.IGNORECASE):
            return row
    return None


def gas_row(told: str, table: Mapping[str, models.Gas]) -> models.Gas | None:
    """Return the row of the gas table with this name or id, or None."""
    name = plain_gas(told)
    for row in table.values():
        if name in {plain_gas(row.id), *(plain_gas(known) for known in row.names)}:
            return row
    return None


def _attributes(station: Station, table: Mapping[str, models.Attribute]) -> Iterator[Fact]:
    for attribute in table.values():
        if attribute.path is None:
            continue
        told = _at(station, attribute.path)
        if told is None:
            continue
        if attribute.many:
            yield words.Listed(name=attribute.id)
        for value in told if isinstance(told, list) else [told]:
            yield words.Word(name=attribute.id, value=_word(attribute.path, value))
    if station.polarity is not None:
        yield words.Looked(name="electrode_polarity", how=station.polarity.known)


def _at(station: Station, path: str) -> Any:
    """Return what stands at a path such as 'station.wire.form', or None."""
    part: Any = station
    for name in path.split(".")[1:]:
        part = getattr(part, name, None)
    return part


def _word(path: str, value: object) -> str:
    if path == "station.source.phases" and isinstance(value, int):
        return _PHASES[value]
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value)


def _figures(part: BaseModel, path: str = "") -> Iterator[Fact]:
    """Yield every figure of the station under its path; phases is a word, leads are reckoned."""
    for name in type(part).model_fields:
        value = getattr(part, name)
        if isinstance(value, BaseModel):
            yield from _figures(value, f"{path}{name}.")
        elif isinstance(value, float):
            yield words.Number(name=f"{path}{name}", value=value)


def _details(station: Station) -> Iterator[Fact]:
    told = {
        "settings.mode": station.settings and station.settings.mode,
        "feeder.groove": station.feeder and station.feeder.groove,
        "gas.measured_at": station.gas and station.gas.measured_at,
        "leads.coiled": _coiled(station),
    }
    for name, value in told.items():
        if value:
            yield words.Detail(name=name, value=value)


def _coiled(station: Station) -> str | None:
    """Return yes when any lead lies coiled, no when all are told not to, None when not known."""
    told = [lead.coiled for lead in station.leads or ()]
    if any(told):
        return "yes"
    return "no" if told and all(coiled is False for coiled in told) else None


def _wire(station: Station, table: Mapping[str, models.Consumable]) -> Iterator[Fact]:
    if station.wire is None or station.wire.class_ is None:
        return
    designator = plain_class(station.wire.class_)
    yield words.WireClass(designator=designator)
    row = wire_row(station.wire.class_, table)
    if row is not None:
        yield words.ClassRow(
            designator=designator,
            form=row.form,
            metal=row.metal,
            process=row.process,
            shielding=row.shielding,
            polarity=row.polarity,
            passes=row.passes,
            groups=" ".join(row.gas_groups),
        )


def _gas(station: Station, table: Mapping[str, models.Gas]) -> Iterator[Fact]:
    if station.gas is None or station.gas.name is None:
        return
    name = plain_gas(station.gas.name)
    if name in _NO_GAS:
        yield words.GasName(name="none")
        return
    yield words.GasName(name=name)
    row = gas_row(station.gas.name, table)
    if row is not None:
        yield words.GasRow(name=name, id=row.id, iso=row.iso_14175, group=row.group)


def _symptoms(
    case: Case, recognised: Iterable[tuple[str, str]], knowledge: Knowledge
) -> Iterator[Fact]:
    alarming = {symptom for card in knowledge.stop_cards.values() for symptom in card.raised_by}
    told = _outright(case, alarming)
    for symptom, seen in recognised:
        told.setdefault(symptom, (seen, "welder"))
    for symptom, (seen, by) in sorted(told.items()):
        yield words.Symptom(id=symptom, seen=seen, by=by)
        known = knowledge.symptoms.get(symptom)
        if known is not None and seen == "yes":
            for state in known.presupposes:
                yield words.Presupposes(symptom=symptom, state=state)
        if seen != "no":
            for card in knowledge.stop_cards.values():
                if symptom in card.raised_by:
                    yield words.RaisedBy(card=card.id, symptom=symptom)
    for row in knowledge.symptoms.values():
        for state in row.means_no:
            yield words.MeansNo(symptom=row.id, state=state)


def _outright(case: Case, alarming: Collection[str]) -> dict[str, tuple[str, str]]:
    """Return symptom -> (seen, by). What was tried beats what was told; yes and no give not sure.

    A danger that anybody saw counts as seen, whoever else did not.
    """
    given: dict[str, set[tuple[str, str]]] = {}
    for answer in case.symptoms:
        given.setdefault(answer.id, set()).add((answer.seen, answer.by))
    told: dict[str, tuple[str, str]] = {}
    for symptom, rows in given.items():
        best = {row for row in rows if row[1] == "tried_it"} or rows
        if symptom in alarming:
            best = {row for row in rows if row[0] == "yes"} or best
        seen = {row[0] for row in best} - {"not_sure"} or {"not_sure"}
        by = "tried_it" if any(row[1] == "tried_it" for row in best) else "welder"
        told[symptom] = (seen.pop() if len(seen) == 1 else "not_sure", by)
    return told


def _history(case: Case) -> Iterator[Fact]:
    yield from (words.Start(facet=facet, kind=kind) for facet, kind in _starts(case.started))
    for finding in case.findings:
        yield words.Found(check=finding.check, result=finding.result)


def _starts(started: Started) -> Iterator[tuple[str, str]]:
    yield from (("change", kind) for kind in started.change)
    if started.pattern is not None:
        yield "pattern", started.pattern
    if started.only is not None:
        yield "only", started.only


def _danger(
    case: Case, heard: Iterable[tuple[str, str]], table: Mapping[str, models.StopCard]
) -> Iterator[Fact]:
    for card, sure in heard:
        yield words.DangerWord(card=card, sure=sure)
    for lifted in case.made_safe:
        yield words.MadeSafe(card=lifted.stop_card, by=lifted.by)
        if lifted.stop_card in table:
            yield words.CardWho(card=lifted.stop_card, who=table[lifted.stop_card].who)
