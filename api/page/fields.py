"""The questions of the first sheet: their names, their words, and where their answers stand in a case."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from pydantic import ValidationError

from api.http.refusals import Misfit, ShapeRefused
from api.http.shape import shape_refused, written
from api.page.body import Form
from api.wording.station import litres_per_minute, millimetres
from diagnose.case import Case, SymptomSeen
from knowledge.loader import Knowledge
from knowledge.models import Attribute

_BARE = re.compile(r"\s*[+-]?(?:\d+(?:[.,]\d+)?|[.,]\d+)\s*\Z")
SYMPTOM = "symptom."
"""What the name of a question about a symptom begins with."""
Kind = Literal["text", "choice", "yes_no", "many", "polarity"]


@dataclass(frozen=True)
class Question:
    """One question: its name in the form, its words, and where in the case the answer stands.

    `size` says what a quantity is, so that its unit can be asked for and written back.
    """

    name: str
    asks: str
    place: tuple[str, ...]
    kind: Kind
    hint: str = ""
    size: Literal["", "length", "flow"] = ""


QUESTIONS = (
    Question("station", "Which station is it?", ("station", "name"), "text", "Bay, number or name"),
    Question("process", "Process", ("station", "process"), "choice"),
    Question(
        "wire_class",
        "Wire class",
        ("station", "wire", "class"),
        "text",
        "As printed on the spool, such as E71T-11",
    ),
    Question(
        "wire_size",
        "Wire size",
        ("station", "wire", "diameter_mm"),
        "text",
        "With its unit: 0.035 in or 0.9 mm",
        "length",
    ),
    Question("polarity", "Electrode polarity", ("station", "polarity"), "polarity"),
    Question(
        "gas", "Gas", ("station", "gas", "name"), "text", "As on the label, such as 75/25; or none"
    ),
    Question(
        "flow",
        "Gas flow",
        ("station", "gas", "flow_l_min"),
        "text",
        "With its unit: 35 cfh or 16 L/min",
        "flow",
    ),
    Question("metal", "Work metal", ("station", "work", "metal"), "choice"),
    Question("surface", "What is on its surface?", ("station", "work", "surface"), "many"),
    Question(
        "thickness",
        "Thickness",
        ("station", "work", "thickness_mm"),
        "text",
        "With its unit: 1/4 in or 6 mm",
        "length",
    ),
    Question("joint", "Joint", ("station", "work", "joint"), "choice"),
    Question("outdoors", "Outdoors?", ("station", "place", "outdoors"), "yes_no"),
    Question("change", "What was changed last?", ("started", "change"), "many"),
    Question("pattern", "How does it come?", ("started", "pattern"), "choice"),
    Question("only", "Where does it happen?", ("started", "only"), "choice"),
    Question("may", "Who are you?", ("user", "may"), "choice"),
    Question("units", "Units", ("units",), "choice"),
)
BY_NAME: Mapping[str, Question] = {question.name: question for question in QUESTIONS}
_BY_PLACE = {".".join(question.place): question for question in QUESTIONS}
POLARITIES = {
    "positive.looked": "Positive, traced to the stud",
    "negative.looked": "Negative, traced to the stud",
    "positive.told": "Positive, somebody said so",
    "negative.told": "Negative, somebody said so",
}
_OWN_CHOICES: Mapping[str, Mapping[str, str]] = {
    "polarity": POLARITIES,
    "outdoors": {"yes": "Outdoors", "no": "Indoors"},
    "units": {"metric": "Metric (mm, L/min)", "us": "US (in, cfh)"},
    "may": {
        "operator": "Operator",
        "maintenance": "Maintenance",
        "electrician": "Electrician",
        "service": "Service",
    },
}


def choices(knowledge: Knowledge) -> dict[str, dict[str, str]]:
    """Return question -> answer -> its words, for every question with set answers."""
    found = {name: dict(rows) for name, rows in _OWN_CHOICES.items()}
    by_path = {row.path: row for row in knowledge.attributes.values() if row.path}
    for name in ("process", "metal", "surface", "joint"):
        found[name] = words_of(by_path[".".join(BY_NAME[name].place)])
    for name in ("change", "pattern", "only"):
        rows = knowledge.starts.values()
        found[name] = {row.id: row.title for row in rows if row.facet == name}
    return found


def words_of(row: Attribute) -> dict[str, str]:
    """Return the answers about a station with their words; a process also by its short name."""
    if row.path == "station.process":
        return {key: f"{key}: {says}" for key, says in row.answers.items()}
    return {key: says[:1].upper() + says[1:] for key, says in row.answers.items()}


def fields_of(case: Case) -> dict[str, list[str]]:
    """Return the form as it is filled for a case: name -> values."""
    told = case.model_dump(mode="json", by_alias=True)
    found: dict[str, list[str]] = {"said": ["\n".join(case.said)]}
    for question in QUESTIONS:
        value = _at(told, question.place)
        if value not in (None, [], ""):
            found[question.name] = _written(question, value, case.units)
    for row in case.symptoms:
        found[SYMPTOM + row.id] = [row.seen]
    return found


def _at(told: Any, place: Sequence[str]) -> Any:
    for step in place:
        told = told.get(step) if isinstance(told, dict) else None
    return told


def _written(question: Question, value: Any, units: str) -> list[str]:
    if question.size:
        say = millimetres if question.size == "length" else litres_per_minute
        return [say(value, units)]
    match question.kind:
        case "many":
            return list(value)
        case "yes_no":
            return ["yes" if value else "no"]
        case "polarity":
            return [f"{value['electrode']}.{value['known']}"]
        case _:
            return [str(value)]


def case_from(form: Form, before: Case, knowledge: Knowledge) -> Case:
    """Return the case that a filled form tells, laid over what was known before.

    What the form does not ask for stays as it was. Raises ShapeRefused, naming the questions.
    """
    told = before.model_dump(mode="json", by_alias=True, exclude_unset=True)
    shown = fields_of(before)
    misfits: list[Misfit] = []
    for question in QUESTIONS:
        given = form.all(question.name)
        if [one.strip() for one in given] == shown.get(question.name, []):
            continue
        _put(told, question, [one.strip() for one in given], misfits)
    said = [line.strip() for line in form.one("said").split("\n") if line.strip()]
    told |= {"said": said, "symptoms": _symptoms(form, before, knowledge)}
    for name in ("said", "symptoms"):
        if not told[name]:
            del told[name]
    return _checked(told, misfits)


def _put(told: dict[str, Any], question: Question, given: list[str], misfits: list[Misfit]) -> None:
    *way, last = question.place
    into = told
    for step in way:
        inner = into.get(step)
        into[step] = into = inner if isinstance(inner, dict) else {}
    if not given:
        into.pop(last, None)
        _prune(told)
        return
    if question.size and _BARE.match(given[-1]):
        misfits.append(Misfit(question.asks, f"'{given[-1]}' has no unit", question.hint + "."))
    into[last] = _value(question, given)


def _prune(told: dict[str, Any]) -> None:
    """Take away parts that say nothing any more."""
    for key, inner in list(told.items()):
        if isinstance(inner, dict):
            _prune(inner)
            if not inner:
                del told[key]


def _value(question: Question, given: list[str]) -> Any:
    match question.kind:
        case "many":
            return given
        case "yes_no":
            return {"yes": True, "no": False}.get(given[-1], given[-1])
        case "polarity":
            electrode, _, known = given[-1].partition(".")
            return {"electrode": electrode, "known": known or "told"}
        case _:
            return given[-1]


def _symptoms(form: Form, before: Case, knowledge: Knowledge) -> list[dict[str, Any]]:
    """Return the symptoms answered in the form; an answer that stayed keeps who gave it."""
    old: dict[str, SymptomSeen] = {row.id: row for row in before.symptoms}
    rows: list[dict[str, Any]] = []
    for name in form.values:
        seen = form.one(name)
        if not name.startswith(SYMPTOM) or not seen:
            continue
        symptom = name.removeprefix(SYMPTOM)
        row = {"id": symptom, "seen": seen}
        if symptom in old and old[symptom].seen == seen:
            row["by"] = old[symptom].by
        rows.append(row)
    return rows


def _checked(told: dict[str, Any], misfits: list[Misfit]) -> Case:
    try:
        case = Case.model_validate(told)
    except ValidationError as error:
        rows = [{**row, "loc": ("body", *row["loc"])} for row in error.errors()]
        refused = shape_refused(rows, [Case])
        places = [written(row["loc"]) for row in error.errors()]
        named = zip(refused.misfits, places, strict=False)
        misfits += [_named(misfit, place) for misfit, place in named]
        raise ShapeRefused(misfits) from None
    if misfits:
        raise ShapeRefused(misfits)
    return case


def _named(misfit: Misfit, place: str) -> Misfit:
    """Return a misfit under the words of its question, where it is one of the form's."""
    question = next((q for at, q in _BY_PLACE.items() if place.startswith(at)), None)
    where = (
        question.asks if question else "What the welder says" if place.startswith("said") else ""
    )
    hint = misfit.next_step or (f"{question.hint}." if question and question.hint else "")
    return Misfit(where or misfit.where, misfit.what, hint)
