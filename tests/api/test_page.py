"""The page without a browser: what it asks, what it answers, and that nothing entered is lost."""

from __future__ import annotations

import html
import json
import re
from collections.abc import Iterator
from typing import Any

import pytest
from fastapi.testclient import TestClient

from api.casebook import Casebook, standing
from api.http.app import create_app
from api.page.body import Form
from api.page.door import COOKIE, Key
from api.page.fields import case_from, fields_of
from api.page.log import Log
from diagnose.answer import diagnose
from diagnose.case import Case
from knowledge.loader import Knowledge

HERE = "http://127.0.0.1:8765"
TOKEN = "a-token-for-tests-only"  # noqa: S105


@pytest.fixture(scope="module")
def client(knowledge: Knowledge) -> TestClient:
    return TestClient(create_app(knowledge, learning=False), base_url=HERE)


@pytest.fixture
def book(where: str) -> Iterator[Casebook]:
    with Casebook.open(where) as opened:
        yield opened


@pytest.fixture
def keeping(knowledge: Knowledge, book: Casebook) -> TestClient:
    app = create_app(knowledge, casebook=book, learning=False)
    return TestClient(app, base_url=HERE, follow_redirects=False)


def log_in(page: str) -> str:
    found = re.search(r'name="log" value="([^"]*)"', page)
    assert found
    return html.unescape(found[1])


def buttons(page: str) -> list[str]:
    return [html.unescape(v) for v in re.findall(r'name="answer" value="([^"]*)"', page)]


def step(page: str) -> str:
    found = re.search(r'id="step">([^<]*)', page)
    assert found
    return html.unescape(found[1])


def alert(page: str) -> str:
    found = re.search(r'role="alert".*?</section>', page, re.S)
    assert found
    return html.unescape(re.sub(r"<[^>]+>", "", found[0]))


def begun(client: TestClient, **told: Any) -> str:
    answer = client.post("/", data={"do": "diagnose", **told})
    assert answer.status_code == 200, alert(answer.text)
    return answer.text


def pressed(client: TestClient, page: str, **what: Any) -> str:
    answer = client.post("/", data={"log": log_in(page), **what})
    assert answer.status_code == 200, alert(answer.text)
    return answer.text


def test_the_first_sheet_asks_and_needs_no_scripts(
    client: TestClient, knowledge: Knowledge
) -> None:
    answer = client.get("/")
    assert answer.headers["content-type"] == "text/html; charset=utf-8"
    policy = answer.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    page = answer.text
    assert "<script" not in page
    assert "style=" not in page
    for name in ("process", "wire_class", "polarity", "gas", "metal", "surface", "outdoors"):
        assert f'name="{name}"' in page
    for name in ("change", "pattern", "only", "may", "units"):
        assert f'name="{name}"' in page
    for symptom in knowledge.symptoms:
        assert page.count(f'name="symptom.{symptom}"') == 4
    assert not re.search(r'(?:src|href)="(?!/|#|data:)', page)


def test_the_page_says_what_the_api_says(client: TestClient, knowledge: Knowledge) -> None:
    told = {"said": ["wire feeds, no arc"], "started": {"change": ["hooked_up"]}}
    expected = diagnose(Case.model_validate(told), knowledge)
    page = begun(client, said="wire feeds, no arc", change="hooked_up")
    titles = [html.unescape(t) for t in re.findall(r'class="title">([^<]*)', page)]
    assert titles == [fault.title for fault in expected.faults]
    shown = re.search(r"<pre[^>]*>(.*?)</pre>", page, re.S)
    assert shown
    sent = client.post("/v1/diagnoses", json=json.loads(html.unescape(shown[1])))
    assert [f["id"] for f in sent.json()["faults"]] == [f.id for f in expected.faults]


def test_a_session_goes_from_words_to_a_proved_cure(client: TestClient) -> None:
    page = begun(client, said="wire feeds, no arc", change="hooked_up")
    while not any(value.startswith("remedy|") for value in buttons(page)):
        first = buttons(page)[0]
        assert first.split("|")[0] in ("check", "symptom", "station", "started")
        page = pressed(client, page, answer=first)
    page = pressed(client, page, answer=buttons(page)[0])
    assert step(page).startswith("Prove it")
    cured = next(value for value in buttons(page) if value.endswith("|cured"))
    page = pressed(client, page, answer=cured)
    assert step(page) == "Put right and proved."
    assert not [value for value in buttons(page) if value.startswith(("check|", "remedy|"))]


