"""Where the tests keep casebooks: a file, and a schema of its own on a PostgreSQL server."""

import multiprocessing
import os
import sys
import uuid
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from urllib.parse import quote

import psycopg
import pytest

SERVER = os.environ.get("WONTWELD_TEST_POSTGRESQL", "postgresql+psycopg://root@127.0.0.1:5432/test")
KINDS = ["file", "server"]


def place(kind: str, folder: Path) -> Iterator[str]:
    """Yield the address of an empty place, and clear it away afterwards."""
    if kind == "file":
        yield str(folder / "shop" / "casebook.sqlite3")
        return
    schema = f"wontweld_{uuid.uuid4().hex}"
    plain = SERVER.replace("postgresql+psycopg://", "postgresql://")
    try:
        server = psycopg.connect(plain, autocommit=True, connect_timeout=3)
    except psycopg.OperationalError as error:
        pytest.skip(f"no PostgreSQL server answers for the tests: {error}")
    with server:
        server.execute(f"CREATE SCHEMA {schema}")
        try:
            yield f"{SERVER}?options={quote(f'-csearch_path={schema}')}"
        finally:
            server.execute(f"DROP SCHEMA {schema} CASCADE")


def process_maker(patch: pytest.MonkeyPatch):
    """Return a context whose processes start at once, with the casebook imported already."""
    # Before Python 3.13 the server that forks them does not hear of our sys.path by itself.
    patch.setenv("PYTHONPATH", os.pathsep.join(entry for entry in sys.path if entry))
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["crash.writers"])
    return context


def ticking(step: timedelta = timedelta(minutes=1)):
    """Return a clock that goes on by `step` at every look."""
    now = datetime(2031, 5, 4, 9, 12, tzinfo=UTC)

    def look() -> datetime:
        nonlocal now
        now += step
        return now

    return look


def counting(name: str):
    """Return an id source that counts: name-1, name-2 ..."""
    number = 0

    def draw() -> str:
        nonlocal number
        number += 1
        return f"{name}-{number}"

    return draw
