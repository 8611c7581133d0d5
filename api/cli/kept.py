"""Opening the casebook for a command, and reading what the commands over it share."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import IO

from api.casebook import Casebook
from api.casebook_place import default_place
from api.cli import emit
from api.errors import NotFound
from knowledge.errors import InputError


def book_if_there() -> Casebook | None:
    """Open the user's casebook, or say on stderr that there is none yet and return None."""
    book = Casebook.open_existing()
    if book is None:
        emit.say(_none_yet())
    return book


def book_there() -> Casebook:
    """Open the user's casebook. Raises NotFound where there is none: nothing is made to be read."""
    book = Casebook.open_existing()
    if book is None:
        raise NotFound(
            "there is no casebook yet",
            where=_place(),
            next_step="'wontweld why --keep' or 'wontweld chase' begins one",
        )
    return book


def _none_yet() -> str:
    return f"there is no casebook yet ({_place()}); 'why --keep' or 'chase' begins one"


def _place() -> str:
    from api.casebook.place import masked

    return masked(default_place(os.environ, platform=sys.platform, home=Path.home()))


def moment_of(text: str | None, option: str) -> datetime | None:
    """Return the moment that an option names: a day, or a day and a time; UTC unless it says else.

    Raises InputError.

    >>> moment_of("2031-05-04", "--since").isoformat()
    '2031-05-04T00:00:00+00:00'
    """
    if text is None:
        return None
    try:
        moment = datetime.fromisoformat(text.strip())
        return (moment if moment.tzinfo else moment.replace(tzinfo=UTC)).astimezone(UTC)
    except (ValueError, OverflowError):
        raise InputError(
            f"'{text}' is no day", where=option, next_step="Write it as 2031-05-04"
        ) from None


@contextmanager
def written_whole(path: Path) -> Iterator[IO[str]]:
    """A stream to a file that appears under its name only when all of it is written.

    Raises InputError where it cannot be written.
    """
    partial = path.with_name(path.name + ".partial")
    try:
        with partial.open("w", encoding="utf-8", newline="") as stream:
            yield stream
        os.replace(partial, path)
    except OSError as error:
        raise InputError(
            f"cannot be written: {error.strerror or error}",
            where=str(path),
            next_step="Name another file",
        ) from None
    finally:
        partial.unlink(missing_ok=True)


@contextmanager
def lines_of(file: str) -> Iterator[Iterable[str]]:
    """The lines of a file, or of stdin for '-'. Raises InputError where it cannot be read."""
    if file == "-":
        yield sys.stdin
        return
    try:
        with Path(file).open(encoding="utf-8-sig") as stream:
            yield stream
    except OSError as error:
        raise InputError(f"cannot be read: {error.strerror or error}", where=file) from None
    except UnicodeDecodeError as error:
        raise InputError(f"is not UTF-8 text (byte {error.start + 1})", where=file) from None
