"""A copy of the casebook file that is whole and consistent while others go on writing."""

from __future__ import annotations

import os
import shlex
import sqlite3
from pathlib import Path
from typing import Any

from sqlalchemy import text

from api.casebook.database import Database
from api.casebook.storage_errors import clear_errors
from api.errors import BackupRefused, StorageError


def back_up(database: Database, to: Path) -> Path:
    """Write a checked copy of the casebook file to `to` and return its path.

    The copy appears under its name only when it is whole.

    Raises BackupRefused when `to` exists, or for a server (with the command that does it there).
    """
    if database.file is None:
        raise BackupRefused(
            "a casebook on a server is backed up with the server's own tool",
            where=database.where,
            next_step=f"Run: {_dump_command(database, to)}",
        )
    target = to.expanduser().absolute()
    if target.exists():
        raise BackupRefused(
            "there is a file of that name already",
            where=str(target),
            next_step="Give another name, or move the old backup away",
        )
    partial = target.with_name(target.name + ".partial")
    try:
        partial.unlink(missing_ok=True)
        with clear_errors(str(target)):
            _copy(database, partial)
        _keep(partial, target)
    except OSError as error:
        raise BackupRefused(
            f"the backup cannot be written ({error.strerror})",
            where=str(target),
            next_step="Name another place",
        ) from None
    finally:
        _drop(partial)
    return target


def _copy(database: Database, partial: Path) -> None:
    raw = database.engine.raw_connection()
    copy = sqlite3.connect(partial)
    try:
        source: Any = raw.driver_connection
        source.backup(copy)
        # One file, with no log beside it, is what people expect of a copy.
        copy.execute("PRAGMA journal_mode = DELETE")
        verdict = copy.execute("PRAGMA quick_check(1)").fetchone()[0]
    finally:
        copy.close()
        raw.close()
    if verdict != "ok":
        raise StorageError(
            f"the copy is not sound: {verdict}",
            where=str(partial),
            next_step="Look at the disk; put an earlier backup aside before anything else",
        )


def _keep(partial: Path, target: Path) -> None:
    with partial.open("rb") as copy:
        os.fsync(copy.fileno())
    os.replace(partial, target)


def _drop(partial: Path) -> None:
    try:
        partial.unlink(missing_ok=True)
    except OSError:
        return


def _dump_command(database: Database, to: Path) -> str:
    # without the password, which the command then asks for
    url = database.engine.url.difference_update_query(["password", "sslpassword"])
    address = url._replace(drivername="postgresql", password=None).render_as_string()
    with database.engine.connect() as connection:
        schema = connection.scalar(text("SELECT current_schema()"))
    options = f"--format=custom --schema={shlex.quote(schema)} --file={shlex.quote(str(to))}"
    return f"pg_dump {options} {shlex.quote(address)}"
