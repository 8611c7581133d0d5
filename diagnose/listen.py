"""What was heard: the welder's words and the answers given outright, merged into one set of answers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from diagnose import diagnosis as out
from diagnose.case import Case, Started
from diagnose.recognise import Hearing, Phrasebook
from knowledge.loader import Knowledge


@dataclass(frozen=True)
class Heard:
    """Answers by symptom, danger words by card, how it started, and what was not understood."""

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
    hearing = _phrasebook(knowledge).hear(sorted(set(case.said)))
    answers: dict[str, str] = {}
    for word in hearing.recognised:
        if answers.get(word.symptom) != "yes":
            answers[word.symptom] = word.seen
    danger: dict[str, bool] = {}
    for cry in hearing.danger:
        danger[cry.card] = danger.get(cry.card, False) or cry.sure
    by = dict.fromkeys(answers, "welder")
    outright, unused = _outright(case)
    for symptom, (seen, who) in outright.items():
        answers[symptom], by[symptom] = seen, who
    return Heard(
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
                ],
                key=lambda row: (row.said, row.symptom or "", row.started or ""),
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
    )


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
