"""Tables as CSV (RFC 4180) that a spreadsheet cannot take for formulas."""

from __future__ import annotations

import csv
import io
import unicodedata
from collections.abc import Iterable, Sequence

_STARTS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")


def csv_text(heads: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    r"""Return a table as CSV with CRLF line ends. Text that a spreadsheet would run gets a quote mark.

    >>> csv_text(["a", "b"], [["=1+1", -2.5]])
    "a,b\r\n'=1+1,-2.5\r\n"
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(heads)
    for row in rows:
        writer.writerow([_cell(value) for value in row])
    return out.getvalue()


def _cell(value: object) -> object:
    if value is None:
        return ""
    # A spreadsheet takes full-width signs for the plain ones: NFKC makes them so.
    if isinstance(value, str) and _plain(value).startswith(_STARTS_A_FORMULA):
        return f"'{value}"
    return value


def _plain(text: str) -> str:
    return unicodedata.normalize("NFKC", text).lstrip(" ")
