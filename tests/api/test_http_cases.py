"""Cases, stations, the sheet and the fleet over HTTP: versions, keys, pages, races, hostile text."""

from __future__ import annotations

import csv
import io
import json
import re
import threading
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from cli_runner import run
from fastapi.testclient import TestClient

from api.casebook import Casebook
from api.handover import as_html, as_markdown, sheet_of
from api.http.app import create_app
from api.http.entries_of_cases import WRITTEN
from api.http.gate import LOOPBACK_NAMES
from api.json_text import to_json
from api.kept_shapes import case_kept
from knowledge.loader import Knowledge

HERE = "http://127.0.0.1:8765"
TOLD = {
    "said": ["wire feeds, no arc"],
    "station": {"process": "GMAW", "wire": {"class": "ER70S-6"}},
}
PLATE = {"name": "Bay 3", "process": "GMAW", "gun": {"tip_mm": "0.035 in"}}
FOUND = {"check": "tug_each_lug", "result": "all_firm", "minutes": 2}
HOSTILE = '<script>alert("x")</script> =1+1 \x00\x1b[31m \u202e \\ " \' ; DROP TABLE cases; --'


@pytest.fixture
def book(where: str) -> Iterator[Casebook]:
    with Casebook.open(where) as book:
        yield book


def client_of(knowledge: Knowledge, book: Casebook | None, **more: Any) -> TestClient:
    return TestClient(create_app(knowledge, casebook=book, **more), base_url=HERE)


@pytest.fixture
def client(knowledge: Knowledge, book: Casebook) -> Iterator[TestClient]:
    with client_of(knowledge, book) as client:
        yield client


def two_servers(knowledge: Knowledge, *books: Casebook) -> list[TestClient]:
    """Return a client of a server over each book, its routes made: making them is not for two threads."""
    clients = [client_of(knowledge, book) for book in books]
    for client in clients:
        for path in ("reports", "findings"):
            client.post(f"/v1/cases/x/{path}", json={})
    return clients


def opened(client: TestClient, **more: Any) -> tuple[str, str]:
    """Open a case; return its address and its ETag."""
    answer = client.post("/v1/cases", json={"case": TOLD, **more})
    assert answer.status_code == 201, answer.text
    return answer.headers["location"], answer.headers["etag"]


def refused(answer: Any, status: int, kind: str) -> dict[str, Any]:
    assert answer.status_code == status, answer.text
    assert answer.headers["content-type"] == "application/problem+json"
    problem: dict[str, Any] = answer.json()
    assert problem["type"] == f"/problems/{kind}"
    return problem


# cases


def test_a_case_from_opening_to_close(client: TestClient, book: Casebook) -> None:
    client.post("/v1/stations", json=PLATE)
    at, tag = opened(client, station="bay 3", who="Kim")
    assert tag == '"1"'
    case = client.get(at).json()
    assert (case["state"], case["version"], case["events"][0]["who"]) == ("open", 1, "Kim")
    assert case["case"]["station"]["gun"]["tip_mm"] == pytest.approx(0.889)
    written = [
        ("findings", FOUND),
        ("readings", {"what": "drop", "value": 2.0, "unit": "V", "from": "work_stud"}),
        ("reports", {"said": ["clamp too hot to hold"]}),
        ("advice", {"step": "remedy", "id": "work_clamp_off"}),
        ("remedies", {"fault": "work_clamp_off", "cured": True, "minutes": 3}),
        ("proofs", {"check": "proof_weld", "good": True}),
        ("close", {"outcome": "cured", "faults": ["work_clamp_off"]}),
    ]
    for number, (path, body) in enumerate(written, start=2):
        answer = client.post(f"{at}/{path}", json=body, headers={"If-Match": tag})
        assert answer.status_code == 201, answer.text
        tag = answer.headers["etag"]
        assert (tag, answer.json()["seq"]) == (f'"{number}"', number)
    case = client.get(at).json()
    assert (case["state"], case["proved"], case["faults"]) == ("closed", True, ["work_clamp_off"])
    assert case["minutes"] == 5.0
    assert book.causes() == {"work_clamp_off": 1}
    late = client.post(f"{at}/findings", json=FOUND, headers={"If-Match": tag})
    assert "Undo entry 8" in refused(late, 409, "case-closed")["next_step"]
    undone = client.post(f"{at}/undo", json={"seq": 8}, headers={"If-Match": tag})
    assert undone.status_code == 201
    assert client.get(at).json()["state"] == "open"


