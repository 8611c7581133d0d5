"""Colour over a page. Signal words in the colours of ANSI Z535; the word itself always stands there."""

from __future__ import annotations

from typing import TextIO

from rich.console import Console
from rich.text import Text

from api.cli.show.page import Page

STYLES = {
    "heading": "bold",
    "strong": "bold",
    "quiet": "dim",
    "for": "green",
    "against": "magenta",
    "DANGER": "bold white on red",
    "WARNING": "bold black on dark_orange",
    "CAUTION": "bold black on yellow",
    "NOTICE": "bold white on blue",
}


def print_coloured(page: Page, stream: TextIO) -> None:
    """Write the page with its styles."""
    text = Text()
    for line in page.lines:
        for span in line:
            text.append(span.text, STYLES.get(span.style))
        text.append("\n")
    console = Console(file=stream, highlight=False, width=max(page.width, 20))
    console.print(text, end="", soft_wrap=True)
