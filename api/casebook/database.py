"""The connection to the database: how it is set up, and the two kinds of transaction."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import URL

from api.casebook.place import shown
from api.casebook.storage_errors import clear_errors
from api.errors import BadAddress, StorageReadOnly

_WRITING = "casebook_writing"


class Database:
    """An SQLite file or a PostgreSQL server, and transactions on it.

    Parameters
    ----------
    url : address of the database
    wait_s : how long to wait for another program's lock, seconds
    """

    def __init__(self, url: URL, wait_s: float) -> None:
        self.where = shown(url)
        self.is_file = url.get_backend_name() == "sqlite"
        self.wait_s = wait_s
        self.file = Path(str(url.database)) if self.is_file else None
        self.engine = _file_engine(url, wait_s) if self.is_file else _server_engine(url, wait_s)

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A transaction that sees one moment of the casebook, however much is written meanwhile."""
        options: dict[str, Any] = {} if self.is_file else {"isolation_level": "REPEATABLE READ"}
        with clear_errors(self.where), self.engine.connect() as plain:
            connection = plain.execution_options(**options)
            with connection.begin():
                yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """A transaction that is on the disk when the block is left, or leaves no trace.

        IntegrityError passes when another writer was first.
        """
        with clear_errors(self.where), self.engine.connect() as plain:
            connection = plain.execution_options(**{_WRITING: True})
            with connection.begin():
                yield connection

    def clear_traces(self) -> str:
        """Write deleted pages out of the log beside the file, and say where traces can still be.

        Source: sqlite.org/pragma.html, secure_delete and wal_checkpoint (from memory).
        """
        copies = "Exports and backups made before still hold it"
        if not self.is_file:
            return f"{copies}, and the server keeps the rows until it vacuums its tables"
        with clear_errors(self.where), self.engine.connect() as connection:
            raw: Any = connection.connection.driver_connection
            busy = raw.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0]
        return f"{copies}, and the -wal file until no other program reads it" if busy else copies

    def close(self) -> None:
        """Let go of every connection."""
        self.engine.dispose()


def make_folder(file: Path) -> None:
    """Make the folder of `file`, for this user only. Raises StorageReadOnly when that fails."""
    try:
        os.makedirs(file.parent, mode=0o700, exist_ok=True)
    except OSError as error:
        raise StorageReadOnly(
            f"the folder {file.parent} cannot be made ({error.strerror})",
            where=str(file),
            next_step="Name another place for the casebook, or ask for the right to write there",
        ) from None


def _file_engine(url: URL, wait_s: float) -> Engine:
    engine = create_engine(url, connect_args={"timeout": wait_s}, hide_parameters=True)

    @event.listens_for(engine, "connect")
    def set_up(connection: Any, _record: object) -> None:
        # Transactions are begun by hand below: the driver's own way begins them too late.
        connection.isolation_level = None
        connection.execute("PRAGMA foreign_keys = ON")
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute("PRAGMA secure_delete = ON")

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        writing = connection.get_execution_options().get(_WRITING, False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")

    return engine


def _server_engine(url: URL, wait_s: float) -> Engine:
    try:
        engine = create_engine(
            url, connect_args={"connect_timeout": 10}, hide_parameters=True, pool_pre_ping=True
        )
    except ModuleNotFoundError:
        raise BadAddress(
            "the driver for PostgreSQL is not installed",
            where=shown(url),
            next_step="Install it with: pip install 'wontweld[postgresql]'",
        ) from None

    @event.listens_for(engine, "connect")
    def set_up(connection: Any, _record: object) -> None:
        with connection.cursor() as cursor:
            cursor.execute("SELECT set_config('lock_timeout', %s, false)", (f"{wait_s:.3f}s",))
            cursor.execute("SET synchronous_commit = on")
            cursor.execute("SET TIME ZONE 'UTC'")
        connection.commit()

    return engine