def test_the_last_answer_is_taken_back_whole(client: TestClient) -> None:
    page = begun(client, said="porosity", process="GMAW")
    before = step(page), json.loads(log_in(page))["case"]
    answered = pressed(client, page, answer=buttons(page)[0])
    assert json.loads(log_in(answered))["answers"]
    back = pressed(client, answered, do="undo")
    assert (step(back), json.loads(log_in(back))["case"]) == before
    assert not json.loads(log_in(back))["answers"]


def test_what_was_told_can_be_changed_and_findings_stay(client: TestClient) -> None:
    page = begun(client, said="porosity", process="GMAW", polarity="positive.told")
    page = pressed(client, page, answer="check|tug_each_lug|all_firm")
    page = pressed(client, page, answer="station|station.work.metal|stainless")
    sheet = pressed(client, page, do="edit")
    assert re.search(r'name="metal" value="stainless" checked', sheet)
    assert re.search(r'name="polarity" value="positive.told" checked', sheet)
    changed = client.post(
        "/", data={"log": log_in(sheet), "do": "diagnose", "said": "porosity", "metal": "stainless"}
    )
    log = Log.from_text(log_in(changed.text))
    assert log.case.station.polarity is None
    assert log.case.station.process is None
    assert [finding.check for finding in log.folded.findings] == ["tug_each_lug"]


def test_a_stop_card_comes_first_and_only_the_qualified_lift_it(client: TestClient) -> None:
    page = begun(client, said="no arc\nI felt a tingle")
    assert page.index('class="signal danger"') < page.index('id="likely"')
    assert "DANGER" in page
    assert not [v for v in buttons(page) if v.startswith(("check|", "remedy|"))]
    roles = re.findall(r'name="by" value="([^"]*)"', page)
    assert roles
    assert "operator" not in roles
    card = re.search(r'name="lift" value="([^"]*)"', page)
    assert card
    for by, name in (("operator", "Kim"), ("electrician", "")):
        refused = client.post(
            "/", data={"log": log_in(page), "lift": card[1], "by": by, "name": name}
        )
        assert refused.status_code == 422
        assert json.loads(log_in(refused.text)) == json.loads(log_in(page))
    skipped = client.post("/", data={"log": log_in(page), "answer": f"stop|{card[1]}|electrician"})
    assert skipped.status_code == 422
    lifted = pressed(client, page, lift=card[1], by="electrician", name="Kim Doe")
    assert json.loads(log_in(lifted))["answers"][0]["who"] == "Kim Doe"
    assert "(made safe)" in lifted


def test_steps_that_are_not_the_users_are_withheld(
    client: TestClient, knowledge: Knowledge
) -> None:
    page = begun(client, said="breaker trips at switch-on\nmachine is dead")
    theirs = {f.remedy.who for f in knowledge.faults.values()} & {"electrician", "service"}
    assert theirs
    shown = re.findall(r'class="withheld">([^<]*)', page)
    assert shown
    for fault in knowledge.faults.values():
        if fault.remedy.who in theirs:
            reading = html.unescape(client.get(f"/know/fault/{fault.id}").text)
            assert "so the steps are not shown here" in reading
            assert fault.remedy.steps[0] not in reading
            break


def test_words_not_understood_come_with_the_nearest_as_buttons(client: TestClient) -> None:
    page = begun(client, said="blue smurfs")
    nearest = [value for value in buttons(page) if value.startswith("words|words|")]
    assert nearest
    chosen = pressed(client, page, answer=nearest[0])
    assert nearest[0].rpartition("|")[2] in log_in(chosen)