def test_the_body_is_what_the_command_line_prints(
    client: TestClient, book: Casebook, where: str
) -> None:
    at, _ = opened(client)
    name = at.rsplit("/", 1)[1]
    assert client.get(at).text == to_json(case_kept(book.case(name)))
    shown = run("cases", "show", name, "--json", env={"WONTWELD_CASEBOOK": where})
    assert shown.out == client.get(at).text


@pytest.mark.parametrize("written", WRITTEN, ids=lambda one: one.path)
def test_every_write_needs_the_version_it_is_made_against(client: TestClient, written: Any) -> None:
    at, _ = opened(client)
    body = written.example
    refused(client.post(f"{at}/{written.path}", json=body), 428, "tag-missing")
    stale = client.post(f"{at}/{written.path}", json=body, headers={"If-Match": '"9"'})
    assert "version 1 stands" in refused(stale, 412, "version-conflict")["detail"]
    for tag in ('W/"1"', "1", '""', '"01"', '"x"', '"1", "2"'):
        answer = client.post(f"{at}/{written.path}", json=body, headers={"If-Match": tag})
        refused(answer, 412, "tag-refused")
    assert client.get(at).headers["etag"] == '"1"'
    if written.path == "undo":
        body = {"seq": 1}
    right = client.post(f"{at}/{written.path}", json=body, headers={"If-Match": '"1"'})
    assert right.status_code == 201, right.text


def test_a_star_takes_what_stands(client: TestClient) -> None:
    at, _ = opened(client)
    for number in (2, 3):
        answer = client.post(f"{at}/findings", json=FOUND, headers={"If-Match": "*"})
        assert answer.headers["etag"] == f'"{number}"'


def test_a_write_sent_again_is_done_once(client: TestClient) -> None:
    at, tag = opened(client)
    sent = {"If-Match": tag, "Idempotency-Key": "tablet-7.1"}
    first = client.post(f"{at}/findings", json=FOUND, headers=sent)
    client.post(f"{at}/reports", json={"said": ["hot"]}, headers={"If-Match": '"2"'})
    again = client.post(f"{at}/findings", json=FOUND, headers=sent)
    assert (again.status_code, again.text) == (201, first.text)
    assert client.get(at).json()["version"] == 3
    quoted = client.post(
        f"{at}/findings", json=FOUND, headers=sent | {"Idempotency-Key": '"tablet-7.1"'}
    )
    assert quoted.text == first.text
    other = client.post(f"{at}/findings", json=FOUND | {"result": "splice_moves"}, headers=sent)
    refused(other, 409, "idempotency-key-reused")
    odd = client.post(f"{at}/findings", json=FOUND, headers=sent | {"Idempotency-Key": "a b"})
    refused(odd, 422, "entry-refused")


def test_a_case_and_a_station_opened_again_are_the_same(client: TestClient) -> None:
    key = {"Idempotency-Key": "first"}
    one = client.post("/v1/cases", json={"case": TOLD}, headers=key)
    other = client.post("/v1/cases", json={"case": TOLD}, headers=key)
    assert (one.status_code, one.text) == (other.status_code, other.text)
    station = client.post("/v1/stations", json=PLATE, headers=key)
    assert client.post("/v1/stations", json=PLATE, headers=key).text == station.text
    changed = client.post("/v1/cases", json={"case": {"said": ["x"]}}, headers=key)
    refused(changed, 409, "idempotency-key-reused")


