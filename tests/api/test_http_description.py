"""/openapi.json: stable names, honest errors, and an example on every schema that is a valid one."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import pytest
from fastapi.testclient import TestClient
from jsonschema import Draft202012Validator

from api.http.app import create_app
from api.http.examples import CASES
from api.http.openapi import describe
from diagnose.case import Case
from knowledge.loader import Knowledge

OPERATIONS = {
    "add_station": ("post", "/v1/stations"),
    "change_station": ("put", "/v1/stations/{id}"),
    "check_readiness": ("post", "/v1/readiness"),
    "diagnose": ("post", "/v1/diagnoses"),
    "forget_case": ("delete", "/v1/cases/{id}"),
    "get_attribute": ("get", "/v1/knowledge/attributes/{id}"),
    "get_cable": ("get", "/v1/knowledge/cables/{id}"),
    "get_case": ("get", "/v1/cases/{id}"),
    "get_case_diagnosis": ("get", "/v1/cases/{id}/diagnosis"),
    "get_check": ("get", "/v1/knowledge/checks/{id}"),
    "get_consumable": ("get", "/v1/knowledge/consumables/{id}"),
    "get_fault": ("get", "/v1/knowledge/faults/{id}"),
    "get_fleet": ("get", "/v1/fleet"),
    "get_gas": ("get", "/v1/knowledge/gases/{id}"),
    "get_handover_sheet": ("get", "/v1/cases/{id}/handover"),
    "get_mechanism": ("get", "/v1/knowledge/mechanisms/{id}"),
    "get_next_step": ("get", "/v1/cases/{id}/next"),
    "get_outfit": ("get", "/v1/knowledge/outfits/{id}"),
    "get_problem_kind": ("get", "/problems/{name}"),
    "get_source": ("get", "/v1/knowledge/sources/{id}"),
    "get_start": ("get", "/v1/knowledge/starts/{id}"),
    "get_station": ("get", "/v1/stations/{id}"),
    "get_stop_card": ("get", "/v1/knowledge/stop-cards/{id}"),
    "get_symptom": ("get", "/v1/knowledge/symptoms/{id}"),
    "get_walk_line": ("get", "/v1/knowledge/walk-round/{id}"),
    "healthz": ("get", "/healthz"),
    "knowledge_summary": ("get", "/v1/knowledge"),
    "list_attributes": ("get", "/v1/knowledge/attributes"),
    "list_cables": ("get", "/v1/knowledge/cables"),
    "list_cases": ("get", "/v1/cases"),
    "list_checks": ("get", "/v1/knowledge/checks"),
    "list_consumables": ("get", "/v1/knowledge/consumables"),
    "list_entries": ("get", "/v1/cases/{id}/entries"),
    "list_faults": ("get", "/v1/knowledge/faults"),
    "list_gases": ("get", "/v1/knowledge/gases"),
    "list_mechanisms": ("get", "/v1/knowledge/mechanisms"),
    "list_outfits": ("get", "/v1/knowledge/outfits"),
    "list_sources": ("get", "/v1/knowledge/sources"),
    "list_starts": ("get", "/v1/knowledge/starts"),
    "list_stations": ("get", "/v1/stations"),
    "list_stop_cards": ("get", "/v1/knowledge/stop-cards"),
    "list_symptoms": ("get", "/v1/knowledge/symptoms"),
    "list_walk_round": ("get", "/v1/knowledge/walk-round"),
    "open_case": ("post", "/v1/cases"),
    "readyz": ("get", "/readyz"),
    "reckon": ("post", "/v1/reckon/{subject}"),
    "remove_station": ("delete", "/v1/stations/{id}"),
    "version": ("get", "/version"),
    "write_advised": ("post", "/v1/cases/{id}/advice"),
    "write_closed": ("post", "/v1/cases/{id}/close"),
    "write_found": ("post", "/v1/cases/{id}/findings"),
    "write_handed_over": ("post", "/v1/cases/{id}/hand-over"),
    "write_proved": ("post", "/v1/cases/{id}/proofs"),
    "write_read": ("post", "/v1/cases/{id}/readings"),
    "write_remedied": ("post", "/v1/cases/{id}/remedies"),
    "write_reported": ("post", "/v1/cases/{id}/reports"),
    "write_undone": ("post", "/v1/cases/{id}/undo"),
}
"""Operation id -> method and path. Clients are made from these names: add to them, change none."""


@pytest.fixture(scope="module")
def made(knowledge: Knowledge) -> dict[str, Any]:
    return json.loads(json.dumps(describe(create_app(knowledge))))  # type: ignore[no-any-return]


def operations(made: dict[str, Any]) -> Iterator[tuple[str, str, dict[str, Any]]]:
    for path, methods in made["paths"].items():
        for method, operation in methods.items():
            yield method, path, operation


def test_operation_ids_stay_what_they_were(made: dict[str, Any]) -> None:
    found = {told["operationId"]: (method, path) for method, path, told in operations(made)}
    assert {name: found.get(name) for name in OPERATIONS} == OPERATIONS
    assert len(found) == len(list(operations(made)))


def test_it_is_served_as_made(knowledge: Knowledge, made: dict[str, Any]) -> None:
    client = TestClient(create_app(knowledge), base_url="http://127.0.0.1:8765")
    assert client.get("/openapi.json").json() == made
    assert made["openapi"].startswith("3.1")


def test_every_operation_says_what_it_is_and_what_can_go_wrong(made: dict[str, Any]) -> None:
    for method, path, told in operations(made):
        assert told["tags"], path
        assert told.get("summary"), path
        wanted = {"401", "421", "422", "500"} | (
            {"400", "413", "415"} if method == "post" else set()
        )
        assert wanted <= told["responses"].keys(), path
        for status, response in told["responses"].items():
            assert response["description"]
            if status >= "400":
                (media, content), *others = response["content"].items()
                assert (media, others) == ("application/problem+json", []), (path, status)
                assert content["schema"] == {"$ref": "#/components/schemas/Problem"}
                assert content["example"]["status"] == int(status)
    assert "HTTPValidationError" not in made["components"]["schemas"]


def test_every_schema_has_an_example_that_is_valid(made: dict[str, Any]) -> None:
    schemas = made["components"]["schemas"]
    for name, schema in schemas.items():
        assert schema.get("examples"), name
        whole = schema | {"components": made["components"]}
        for example in schema["examples"]:
            Draft202012Validator(whole).validate(example)


def test_every_error_example_is_a_problem(made: dict[str, Any]) -> None:
    problem = made["components"]["schemas"]["Problem"] | {"components": made["components"]}
    for _, _, told in operations(made):
        for status, response in told["responses"].items():
            if status >= "400":
                content = response["content"]["application/problem+json"]
                Draft202012Validator(problem).validate(content["example"])


def test_the_example_cases_are_valid_by_schema_and_by_model(made: dict[str, Any]) -> None:
    body = made["paths"]["/v1/diagnoses"]["post"]["requestBody"]["content"]["application/json"]
    schema = body["schema"] | {"components": made["components"]}
    assert body["examples"].keys() == CASES.keys()
    for example in body["examples"].values():
        assert example["summary"]
        Draft202012Validator(schema).validate(example["value"])
        Case.model_validate(example["value"])


def test_bounds_of_quantities_are_in_the_schema(made: dict[str, Any]) -> None:
    schemas = made["components"]["schemas"]
    flow = schemas["GasTold"]["properties"]["flow_l_min"]["anyOf"]
    assert flow[0] == {"type": "number", "minimum": 0, "maximum": 200}
    assert flow[1]["type"] == "string"
    length = schemas["WeldLead"]["properties"]["length_m"]["anyOf"]
    assert length[0] == {"type": "number", "exclusiveMinimum": 0, "maximum": 1000}
    assert length[1]["type"] == "string"


def test_no_name_of_pydantics_own_is_left_in_a_schema(made: dict[str, Any]) -> None:
    def keys(value: Any) -> Iterator[str]:
        if isinstance(value, dict):
            yield from value
        for inner in value.values() if isinstance(value, dict) else value:
            if isinstance(inner, (dict, list)):
                yield from keys(inner)

    assert not {"gt", "ge", "lt", "le"} & set(keys(made["components"]["schemas"]))