def test_text_is_taken_where_a_label_is_read_out(client: TestClient) -> None:
    page = begun(client, said="porosity")
    asked = [html.unescape(v) for v in re.findall(r'name="ask" value="([^"]*)"', page)]
    assert "station|station.wire.class" in asked
    page = pressed(client, page, ask="station|station.wire.class", text="E71T-11")
    assert "wire E71T-11" in html.unescape(page)
    page = pressed(client, page, reading="flow at nozzle 5 L/min")
    assert "flow 5 L/min" in html.unescape(page)
    page = pressed(client, page, more="arc is erratic")
    assert "arc_erratic" not in log_in(page)
    assert "arc is erratic" in log_in(page)


def test_units_go_both_ways(client: TestClient) -> None:
    page = begun(
        client, said="porosity", gas="75/25", flow="35 cfh", units="us", wire_size="0.035 in"
    )
    assert "35 cfh" in page
    assert "0.035 in" in page
    page = pressed(client, page, do="units")
    assert "16.5 L/min" in page
    assert not json.loads(log_in(page))["answers"]


def test_a_bare_number_is_asked_for_its_unit_and_nothing_is_lost(client: TestClient) -> None:
    told = {
        "do": "diagnose",
        "said": "porosity\nspatter",
        "flow": "35",
        "wire_class": "ER70S-6",
        "surface": ["rust", "oil"],
        "symptom.no_arc": "no",
    }
    answer = client.post("/", data=told)
    assert answer.status_code == 422
    assert "Gas flow: '35' has no unit" in alert(answer.text)
    page = html.unescape(answer.text)
    assert "porosity\nspatter</textarea>" in page
    assert 'name="flow" value="35"' in page
    assert 'name="wire_class" value="ER70S-6"' in page
    for value in ("rust", "oil"):
        assert f'name="surface" value="{value}" checked' in page
    assert 'name="symptom.no_arc" value="no" checked' in page


@pytest.mark.parametrize(
    ("told", "says"),
    [
        ({"flow": "35 parsec"}, "Gas flow"),
        ({"process": "SMAW"}, "Process"),
        ({"symptom.no_ark": "yes"}, "no symptom 'no_ark'"),
        ({"said": "x" * 401}, "What the welder says"),
        ({"change": "hooked_in"}, "hooked_in"),
    ],
)
def test_what_does_not_fit_is_said_in_words(
    client: TestClient, told: dict[str, str], says: str
) -> None:
    answer = client.post("/", data={"do": "diagnose", **told})
    assert answer.status_code == 422
    assert says in alert(answer.text)
    assert "as you entered it" in alert(answer.text)


def test_nothing_to_go_on_is_said(client: TestClient) -> None:
    answer = client.post("/", data={"do": "diagnose", "may": "operator", "units": "us"})
    assert answer.status_code == 200
    assert "Nothing to go on yet" in alert(answer.text)


@pytest.mark.parametrize(
    "answer",
    [
        "check|no_such_check|x",
        "check|tug_each_lug|no_such",
        "symptom|nope|yes",
        "remedy|nope|done",
        "station|station.nope|x",
        "station|x|y",
        "station|station.source.phases|seven",
        "started|started.change|nope",
        "proof|tip_worn|cured",
        "hand_over|hand_over|nobody",
        "bogus|a|b",
        "check",
    ],
)
def test_a_button_that_says_something_else_is_refused(client: TestClient, answer: str) -> None:
    page = begun(client, said="no arc")
    refused = client.post("/", data={"log": log_in(page), "answer": answer})
    assert 400 <= refused.status_code < 500
    assert alert(refused.text)
    assert json.loads(log_in(refused.text)) == json.loads(log_in(page))


@pytest.mark.parametrize(
    "log",
    [
        "{",
        "[]",
        "[" * 50,
        '{"case": {"bogus": 1}}',
        '{"case": {}, "case": {}}',
        '{"answers": [{"entries": []}]}',
        '{"answers": [{"entries": [{"kind": "found", "body": {}}]}]}',
        '{"answers": [{"entries": [{"kind": "undone", "body": {"seq": 9}}]}]}',
    ],
)
def test_a_log_that_was_tampered_with_is_refused_as_a_page(client: TestClient, log: str) -> None:
    answer = client.post("/", data={"log": log, "do": "diagnose", "said": "no arc"})
    assert 400 <= answer.status_code < 500
    assert alert(answer.text)
    assert "no arc</textarea>" in answer.text


