"""What does not fit a model, said in words: where, what, and the nearest name that would fit."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, get_args

from pydantic import BaseModel

from api.http.refusals import Misfit, ShapeRefused
from knowledge.nearest import nearest

MOST_LISTED = 20
"""Misfits listed at the most, so that a hostile body costs no more than a careless one."""
_LONGEST_NAME = 64

_Place = Sequence[str | int]


def shape_refused(errors: Sequence[Any], models: Sequence[type[BaseModel]]) -> ShapeRefused:
    """Return the refusal for pydantic's `errors`, whose places start with 'body', 'query' or 'path'."""
    misfits = [_misfit(error, models) for error in errors[:MOST_LISTED]]
    return ShapeRefused(misfits, more=max(0, len(errors) - MOST_LISTED))


def _misfit(error: Mapping[str, Any], models: Sequence[type[BaseModel]]) -> Misfit:
    part, *place = error["loc"]
    where = written(place) if part == "body" else f"{part}: {written(place)}"
    return Misfit(where or "body", _what(error), _next_step(error, place, models))


def written(place: _Place) -> str:
    """Return a place in JSON as people write it.

    >>> written(["readings", 1, "value"])
    'readings[1].value'
    """
    text = "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in place)
    return text.removeprefix(".")[:200]


def _what(error: Mapping[str, Any]) -> str:
    match error["type"]:
        case "missing":
            return "is missing"
        case "extra_forbidden":
            return "there is no such name here"
        case _:
            message = str(error["msg"]).removeprefix("Value error, ")
            return re.sub(r"^Input should ", "should ", message)


def _next_step(error: Mapping[str, Any], place: _Place, models: Sequence[type[BaseModel]]) -> str:
    match error["type"]:
        case "extra_forbidden":
            names = [name for model in models for name in _names_at(model, place[:-1])]
            return _offer(str(place[-1]), names)
        case "literal_error":
            answers = re.findall(r"'([^']*)'", str(error["ctx"]["expected"]))
            return _offer(str(error["input"]), answers)
        case "missing":
            return "Give it."
        case _:
            return ""


def _offer(name: str, known: Iterable[str]) -> str:
    close = nearest(name, known) if len(name) <= _LONGEST_NAME else ""
    return f"nearest: '{close}'" if close else "Leave it out, or see /openapi.json."


def _names_at(model: type[BaseModel], place: _Place) -> list[str]:
    """Return the names that a model takes at a place, or none where the place is not in the model."""
    for step in place:
        if isinstance(step, int):
            continue
        field = {f.alias or name: f for name, f in model.model_fields.items()}.get(step)
        inner = next(_models_in(field.annotation), None) if field else None
        if inner is None:
            return []
        model = inner
    return [field.alias or name for name, field in model.model_fields.items()]


def _models_in(annotation: Any) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for part in get_args(annotation):
        yield from _models_in(part)
