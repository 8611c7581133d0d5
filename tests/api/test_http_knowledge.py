"""GET /v1/knowledge/…: every entry can be read, in pages, and only again when it has changed."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from api.http.app import create_app
from api.http.entries import KINDS, Kind, _anywhere
from diagnose.walk import chance
from knowledge import models
from knowledge.loader import ENTRIES, Knowledge, read

HERE = "http://127.0.0.1:8765"


@pytest.fixture(scope="module")
def client(knowledge: Knowledge) -> Iterator[TestClient]:
    with TestClient(create_app(knowledge), base_url=HERE) as client:
        yield client


def test_every_kind_of_entry_has_its_addresses() -> None:
    assert {kind.plural for kind in KINDS} == set(models.KINDS)
    for kind in KINDS:
        assert kind.listed is models.KINDS[kind.plural]


def test_the_summary_counts_what_is_there(client: TestClient, knowledge: Knowledge) -> None:
    told = client.get("/v1/knowledge").json()
    assert told["digest"] == knowledge.digest
    assert told["version"] == knowledge.version
    assert told["counts"] == {kind: len(knowledge.entries(kind)) for kind in models.KINDS}


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.path)
def test_pages_put_together_are_the_whole_list(
    client: TestClient, knowledge: Knowledge, kind: Kind
) -> None:
    found, cursor = [], None
    while True:
        asked = {"limit": "37"} | ({"cursor": cursor} if cursor else {})
        page = client.get(f"/v1/knowledge/{kind.path}", params=asked).json()
        found += page["items"]
        assert page["total"] == len(knowledge.entries(kind.plural))
        if (cursor := page["next"]) is None:
            break
        assert len(page["items"]) == 37
    assert [kind.listed.model_validate(item) for item in found] == list(
        knowledge.entries(kind.plural).values()
    )


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.path)
def test_an_entry_is_read_by_its_id(client: TestClient, knowledge: Knowledge, kind: Kind) -> None:
    name, entry = next(iter(knowledge.entries(kind.plural).items()))
    told = client.get(f"/v1/knowledge/{kind.path}/{name}").json()
    told.pop("expected", None)
    assert kind.listed.model_validate(told) == entry
    missing = client.get(f"/v1/knowledge/{kind.path}/{name}_x")
    assert missing.status_code == 404
    assert missing.json()["nearest"]


@pytest.mark.parametrize(
    ("path", "name", "value"),
    [
        ("faults", "area", "gas"),
        ("symptoms", "group", "danger"),
        ("checks", "hazard", "look"),
        ("starts", "facet", "pattern"),
        ("consumables", "form", "metal_cored"),
    ],
)
def test_lists_are_narrowed(
    client: TestClient, knowledge: Knowledge, path: str, name: str, value: str
) -> None:
    page = client.get(f"/v1/knowledge/{path}", params={name: value, "limit": 200}).json()
    wanted = [e.id for e in knowledge.entries(path).values() if getattr(e, name) == value]
    assert [item["id"] for item in page["items"]] == wanted[:200]
    assert page["total"] == len(wanted) > 0
    assert client.get(f"/v1/knowledge/{path}", params={name: "no_such"}).status_code == 422


def test_a_mark_of_another_list_is_refused(client: TestClient) -> None:
    mark = client.get("/v1/knowledge/faults", params={"limit": 5}).json()["next"]
    for path, narrowed in (("checks", {}), ("faults", {"area": "gas"})):
        asked = {"limit": "5", "cursor": mark} | narrowed
        answer = client.get(f"/v1/knowledge/{path}", params=asked)
        assert answer.status_code == 400
        assert answer.json()["type"] == "/problems/bad-cursor"


@pytest.mark.parametrize("mark", ["", "x", "MTA", "é", "LTUuMTIzNDU2Nzg5MDEy", "=" * 8, "%00"])
def test_a_mark_of_nobody_is_refused(client: TestClient, mark: str) -> None:
    answer = client.get("/v1/knowledge/faults", params={"cursor": mark})
    assert answer.status_code == 400


@pytest.mark.parametrize("limit", ["0", "201", "-1", "x", "1.5", "9" * 30])
def test_the_size_of_a_page_is_bounded(client: TestClient, limit: str) -> None:
    answer = client.get("/v1/knowledge/faults", params={"limit": limit})
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["where"] == "query: limit"


def test_a_fault_says_what_one_would_see(client: TestClient, knowledge: Knowledge) -> None:
    signs = client.get("/v1/knowledge/faults/work_clamp_off").json()["expected"]
    assert signs == sorted(signs, key=lambda sign: (-sign["chance"], sign["symptom"]))
    no_arc = next(sign for sign in signs if sign["symptom"] == "no_arc")
    left, _ = _anywhere(knowledge)
    alone = chance(left.graph, "no_arc", ["work_clamp_off"])["work_clamp_off"]
    assert no_arc["chance"] == pytest.approx(alone, abs=1e-12)
    assert no_arc["lift"] > 1
    assert no_arc["title"] == knowledge.symptoms["no_arc"].title
    assert not {"porosity"} & {sign["symptom"] for sign in signs}


ADDRESSES = (
    "/v1/knowledge",
    "/v1/knowledge/faults",
    "/v1/knowledge/faults?area=gas&limit=3",
    "/v1/knowledge/faults/tip_worn",
    "/openapi.json",
)


@pytest.mark.parametrize("address", ADDRESSES)
def test_what_has_not_changed_is_not_sent_again(client: TestClient, address: str) -> None:
    first = client.get(address)
    etag = first.headers["etag"]
    assert etag[0] == etag[-1] == '"'
    assert first.headers["cache-control"] == "private, no-cache"
    for given in (etag, f'"x", {etag}', f"W/{etag}", "*"):
        again = client.get(address, headers={"If-None-Match": given})
        assert again.status_code == 304
        assert again.content == b""
        assert again.headers["etag"] == etag
    assert client.get(address, headers={"If-None-Match": '"x"'}).content == first.content


def test_each_address_has_its_own_etag(client: TestClient) -> None:
    assert len({client.get(address).headers["etag"] for address in ADDRESSES}) == len(ADDRESSES)


def test_errors_have_no_etag(client: TestClient) -> None:
    answer = client.get("/v1/knowledge/faults/none", headers={"If-None-Match": "*"})
    assert answer.status_code == 404
    assert "etag" not in answer.headers
    assert answer.headers["cache-control"] == "no-store"


def test_a_shop_with_its_own_entries_has_other_etags(client: TestClient, tmp_path: Path) -> None:
    row = "- {id: our_thing, title: Our own tester, kind: tool, minutes: 2.0, basis: judgement}\n"
    (tmp_path / "outfits.yaml").write_text(row, "utf-8")
    theirs = TestClient(create_app(read([ENTRIES, tmp_path])), base_url=HERE)
    assert theirs.get("/v1/knowledge/outfits/our_thing").json()["title"] == "Our own tester"
    address = "/v1/knowledge/faults/tip_worn"
    assert theirs.get(address).headers["etag"] != client.get(address).headers["etag"]
