"""From the first form of the tables to the newest, with what was kept in them."""

import hashlib
import json
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import inspect, select, text

import api.migrations
from api.casebook import Casebook
from api.casebook.database import Database, make_folder
from api.casebook.place import address
from api.casebook.schema import REVISIONS, bring_up_to_date
from api.casebook.tables import cases, metadata
from api.errors import StorageError, StorageNewer
from diagnose.case import Case

FROZEN = {"v0001_first.py": "641cff3b1cfbf8ced73d11238760b2e9d1307ea5d1b04df42e6d0ffd7e6f3c4a"}
VERSIONS = Path(api.migrations.__file__).parent / "versions"


def at_revision(where, revision):
    database = Database(address(where), 5.0)
    if database.file:
        make_folder(database.file)
    bring_up_to_date(database, to=revision)
    return database


def fill_first_form(database):
    """Write rows as the first form had them: nothing of the program in between."""
    moments = ["2030-01-02 03:04:05.000006", "2030-01-02 03:10:00.000000"]
    zone = "" if database.is_file else "+00:00"
    said = {"said": ["no arc"], "station": {"name": "Bay 3"}}
    with database.writing() as connection:
        connection.execute(
            text(
                "INSERT INTO stations (id, name, name_key, plate, created_at, updated_at, version)"
                " VALUES ('s-1', 'Bay 3', 'bay 3', :plate, :at, :at, 1)"
            ),
            {"plate": '{"name":"Bay 3"}', "at": moments[0] + zone},
        )
        connection.execute(
            text(
                "INSERT INTO cases (id, station_id, state, opened_at, last_seq, complaint)"
                " VALUES ('c-1', 's-1', 'open', :at, 2, 'no arc')"
            ),
            {"at": moments[0] + zone},
        )
        entries = [(1, "reported", said), (2, "found", {"check": "a", "result": "b"})]
        for (seq, kind, body), moment in zip(entries, moments, strict=True):
            connection.execute(
                text(
                    "INSERT INTO events (case_id, seq, event_id, kind, at, who, body)"
                    " VALUES ('c-1', :seq, :key, :kind, :at, 'Kim', :body)"
                ),
                {
                    "seq": seq,
                    "key": f"k{seq}",
                    "kind": kind,
                    "at": moment + zone,
                    "body": json.dumps(body, sort_keys=True, separators=(",", ":")),
                },
            )


def test_a_casebook_of_the_first_form_is_brought_up_with_all_it_holds(where):
    database = at_revision(where, "0001")
    fill_first_form(database)
    database.close()
    with Casebook.open(where) as book:
        line = book.cases(station="bay 3").items[0]
        assert (line.id, line.complaint, line.version) == ("c-1", "no arc", 2)
        assert line.opened_at.isoformat() == "2030-01-02T03:04:05.000006+00:00"
        assert line.changed_at.isoformat() == "2030-01-02T03:10:00+00:00"
        stored = book.case("c-1")
        assert stored.case.said == ["no arc"]
        assert stored.case.findings[0].result == "b"
        assert stored.summary.changed_at == line.changed_at
        assert book.append("c-1", "found", {"check": "a", "result": "c"}, expected=2).seq == 3


def test_what_old_cases_came_to_is_taken_from_their_entries(where):
    with Casebook.open(where) as book:
        kept = [close_a_case(book, proved) for proved in (True, False)]
        book.append(kept[1], "undone", {"seq": 4}, expected=4)
        book.append(kept[1], "handed_over", {"to": "service"}, expected=5)
        wanted = outcomes(where)
    database = Database(address(where), 5.0)
    with database.writing() as connection:
        connection.execute(text("DROP INDEX cases_by_cause"))
        for column in ("cause", "proved", "handed_to", "minutes"):
            connection.execute(text(f"ALTER TABLE cases DROP COLUMN {column}"))
        connection.execute(text("UPDATE casebook_version SET version_num = '0002'"))
    database.close()
    Casebook.open(where).close()
    assert outcomes(where) == wanted
    assert wanted[kept[0]] == ("tip_worn wind", True, None, 7.5)
    assert wanted[kept[1]] == (None, False, "service", 7.5)


def close_a_case(book, proved):
    case_id = book.open_case(Case(said=["no arc"])).id
    book.append(case_id, "found", {"check": "a", "result": "b", "minutes": 7.5}, expected=1)
    book.append(case_id, "proved", {"check": "p", "good": proved}, expected=2)
    ended = {"outcome": "cured", "faults": ["wind", "tip_worn"]}
    book.append(case_id, "closed", ended, expected=3)
    return case_id


def outcomes(where):
    database = Database(address(where), 5.0)
    with database.reading() as connection:
        rows = connection.execute(select(cases)).all()
    database.close()
    return {row.id: (row.cause, row.proved, row.handed_to, row.minutes) for row in rows}


def test_the_tables_in_the_program_are_those_the_migrations_make(where):
    database = at_revision(where, REVISIONS[-1])
    with database.reading() as connection:
        context = MigrationContext.configure(
            connection, opts={"version_table": "casebook_version", "compare_type": True}
        )
        differences = compare_metadata(context, metadata)
    database.close()
    assert differences == []


def test_the_revisions_of_the_program_are_those_in_the_folder():
    config = Config()
    config.set_main_option("script_location", "api:migrations")
    config.set_main_option("path_separator", "os")
    scripts = ScriptDirectory.from_config(config).walk_revisions()
    assert tuple(reversed([script.revision for script in scripts])) == REVISIONS


@pytest.mark.parametrize("name", FROZEN)
def test_a_released_migration_is_frozen(name):
    found = hashlib.sha256((VERSIONS / name).read_bytes()).hexdigest()
    assert found == FROZEN[name], "write a new migration; casebooks were made by this one"


def test_a_casebook_of_a_newer_program_is_left_alone(where):
    database = at_revision(where, REVISIONS[-1])
    with database.writing() as connection:
        connection.execute(text("UPDATE casebook_version SET version_num = '9999'"))
    with pytest.raises(StorageNewer, match="form 9999"):
        Casebook.open(where)
    with database.reading() as connection:
        assert connection.execute(text("SELECT version_num FROM casebook_version")).scalar() == (
            "9999"
        )
    database.close()


def test_a_migration_that_breaks_off_leaves_the_old_form(where):
    database = at_revision(where, "0001")
    fill_first_form(database)
    with database.writing() as connection:
        # A column of that name makes the second migration fail after its first steps.
        connection.execute(text("ALTER TABLE cases ADD COLUMN changed_at TEXT"))
    with pytest.raises(StorageError, match="changed_at"):
        Casebook.open(where)
    with database.reading() as connection:
        assert "key" not in {column["name"] for column in inspect(connection).get_columns("cases")}
        assert connection.execute(text("SELECT version_num FROM casebook_version")).scalar() == (
            "0001"
        )
        assert connection.execute(text("SELECT count(*) FROM events")).scalar() == 2
    database.close()


def test_opening_an_up_to_date_file_does_not_import_the_migration_tool(tmp_path):
    where = tmp_path / "book.sqlite3"
    Casebook.open(where).close()
    program = (
        "import sys; from api.casebook import Casebook; "
        f"Casebook.open({str(where)!r}).close(); print('alembic' in sys.modules)"
    )
    root = Path(api.migrations.__file__).parents[2]
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=root, capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "False"


def test_the_first_form_is_written_ahead_with_keys_held(tmp_path):
    where = tmp_path / "book.sqlite3"
    Casebook.open(where).close()
    with sqlite3.connect(where) as plain:
        assert plain.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    plain.close()
