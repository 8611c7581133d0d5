"""`wontweld knowledge`: list, show, lint, schema."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from api.cli.lint import warnings
from api.exit_codes import ExitCode
from knowledge.loader import load, schemas
from knowledge.models import KINDS
from tests.api.cli_runner import run


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_every_kind_is_listed(kind: str) -> None:
    entries = load().entries(kind)
    out = run("knowledge", "list", kind, "--width", "400").out
    assert [line.split(":")[0] for line in out.splitlines()] == list(entries)
    page = json.loads(run("knowledge", "list", kind, "--json").out)
    assert [row["id"] for row in page["items"]] == list(entries)
    assert (page["total"], page["next"]) == (len(entries), None)


@pytest.mark.parametrize("name", ["stop-cards", "stop_card", "Stop_Cards"])
def test_a_kind_is_known_by_any_of_its_names(name: str) -> None:
    assert run("knowledge", "list", name).out.startswith("tingle: ")


def test_faults_are_narrowed_to_an_area() -> None:
    rows = json.loads(run("knowledge", "list", "faults", "--area", "work-return", "--json").out)
    assert {row["area"] for row in rows["items"]} == {"work_return"}


@pytest.mark.parametrize(
    ("arguments", "code", "says"),
    [
        (["list", "fautls"], ExitCode.USAGE, "nearest: 'faults'"),
        (["list", "faults", "--area", "work_retrun"], ExitCode.USAGE, "nearest: 'work_return'"),
        (["list", "gases", "--area", "gas"], ExitCode.USAGE, "narrows faults and symptoms"),
        (["show", "work_clamp_of"], ExitCode.UNKNOWN_ID, "nearest: work_clamp_off"),
        (["show", "work_clamp_off", "--kind", "symptom"], ExitCode.UNKNOWN_ID, "no symptom"),
        (["show", "tingle", "--json"], ExitCode.USAGE, "say which with --kind"),
        (["show", "wind", "--station", "/no.yaml"], ExitCode.BAD_INPUT, "cannot be read"),
        (["schema", "falts"], ExitCode.USAGE, "nearest: 'faults'"),
    ],
)
def test_what_is_not_there_is_named_with_the_nearest(
    arguments: list[str], code: ExitCode, says: str
) -> None:
    ran = run("knowledge", *arguments)
    assert (ran.code, ran.out) == (code, "")
    assert says in ran.err


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_every_entry_can_be_shown(kind: str) -> None:
    for name in list(load().entries(kind))[:3]:
        ran = run("knowledge", "show", name, "--kind", kind)
        assert ran.code == ExitCode.ANSWERED
        assert load().entries(kind)[name].title.split()[0] in ran.out


def test_a_fault_says_what_one_would_see_and_what_tells_it_apart() -> None:
    out = run("knowledge", "show", "clamp_jaws_loose").out
    for heading in (
        "How it comes to be noticed",
        "What one would see if it were this",
        "What looks the same, and what tells it apart",
        "How it tends to start",
        "Remedy: ",
        "Proved by: ",
        "Sources",
    ):
        assert heading in out
    assert "(judgement)" in out


def test_a_fault_in_json_has_chances_and_separators() -> None:
    fault = json.loads(run("knowledge", "show", "clamp_jaws_loose", "--json").out)
    chances = [sign["chance"] for sign in fault["expected"]]
    assert chances == sorted(chances, reverse=True)
    assert 0.0 < chances[-1] <= chances[0] < 1.0
    assert all(one["told_apart_by"] for one in fault["looks_like"])
    assert fault["cannot_be"] is None


def test_a_station_cuts_what_cannot_be_there(tmp_path: Path) -> None:
    station = tmp_path / "station.yaml"
    station.write_text("process: FCAW-S\nwire: {class: E71T-11}\n")
    ran = run("knowledge", "show", "cylinder_empty", "--station", str(station))
    assert "Cannot be on this station" in ran.out
    assert "Cannot be on this station" not in run("knowledge", "show", "cylinder_empty").out


def test_shares_of_a_symptom_are_probabilities() -> None:
    symptom = json.loads(run("knowledge", "show", "porosity", "--json").out)
    shares = [cause["share"] for cause in symptom["causes"]]
    assert shares == sorted(shares, reverse=True)
    assert 0.0 < sum(shares) < 2.0


def test_schema_is_that_of_the_models() -> None:
    assert json.loads(run("knowledge", "schema", "fault").out) == json.loads(
        json.dumps(schemas()["faults"])
    )
    assert set(json.loads(run("knowledge", "schema").out)) == set(KINDS)


def test_our_own_knowledge_has_no_warnings() -> None:
    ran = run("knowledge", "lint")
    assert ran.code == ExitCode.ANSWERED
    assert list(warnings(load())) == []
    assert "hold together; 0 warnings." in ran.out


def test_lint_names_file_line_and_nearest(tmp_path: Path) -> None:
    (tmp_path / "mechanisms.yaml").write_text(
        "- id: hose_sings\n  title: The hose sings\n  physics: It sings.\n  leads_to:\n"
        "    - {effect: porosty, strength: 0.5, basis: judgement}\n"
    )
    ran = run("knowledge", "lint", str(tmp_path))
    assert (ran.code, ran.out) == (ExitCode.KNOWLEDGE, "")
    assert "error: mechanisms.yaml:5: effect 'porosty' is not defined" in ran.err
    assert "nearest: 'porosity'" in ran.err


def test_lint_warns_of_what_is_thin(tmp_path: Path) -> None:
    (tmp_path / "mechanisms.yaml").write_text(
        "- id: hose_sings\n  title: The hose sings\n  physics: It sings.\n  leads_to:\n"
        "    - {effect: sings, strength: 0.5, basis: judgement}\n"
    )
    (tmp_path / "symptoms.yaml").write_text(
        "- id: sings\n  title: It sings\n  group: gas\n  question: Does it sing?\n"
        "  phrases: [it sings]\n  leak: {chance: 0.01, basis: judgement}\n"
    )
    (tmp_path / "faults.yaml").write_text(
        "- id: reed_in_hose\n  title: A reed stands in the hose\n  area: gas\n  place: hose\n"
        "  about: A reed sings in the stream.\n"
        "  prevalence: {per_thousand: 0.1, basis: judgement}\n"
        "  leads_to: [{effect: sings, strength: 0.9, basis: judgement}]\n"
        "  starts: {basis: judgement}\n"
        "  remedy: {who: operator, minutes: 3, basis: judgement, steps: [Pull it out.],"
        " proved_by: proof_weld}\n"
    )
    ran = run("knowledge", "lint", str(tmp_path))
    assert ran.code == ExitCode.ANSWERED
    assert "fault 'reed_in_hose': no check looks for it" in ran.out
    assert "symptom 'sings': only 1 of the faults bring it about" in ran.out
    assert "mechanism 'hose_sings': nothing leads to it" in ran.out
