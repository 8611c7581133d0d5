"""`wontweld serve`: a real server on a real port, and what it refuses to do."""

from __future__ import annotations

import http.client
import json
import os
import re
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from cli_runner import run_apart

from api.cli.serve import AddressRefused, TokenNeeded, check_token, listening
from api.http.examples import CASES
from api.http.limits import LARGEST_BODY
from api.json_text import to_json
from diagnose.answer import diagnose
from diagnose.case import Case
from knowledge.loader import Knowledge

PROGRAM = "import typer; from api.cli.serve import serve; typer.run(serve)"
TOKEN = "a-token-for-tests-only"  # noqa: S105


@contextmanager
def running(*options: str, token: str | None = None) -> Iterator[tuple[subprocess.Popen[str], int]]:
    """Start the server on a free port; give the process and the port; stop it at the end."""
    environment = {k: v for k, v in os.environ.items() if not k.startswith("WONTWELD_")}
    if token:
        environment["WONTWELD_TOKEN"] = token
    if "--casebook" not in options:
        options = (*options, "--no-keep")
    process = subprocess.Popen(
        [sys.executable, "-c", PROGRAM, "--port", "0", *options],
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        assert process.stderr
        said = process.stderr.readline()
        found = re.search(r"http://\S+:(\d+) ", said)
        assert found, said + process.stderr.read()
        yield process, int(found[1])
    finally:
        process.kill()
        process.communicate()


def ask(
    port: int, method: str, path: str, body: bytes | None = None, **headers: str
) -> tuple[int, str]:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    connection.request(method, path, body, named)
    answer = connection.getresponse()
    text = answer.read().decode()
    connection.close()
    return answer.status, text


def test_a_real_server_answers_and_stops_when_told(knowledge: Knowledge) -> None:
    case = CASES["just_hooked_up"][1]
    with running() as (process, port):
        assert ask(port, "GET", "/readyz")[0] == 200
        body = json.dumps(case).encode()
        status, text = ask(port, "POST", "/v1/diagnoses", body, Content_Type="application/json")
        assert status == 200
        assert text == to_json(diagnose(Case.model_validate(case), knowledge))
        assert ask(port, "GET", "/healthz", Host="evil.example")[0] == 421
        chunked = iter([b" " * 65536] * 5)
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
        connection.request(
            "POST",
            "/v1/diagnoses",
            chunked,
            {"Content-Type": "application/json"},
            encode_chunked=True,
        )
        assert LARGEST_BODY < 5 * 65536
        assert connection.getresponse().status == 413
        connection.close()
        process.send_signal(signal.SIGINT)
        out, err = process.communicate(timeout=30)
        assert process.returncode == 0
        assert out == ""
        assert "Traceback" not in err
        assert err.strip() == "stopped"


def test_a_request_under_way_is_finished_before_it_stops() -> None:
    case = {"said": ["wire feeds no arc, it pops and spits like bacon, the clamp is hot"] * 40}
    body = json.dumps(case).encode()
    with running() as (process, port):
        assert ask(port, "GET", "/readyz")[0] == 200
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
        connection.request(
            "POST",
            "/v1/diagnoses",
            body[:-1],
            {
                "Content-Type": "application/json",
                "Content-Length": str(len(body)),
            },
        )
        assert ask(port, "GET", "/healthz")[0] == 200
        process.send_signal(signal.SIGTERM)
        connection.send(body[-1:])
        answer = connection.getresponse()
        assert answer.status == 200
        assert json.loads(answer.read())["faults"]
        connection.close()
        process.communicate(timeout=30)


def test_every_address_needs_a_token() -> None:
    with running("--host", "0.0.0.0", token=TOKEN) as (process, port):  # noqa: S104
        assert ask(port, "GET", "/healthz", Host="bay3.example")[0] == 200
        assert ask(port, "GET", "/version")[0] == 401
        assert ask(port, "GET", "/version", Authorization=f"Bearer {TOKEN}")[0] == 200
        process.send_signal(signal.SIGINT)
        assert TOKEN not in process.communicate(timeout=30)[1]


def test_without_a_token_it_stays_on_this_machine() -> None:
    with pytest.raises(TokenNeeded, match="other machines") as refusal:
        check_token(None, needed=True)
    assert "WONTWELD_TOKEN" in refusal.value.next_step
    check_token(None, needed=False)
    check_token(TOKEN, needed=True)


@pytest.mark.parametrize(
    "token", ["", "short", "x" * 15, "x" * 20 + " y", "ä" * 20, "x" * 20 + "\n"]
)
@pytest.mark.parametrize("needed", [True, False])
def test_a_token_that_is_easily_guessed_is_refused(token: str, needed: bool) -> None:
    with pytest.raises(TokenNeeded, match="at least 16"):
        check_token(token, needed=needed)


def test_a_port_that_is_taken_is_said() -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        with pytest.raises(AddressRefused, match="cannot listen here") as refusal:
            listening("127.0.0.1", port)
        assert refusal.value.where == f"127.0.0.1:{port}"


def test_an_address_there_is_not_is_said() -> None:
    for host in ("no.such.host.invalid", "203.0.113.7", "not an address"):
        with pytest.raises(AddressRefused):
            listening(host, 0)


def test_what_one_server_kept_the_next_one_has(tmp_path: Path) -> None:
    place = tmp_path / "shop" / "book.sqlite3"
    with running("--casebook", str(place)) as (process, port):
        body = json.dumps({"case": {"said": ["wire feeds, no arc"]}}).encode()
        status, text = ask(port, "POST", "/v1/cases", body, Content_Type="application/json")
        assert status == 201
        process.send_signal(signal.SIGTERM)
        assert process.wait(20) in (
            0,
            -signal.SIGTERM,
        )  # it ends itself with the signal it was sent
    with running("--casebook", str(place)) as (_, port):
        assert json.loads(ask(port, "GET", "/readyz")[1])["parts"] == ["rules", "casebook"]
        kept = json.loads(ask(port, "GET", f"/v1/cases/{json.loads(text)['id']}")[1])
        assert kept["case"]["said"] == ["wire feeds, no arc"]


def test_a_server_told_to_keep_nothing_keeps_nothing() -> None:
    with running("--no-keep") as (_, port):
        assert ask(port, "GET", "/v1/cases")[0] == 404


def test_a_casebook_that_cannot_be_opened_keeps_it_from_starting(tmp_path: Path) -> None:
    place = tmp_path / "list.txt"
    place.write_text("a shopping list " * 500)
    ran = run_apart("serve", "--port", "0", "--casebook", str(place))
    assert ran.returncode == 7
    assert b"this file is no casebook" in ran.stderr
    both = run_apart("serve", "--casebook", str(place), "--no-keep")
    assert both.returncode == 2