def test_words_of_the_welder_are_never_markup(client: TestClient) -> None:
    page = begun(client, said='<script>alert("x")</script> no arc', station='"><img src=x>')
    assert "<script" not in page
    assert "<img" not in page


def test_a_body_that_is_no_form_or_too_large_is_refused_as_a_page(client: TestClient) -> None:
    for answer, status in (
        (client.post("/", json={}), 415),
        (client.post("/", content=b"said=%ff", headers={"Content-Type": FORM}), 400),
        (client.post("/", content=b"a=1&" * 1001, headers={"Content-Type": FORM}), 400),
        (client.post("/", data={"said": "x" * 300_000}), 413),
        (client.put("/"), 405),
    ):
        assert answer.status_code == status
        assert answer.headers["content-type"].startswith("text/html")
        assert alert(answer.text)


FORM = "application/x-www-form-urlencoded"


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "https://evil.example"},
        {"Origin": "null"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
    ],
)
def test_other_sites_can_send_nothing(
    keeping: TestClient, book: Casebook, headers: dict[str, str]
) -> None:
    for path in ("/", "/keep", "/sheet", "/token"):
        answer = keeping.post(path, data={"log": '{"case": {"said": ["x"]}}'}, headers=headers)
        assert answer.status_code == 403
    assert not book.cases().items
    own = {"Origin": HERE, "Sec-Fetch-Site": "same-origin"}
    assert keeping.post("/", data={"more": "no arc"}, headers=own).status_code == 200


def kept_form(page: str) -> dict[str, str]:
    once = re.search(r'name="once" value="([^"]*)"', page)
    assert once
    return {"log": log_in(page), "once": once[1], "who": "day shift"}


def test_a_case_is_kept_once_and_gone_on_with(keeping: TestClient, book: Casebook) -> None:
    page = begun(keeping, said="wire feeds, no arc")
    page = pressed(keeping, page, answer="check|tug_each_lug|all_firm")
    form = kept_form(page)
    first, again = (keeping.post("/keep", data=form) for _ in range(2))
    assert first.status_code == 303
    assert first.headers["location"] == again.headers["location"]
    (line,) = book.cases().items
    stored = book.case(line.id)
    assert [event.kind for event in stored.events] == ["reported", "found"]
    assert stored.events[1].who == "day shift"

    page = keeping.get(first.headers["location"]).text
    assert f"Kept as case <b>{line.id}</b>." in page
    assert 'action="/keep"' not in page
    page = pressed(keeping, page, answer="symptom|clamp_hot|no")
    page = pressed(keeping, page, do="undo")
    page = pressed(keeping, page, do="undo")
    page = pressed(keeping, page, answer="symptom|arc_erratic|no")
    assert keeping.post("/keep", data=kept_form(page)).status_code == 303
    stored = book.case(line.id)
    assert [event.kind for event in stored.events] == ["reported", "found", "undone", "reported"]
    assert [event.kind for event in standing(stored.events)] == ["reported", "reported"]


def test_who_keeps_against_a_case_that_moved_on_is_told(
    keeping: TestClient, book: Casebook
) -> None:
    page = begun(keeping, said="no arc")
    address = keeping.post("/keep", data=kept_form(page)).headers["location"]
    page = pressed(keeping, keeping.get(address).text, answer="symptom|arc_erratic|no")
    case_id = address.rpartition("/")[2]
    book.append(case_id, "found", {"check": "tug_each_lug", "result": "all_firm"}, expected=1)
    refused = keeping.post("/keep", data=kept_form(page))
    assert refused.status_code in (409, 412)
    assert refused.headers["content-type"].startswith("text/html")
    assert book.version(case_id) == 2


def test_the_handover_sheet_is_printed_kept_or_not(keeping: TestClient) -> None:
    page = begun(keeping, said="wire feeds, no arc", station="Bay 3")
    loose = keeping.post("/sheet", data={"log": log_in(page)})
    address = keeping.post("/keep", data=kept_form(page)).headers["location"]
    kept = keeping.get(f"{address}/sheet")
    for sheet in (loose, kept):
        assert sheet.status_code == 200
        assert "Bay 3" in sheet.text
        assert "style-src 'sha256-" in sheet.headers["content-security-policy"]


