"""The commands over the casebook: cases, station, handover, fleet, and the switch of learning."""

import csv
import io
import json
import os
import re
import sqlite3
import stat

import pytest
from cli_runner import Ran, run_apart
from cli_runner import run as run_anywhere

from api.casebook import Casebook
from api.cli.show.table import put_table
from diagnose.case import Case

HOSTILE = "=HYPERLINK(1)"


@pytest.fixture(autouse=True)
def file(tmp_path, monkeypatch):
    """Every test has a casebook place of its own, with nothing there yet."""
    place = tmp_path / "shop" / "book.sqlite3"
    monkeypatch.setenv("WONTWELD_CASEBOOK", str(place))
    for name in ("VISUAL", "EDITOR", "WONTWELD_LEARNING", "COLUMNS"):
        monkeypatch.delenv(name, raising=False)
    return place


def place():
    return {"WONTWELD_CASEBOOK": os.environ["WONTWELD_CASEBOOK"]}


def run(*arguments: str, **more) -> Ran:
    """Run the command over the casebook of this test."""
    return run_anywhere(*arguments, env=place(), **more)


def keep(book, said="wire feeds, no arc", station=None, entries=()):
    case_id = book.open_case(Case(said=[said]), station=station, who="Kim").id
    for seq, (kind, body) in enumerate(entries, start=1):
        book.append(case_id, kind, body, expected=seq, who="Kim")
    return case_id


CURED = [
    ("found", {"check": "tug_each_lug", "result": "all_firm", "minutes": 2}),
    ("proved", {"check": "proof_weld", "good": True}),
    ("closed", {"outcome": "cured", "faults": ["wind"]}),
]
HANDED = [("handed_over", {"to": "service", "note": "no volts at the studs"})]


@pytest.fixture
def shop(file):
    """A shop of two stations: three cases on one, one on the other, one nowhere."""
    assert run("station", "add", "Bay 3", "--set", "process=GMAW").code == 0
    assert run("station", "add", HOSTILE, "--set", "process=GMAW").code == 0
    with Casebook.open(file) as book:
        return {
            "cured": keep(book, station="Bay 3", entries=CURED),
            "again": keep(book, station="Bay 3", entries=CURED),
            "open": keep(book, "porosity", station="Bay 3"),
            "handed": keep(book, "=1+1", station=HOSTILE, entries=HANDED),
            "loose": keep(book, "wire stubs"),
        }


# cases


@pytest.mark.parametrize("command", [("cases", "list"), ("station", "list"), ("fleet",)])
def test_without_a_casebook_there_is_nothing_to_list_and_none_is_made(command, file):
    ran = run(*command)
    assert ran.code == 0
    assert "there is no casebook yet" in ran.err
    assert not file.parent.exists()


@pytest.mark.parametrize(
    "command",
    [
        ("cases", "show", "x"),
        ("cases", "export"),
        ("cases", "forget", "x", "--yes"),
        ("cases", "backup", "copy.sqlite3"),
        ("station", "show", "x"),
        ("station", "edit", "x", "--set", "process=GMAW"),
        ("handover", "x"),
    ],
)
def test_without_a_casebook_what_is_named_is_not_found_and_none_is_made(command, file):
    ran = run(*command)
    assert (ran.code, ran.out) == (5, "")
    assert "there is no casebook yet" in ran.err
    assert not file.parent.exists()


def test_cases_are_listed_newest_first_and_narrowed(shop):
    ids = re.findall(r"^[a-z]{5}-[a-z]{5}", run("cases", "list").out, re.M)
    assert ids == [shop[name] for name in ("loose", "handed", "open", "again", "cured")]
    assert shop["cured"] in run("cases", "list", "--state", "closed").out
    assert shop["open"] not in run("cases", "list", "--state", "closed").out
    assert run("cases", "list", "--station", "bay 3").out.count("Bay 3") == 3
    assert run("cases", "list", "--since", "2999-01-01").err == "no case fits\n"


