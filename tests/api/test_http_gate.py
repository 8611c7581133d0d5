"""Who gets in: the Host check against DNS rebinding, the token, and careful headers."""

from __future__ import annotations

import threading
import time

import pytest
from fastapi.testclient import TestClient

from api.http import diagnoses
from api.http.app import create_app
from knowledge.loader import Knowledge

HERE = "http://127.0.0.1:8765"
TOKEN = "a-token-for-tests-only"  # noqa: S105


@pytest.mark.parametrize(
    "host", ["127.0.0.1", "127.0.0.1:8765", "localhost:1", "LOCALHOST", "localhost.", "[::1]:8765"]
)
def test_own_names_are_answered(knowledge: Knowledge, host: str) -> None:
    client = TestClient(create_app(knowledge), base_url=HERE)
    assert client.get("/healthz", headers={"Host": host}).status_code == 200


@pytest.mark.parametrize(
    "host",
    ["evil.example", "127.0.0.1.evil.example", "localhost.evil.example:8765", "10.0.0.1", "", "["],
)
def test_other_names_are_refused(knowledge: Knowledge, host: str) -> None:
    client = TestClient(create_app(knowledge), base_url=HERE)
    for path in ("/healthz", "/v1/knowledge", "/nope"):
        answer = client.get(path, headers={"Host": host})
        assert answer.status_code == 421
        assert answer.json()["type"] == "/problems/host-refused"


def test_any_name_where_none_is_given(knowledge: Knowledge) -> None:
    client = TestClient(create_app(knowledge, hosts=None, token=TOKEN), base_url="http://bay3")
    assert client.get("/healthz").status_code == 200


def guarded(knowledge: Knowledge) -> TestClient:
    return TestClient(create_app(knowledge, token=TOKEN), base_url=HERE)


@pytest.mark.parametrize("scheme", ["Bearer", "bearer"])
def test_the_right_token_gets_in(knowledge: Knowledge, scheme: str) -> None:
    answer = guarded(knowledge).get("/version", headers={"Authorization": f"{scheme} {TOKEN}"})
    assert answer.status_code == 200


@pytest.mark.parametrize(
    "given",
    [
        None,
        "",
        "Bearer",
        "Bearer ",
        f"Bearer {TOKEN}x",
        f"Bearer {TOKEN[:-1]}",
        f"Basic {TOKEN}",
        TOKEN,
        "Bearer \xe9",
    ],
)
def test_no_other_token_does(knowledge: Knowledge, given: str | None) -> None:
    headers = {} if given is None else {"Authorization": given.encode("latin-1")}
    client = guarded(knowledge)
    for method, path in (
        ("GET", "/version"),
        ("GET", "/openapi.json"),
        ("GET", "/nope"),
        ("POST", "/v1/diagnoses"),
    ):
        answer = client.request(method, path, headers=headers)
        assert answer.status_code == 401
        assert answer.json()["type"] == "/problems/token-refused"
        assert answer.headers["www-authenticate"].startswith("Bearer")


def test_health_needs_no_token(knowledge: Knowledge) -> None:
    client = guarded(knowledge)
    assert client.get("/healthz").json() == {"status": "ok"}
    assert client.get("/readyz").json() == {"status": "ready", "parts": ["rules"]}


def test_nobody_elses_page_may_read_the_answers(knowledge: Knowledge) -> None:
    client = TestClient(create_app(knowledge), base_url=HERE)
    origin = {"Origin": "https://evil.example"}
    for answer in (
        client.get("/v1/knowledge", headers=origin),
        client.get("/nope", headers=origin),
        client.options("/v1/diagnoses", headers=origin | {"Access-Control-Request-Method": "POST"}),
    ):
        assert not [name for name in answer.headers if name.startswith("access-control-")]
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert answer.headers["x-frame-options"] == "DENY"
        assert "default-src 'none'" in answer.headers["content-security-policy"]
        assert answer.headers["cross-origin-resource-policy"] == "same-origin"


@pytest.mark.parametrize("path", ["/healthz", "/v1/knowledge/faults/tip_worn", "/nope"])
def test_head_is_get_without_a_body(knowledge: Knowledge, path: str) -> None:
    client = TestClient(create_app(knowledge), base_url=HERE)
    with_body, without = client.get(path), client.head(path)
    assert without.status_code == with_body.status_code
    assert without.content == b""
    assert without.headers == with_body.headers


def test_health_is_answered_while_cases_are_worked_on(
    knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch
) -> None:
    let_go = threading.Event()
    at_work = threading.Semaphore(0)

    def slow(*_: object) -> None:
        at_work.release()
        let_go.wait(20)
        raise RuntimeError("let go")

    monkeypatch.setattr(diagnoses, "diagnose", slow)
    app = create_app(knowledge)
    with TestClient(app, base_url=HERE, raise_server_exceptions=False) as client:
        threads = [
            threading.Thread(target=lambda: client.post("/v1/diagnoses", json={})) for _ in range(8)
        ]
        for thread in threads:
            thread.start()
        try:
            for _ in range(4):
                assert at_work.acquire(timeout=10)
            start = time.monotonic()
            assert client.get("/healthz").status_code == 200
            assert time.monotonic() - start < 5
        finally:
            let_go.set()
            for thread in threads:
                thread.join()
