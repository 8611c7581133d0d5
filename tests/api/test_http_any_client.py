"""Requests that nobody thought of: schemathesis makes them from the API's own description."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from hypothesis.errors import Unsatisfiable
from schemathesis import APIOperation, GenerationMode
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from api.casebook import Casebook
from api.http.app import create_app
from diagnose.case import Case, Station
from knowledge.loader import Knowledge

CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_schema_conformance,
]
MOST_EXAMPLES = 12


def statuses_of(operation: APIOperation, mode: GenerationMode) -> set[int]:
    """Send requests to one operation, check every answer, and return the statuses that came."""
    answered: set[int] = set()

    @given(case=operation.as_strategy(generation_mode=mode))
    @settings(
        max_examples=MOST_EXAMPLES,
        deadline=None,
        derandomize=True,
        database=None,
        suppress_health_check=list(HealthCheck),
    )
    def no_request_breaks_it(case: schemathesis.Case) -> None:
        response = case.call()
        answered.add(response.status_code)
        case.validate_response(response, checks=CHECKS)

    # an operation that takes nothing, or any text, cannot be asked wrongly
    with suppress(Unsatisfiable):
        no_request_breaks_it()
    return answered


@pytest.mark.slow
@pytest.mark.parametrize("mode", [GenerationMode.POSITIVE, GenerationMode.NEGATIVE])
def test_no_request_breaks_what_is_kept(
    knowledge: Knowledge, mode: GenerationMode, tmp_path: Path
) -> None:
    with Casebook.open(tmp_path / "book.sqlite3") as book:
        book.add_station(Station(name="Bay 3"))
        book.open_case(Case(said=["wire feeds, no arc"]), station="Bay 3")
        app = create_app(knowledge, casebook=book, hosts=None)
        schema = schemathesis.openapi.from_asgi("/openapi.json", app)
        kept = schema.include(path_regex="^/v1/(cases|stations|fleet)")
        operations = [found.ok() for found in kept.get_all_operations()]
        statuses = {operation.label: statuses_of(operation, mode) for operation in operations}
    assert len(statuses) >= 20
    if mode is GenerationMode.POSITIVE:
        assert 201 in statuses["POST /v1/cases"]
        assert 200 in statuses["GET /v1/cases"]


@pytest.mark.slow
@pytest.mark.parametrize("mode", [GenerationMode.POSITIVE, GenerationMode.NEGATIVE])
def test_no_request_breaks_it(knowledge: Knowledge, mode: GenerationMode) -> None:
    schema = schemathesis.openapi.from_asgi("/openapi.json", create_app(knowledge, hosts=None))
    operations = [found.ok() for found in schema.get_all_operations()]
    statuses = {operation.label: statuses_of(operation, mode) for operation in operations}
    assert len(statuses) >= 30
    for label, answered in statuses.items():
        assert answered or (mode is GenerationMode.NEGATIVE and label.startswith("GET")), label
    expected = {200} if mode is GenerationMode.POSITIVE else {400, 413, 415, 422}
    assert statuses["POST /v1/diagnoses"] & expected
    assert statuses["GET /v1/knowledge/faults"] & {200, 400, 422}