@pytest.mark.parametrize(
    ("path", "body", "name", "nearest"),
    [
        ("findings", {"check": "tug_each_lugg", "result": "x"}, "tug_each_lugg", "tug_each_lug"),
        ("findings", {"check": "tug_each_lug", "result": "all_firmm"}, "all_firmm", "all_firm"),
        ("remedies", {"fault": "wnd", "cured": True}, "wnd", "wind"),
        ("proofs", {"check": "proof_wld", "good": True}, "proof_wld", "proof_weld"),
        ("close", {"outcome": "cured", "faults": ["wnd"]}, "wnd", "wind"),
        ("reports", {"symptoms": [{"id": "no_arcs", "seen": "yes"}]}, "no_arcs", "no_arc"),
    ],
)
def test_an_unknown_id_is_refused_with_the_nearest(
    client: TestClient, path: str, body: dict[str, Any], name: str, nearest: str
) -> None:
    at, tag = opened(client)
    answer = client.post(f"{at}/{path}", json=body, headers={"If-Match": tag})
    problem = refused(answer, 422, "unknown-id")
    assert name in problem["detail"]
    assert nearest in problem["nearest"]


def test_what_does_not_fit_is_named(client: TestClient) -> None:
    at, tag = opened(client)
    answer = client.post(f"{at}/findings", json={"chek": "x"}, headers={"If-Match": tag})
    problem = refused(answer, 422, "shape")
    assert {error["where"] for error in problem["errors"]} == {"check", "result", "chek"}
    refused(client.get("/v1/cases?stat=open"), 422, "shape")
    refused(client.get("/v1/cases?since=2031-05-04T00:00:00"), 422, "entry-refused")
    refused(client.get("/v1/cases?station=nobody"), 404, "not-found")
    missing = client.post("/v1/cases", json={"case": TOLD, "station": "Bay 99"})
    refused(missing, 404, "not-found")
    for path in ("", "/next", "/diagnosis", "/handover", "/entries"):
        refused(client.get(f"/v1/cases/no-such{path}"), 404, "not-found")


def test_a_case_is_read_again_only_when_it_changed(client: TestClient) -> None:
    at, tag = opened(client)
    assert client.get(at, headers={"If-None-Match": tag}).status_code == 304
    client.post(f"{at}/findings", json=FOUND, headers={"If-Match": tag})
    assert client.get(at, headers={"If-None-Match": tag}).status_code == 200


def test_pages_stay_whole_while_cases_are_added(client: TestClient) -> None:
    before = [opened(client)[0].rsplit("/", 1)[1] for _ in range(7)]
    seen: list[str] = []
    page = client.get("/v1/cases?limit=2").json()
    while True:
        seen += [one["id"] for one in page["items"]]
        if page["next"] is None:
            break
        opened(client)
        page = client.get("/v1/cases", params={"limit": 2, "cursor": page["next"]}).json()
    assert seen == before[::-1]
    first = client.get("/v1/cases?limit=2").json()["next"]
    other = client.get("/v1/cases", params={"cursor": first, "state": "open"})
    refused(other, 400, "bad-cursor")
    refused(client.get("/v1/cases?cursor=x"), 400, "bad-cursor")


def test_cases_are_narrowed(client: TestClient) -> None:
    client.post("/v1/stations", json=PLATE)
    at, tag = opened(client, station="Bay 3")
    opened(client)
    client.post(f"{at}/hand-over", json={"to": "service"}, headers={"If-Match": tag})
    name = at.rsplit("/", 1)[1]
    for wanted in ("state=handed_over", "station=bay%203"):
        assert [one["id"] for one in client.get(f"/v1/cases?{wanted}").json()["items"]] == [name]
    assert client.get("/v1/cases?since=2999-01-01T00:00:00Z").json()["items"] == []