def test_pages_of_cases_go_on_by_the_mark(shop):
    first = run("cases", "list", "--limit", "3")
    mark = re.search(r"--cursor (\S+)", first.err)[1]
    second = run("cases", "list", "--limit", "3", "--cursor", mark)
    assert (first.out.count("\n"), second.out.count("\n")) == (4, 3)
    assert "--cursor" not in second.err
    assert run("cases", "list", "--cursor", "junk").code == 4


def test_cases_as_json_say_all_that_the_list_says(shop):
    found = json.loads(run("cases", "list", "--json", "--limit", "1").out)
    assert found["items"][0]["id"] == shop["loose"]
    assert found["next"]


def test_a_case_is_shown_with_every_entry(shop):
    out = " ".join(run("cases", "show", shop["cured"]).out.split())
    for words in ("closed", "“wire feeds, no arc”", "Every lug and splice is firm.", "Kim:"):
        assert words in out
    assert "closed, cured: Wind" in out
    told = json.loads(run("cases", "show", shop["cured"], "--json").out)
    assert (told["faults"], told["proved"], told["minutes"]) == (["wind"], True, 2.0)
    assert told["events"][0]["kind"] == "reported"


def test_an_unknown_case_is_named_with_what_to_do(shop):
    ran = run("cases", "show", "nobody-knows")
    assert ran.code == 5
    assert "List the cases" in ran.err


def test_what_was_taken_back_is_marked(file):
    with Casebook.open(file) as book:
        case_id = keep(book, entries=[CURED[0], ("undone", {"seq": 2})])
    out = run("cases", "show", case_id).out
    assert "(taken back)" in out
    assert "takes entry 2 back" in out


def test_export_and_import_give_the_same_shop(shop, tmp_path, monkeypatch):
    exported = run("cases", "export")
    assert exported.out.count("\n") == int(re.match(r"(\d+) lines", exported.err)[1])
    out = tmp_path / "shop.jsonl"
    assert run("cases", "export", "--out", str(out)).code == 0
    assert out.read_text(encoding="utf-8") == exported.out
    monkeypatch.setenv("WONTWELD_CASEBOOK", str(tmp_path / "other.sqlite3"))
    assert "2 stations, 5 cases" in run("cases", "import", str(out)).err
    assert run("cases", "export").out == exported.out
    again = run("cases", "import", "-", stdin=exported.out.encode())
    assert "0 stations, 0 cases and 0 entries are new; 5 cases were here already" in again.err


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"not json\n", "line 1"),
        (b'{"wontweld_casebook": 1}\n{"case": {}}\n', "line 2"),
        (b"\xff\xfe\n", "is not UTF-8 text"),
    ],
)
def test_an_import_that_cannot_be_taken_says_where(content, says, tmp_path):
    bad = tmp_path / "bad.jsonl"
    bad.write_bytes(content)
    ran = run("cases", "import", str(bad))
    assert ran.code == 4
    assert says in ran.err


def test_an_import_of_a_file_that_is_not_there_makes_no_casebook(file):
    assert run("cases", "import", "nowhere.jsonl").code == 4
    assert not file.parent.exists()


def test_forgetting_asks_first_and_cannot_be_undone(shop):
    asked = run("cases", "forget", shop["open"])
    assert asked.code == 2
    assert "add --yes" in asked.err
    gone = run("cases", "forget", shop["open"], "--yes")
    assert gone.code == 0
    assert "1 entries (1 reported)" in gone.err
    assert run("cases", "show", shop["open"]).code == 5


def test_a_backup_is_a_casebook(shop, tmp_path):
    copy = tmp_path / "copy.sqlite3"
    assert run("cases", "backup", str(copy)).code == 0
    with sqlite3.connect(copy) as plain:
        assert plain.execute("SELECT count(*) FROM cases").fetchone() == (5,)
    plain.close()
    assert run("cases", "backup", str(copy)).code == 7


