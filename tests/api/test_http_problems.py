"""Every error is a problem document that says what, where and what to do next."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import pytest
from fastapi.testclient import TestClient

from api.http.app import create_app
from api.http.limits import DEEPEST, LARGEST_BODY, strict_json
from api.http.problems import kinds, problem_of
from api.http.refusals import MalformedJson, TooDeep
from api.http.shape import MOST_LISTED
from knowledge.errors import KnowledgeError, WontweldError
from knowledge.loader import Knowledge

HERE = "http://127.0.0.1:8765"
JSON = {"Content-Type": "application/json"}


@pytest.fixture(scope="module")
def client(knowledge: Knowledge) -> Iterator[TestClient]:
    with TestClient(create_app(knowledge), base_url=HERE) as client:
        yield client


def refused(answer: Any, status: int, kind: str) -> dict[str, Any]:
    """Check that an answer is a problem document of a kind, and return it."""
    assert answer.status_code == status, answer.text
    assert answer.headers["content-type"] == "application/problem+json"
    assert answer.headers["x-content-type-options"] == "nosniff"
    problem: dict[str, Any] = answer.json()
    assert problem["type"] == f"/problems/{kind}"
    assert problem["status"] == status
    assert problem["title"]
    assert problem["detail"]
    return problem


def send(client: TestClient, body: bytes, **headers: str) -> Any:
    return client.post("/v1/diagnoses", content=body, headers={**JSON, **headers})


def test_unknown_names_come_with_the_nearest(client: TestClient) -> None:
    case = {"station": {"polarty": {}, "wire": {"clas": "E71T-11"}}, "readings": [{"wat": 1}]}
    problem = refused(client.post("/v1/diagnoses", json=case), 422, "shape")
    found = {error["where"]: error for error in problem["errors"]}
    assert found["station.polarty"]["next_step"] == "nearest: 'polarity'"
    assert found["station.wire.clas"]["next_step"] == "nearest: 'class'"
    assert found["readings[0].wat"]["next_step"] == "nearest: 'what'"
    assert found["readings[0].value"]["what"] == "is missing"


def test_wrong_values_come_with_what_is_taken(client: TestClient) -> None:
    case = {
        "station": {
            "process": "FCAW",
            "gas": {"flow_l_min": "5 bananas"},
            "gun": {"tip_mm": -1},
            "leads": [{"side": "wrok", "length_m": 3}],
        }
    }
    problem = refused(client.post("/v1/diagnoses", json=case), 422, "shape")
    found = {error["where"]: error for error in problem["errors"]}
    assert found["station.process"]["what"] == "should be 'GMAW', 'FCAW-G' or 'FCAW-S'"
    assert found["station.leads[0].side"]["next_step"] == "nearest: 'work'"
    assert "bananas" in found["station.gas.flow_l_min"]["what"]
    assert found["station.gun.tip_mm"]["what"] == "should be greater than 0"


@pytest.mark.parametrize(
    ("case", "where", "nearest"),
    [
        ({"symptoms": [{"id": "porosty", "seen": "yes"}]}, "symptoms[0].id", ["porosity"]),
        ({"user": {"tools": ["multimetre"]}}, "user.tools[0]", ["multimeter"]),
        ({"remedied": [{"fault": "tip_wron", "cured": True}]}, "remedied[0].fault", ["tip_worn"]),
        ({"started": {"change": ["new_spol"]}}, "started.change[0]", ["new_spool"]),
        (
            {"findings": [{"check": "look_at_tip", "result": "wornn"}]},
            "findings[0].result",
            ["worn"],
        ),
    ],
)
def test_an_unknown_id_in_the_body_is_422_with_its_place(
    client: TestClient, case: dict[str, Any], where: str, nearest: list[str]
) -> None:
    problem = refused(client.post("/v1/diagnoses", json=case), 422, "unknown-id")
    assert problem["where"] == where
    assert problem["nearest"] == nearest
    assert problem["errors"][0]["where"] == where


def test_an_unknown_id_in_the_address_is_404(client: TestClient) -> None:
    answer = client.get("/v1/knowledge/faults/work_clamp_of")
    assert refused(answer, 404, "unknown-id")["nearest"] == ["work_clamp_off"]


@pytest.mark.parametrize(
    "body",
    [
        b"{",
        b"not json",
        b'{"said": ["no arc",]}',
        b"{'said': []}",
        b'{"readings": [{"what": "drop", "value": NaN, "unit": "V"}]}',
        b'{"readings": [{"what": "drop", "value": -Infinity, "unit": "V"}]}',
        b'{"readings": [{"what": "drop", "value": 1e999, "unit": "V"}]}',
        b'{"said": ["\\ud800"]}',
        b'{"\\udfff": 1}',
        b'{"said": [], "said": ["no arc"]}',
        b'{"said": ["\xff\xfe"]}',
        b"\xef\xbb\xbf{}",
        b'{"said": ["a\x00b"]}',
        b"9" * 5000,
    ],
)
def test_what_is_no_json_is_refused(client: TestClient, body: bytes) -> None:
    problem = refused(send(client, body), 400, "malformed-json")
    assert problem["where"] == "body"
    assert problem["next_step"]


@pytest.mark.parametrize("opening", [b"[", b'{"a":'])
@pytest.mark.parametrize("depth", [DEEPEST + 1, 250, 40_000])
def test_deep_nesting_is_refused(client: TestClient, opening: bytes, depth: int) -> None:
    closing = {b"[": b"]", b'{"a":': b"}"}[opening]
    refused(send(client, opening * depth + b"1" + closing * depth), 400, "too-deep")


def test_nesting_up_to_the_limit_is_read() -> None:
    assert strict_json(b"[" * DEEPEST + b"]" * DEEPEST)
    with pytest.raises(TooDeep):
        strict_json(b"[" * (DEEPEST + 1) + b"]" * (DEEPEST + 1))
    with pytest.raises(MalformedJson):
        strict_json(b"[" * DEEPEST)


@pytest.mark.parametrize("body", [b"[]", b"null", b'"no arc"', b"1", b"true", b"[1]"])
def test_json_that_is_no_case_is_refused(client: TestClient, body: bytes) -> None:
    assert refused(send(client, body), 422, "shape")["errors"][0]["where"] == "body"


def test_no_body_is_refused(client: TestClient) -> None:
    problem = refused(client.post("/v1/diagnoses", headers=JSON), 422, "shape")
    assert problem["errors"][0]["what"] == "is missing"


@pytest.mark.parametrize(
    "kind",
    [
        "text/plain",
        "application/x-www-form-urlencoded",
        "multipart/form-data; boundary=x",
        "text/json",
        "application/json; charset=utf-16",
        "application/jsonp",
        "",
    ],
)
def test_another_media_type_is_refused(client: TestClient, kind: str) -> None:
    answer = client.post("/v1/diagnoses", content=b"{}", headers={"Content-Type": kind})
    assert refused(answer, 415, "wrong-media-type")["where"] == "Content-Type"


@pytest.mark.parametrize(
    "kind", ["application/json", "Application/JSON; charset=UTF-8", "application/vnd.case+json"]
)
def test_json_under_its_other_names_is_taken(client: TestClient, kind: str) -> None:
    answer = client.post("/v1/diagnoses", content=b"{}", headers={"Content-Type": kind})
    assert answer.status_code == 200


def padded(size: int) -> bytes:
    return b"{" + b" " * (size - 2) + b"}"


def test_a_body_of_just_the_limit_is_taken(client: TestClient) -> None:
    assert send(client, padded(LARGEST_BODY)).status_code == 200
    refused(send(client, padded(LARGEST_BODY + 1)), 413, "body-too-large")


def test_a_body_in_chunks_is_counted(client: TestClient) -> None:
    def chunks(size: int) -> Iterator[bytes]:
        for start in range(0, size, 1000):
            yield padded(size)[start : start + 1000]

    taken = client.post("/v1/diagnoses", content=chunks(LARGEST_BODY), headers=JSON)
    assert taken.status_code == 200
    over = client.post("/v1/diagnoses", content=chunks(LARGEST_BODY + 1), headers=JSON)
    refused(over, 413, "body-too-large")


def test_thousands_of_misfits_are_counted_and_not_listed(client: TestClient) -> None:
    answer = client.post("/v1/diagnoses", json={f"x{n}": 1 for n in range(5000)})
    problem = refused(answer, 422, "shape")
    assert len(problem["errors"]) == MOST_LISTED
    assert problem["detail"] == f"5000 things do not fit; the first {MOST_LISTED} are listed"


@pytest.mark.parametrize(
    ("path", "size"), [("said", 51), ("symptoms", 51), ("readings", 51), ("findings", 51)]
)
def test_lists_are_bounded(client: TestClient, path: str, size: int) -> None:
    item: Any = {
        "said": "no arc",
        "symptoms": {"id": "no_arc", "seen": "yes"},
        "readings": {"what": "flow", "value": 1, "unit": "l/min"},
        "findings": {"check": "look_at_tip", "result": "worn"},
    }[path]
    problem = refused(client.post("/v1/diagnoses", json={path: [item] * size}), 422, "shape")
    assert "at most 50" in problem["errors"][0]["what"]


def test_long_words_are_bounded(client: TestClient) -> None:
    assert client.post("/v1/diagnoses", json={"said": ["a" * 400]}).status_code == 200
    refused(client.post("/v1/diagnoses", json={"said": ["a" * 401]}), 422, "shape")


def test_a_number_of_four_hundred_digits_is_refused(client: TestClient) -> None:
    body = b'{"station": {"gas": {"flow_l_min": ' + b"9" * 400 + b"}}}"
    refused(send(client, body), 422, "shape")


def test_another_method_is_told_which_one_is_taken(client: TestClient) -> None:
    answer = client.delete("/v1/diagnoses")
    assert refused(answer, 405, "method-refused")["next_step"] == "Use POST."
    assert answer.headers["allow"] == "POST"
    refused(client.post("/v1/knowledge/faults", json={}), 405, "method-refused")


@pytest.mark.parametrize("path", ["/v1", "/v1/faults", "/docs", "/redoc", "/v1/knowledge/fault"])
def test_nothing_there(client: TestClient, path: str) -> None:
    assert refused(client.get(path), 404, "no-such-address")["where"] == path


@pytest.mark.parametrize(
    "path", ["/healthz", "/readyz", "/version", "/v1/knowledge", "/v1/knowledge/faults/tip_worn"]
)
def test_a_query_that_is_not_taken_is_not_passed_over(client: TestClient, path: str) -> None:
    problem = refused(client.get(path, params={"area": "gas"}), 422, "shape")
    assert problem["errors"][0]["where"] == "query: area"


def test_a_failure_of_the_program_has_no_details(knowledge: Knowledge) -> None:
    app = create_app(knowledge)

    def broken() -> None:
        raise ZeroDivisionError("secret of the house")

    app.state.probes["broken"] = broken
    client = TestClient(app, base_url=HERE, raise_server_exceptions=False)
    answer, fine = client.get("/readyz"), client.get("/healthz")
    assert answer.status_code == 500
    length = "content-length"
    assert {**fine.headers, "content-type": "", length: ""} == {
        **answer.headers,
        "content-type": "",
        length: "",
    }
    assert answer.headers["content-type"] == "application/problem+json"
    assert answer.json()["type"] == "/problems/internal-error"
    assert "secret" not in answer.text
    assert "Traceback" not in answer.text


def test_a_part_that_is_not_ready_is_named(knowledge: Knowledge) -> None:
    app = create_app(knowledge)

    def shut() -> None:
        raise KnowledgeError(["faults/gas.yaml:3: no such effect"])

    app.state.probes["casebook"] = shut
    answer = TestClient(app, base_url=HERE).get("/readyz")
    assert refused(answer, 503, "not-ready")["where"] == "casebook"
    assert answer.headers["retry-after"] == "2"


def test_an_error_of_the_knowledge_lists_its_lines() -> None:
    problem = problem_of(KnowledgeError(["a.yaml:1: x", "b.yaml:2: y"]))
    assert [trouble.what for trouble in problem.errors] == ["a.yaml:1: x", "b.yaml:2: y"]
    assert problem.status == 500


def test_every_kind_of_problem_has_its_page(client: TestClient) -> None:
    known = kinds()
    assert {"unknown-id", "shape", "body-too-large", "bad-cursor", "version-conflict"} <= set(known)
    for name, kind in known.items():
        page = client.get(f"/problems/{name}").json()
        assert page["type"] == kind.problem_type == f"/problems/{name}"
        assert page["title"] != WontweldError.title
        assert 400 <= page["status"] < 600
        assert page["meaning"]
    assert len({kind.problem_type for kind in known.values()}) == len(known)
    refused(client.get("/problems/unknown-di"), 404, "no-such-address")


def test_a_problem_document_is_plain_json(client: TestClient) -> None:
    answer = send(client, json.dumps({"wärme\n\u2028": 1}).encode())
    where = refused(answer, 422, "shape")["errors"][0]["where"]
    assert where == "wärme\n\u2028"
