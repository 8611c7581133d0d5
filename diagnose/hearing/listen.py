"""What was heard: the welder's words and the answers given outright, merged into one set of answers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from diagnose import diagnosis as out
from diagnose.case import Case, Finding, Started
from diagnose.hearing.classes_said import WIRE_CLASS, classes_said
from diagnose.hearing.phrases import Told
from diagnose.hearing.recognise import Hearing, Phrasebook
from diagnose.station_path import with_word
from knowledge.loader import Knowledge


@dataclass(frozen=True)
class Heard:
    """Answers by symptom, danger words by card, how it started, and what was not understood.

    `case` is the case with what the words tell of the set-up and of findings, where it told nothing.
    """

    case: Case
    answers: Mapping[str, str]
    by: Mapping[str, str]
    danger: Mapping[str, bool]
    """Stop card -> whether its words were surely said; False is a near miss."""
    started: Started
    recognised: tuple[out.Recognised, ...]
    unrecognised: tuple[out.Unrecognised, ...]
    unused: tuple[tuple[str, str], ...]


def listen(case: Case, knowledge: Knowledge) -> Heard:
    """Return what was heard. An answer given outright beats words; a welder's own yes beats his no.

    Two outright answers that contradict each other are both left out, and said so.
    """
    classes, said = classes_said(sorted(set(case.said)), knowledge.consumables)
    hearing = _phrasebook(knowledge).hear(said)
    hearing = replace(hearing, told=tuple(sorted({*hearing.told, *classes})))
    answers: dict[str, str] = {}
    for word in hearing.recognised:
        if answers.get(word.symptom) != "yes":
            answers[word.symptom] = word.seen
    danger: dict[str, bool] = {}
    for cry in hearing.danger:
        danger[cry.card] = danger.get(cry.card, False) or cry.sure
    by = dict.fromkeys(answers, "welder")
    outright, unused = _outright(case)
    told, contradicted = _told(case, hearing, knowledge)
    unused += contradicted
    for symptom, (seen, who) in outright.items():
        answers[symptom], by[symptom] = seen, who
    return Heard(
        case=told,
        answers=dict(sorted(answers.items())),
        by=by,
        danger=danger,
        started=_started(case.started, hearing),
        recognised=tuple(
            sorted(
                [
                    *(
                        out.Recognised(said=w.said, symptom=w.symptom, seen=w.seen, score=w.score)
                        for w in hearing.recognised
                    ),
                    *(
                        out.Recognised(said=w.said, started=f"{w.facet}.{w.kind}", score=w.score)
                        for w in hearing.starts
                    ),
                    *(
                        out.Recognised(said=w.said, told=f"{w.about}={w.value}", score=w.score)
                        for w in hearing.told
                    ),
                ],
                key=lambda row: (row.said, row.symptom or "", row.started or "", row.told or ""),
            )
        ),
        unrecognised=tuple(
            out.Unrecognised(said=words.said, nearest=list(words.nearest))
            for words in sorted(hearing.unrecognised)
        ),
        unused=tuple(unused),
    )


@lru_cache(maxsize=4)
def _phrasebook(knowledge: Knowledge) -> Phrasebook:
    return Phrasebook(
        list(knowledge.symptoms.values()),
        list(knowledge.starts.values()),
        list(knowledge.stop_cards.values()),
        _phrases_that_tell(knowledge),
    )


def _phrases_that_tell(knowledge: Knowledge) -> list[Told]:
    """Return the words that tell the set-up, by attribute, and a finding, by check."""
    return [
        *(
            Told(attribute.id, answer, phrase)
            for attribute in knowledge.attributes.values()
            for answer, phrases in attribute.phrases.items()
            for phrase in phrases
        ),
        *(
            Told(check.id, found.result, phrase)
            for check in knowledge.checks.values()
            for found in check.results()
            for phrase in found.phrases
        ),
    ]


def _told(case: Case, hearing: Hearing, knowledge: Knowledge) -> tuple[Case, list[tuple[str, str]]]:
    """Return the case with what the words add to it, and what the words say both ways."""
    said: dict[str, set[str]] = {}
    for word in hearing.told:
        said.setdefault(word.about, set()).add(word.value)
    station = case.station
    findings = list(case.findings)
    unused: list[tuple[str, str]] = []
    for about, values in sorted(said.items()):
        value = next(iter(values))
        if len(values) > 1:
            unused.append((about, "said both ways"))
        elif about == WIRE_CLASS:
            station = with_word(station, WIRE_CLASS, value)
        elif attribute := knowledge.attributes.get(about):
            station = with_word(station, attribute.path or "", value)
        elif about not in {finding.check for finding in case.findings}:
            findings.append(Finding(check=about, result=value))
    return case.model_copy(update={"station": station, "findings": findings}), unused


def _started(told: Started, hearing: Hearing) -> Started:
    """Return how it started: what was told outright first, then what the words add."""
    said: dict[str, list[str]] = {"change": [], "pattern": [], "only": []}
    for start in sorted(hearing.starts):
        said[start.facet].append(start.kind)
    return Started(
        change=sorted({*told.change, *said["change"]}),
        pattern=told.pattern or next(iter(said["pattern"]), None),
        after_min=told.after_min,
        only=told.only or next(iter(said["only"]), None),
    )


def _outright(case: Case) -> tuple[dict[str, tuple[str, str]], list[tuple[str, str]]]:
    """Return symptom -> (seen, by), what was tried before what was told, and what was not used."""
    given: dict[str, set[tuple[str, str]]] = {}
    for item in case.symptoms:
        given.setdefault(item.id, set()).add((item.seen, item.by))
    kept: dict[str, tuple[str, str]] = {}
    unused: list[tuple[str, str]] = []
    for symptom, rows in sorted(given.items()):
        tried = {row for row in rows if row[1] == "tried_it"} or rows
        clear = {row for row in tried if row[0] != "not_sure"} or tried
        if len({seen for seen, _ in clear}) > 1:
            unused.append((f"symptom:{symptom}", "answered both yes and no"))
        else:
            kept[symptom] = sorted(clear)[0]
    return kept, unused