def test_entries_are_followed_from_where_one_was(client: TestClient) -> None:
    at, tag = opened(client)
    client.post(f"{at}/findings", json=FOUND, headers={"If-Match": tag})
    client.post(f"{at}/undo", json={"seq": 2}, headers={"If-Match": '"2"'})
    every = client.get(f"{at}/entries").json()["items"]
    assert [(one["seq"], one["counts"]) for one in every] == [(1, True), (2, False), (3, False)]
    assert client.get(f"{at}/entries?after=2").json()["items"] == every[2:]


def test_forgetting_needs_the_version_and_is_for_good(client: TestClient) -> None:
    at, tag = opened(client)
    refused(client.delete(at), 428, "tag-missing")
    refused(client.delete(at, headers={"If-Match": '"4"'}), 412, "version-conflict")
    gone = client.delete(at, headers={"If-Match": tag})
    assert (gone.status_code, gone.json()["kinds"]) == (200, {"reported": 1})
    refused(client.get(at), 404, "not-found")


def test_the_next_step_splits_and_moves_on_when_it_is_answered(client: TestClient) -> None:
    at, tag = opened(client)
    move = client.get(f"{at}/next").json()
    assert move["version"] == 1
    assert move["leaders"][0]["probability"] >= move["leaders"][-1]["probability"]
    step = move["step"]
    while step["kind"] != "check":
        told = {"symptoms": [{"id": step["id"], "seen": "no"}]}
        tag = client.post(f"{at}/reports", json=told, headers={"If-Match": tag}).headers["etag"]
        step = client.get(f"{at}/next").json()["step"]
    body = {"check": step["id"], "result": step["choices"][-1]["key"]}
    client.post(f"{at}/findings", json=body, headers={"If-Match": tag})
    after = client.get(f"{at}/next").json()["step"]
    assert after["id"] != step["id"]


def test_a_stop_card_is_the_next_step(client: TestClient) -> None:
    at, tag = opened(client)
    told = {"symptoms": [{"id": "tingle", "seen": "yes"}]}
    client.post(f"{at}/reports", json=told, headers={"If-Match": tag})
    step = client.get(f"{at}/next").json()["step"]
    assert (step["kind"], step["id"]) == ("stop", "tingle")


def test_the_diagnosis_of_a_case_is_that_of_what_it_adds_up_to(client: TestClient) -> None:
    at, _ = opened(client)
    told = client.get(at).json()["case"]
    kept = client.get(f"{at}/diagnosis").json()
    assert kept == client.post("/v1/diagnoses", json=told).json()


# the sheet and the fleet


def test_the_sheet_in_three_forms(client: TestClient, book: Casebook, knowledge: Knowledge) -> None:
    at, _ = opened(client)
    sheet = sheet_of(book.case(at.rsplit("/", 1)[1]), knowledge)
    as_json = client.get(f"{at}/handover")
    assert (as_json.text, as_json.headers["content-type"]) == (to_json(sheet), "application/json")
    markdown = client.get(f"{at}/handover?form=markdown")
    assert markdown.headers["content-type"] == "text/markdown; charset=utf-8"
    assert markdown.text == as_markdown(sheet)
    page = client.get(f"{at}/handover?form=html")
    assert page.headers["content-type"] == "text/html; charset=utf-8"
    assert page.text == as_html(sheet)
    policy = page.headers["content-security-policy"]
    assert re.fullmatch(
        r"default-src 'none'; style-src 'sha256-[\w+/=]+'; frame-ancestors 'none'", policy
    )
    refused(client.get(f"{at}/handover?form=pdf"), 422, "shape")