def test_a_server_that_keeps_nothing_says_so(client: TestClient) -> None:
    page = begun(client, said="no arc")
    assert "Nothing is kept on this server" in page
    assert 'action="/keep"' not in page
    assert client.post("/keep", data={"log": log_in(page)}).status_code == 404


def test_the_token_is_asked_for_once(knowledge: Knowledge) -> None:
    app = create_app(knowledge, token=TOKEN, learning=False)
    client = TestClient(app, base_url=HERE, follow_redirects=False)
    for path in ("/", "/know", "/kept/x"):
        answer = client.get(path)
        assert answer.status_code == 401
        assert answer.headers["www-authenticate"].startswith("Bearer")
        assert 'action="/token"' in answer.text
    assert client.get("/style.css").status_code == 200
    assert client.post("/token", data={"token": TOKEN + "x"}).status_code == 401
    given = client.post("/token", data={"token": TOKEN})
    assert given.status_code == 303
    cookie = given.headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=strict" in cookie
    assert TOKEN not in cookie
    assert client.get("/").status_code == 200
    assert client.get("/v1/knowledge").status_code == 401
    assert client.post("/v1/diagnoses", json={}).status_code == 401


@pytest.mark.parametrize("cookies", ["", COOKIE, f"{COOKIE}=", f"{COOKIE}={'0' * 64}", "a=b; ;=x"])
def test_no_other_cookie_opens_the_page(cookies: str) -> None:
    key = Key(TOKEN)
    assert key.header(cookies) is None
    assert key.header(f"a=b; {COOKIE}={key.cookie}") == f"Bearer {TOKEN}".encode()


def test_every_entry_can_be_read(client: TestClient, knowledge: Knowledge) -> None:
    assert client.get("/know").status_code == 200
    for kind, entries in (
        ("fault", knowledge.faults),
        ("symptom", knowledge.symptoms),
        ("check", knowledge.checks),
        ("mechanism", knowledge.mechanisms),
    ):
        for name in sorted(entries)[::7]:
            answer = client.get(f"/know/{kind}/{name}")
            assert answer.status_code == 200, name
            assert f"<h1>{html.escape(knowledge.title(name))}</h1>" in answer.text.replace(
                "&#39;", "&#x27;"
            )
    lost = client.get("/know/fault/work_clamp_of")
    assert lost.status_code == 404
    assert "work_clamp_off" in alert(lost.text)


@pytest.mark.parametrize("kind", ["fault", "symptom"])
def test_charts_stand_as_nested_lists(client: TestClient, kind: str) -> None:
    name = {"fault": "work_clamp_off", "symptom": "no_arc"}[kind]
    page = client.get(f"/know/{kind}/{name}").text
    assert page.count('<ul class="tree">') > 1
    assert re.search(r'<ul class="tree">(?:(?!</ul>).)*<ul class="tree">', page, re.S)


def test_a_filled_form_tells_the_same_case(knowledge: Knowledge) -> None:
    case = Case.model_validate(
        {
            "said": ["porosity", "arc is erratic"],
            "symptoms": [{"id": "no_arc", "seen": "no", "by": "tried_it"}],
            "started": {"change": ["hooked_up", "moved"], "pattern": "at_once"},
            "station": {
                "wire": {"class": "ER70S-6", "diameter_mm": "0.035 in", "form": "solid"},
                "gas": {"flow_l_min": "35 cfh"},
                "work": {"thickness_mm": 6, "surface": ["rust"]},
                "place": {"outdoors": False},
                "gun": {"tip_mm": 0.9},
            },
            "readings": [{"what": "flow", "value": 5, "unit": "L/min"}],
            "units": "us",
        }
    )
    assert case_from(Form(fields_of(case)), case, knowledge) == case


def test_the_same_answers_give_the_same_page(client: TestClient) -> None:
    told = {"said": "porosity", "gas": "75/25", "surface": ["rust", "oil"]}
    assert begun(client, **told) == begun(client, **told)