# station


def test_a_station_goes_round_through_yaml(shop, tmp_path):
    plate = tmp_path / "plate.yaml"
    plate.write_text("process: FCAW-S\nwire: {class: E71T-11, diameter_mm: 0.045 in}\n")
    assert run("station", "add", "Bay 9", "--from", str(plate)).code == 0
    text = run("station", "show", "Bay 9", "--yaml").out
    assert "diameter_mm: 1.143" in text
    plate.write_text(text)
    assert "version 2" in run("station", "edit", "bay 9", "--from", str(plate)).err
    told = json.loads(run("station", "show", "Bay 9", "--json").out)
    assert (told["name"], told["version"]) == ("Bay 9", 2)
    assert told["plate"]["wire"]["class"] == "E71T-11"


def test_one_thing_is_set_and_taken_away(shop):
    assert run("station", "edit", "Bay 3", "--set", "gun.tip_mm=0.035 in").code == 0
    assert "tip 0.889 mm" in run("station", "show", "Bay 3").out
    assert "tip 0.035 in" in run("station", "show", "Bay 3", "--units", "us").out
    assert run("station", "edit", "Bay 3", "--set", "gun.tip_mm=").code == 0
    assert "tip" not in run("station", "show", "Bay 3").out
    ran = run("station", "edit", "Bay 3", "--set", "gun.tip_mm=")
    assert ran.code == 4
    assert "nothing at 'gun.tip_mm'" in ran.err


def test_a_stale_version_is_refused_and_what_was_given_is_kept(shop):
    assert run("station", "edit", "Bay 3", "--set", "gun.tip_mm=1.0").code == 0
    ran = run("station", "edit", "Bay 3", "--set", "gun.tip_mm=1.2", "--version", "1")
    assert ran.code == 8
    assert "you know version 1, but version 2 stands" in ran.err
    kept = re.search(r"--from (\S+)", ran.err)[1]
    assert run("station", "edit", "Bay 3", "--from", kept, "--version", "2").code == 0
    assert "tip 1.2 mm" in run("station", "show", "Bay 3").out


def test_a_name_that_is_taken_is_refused(shop):
    ran = run("station", "add", "bay  3", "--set", "process=GMAW")
    assert ran.code == 8
    assert "there is a station 'Bay 3' already" in ran.err


def test_an_unknown_station_names_the_nearest(shop):
    assert "Nearest: 'Bay 3'" in run("station", "show", "Bay 33").err


def test_a_field_that_is_not_there_names_the_nearest_and_the_line(shop, tmp_path):
    assert "nearest: 'tip_mm'" in run("station", "edit", "Bay 3", "--set", "gun.tipp_mm=1").err
    plate = tmp_path / "plate.yaml"
    plate.write_text("process: GMAW\ngunn: {}\n")
    assert "plate.yaml:2" in run("station", "edit", "Bay 3", "--from", str(plate)).err


def editor(folder, script):
    file = folder / "editor.sh"
    file.write_text(f"#!/bin/sh\n{script}\n")
    file.chmod(file.stat().st_mode | stat.S_IXUSR)
    return str(file)


def test_the_plate_opens_in_the_editor(shop, tmp_path, monkeypatch):
    monkeypatch.setenv("EDITOR", editor(tmp_path, 'echo "gas: {name: M21}" >> "$1"'))
    assert run("station", "edit", "Bay 3").code == 0
    out = run("station", "show", "Bay 3").out
    assert "GMAW" in out
    assert "M21" in out


def test_what_was_edited_wrongly_is_kept(shop, tmp_path, monkeypatch):
    monkeypatch.setenv("EDITOR", editor(tmp_path, 'echo "gass: {name: M21}" >> "$1"'))
    ran = run("station", "edit", "Bay 3")
    assert ran.code == 4
    assert "nearest: 'gas'" in ran.err
    with open(re.search(r"--from (\S+)", ran.err)[1], encoding="utf-8") as kept:
        assert "gass" in kept.read()
    assert "version 1" in run("station", "show", "Bay 3").out