def test_the_fleet_in_two_forms(client: TestClient) -> None:
    client.post("/v1/stations", json=PLATE | {"name": "=Bay"})
    for _ in range(2):
        at, tag = opened(client, station="=Bay")
        ended = {"outcome": "cured", "faults": ["wind"]}
        client.post(f"{at}/close", json=ended, headers={"If-Match": tag})
    report = client.get("/v1/fleet?within_days=1").json()
    assert (report["cases"], report["repeats"]) == (2, 1)
    assert report["faults"][0]["came_back"] == 1
    table = client.get("/v1/fleet?form=csv")
    assert table.headers["content-type"].startswith("text/csv")
    row = next(csv.DictReader(io.StringIO(table.text, newline="")))
    assert (row["station"], row["fault"]) == ("'=Bay", "wind")
    refused(client.get("/v1/fleet?since=2031-01-01T00:00:00"), 422, "entry-refused")
    refused(client.get("/v1/fleet?within_days=-1"), 422, "shape")


# stations


def test_a_station_from_adding_to_removing(client: TestClient) -> None:
    added = client.post("/v1/stations", json=PLATE)
    assert (added.status_code, added.headers["etag"]) == (201, '"1"')
    at = added.headers["location"]
    assert client.get("/v1/stations/bay%203").json() == added.json()
    assert client.get(at, headers={"If-None-Match": '"1"'}).status_code == 304
    refused(client.post("/v1/stations", json=PLATE), 409, "name-taken")
    refused(client.post("/v1/stations", json={"process": "GMAW"}), 422, "entry-refused")
    refused(client.put(at, json=PLATE), 428, "tag-missing")
    changed = client.put(at, json={"process": "FCAW-S"}, headers={"If-Match": '"1"'})
    assert (changed.json()["name"], changed.headers["etag"]) == ("Bay 3", '"2"')
    refused(client.put(at, json=PLATE, headers={"If-Match": '"1"'}), 412, "version-conflict")
    case, tag = opened(client, station="Bay 3")
    refused(client.delete(at, headers={"If-Match": '"2"'}), 409, "station-in-use")
    client.delete(case, headers={"If-Match": tag})
    refused(client.delete(at, headers={"If-Match": '"1"'}), 412, "version-conflict")
    assert client.delete(at, headers={"If-Match": '"2"'}).json()["name"] == "Bay 3"
    refused(client.get(at), 404, "not-found")


def test_pages_of_stations_stay_whole_while_stations_are_added(client: TestClient) -> None:
    for letter in "bdfh":
        client.post("/v1/stations", json={"name": letter})
    first = client.get("/v1/stations?limit=2").json()
    for letter in "ac":
        client.post("/v1/stations", json={"name": letter})
    rest = client.get("/v1/stations", params={"limit": 9, "cursor": first["next"]}).json()
    names = [one["name"] for one in (*first["items"], *rest["items"])]
    assert names == ["b", "d", "f", "h"]


# together


def test_of_two_servers_on_one_case_exactly_one_wins(where: str, knowledge: Knowledge) -> None:
    with Casebook.open(where) as one, Casebook.open(where) as other:
        clients = two_servers(knowledge, one, other)
        at, _ = opened(clients[0])
        for number in range(1, 9):
            start = threading.Barrier(2)

            def write(which: int, number: int = number, start: Any = start) -> int:
                start.wait()
                body = {"said": [f"{number} from {which}"]}
                tag = {"If-Match": f'"{number}"'}
                answer = clients[which].post(f"{at}/reports", json=body, headers=tag)
                return int(answer.status_code)

            with ThreadPoolExecutor(2) as pool:
                assert sorted(pool.map(write, (0, 1))) == [201, 412]
        assert clients[1].get(at).json()["version"] == 9
        assert len(clients[0].get(at).json()["events"]) == 9


