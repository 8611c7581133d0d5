"""The address of a casebook: the path of a file, or the URL of a server."""

from __future__ import annotations

import re
from pathlib import Path

from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError

from api.errors import BadAddress

_SECRET_WORDS = re.compile(r"(?i)((?:password|passfile|sslpassword|token|secret)[^=&\s]*=)[^&\s]+")
_USER_PART = re.compile(r"://([^:/@\s]*):.*@")


def address(where: str | Path) -> URL:
    """Return the SQLAlchemy URL of a path, `sqlite:///path` or `postgresql://...`.

    Raises BadAddress for an address we cannot read or a database we do not keep cases in.
    """
    text = str(where)
    if not text.strip():
        raise BadAddress("no path is given", where="casebook", next_step="Name a file or a URL")
    if "://" not in text:
        return URL.create("sqlite", database=str(Path(text).expanduser().absolute()))
    try:
        url = make_url(text)
    except (ArgumentError, ValueError):
        raise BadAddress(
            "this URL cannot be read",
            where=masked(text),
            next_step="Write it as postgresql://user@host:5432/database",
        ) from None
    return _served(url, text)


def _served(url: URL, text: str) -> URL:
    backend = url.drivername.partition("+")[0]
    if backend in ("postgresql", "postgres"):
        return url.set(drivername="postgresql+psycopg")
    if backend == "sqlite" and url.database and url.database != ":memory:":
        return URL.create("sqlite", database=str(Path(url.database).expanduser().absolute()))
    raise BadAddress(
        "cases are kept in an SQLite file or in PostgreSQL only",
        where=masked(text),
        next_step="Give the path of a file, or postgresql://user@host:5432/database",
    )


def masked(address_text: str) -> str:
    """Return an address without its secrets, fit for a message.

    >>> masked("postgresql://kim:hunter2@db/shop?sslpassword=x")
    'postgresql://kim:***@db/shop?sslpassword=***'
    """
    return _SECRET_WORDS.sub(r"\1***", _USER_PART.sub(r"://\1:***@", address_text))


def shown(url: URL) -> str:
    """Return the place for a message: the path of the file, or the URL without its secrets."""
    if url.get_backend_name() == "sqlite":
        return str(url.database)
    return masked(url.render_as_string(hide_password=False))
