"""Brings the tables of a casebook to the newest form, once, whoever opens it first."""

from __future__ import annotations

import sqlite3
import time
from typing import Any

from sqlalchemy import Connection, String, column, inspect, select, table, text

from api.casebook.database import Database
from api.casebook.storage_errors import translated
from api.errors import StorageCorrupt, StorageNewer

REVISIONS = ("0001", "0002", "0003")
_LOCK = 0x77_77_6C_64
_VERSION = table("casebook_version", column("version_num", String))


def bring_up_to_date(database: Database, *, to: str = REVISIONS[-1]) -> None:
    """Make the tables or migrate them to revision `to`; do nothing when they are there already.

    All or nothing, and safe when several programs open the same casebook at once.

    Raises StorageNewer when a newer program has migrated it, StorageCorrupt when the file or schema
    belongs to another program.
    """
    with database.reading() as connection:
        if _revision(connection, database) == to:
            return
    if database.is_file:
        _write_ahead(database)
    with database.writing() as connection:
        if not database.is_file:
            connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": _LOCK})
        if _revision(connection, database) != to:
            _migrate(connection, to)


def is_there(database: Database) -> bool:
    """Return whether a casebook stands here, of whatever form; nothing is made to find out.

    Raises StorageCorrupt when the file belongs to another program.
    """
    if database.file is not None and not database.file.exists():
        return False
    with database.reading() as connection:
        return _revision(connection, database) is not None


def _revision(connection: Connection, database: Database) -> str | None:
    tables = set(inspect(connection).get_table_names())
    if _VERSION.name not in tables:
        if database.is_file and tables:
            raise StorageCorrupt(
                "this file is a database of another program",
                where=database.where,
                next_step="Name another file for the casebook",
            )
        return None
    found = connection.execute(select(_VERSION.c.version_num)).scalar()
    if found is not None and found not in REVISIONS:
        raise StorageNewer(
            f"this casebook has form {found}; this program knows forms up to {REVISIONS[-1]}",
            where=database.where,
            next_step="Nothing was changed. Open it with a newer version of this program",
        )
    return found


def _migrate(connection: Connection, to: str) -> None:
    # Alembic is imported here: opening a casebook that is up to date does not pay for it.
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", "api:migrations")
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    command.upgrade(config, to)


def _write_ahead(database: Database) -> None:
    """Switch the file to write-ahead logging, so that readers never wait for a writer.

    The switch needs the file alone and does not always wait by itself, so we do.
    """
    deadline = time.monotonic() + database.wait_s
    while True:
        try:
            _set_write_ahead(database)
            return
        except sqlite3.OperationalError as error:
            busy = str(getattr(error, "sqlite_errorname", "")).startswith("SQLITE_BUSY")
            if not busy or time.monotonic() >= deadline:
                raise translated(error, database.where) from error
            time.sleep(0.02)


def _set_write_ahead(database: Database) -> None:
    raw = database.engine.raw_connection()
    try:
        driver: Any = raw.driver_connection
        driver.execute("PRAGMA journal_mode = WAL")
    finally:
        raw.close()
