"""Tables for a terminal: columns where they fit, one thing under the other where they do not."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from api.cli.emit import encodable, visible
from api.cli.show.page import Page, Span, cells, wrapped

_GAP = "  "
_LEAST_LAST = 16
"""Columns that the last cell, which is wrapped, has at the least."""


def put_table(
    page: Page, heads: Sequence[str], rows: Iterable[Sequence[str]], *, right: Sequence[int] = ()
) -> None:
    """Put a table on the page. Cells are as wide as they need; the last one is wrapped.

    `right` are the places of the columns with figures. Where the page is too narrow, every row is
    put as lines 'head: cell'.
    """
    shown = [[_shown(cell, page) for cell in row] for row in rows]
    widths = [
        max([cells(heads[place]), *(cells(row[place]) for row in shown)])
        for place in range(len(heads) - 1)
    ]
    taken = sum(widths) + len(_GAP) * len(widths)
    if page.width - taken < _LEAST_LAST:
        _put_stacked(page, heads, shown)
        return
    _put_row(page, heads, widths, right, "heading")
    for row in shown:
        _put_row(page, row, widths, right, "")


def _put_row(
    page: Page, row: Sequence[str], widths: Sequence[int], right: Sequence[int], style: str
) -> None:
    front = _GAP.join(
        " " * (width - cells(cell)) + cell if place in right else cell + " " * (width - cells(cell))
        for place, (cell, width) in enumerate(zip(row, widths, strict=False))
    )
    front += _GAP if widths else ""
    texts = wrapped(row[-1], page.width - cells(front), 0, 0)
    for number, text in enumerate(texts):
        before = front if number == 0 else " " * cells(front)
        page.lines.append((Span(before + text, style),))


def _put_stacked(page: Page, heads: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    for row in rows:
        for place, (head, cell) in enumerate(zip(heads, row, strict=True)):
            if cell:
                page.put(cell, indent=0 if place == 0 else 2, mark="" if place == 0 else f"{head}:")


def _shown(cell: str, page: Page) -> str:
    return encodable(" ".join(visible(cell).split()), page.encoding)


def bar(share: float, most: int, encoding: str | None) -> str:
    """Return a bar of up to `most` cells for a share of 0 to 1; signs that the encoding has.

    >>> bar(0.5, 8, "utf-8"), bar(0.5, 8, "ascii"), bar(0.01, 8, "ascii")
    ('████', '####', '#')
    """
    length = max(1, round(share * most)) if share > 0 else 0
    try:
        "█".encode(encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return "#" * length
    return "█" * length