def test_the_same_write_at_once_through_two_servers_is_done_once(
    where: str, knowledge: Knowledge
) -> None:
    with Casebook.open(where) as one, Casebook.open(where) as other:
        clients = two_servers(knowledge, one, other)
        at, tag = opened(clients[0])
        start = threading.Barrier(2)

        def write(which: int) -> tuple[int, str]:
            start.wait()
            sent = {"If-Match": tag, "Idempotency-Key": "k1"}
            answer = clients[which].post(f"{at}/findings", json=FOUND, headers=sent)
            return answer.status_code, answer.text

        with ThreadPoolExecutor(2) as pool:
            first, second = pool.map(write, (0, 1))
        assert first == second
        assert first[0] == 201
        assert clients[0].get(at).json()["version"] == 2


def test_hostile_text_comes_back_as_it_was_or_is_refused(client: TestClient) -> None:
    text = HOSTILE.replace("\x00", "")
    case = {"said": [text], "station": {"name": text.replace("\x1b[31m \u202e ", "")[:80]}}
    at = client.post("/v1/cases", json={"case": case}).headers["location"]
    assert client.get(at).json()["case"]["said"] == [text]
    page = client.get(f"{at}/handover?form=html").text
    assert "<script" not in page
    bad = client.post("/v1/cases", json={"case": {"said": ["x"]}, "who": "a\x1b[31m"})
    refused(bad, 422, "entry-refused")
    assert client.get("/v1/cases/%3Cscript%3E").headers["content-type"].startswith("application/p")


def test_a_nul_in_the_words_is_an_answer_and_no_crash(client: TestClient) -> None:
    answer = client.post("/v1/cases", json={"case": {"said": ["no\x00arc"]}})
    assert answer.status_code in (201, 422)


def test_closed_cases_shift_the_diagnosis_unless_learning_is_off(
    book: Casebook, knowledge: Knowledge
) -> None:
    with client_of(knowledge, book) as client:
        before = client.post("/v1/diagnoses", json=TOLD).json()
        for _ in range(5):
            at, tag = opened(client)
            proof = {"check": "proof_weld", "good": True}
            tag = client.post(f"{at}/proofs", json=proof, headers={"If-Match": tag}).headers["etag"]
            ended = {"outcome": "cured", "faults": ["work_lead_off"]}
            client.post(f"{at}/close", json=ended, headers={"If-Match": tag})
        after = client.post("/v1/diagnoses", json=TOLD).json()
    assert (before["knowledge"]["learned"], after["knowledge"]["learned"]) == (False, True)
    with client_of(knowledge, book, learning=False) as client:
        assert client.post("/v1/diagnoses", json=TOLD).json() == before


# without a casebook, and with one that fails


def test_a_server_without_a_casebook_says_so(knowledge: Knowledge) -> None:
    with client_of(knowledge, None) as client:
        for path in ("/v1/cases", "/v1/stations", "/v1/fleet", "/v1/cases/x/handover"):
            refused(client.get(path), 404, "no-casebook")
        assert client.get("/readyz").json()["parts"] == ["rules"]
        assert client.post("/v1/diagnoses", json=TOLD).status_code == 200


def test_a_server_is_ready_only_while_its_casebook_can_be_read(
    knowledge: Knowledge, tmp_path: Any
) -> None:
    file = tmp_path / "book.sqlite3"
    with Casebook.open(file) as book, client_of(knowledge, book) as client:
        assert client.get("/readyz").json()["parts"] == ["rules", "casebook"]
        book.close()
        for one in tmp_path.iterdir():
            one.write_bytes(b"a shopping list " * 1000)
        refused(client.get("/readyz"), 503, "not-ready")
        problem = refused(client.get("/v1/cases"), 500, "storage-corrupt")
        assert "latest backup" in problem["next_step"]


def test_cases_need_the_token_too(knowledge: Knowledge, book: Casebook) -> None:
    app = create_app(knowledge, casebook=book, token="a-token-for-tests-only", hosts=LOOPBACK_NAMES)  # noqa: S106
    with TestClient(app, base_url=HERE) as client:
        refused(client.get("/v1/cases"), 401, "token-refused")
        refused(client.post("/v1/cases", content=json.dumps({"case": TOLD})), 401, "token-refused")
