"""POST /v1/reckon/{subject} and POST /v1/readiness: the same bytes as the command line."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from api.cli import main
from api.http.app import create_app
from diagnose.subjects.answers import SUBJECTS


@pytest.fixture(scope="module")
def client() -> Iterator[TestClient]:
    with TestClient(create_app(), base_url="http://localhost") as made:
        yield made


@pytest.mark.parametrize("name", list(SUBJECTS))
def test_a_sum_is_what_the_command_prints(
    client: TestClient, name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    told = dict(word.split("=", 1) for word in SUBJECTS[name].example)
    response = client.post(f"/v1/reckon/{name}", json=told)
    assert response.status_code == 200
    assert main(["reckon", name, *SUBJECTS[name].example, "--json"]) == 0
    assert response.text == capsys.readouterr().out


def test_us_units(client: TestClient) -> None:
    response = client.post("/v1/reckon/gas?units=us", json={"flow": "35 cfh", "run": "short_arc"})
    assert response.json()["results"][0]["unit"] == "cfh"


@pytest.mark.parametrize(
    ("path", "body", "status", "says"),
    [
        ("/v1/reckon/jint", {}, 404, "joint"),
        ("/v1/reckon/joint", {"drp": 2}, 422, "drop"),
        ("/v1/reckon/joint?units=imperial", {"drop": 2, "current": 1}, 422, "units"),
        ("/v1/readiness", {"ticks": {"clamp_spring_stou": "good"}}, 422, "clamp_spring_stout"),
        ("/v1/readiness", {"ticks": {"gun_is_home": "fine"}}, 422, "ticks"),
        ("/v1/readiness", {"statoin": {}}, 422, "station"),
    ],
)
def test_refusals_are_problem_documents(
    client: TestClient, path: str, body: dict[str, object], status: int, says: str
) -> None:
    response = client.post(path, json=body)
    assert response.status_code == status
    assert response.headers["content-type"] == "application/problem+json"
    assert says in response.text


def test_readiness_is_what_the_command_prints(
    client: TestClient, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    station = {"name": "bay 3", "wire": {"class": "E71T-11"}, "gas": {"flow_l_min": "25 cfh"}}
    path = tmp_path / "station.json"
    path.write_text(json.dumps(station), "utf-8")
    body = {"station": station, "ticks": {"station_is_off": "good"}}
    response = client.post("/v1/readiness", json=body)
    assert response.status_code == 200
    assert main(["ready", str(path), "--tick", "station_is_off=good", "--json"]) == 3
    assert response.text == capsys.readouterr().out


def test_the_walk_round_is_an_entry_like_any_other(client: TestClient) -> None:
    assert client.get("/v1/knowledge/walk-round/control_cable_home").status_code == 200
