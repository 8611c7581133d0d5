"""What the database drivers complain about, in words a shop can act on."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.exc import DBAPIError, IntegrityError
from sqlalchemy.exc import TimeoutError as PoolTimeout

from api.casebook.place import masked
from api.errors import (
    StorageBusy,
    StorageCorrupt,
    StorageError,
    StorageFull,
    StorageReadOnly,
    StorageUnreachable,
)

_KEPT = "Everything acknowledged before is kept"
_SQLITE: dict[str, tuple[type[StorageError], str, str]] = {
    "FULL": (
        StorageFull,
        "there is no room left on the disk; nothing more was stored",
        f"{_KEPT}. Make room, then enter it again",
    ),
    "READONLY": (
        StorageReadOnly,
        "the casebook cannot be written",
        "Give yourself the right to write the file and its folder, or name another place",
    ),
    "CANTOPEN": (
        StorageReadOnly,
        "the casebook cannot be opened or made here",
        "Look whether the folder exists and may be written, or name another place",
    ),
    "PERM": (
        StorageReadOnly,
        "the casebook may not be opened",
        "Give yourself the right to read and write the file, or name another place",
    ),
    "BUSY": (
        StorageBusy,
        "another program holds the casebook locked; nothing more was stored",
        f"{_KEPT}. Try again; if it stays so, look which program has it open",
    ),
    "CORRUPT": (
        StorageCorrupt,
        "the casebook file is damaged",
        "Keep the file as it is, put the latest backup in its place, and go on with that",
    ),
    "NOTADB": (
        StorageCorrupt,
        "this file is no casebook",
        "Name another file; if it was one, keep it and put the latest backup in its place",
    ),
    "IOERR": (
        StorageError,
        "the disk failed to read or write",
        f"{_KEPT}. Look at the disk and the room on it, then enter it again",
    ),
}
_SQLITE |= {"LOCKED": _SQLITE["BUSY"], "AUTH": _SQLITE["PERM"]}
_POSTGRESQL: dict[str, tuple[type[StorageError], str, str]] = {
    "53100": (
        StorageFull,
        "the database server has no room left; nothing more was stored",
        f"{_KEPT}. Ask who keeps the server to make room, then enter it again",
    ),
    "25006": (
        StorageReadOnly,
        "the database server takes no writes",
        "It may be a standby copy: give the address of the main server",
    ),
    "42501": (
        StorageReadOnly,
        "this user may not write or make the casebook's tables",
        "Ask who keeps the server for the right to write in a schema of your own",
    ),
    "42P07": (
        StorageCorrupt,
        "tables of another program stand where the casebook's should",
        "Give the casebook a schema or a database of its own",
    ),
    "55P03": _SQLITE["BUSY"],
    "40P01": _SQLITE["BUSY"],
    "40001": _SQLITE["BUSY"],
    "57014": _SQLITE["BUSY"],
    "XX001": _SQLITE["CORRUPT"],
    "XX002": _SQLITE["CORRUPT"],
}
_UNREACHABLE = "Look at the address, the network, the user and whether the server runs"


@contextmanager
def clear_errors(where: str) -> Iterator[None]:
    """Turn a driver's error inside the block into a StorageError that names `where`.

    A broken uniqueness or reference passes as IntegrityError: it is an answer, not a failure.
    """
    try:
        yield
    except IntegrityError:
        raise
    except DBAPIError as error:
        raise translated(error.orig, where) from error
    except sqlite3.Error as error:
        raise translated(error, where) from error
    except PoolTimeout as error:
        kind, what, advice = _SQLITE["BUSY"]
        raise kind(what, where=where, next_step=advice) from error


def translated(error: BaseException | None, where: str) -> StorageError:
    """Return the error of ours that says what `error` of a driver means."""
    name = str(getattr(error, "sqlite_errorname", "")).removeprefix("SQLITE_").split("_")[0]
    state = getattr(error, "sqlstate", None)
    if found := _SQLITE.get(name) or _POSTGRESQL.get(state or ""):
        kind, what, advice = found
        return kind(what, where=where, next_step=advice)
    line = masked(str(error).strip().partition("\n")[0])
    if not isinstance(error, sqlite3.Error) and _is_unreachable(error, state):
        return StorageUnreachable(
            f"the database server does not let us in: {line}", where=where, next_step=_UNREACHABLE
        )
    return StorageError(line, where=where, next_step=f"{_KEPT}. Try again")


def _is_unreachable(error: BaseException | None, state: str | None) -> bool:
    if state is None:
        return type(error).__name__ in ("OperationalError", "ConnectionTimeout")
    return state[:2] in ("08", "28", "3D") or state in ("53300", "57P01", "57P02", "57P03")
