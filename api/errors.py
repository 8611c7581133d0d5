"""Errors of the ways in, below the one tree in `knowledge.errors`.

WontweldError
└── CasebookError            the casebook cannot do what was asked
    ├── NotFound             no such case, station or event
    ├── VersionConflict      somebody else wrote first
    ├── KeyConflict          one idempotency key, two different contents
    ├── NameTaken            a station of that name is there already
    ├── StationInUse         cases are about the station
    ├── EntryRefused         an entry that does not fit the case or breaks a bound
    │   └── CaseClosed       the case is closed; only undoing the close goes on
    ├── BadCursor            a page mark that this casebook did not give out
    ├── BadAddress           the casebook's path or URL cannot be used
    ├── ImportRefused        a line of an import that cannot be taken
    ├── BackupRefused        a backup that cannot be made in this way
    └── StorageError         the file or the database server failed
        ├── StorageBusy      locked for too long by another program
        ├── StorageFull      no room left
        ├── StorageReadOnly  the place cannot be written
        ├── StorageCorrupt   the file is damaged, or is no casebook
        ├── StorageNewer     written by a newer version of this program
        └── StorageUnreachable   the database server does not answer or does not let us in

HTTP status is given beside the problem type, so that the API needs no table of its own.
"""

from __future__ import annotations

from typing import ClassVar

from knowledge.errors import WontweldError

__all__ = [
    "BackupRefused",
    "BadAddress",
    "BadCursor",
    "CaseClosed",
    "CasebookError",
    "EntryRefused",
    "ImportRefused",
    "KeyConflict",
    "NameTaken",
    "NotFound",
    "StationInUse",
    "StorageBusy",
    "StorageCorrupt",
    "StorageError",
    "StorageFull",
    "StorageNewer",
    "StorageReadOnly",
    "StorageUnreachable",
    "VersionConflict",
]


class CasebookError(WontweldError):
    """The casebook cannot do what was asked."""

    exit_code = 7
    problem_type = "/problems/casebook-error"
    status: ClassVar[int] = 500


class NotFound(CasebookError):
    """No such case, station or event."""

    exit_code = 5
    problem_type = "/problems/not-found"
    status = 404


class VersionConflict(CasebookError):
    """Somebody else wrote first: `expected` is what the writer knew, `actual` what stands."""

    exit_code = 8
    problem_type = "/problems/version-conflict"
    status = 412

    def __init__(self, where: str, *, expected: int, actual: int) -> None:
        super().__init__(
            f"you know version {expected}, but version {actual} stands",
            where=where,
            next_step="Read it again, look at what was added, and then write",
        )
        self.expected = expected
        self.actual = actual


class KeyConflict(CasebookError):
    """One idempotency key was used for two different contents."""

    exit_code = 8
    problem_type = "/problems/idempotency-key-reused"
    status = 409


class NameTaken(CasebookError):
    """A station of that name is there already."""

    exit_code = 8
    problem_type = "/problems/name-taken"
    status = 409


class StationInUse(CasebookError):
    """Cases are about the station, so it cannot be removed."""

    exit_code = 8
    problem_type = "/problems/station-in-use"
    status = 409


class EntryRefused(CasebookError):
    """An entry that does not fit the case, or that breaks a bound of the case's shape."""

    exit_code = 4
    problem_type = "/problems/entry-refused"
    status = 422


class CaseClosed(EntryRefused):
    """The case is closed; only undoing the close goes on with it."""

    exit_code = 8
    problem_type = "/problems/case-closed"
    status = 409


class BadCursor(CasebookError):
    """A page mark that this casebook did not give out, or not for this list."""

    exit_code = 4
    problem_type = "/problems/bad-cursor"
    status = 400


class BadAddress(CasebookError):
    """The casebook's path or URL cannot be used."""

    exit_code = 7
    problem_type = "/problems/bad-casebook-address"
    status = 500


class ImportRefused(CasebookError):
    """A line of an import that cannot be taken."""

    exit_code = 4
    problem_type = "/problems/import-refused"
    status = 422


class BackupRefused(CasebookError):
    """A backup that cannot be made in this way."""

    exit_code = 7
    problem_type = "/problems/backup-refused"
    status = 409


class StorageError(CasebookError):
    """The file or the database server failed; what was acknowledged before is kept."""

    exit_code = 7
    problem_type = "/problems/storage-error"
    status = 500


class StorageBusy(StorageError):
    """Another program held the casebook locked for too long."""

    problem_type = "/problems/storage-busy"
    status = 503


class StorageFull(StorageError):
    """No room left where the casebook stands."""

    problem_type = "/problems/storage-full"
    status = 507


class StorageReadOnly(StorageError):
    """The place of the casebook cannot be written or made."""

    problem_type = "/problems/storage-read-only"


class StorageCorrupt(StorageError):
    """The file is damaged, or is no casebook at all."""

    problem_type = "/problems/storage-corrupt"


class StorageNewer(StorageError):
    """The casebook was written by a newer version of this program."""

    problem_type = "/problems/storage-newer"


class StorageUnreachable(StorageError):
    """The database server does not answer, or does not let us in."""

    problem_type = "/problems/storage-unreachable"
    status = 503
