"""What was heard: the welder's words and the answers given outright, merged into one set of answers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from diagnose import diagnosis as out
from diagnose.case import Case, Started
from diagnose.recognise import (
    DangerWords,
    Recognised,
    RecognisedStart,
    Unrecognised,
    recognise,
)
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
    heard = recognise(
        sorted(set(case.said)),
        list(knowledge.symptoms.values()),
        list(knowledge.starts.values()),
        list(knowledge.stop_cards.values()),
    )
    answers: dict[str, str] = {}
    danger: dict[str, bool] = {}
    recognised: set[tuple[str, str | None, str | None, str, float]] = set()
    unrecognised: set[tuple[str, tuple[str, ...]]] = set()
    change, pattern, only = set(case.started.change), case.started.pattern, case.started.only
    for one in heard:
        if isinstance(one, Recognised):
            recognised.add((one.said, one.symptom, None, one.seen, one.score))
            if answers.get(one.symptom) != "yes":
                answers[one.symptom] = one.seen
        elif isinstance(one, RecognisedStart):
            recognised.add((one.said, None, f"{one.facet}.{one.kind}", "yes", one.score))
            if one.facet == "change":
                change.add(one.kind)
            elif one.facet == "pattern":
                pattern = pattern or one.kind
            else:
                only = only or one.kind
        elif isinstance(one, DangerWords):
            danger[one.card] = danger.get(one.card, False) or one.sure
        elif isinstance(one, Unrecognised):
            unrecognised.add((one.said, one.nearest))
    by = dict.fromkeys(answers, "welder")
    outright, unused = _outright(case)
    for symptom, (seen, who) in outright.items():
        answers[symptom], by[symptom] = seen, who
    return Heard(
        answers=dict(sorted(answers.items())),
        by=by,
        danger=danger,
        started=Started(
            change=sorted(change), pattern=pattern, after_min=case.started.after_min, only=only
        ),
        recognised=tuple(
            out.Recognised(said=said, symptom=symptom, started=start, seen=seen, score=score)
            for said, symptom, start, seen, score in sorted(recognised, key=str)
        ),
        unrecognised=tuple(
            out.Unrecognised(said=said, nearest=list(near)) for said, near in sorted(unrecognised)
        ),
        unused=tuple(unused),
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
