"""The API's description: FastAPI's, with problem documents for errors and an example on every schema."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Any

from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi
from pydantic import BaseModel

from api.http import readiness, reckon
from api.http.entries import KINDS, KnowledgeSummary, entry, page_model, page_of_kind
from api.http.examples import CASES, parts
from api.http.health import Alive, ProblemKind, Ready, Version
from api.http.kept_examples import kept_wholes
from api.http.listing import Paging
from api.http.problems import MEDIA_TYPE, problem_of, title_of
from api.http.refusals import BodyTooLarge, Misfit, ShapeRefused
from diagnose.answer import diagnose
from diagnose.case import Case
from knowledge.loader import Knowledge

DESCRIPTION = (
    "Fault finding for wire-feed arc-welding stations: a case in, ranked likely faults with reasons "
    "out. Advice, not certification. Every error is a problem document (RFC 9457)."
)
_BOUNDS = {"gt": "exclusiveMinimum", "ge": "minimum", "lt": "exclusiveMaximum", "le": "maximum"}


def describe(app: FastAPI) -> dict[str, Any]:
    """Return the OpenAPI description of the app, made once."""
    if app.openapi_schema is None:
        app.openapi_schema = _made(app)
    return app.openapi_schema


def _made(app: FastAPI) -> dict[str, Any]:
    made = get_openapi(
        title=app.title,
        version=app.version,
        description=DESCRIPTION,
        routes=app.routes,
        tags=app.openapi_tags,
        # One schema for a model, whether it is sent or answered: clients get one type for a case.
        separate_input_output_schemas=False,
    )
    for operation in _operations(made):
        _give_problems_their_media_type(operation)
    schemas: dict[str, Any] = made["components"]["schemas"]
    for left_over in ("HTTPValidationError", "ValidationError"):
        schemas.pop(left_over, None)
    for schema in _inside(made):
        _say_bounds_as_json_schema_does(schema)
    examples = example_of_each_schema(app.state.knowledge)
    for name, schema in schemas.items():
        if name in examples:
            schema["examples"] = [examples[name]]
    made["components"]["securitySchemes"] = {"token": {"type": "http", "scheme": "bearer"}}
    made["security"] = [{}, {"token": []}]
    return made


def _operations(made: dict[str, Any]) -> Iterator[dict[str, Any]]:
    for methods in made["paths"].values():
        yield from methods.values()


def _give_problems_their_media_type(operation: dict[str, Any]) -> None:
    for status, response in operation["responses"].items():
        content = response.get("content", {})
        if status >= "400" and "application/json" in content:
            content.setdefault(MEDIA_TYPE, {}).update(content.pop("application/json"))


def _inside(value: Any) -> Iterator[dict[str, Any]]:
    if isinstance(value, dict):
        yield value
    for inner in value.values() if isinstance(value, dict) else value if _is_list(value) else ():
        yield from _inside(inner)


def _is_list(value: Any) -> bool:
    return isinstance(value, list)


def _say_bounds_as_json_schema_does(schema: dict[str, Any]) -> None:
    """Mend numbers that a string with a unit may stand for: their bounds, and the string itself.

    pydantic writes the bounds of such a number by its own names, which JSON Schema passes over.
    """
    options = schema.get("anyOf", [schema])
    numbers = [o for o in options if o.get("type") == "number" and _BOUNDS.keys() & o.keys()]
    for number in numbers:
        for own in _BOUNDS.keys() & number.keys():
            number[_BOUNDS[own]] = number.pop(own)
    text = {"type": "string", "description": "A number with its unit: '35 cfh', '2/0 AWG'."}
    if numbers and "anyOf" in schema:
        schema["anyOf"].insert(1, text)
    elif numbers:
        kept = {key: schema.pop(key) for key in ("type", *_BOUNDS.values()) if key in schema}
        schema["anyOf"] = [kept, text]


@cache
def example_of_each_schema(knowledge: Knowledge) -> dict[str, Any]:
    """Return an example for every model that the API takes or gives, by the schema's name.

    They are cut from real ones: the example cases, their diagnoses and the entries themselves.
    """
    found: dict[str, Any] = {}
    for whole in _wholes(knowledge):
        for part in parts(whole):
            name = _schema_name(type(part))
            if name not in found:
                found[name] = part.model_dump(mode="json", by_alias=True)
    return found


def _schema_name(model: type[BaseModel]) -> str:
    return "".join(sign if sign.isalnum() else "_" for sign in model.__name__)


def _wholes(knowledge: Knowledge) -> Iterator[BaseModel]:
    cases = [Case.model_validate(case) for _, case in reversed(list(CASES.values()))]
    yield from cases
    for case in cases:
        yield diagnose(case, knowledge)
    for kind in KINDS:
        page = page_of_kind(knowledge, kind, Paging(limit=1))
        yield page_model(kind)(**dict(page))
        yield entry(knowledge, kind, next(iter(knowledge.entries(kind.plural))))
    for kind in KINDS:
        yield from knowledge.entries(kind.plural).values()
    yield from readiness.wholes(knowledge)
    yield from reckon.wholes(knowledge)
    yield from kept_wholes(knowledge)
    counts = {kind.plural: len(knowledge.entries(kind.plural)) for kind in KINDS}
    yield KnowledgeSummary(version=knowledge.version, digest=knowledge.digest, counts=counts)
    yield Alive()
    yield Ready(parts=["rules"])
    yield Version(version=knowledge.version, knowledge_digest=knowledge.digest)
    misfit = Misfit("station.polarty", "there is no such name here", "nearest: 'polarity'")
    yield problem_of(ShapeRefused([misfit]))
    yield ProblemKind(
        type=BodyTooLarge.problem_type,
        title=title_of(BodyTooLarge),
        status=BodyTooLarge.status,
        meaning=BodyTooLarge.__doc__ or "",
    )
