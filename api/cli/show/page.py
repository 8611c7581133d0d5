"""A page of text for a terminal of any width. Every line is wrapped when it is put on the page."""

from __future__ import annotations

import unicodedata
from typing import NamedTuple

from api.cli.emit import encodable, visible

_SHORT_MARK = 4


class Span(NamedTuple):
    """A piece of a line, and the style it is shown in where there is colour."""

    text: str
    style: str = ""


class Page:
    """Lines of at most `width` cells, in characters that `encoding` has."""

    def __init__(self, width: int = 80, encoding: str | None = "utf-8") -> None:
        self.width = width
        self.encoding = encoding
        self.lines: list[tuple[Span, ...]] = []

    def blank(self) -> None:
        """Put an empty line, never two together and none at the top."""
        if self.lines and self.lines[-1]:
            self.lines.append(())

    def heading(self, text: str) -> None:
        """Put a heading, with an empty line before it."""
        self.blank()
        self.put(text, style="heading")

    def put(
        self, text: str, *, indent: int = 0, mark: str = "", style: str = "", mark_style: str = ""
    ) -> None:
        """Put a paragraph. A `mark` stands before it and what follows hangs under the text.

        Under a long mark, and on a narrow page, it hangs by less, so that there is room for words.
        """
        text, mark = self._shown(text), self._shown(mark)
        if cells(mark) + indent > self.width // 2:
            text, mark = f"{mark} {text}", ""
        before = " " * indent
        hang = min(indent + _hang(mark), self.width // 4)
        first = f"{before}{mark} " if mark else before
        for number, line in enumerate(wrapped(text, self.width, cells(first), hang)):
            if number == 0:
                spans = [Span(before), Span(mark, mark_style), Span(" " if mark else "")]
                self.lines.append((*(s for s in spans if s.text), Span(line, style)))
            else:
                self.lines.append((Span(" " * hang), Span(line, style)))

    def plain(self) -> str:
        """Return the page as text without colour, no blanks at the ends of lines."""
        rows = ("".join(span.text for span in line).rstrip() for line in self.lines)
        return "".join(f"{row}\n" for row in rows)

    def _shown(self, text: str) -> str:
        return encodable(" ".join(visible(text).split()), self.encoding)


def _hang(mark: str) -> int:
    if not mark:
        return 0
    return len(mark) + 1 if len(mark) <= _SHORT_MARK else 2


def cells(text: str) -> int:
    """Return how many columns the text takes.

    >>> cells("arc"), cells("溶接")
    (3, 4)
    """
    if text.isascii():
        return len(text)
    return sum(_cells_of(character) for character in text)


def _cells_of(character: str) -> int:
    if unicodedata.combining(character):
        return 0
    return 2 if unicodedata.east_asian_width(character) in "WF" else 1


def wrapped(text: str, width: int, first: int, hang: int) -> list[str]:
    """Return the lines of a text: the first has `first` columns taken already, the others `hang`.

    >>> wrapped("no arc at all", 8, 0, 2)
    ['no arc', 'at all']
    """
    lines: list[str] = []
    line, used = "", first
    for word in _broken(text.split(), width - max(first, hang)):
        needs = cells(word) + (1 if line else 0)
        if line and used + needs > width:
            lines.append(line)
            line, used = word, hang + cells(word)
        else:
            line = f"{line} {word}" if line else word
            used += needs
    return [*lines, line]


def _broken(words: list[str], most: int) -> list[str]:
    """Return the words, those wider than `most` cut into pieces that fit."""
    pieces: list[str] = []
    for word in words:
        if cells(word) <= most:
            pieces.append(word)
            continue
        piece = ""
        for character in word:
            if piece and cells(piece + character) > most:
                pieces.append(piece)
                piece = ""
            piece += character
        pieces.append(piece)
    return pieces
