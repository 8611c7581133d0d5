"""Opaque marks for the next page: where the last page ended, and of which list."""

from __future__ import annotations

import base64
import binascii
import hashlib
import json
from collections.abc import Sequence

from api.errors import BadCursor


def mark(of: Sequence[object], at: Sequence[str]) -> str:
    """Return the mark for the page after position `at` of the list described by `of`."""
    text = json.dumps([_fingerprint(of), *at], separators=(",", ":"))
    return base64.urlsafe_b64encode(text.encode()).decode().rstrip("=")


def position(of: Sequence[object], cursor: str, length: int) -> list[str]:
    """Return the position that `mark` wrote. Raises BadCursor when it is not one of this list."""
    try:
        padded = cursor + "=" * (-len(cursor) % 4)
        found = json.loads(base64.b64decode(padded, altchars=b"-_", validate=True))
    except (ValueError, binascii.Error, UnicodeError, RecursionError):
        found = None
    whole = isinstance(found, list) and len(found) == length + 1
    if not whole or not all(isinstance(one, str) for one in found) or found[0] != _fingerprint(of):
        raise BadCursor(
            "this page mark does not belong to this list",
            where="cursor",
            next_step="Ask for the first page again, with the same filters",
        )
    return [str(one) for one in found[1:]]


def _fingerprint(of: Sequence[object]) -> str:
    return hashlib.sha256(repr(list(of)).encode()).hexdigest()[:8]
