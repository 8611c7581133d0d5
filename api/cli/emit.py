"""Writing: answers to stdout, the rest to stderr, in characters the other end can show."""

from __future__ import annotations

import io
import os
import shutil
import sys
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, TextIO

if TYPE_CHECKING:
    from api.cli.show.page import Page

WIDEST = 96
"""Longer lines are hard to find one's way back in, however wide the terminal."""
_NO_CONTROL = dict.fromkeys([*range(0x20), *range(0x7F, 0xA0)], " ") | {0x0A: "\n"}
_AS_ASCII = str.maketrans(
    {
        **dict.fromkeys("\u2018\u2019", "'"),
        **dict.fromkeys("\u201c\u201d", '"'),
        **dict.fromkeys("\u2013\u2014\u2212", "-"),
        **{"·": "*", "\u00d7": "x", "→": "->", "≥": ">=", "≤": "<=", "±": "+-", "…": "..."},
        **{"Ω": "ohm", "µ": "u", "μ": "u", "°": " deg ", "²": "2", "³": "3", "√": "sqrt "},
    }
)


def visible(text: str) -> str:
    r"""Return the text without control characters and direction marks, so that it cannot steer a terminal.

    >>> visible("no \x1b[31marc")
    'no  [31marc'
    """
    text = text.translate(_NO_CONTROL)
    if text.isascii():
        return text
    return "".join(
        c for c in text if unicodedata.category(c) not in ("Cf", "Cc", "Cs") or c == "\n"
    )


def encodable(text: str, encoding: str | None) -> str:
    """Return the text in characters that the encoding has.

    >>> encodable("10 mΩ at 20 °C", "ascii")
    '10 mohm at 20  deg C'
    """
    encoding = encoding or "ascii"
    try:
        text.encode(encoding)
    except UnicodeEncodeError:
        text = unicodedata.normalize("NFKC", text.translate(_AS_ASCII))
        return text.encode(encoding, "replace").decode(encoding)
    except LookupError:
        return encodable(text, "ascii")
    return text


def width_for(stream: TextIO, asked: int | None = None) -> int:
    """Return the columns to write in: as asked, else those of the terminal, 80 where there is none."""
    if asked is not None:
        return asked
    if stream.isatty() or os.environ.get("COLUMNS", "").isdigit():
        return max(20, min(WIDEST, shutil.get_terminal_size((80, 24)).columns))
    return 80


def colour_wanted(stream: TextIO) -> bool:
    """Return whether to colour: only on a terminal that can, and not under NO_COLOR."""
    dumb = os.environ.get("TERM", "dumb" if os.name != "nt" else "") == "dumb"
    return stream.isatty() and not os.environ.get("NO_COLOR") and not dumb


def answer(text: str) -> None:
    """Write an answer to stdout as it is; JSON is always UTF-8."""
    sys.stdout.flush()
    buffer = getattr(sys.stdout, "buffer", None)
    if buffer is None:
        sys.stdout.write(text)
    else:
        buffer.write(text.encode())
    sys.stdout.flush()


@contextmanager
def answering() -> Iterator[TextIO]:
    """A stream to stdout for an answer that is too long to hold; it is UTF-8 as in `answer`."""
    sys.stdout.flush()
    buffer = getattr(sys.stdout, "buffer", None)
    if buffer is None:
        yield sys.stdout
        return
    stream = io.TextIOWrapper(buffer, encoding="utf-8", newline="")
    try:
        yield stream
        stream.flush()
    finally:
        stream.detach()


def answer_page(page: Page) -> None:
    """Write a page to stdout, coloured where that is wanted."""
    if colour_wanted(sys.stdout):
        from api.cli.show.colour import print_coloured

        print_coloured(page, sys.stdout)
    else:
        sys.stdout.write(page.plain())
    sys.stdout.flush()


def say(text: str) -> None:
    """Write a message to stderr, wrapped nowhere, so that a script finds it whole."""
    shown = "\n".join(visible(line) for line in text.splitlines())
    print(encodable(shown, sys.stderr.encoding), file=sys.stderr, flush=True)