def test_an_editor_that_fails_changes_nothing(shop, monkeypatch):
    monkeypatch.setenv("EDITOR", "false")
    ran = run("station", "edit", "Bay 3")
    assert ran.code == 4
    assert "nothing was changed" in ran.err
    monkeypatch.setenv("EDITOR", "no-such-editor-anywhere")
    assert "cannot be started" in run("station", "edit", "Bay 3").err


def test_without_a_terminal_or_an_editor_an_option_is_asked_for(shop):
    ran = run("station", "edit", "Bay 3")
    assert ran.code == 2
    assert "--set" in ran.err


# handover


def test_the_sheet_in_three_forms(shop, tmp_path):
    markdown = run("handover", shop["handed"])
    assert (markdown.code, run("handover", shop["handed"], "--markdown")) == (0, markdown)
    assert markdown.out.startswith(r"# Handover: \=HYPERLINK(1)")
    assert "no volts at the studs" in markdown.out
    told = json.loads(run("handover", shop["handed"], "--json").out)
    assert (told["case_id"], told["state"]) == (shop["handed"], "handed_over")
    page = tmp_path / "sheet.html"
    ran = run("handover", shop["handed"], "--html", "--out", str(page))
    assert (ran.code, ran.out) == (0, "")
    assert page.read_text(encoding="utf-8") == run("handover", shop["handed"], "--html").out


def test_a_sheet_of_a_file_needs_no_casebook(tmp_path, file):
    case = tmp_path / "case.yaml"
    case.write_text('said: ["porosity"]\nstation: {name: Bay 9}\n')
    ran = run("handover", "--case", str(case))
    assert ran.code == 0
    assert "# Handover: Bay 9" in ran.out
    assert not file.parent.exists()


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        (("handover",), 2),
        (("handover", "x", "--case", "y"), 2),
        (("handover", "x", "--html", "--json"), 2),
        (("handover", "--case", "nowhere.yaml"), 4),
        (("fleet", "--csv", "--json"), 2),
        (("fleet", "--since", "soon"), 4),
        (("cases", "list", "--state", "asleep"), 2),
        (("station", "show", "x", "--yaml", "--json"), 2),
    ],
)
def test_what_cannot_be_done_says_so(arguments, code):
    ran = run(*arguments)
    assert (ran.code, ran.out) == (code, "")
    assert ran.err.startswith("error:")


def test_a_sheet_that_cannot_be_written_says_so(shop, tmp_path):
    ran = run("handover", shop["open"], "--out", str(tmp_path / "no" / "such" / "folder"))
    assert ran.code == 4
    assert "cannot be written" in ran.err


# fleet


def test_the_fleet_counts_repeats_and_what_came_back(shop):
    report = json.loads(run("fleet", "--json").out)
    assert (report["cases"], report["repeats"], report["minutes"]) == (5, 2, 4.0)
    bay = report["stations"][0]
    assert (bay["station"], bay["cases"], bay["repeats"]) == ("Bay 3", 3, 2)
    row = report["faults"][0]
    assert (row["station"], row["fault"], row["cases"], row["came_back"]) == ("Bay 3", "wind", 2, 1)
    assert [one["case_id"] for one in report["handed_over"]] == [shop["handed"]]


def test_the_fleet_as_text_has_a_bar_and_an_ascii_one(shop):
    out = run("fleet").out
    assert "█" in out
    assert "Bay 3" in out
    plain = run("fleet", encoding="ascii").out
    assert re.search(r"^#+ 2 Wind", plain, re.M)
    assert plain.isascii()


def test_the_fleet_as_csv_runs_no_formula(shop):
    rows = list(csv.DictReader(io.StringIO(run("fleet", "--csv").out, newline="")))
    assert rows[0]["station"] == "Bay 3"
    assert rows[0]["minutes"] == "4.0"
    assert {row["station"] for row in rows} == {"Bay 3", f"'{HOSTILE}", "(no station)"}
    for row in rows:
        for cell in row.values():
            assert not cell.startswith(("=", "+", "@"))


