"""POST /v1/diagnoses: the same diagnosis as the reasoning gives, byte for byte, from any thread."""

from __future__ import annotations

import importlib.util
import json
import subprocess
import sys
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor

import pytest
from fastapi.testclient import TestClient

from api.http.app import create_app
from api.http.examples import CASES
from api.json_text import to_json
from diagnose.answer import diagnose
from diagnose.case import Case
from knowledge.loader import Knowledge

HERE = "http://127.0.0.1:8765"


@pytest.fixture(scope="module")
def client(knowledge: Knowledge) -> Iterator[TestClient]:
    with TestClient(create_app(knowledge), base_url=HERE) as client:
        yield client


@pytest.mark.parametrize("name", CASES)
def test_body_is_the_diagnosis_as_json_text(
    client: TestClient, knowledge: Knowledge, name: str
) -> None:
    case = CASES[name][1]
    answer = client.post("/v1/diagnoses", json=case)
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "application/json"
    assert answer.headers["cache-control"] == "no-store"
    assert answer.text == to_json(diagnose(Case.model_validate(case), knowledge))


def test_nothing_known_is_a_case_too(client: TestClient) -> None:
    answer = client.post("/v1/diagnoses", json={})
    assert answer.status_code == 200
    assert answer.json()["faults"]


def test_names_are_written_as_outsiders_read_them(client: TestClient) -> None:
    answer = client.post("/v1/diagnoses", json=CASES["wrong_polarity"][1]).json()
    first = answer["faults"][0]
    assert first["id"] == "electrode_positive_wants_negative"
    assert first["rules"][0]["from"]
    assert "from_" not in first["rules"][0]


def test_quantities_are_taken_with_their_units(client: TestClient) -> None:
    with_units = {"station": {"gun": {"length_m": "15 ft"}, "gas": {"flow_l_min": "35 cfh"}}}
    bare = {"station": {"gun": {"length_m": 4.572}, "gas": {"flow_l_min": 16.518160511999994}}}
    texts = [client.post("/v1/diagnoses", json=case).text for case in (with_units, bare)]
    assert texts[0] == texts[1]


def test_order_of_what_was_entered_does_not_matter(client: TestClient) -> None:
    case = CASES["everything_known"][1]
    turned = dict(reversed(case.items())) | {"said": list(reversed(case["said"]))}
    first, second = (client.post("/v1/diagnoses", json=c).text for c in (case, turned))
    assert first == second


@pytest.mark.parametrize(("threads", "each"), [(4, 2), pytest.param(8, 20, marks=pytest.mark.slow)])
def test_many_threads_get_what_one_gets(client: TestClient, threads: int, each: int) -> None:
    cases = [case for _, case in CASES.values()]
    serial = [client.post("/v1/diagnoses", json=case).text for case in cases]

    def ask(first: int) -> list[tuple[int, str]]:
        turn = [(first + step) % len(cases) for step in range(each)]
        return [(at, client.post("/v1/diagnoses", json=cases[at]).text) for at in turn]

    with ThreadPoolExecutor(threads) as pool:
        answers = [answer for answers in pool.map(ask, range(threads)) for answer in answers]
    assert len(answers) == threads * each
    for at, text in answers:
        assert text == serial[at]


@pytest.mark.skipif(
    importlib.util.find_spec("api.cli.why") is None, reason="the command `why` is not there"
)
@pytest.mark.parametrize("name", CASES)
def test_body_equals_what_the_command_prints(client: TestClient, name: str) -> None:
    case = CASES[name][1]
    program = "import sys; from api.cli import main; sys.exit(main())"
    printed = subprocess.run(
        [sys.executable, "-c", program, "why", "--json", "-"],
        input=json.dumps(case).encode(),
        capture_output=True,
        check=True,
    )
    assert client.post("/v1/diagnoses", json=case).content == printed.stdout