@pytest.mark.parametrize("width", [40, 60, 80, 120])
@pytest.mark.parametrize("command", [("fleet",), ("cases", "list"), ("station", "list")])
def test_no_line_is_wider_than_the_page(shop, command, width):
    for line in run(*command, "--width", str(width)).out.splitlines():
        assert len(line) <= width


def test_a_case_shown_at_forty_columns(shop):
    out = run("cases", "show", shop["handed"], "--width", "40").out
    assert max(len(line) for line in out.splitlines()) <= 40


# learning


def test_closed_cases_shift_what_why_says_and_the_switch_stops_it(file, monkeypatch):
    told = ("why", "wire feeds, no arc", "--json")
    shipped = json.loads(run(*told).out)
    with Casebook.open(file) as book:
        for _ in range(30):
            keep(
                book,
                entries=[*CURED[:2], ("closed", {"outcome": "cured", "faults": ["work_lead_off"]})],
            )
    learned = json.loads(run(*told).out)
    assert learned["knowledge"]["learned"]
    shift = {f["id"]: f["probability"] for f in learned["faults"]}
    before = {f["id"]: f["probability"] for f in shipped["faults"]}
    assert shift["work_lead_off"] > 2 * before["work_lead_off"]
    assert json.loads(run(*told, "--no-learning").out) == shipped
    monkeypatch.setenv("WONTWELD_LEARNING", "off")
    assert json.loads(run(*told).out) == shipped


def test_both_figures_are_shown_beside_each_other(file):
    with Casebook.open(file) as book:
        for _ in range(30):
            keep(book, entries=CURED)
    out = " ".join(run("why", "porosity", "--process", "GMAW").out.split())
    shown = re.search(
        r"How common: ([\d.]+) of 1,000 by your closed cases, ([\d.]+) as shipped", out
    )
    assert float(shown[1]) > float(shown[2])
    assert "How common" not in run("why", "porosity", "--no-learning").out


def test_a_casebook_that_cannot_be_read_keeps_nobody_from_an_answer(file):
    file.parent.mkdir()
    file.write_bytes(b"a shopping list " * 500)
    ran = run("why", "wire feeds, no arc")
    assert ran.code == 0
    assert "note: the shop's own figures are left out" in ran.err


def test_a_casebook_costs_why_next_to_nothing(file):
    """Reading the count must not bring the database library in."""
    with Casebook.open(file) as book:
        keep(book, entries=CURED)
    program = (
        "import sys; from api.cli import main; main(['why', 'porosity', '--short']);"
        "print('sqlalchemy' in sys.modules)"
    )
    import subprocess
    import sys as system

    done = subprocess.run(
        [system.executable, "-c", program],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "PYTHONPATH": os.getcwd()},
    )
    assert done.stdout.splitlines()[-1] == "False"


# tables


def test_a_table_that_is_too_wide_stands_under_itself():
    from api.cli.show.page import Page

    rows = [("x" * 30, "y" * 30, "a few words")]
    wide, narrow = Page(120), Page(40)
    put_table(wide, ("one", "two", "three"), rows)
    put_table(narrow, ("one", "two", "three"), rows)
    assert wide.plain().splitlines()[0].split() == ["one", "two", "three"]
    assert narrow.plain().splitlines()[1].startswith("  two:")


def test_an_export_in_a_process_of_its_own_is_utf_8_whatever_the_locale(file):
    with Casebook.open(file) as book:
        keep(book, "kein Lichtbogen für 溶接")
    done = run_apart("cases", "export", env=place() | {"PYTHONIOENCODING": "ascii", "LC_ALL": "C"})
    assert done.returncode == 0
    assert "kein Lichtbogen für 溶接" in done.stdout.decode("utf-8")
