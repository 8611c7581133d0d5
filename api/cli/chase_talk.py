"""What the user types at a step: a number, a letter, a reading, or words."""

from __future__ import annotations

import re
import sys
from collections.abc import Callable
from dataclasses import dataclass
from io import TextIOWrapper
from typing import Any, Literal, TextIO

from api.cli.emit import visible
from api.reading_text import EXAMPLE, reading
from diagnose.session.steps import Step
from knowledge.errors import CaseError

Act = Literal[
    "repeat",
    "help",
    "why",
    "undo",
    "skip",
    "unknown",
    "words",
    "quit",
    "hand_over",
    "danger",
    "reading",
    "choice",
    "text",
    "not_taken",
]
LETTERS: dict[str, tuple[Act, str]] = {
    "?": ("why", "why this now, and what each answer would do"),
    "-": ("undo", "take the last answer back"),
    "s": ("skip", "skip: it cannot be done here"),
    "n": ("unknown", "not known, or not sure"),
    "r": ("reading", f"a reading, such as: r {EXAMPLE}"),
    "w": ("words", "more words of the welder, such as: w wire burns back"),
    "!": ("danger", "report a danger, such as: ! I felt a tingle"),
    "h": ("hand_over", "hand the case over"),
    "q": ("quit", "stop here; the case is kept"),
    "help": ("help", "this list"),
}
_WORDY = ("r", "w", "!")
"""Letters that words may follow."""
_ALONE: dict[str, Act] = {letter: act for letter, (act, _) in LETTERS.items()}
_LONG = {
    "undo": "-",
    "skip": "s",
    "quit": "q",
    "exit": "q",
    "why": "?",
    "stop": "q",
    "handover": "h",
}
_CHOICE = re.compile(r"(\d{1,3})(?:\s+(\D.*))?\Z")
TAKES_AS: dict[str, str] = {
    "drop_across_work_clamp": "drop clamp work",
    "volts_at_studs": "open circuit studs",
    "flow_at_nozzle": "flow nozzle",
    "read_cylinder_gauge": "pressure cylinder",
    "measure_ten_seconds_of_wire": "feed",
}
"""Check -> what a bare number with a unit means there: the quantity and the points."""


@dataclass(frozen=True)
class Said:
    """One line of the user: what it asks for, and what came with it.

    `number` counts from 1; `reading` is the body of a reading; `text` is words, a name, or what is wrong.
    """

    act: Act
    number: int = 0
    text: str = ""
    reading: dict[str, Any] | None = None


def understood(line: str, step: Step) -> Said:
    """Return what a line asks for at a step.

    >>> understood("?", Step(kind="words", id="words", title="")).act
    'why'
    """
    line = " ".join(visible(line).split())
    if not line:
        return Said("repeat")
    letter = _LONG.get(line.lower(), line.lower())
    if letter in _ALONE:
        return Said(_ALONE[letter])
    first, _, rest = line.partition(" ")
    if first.startswith("!"):
        return Said("danger", text=line[1:].strip())
    if first.lower() in _WORDY and rest:
        return _reading(rest, step) if first.lower() == "r" else Said("words", text=rest)
    return _answer(line, step)


def _answer(line: str, step: Step) -> Said:
    match = _CHOICE.match(line)
    if match and (not match.group(2) or step.takes_name):
        return _choice(int(match.group(1)), match.group(2) or "", step)
    if step.takes_text:
        return Said("text", text=line)
    if step.kind == "symptom" and line.lower() in ("yes", "y", "no"):
        return Said("choice", 2 if line.lower() == "no" else 1)
    if any(sign.isdigit() for sign in line):
        return _reading(line, step)
    return Said("not_taken", text=taken(step))


def _choice(number: int, name: str, step: Step) -> Said:
    if not 1 <= number <= len(step.choices):
        return Said("not_taken", text=taken(step))
    if step.takes_name and not name:
        role = step.choices[number - 1].says
        return Said("not_taken", text=f"{role}: say who it was, such as: {number} Kim Doe")
    return Said("choice", number, name)


def _reading(text: str, step: Step) -> Said:
    """Return the reading; where the check says what is measured, a number with a unit is enough."""
    tries = [text, *([f"{TAKES_AS[step.id]} {text}"] if step.id in TAKES_AS else [])]
    wrong = ""
    for words in reversed(tries):
        try:
            return Said("reading", text=text, reading=reading(words, "reading"))
        except CaseError as error:
            wrong = str(error)
    return Said("not_taken", text=wrong)


def taken(step: Step) -> str:
    """Return what a step takes, in one line."""
    ways = []
    if step.choices:
        ways.append("1" if len(step.choices) == 1 else f"1 to {len(step.choices)}")
    if step.takes_name:
        ways[-1] += " and a name"
    if step.takes_text:
        ways.append("words")
    if step.kind == "check":
        ways.append("a reading with its unit")
    return f"Not taken. This takes {', '.join([*ways, '? - s n r w ! h q'])}; help lists them."


class Reader:
    """Lines from the user; `echo` repeats what comes from a script, so that the record reads well."""

    def __init__(self, stdin: TextIO, echo: Callable[[str], None]) -> None:
        self._stdin = stdin
        self._echo = echo
        self.typed = stdin.isatty()
        """Whether a person types, rather than a script."""

    def line(self) -> str | None:
        """Return the next line without its end, or None when there are no more."""
        if self.typed:
            try:
                return input("> ")
            except EOFError:
                self._echo("")
                return None
        text = self._stdin.readline()
        if not text:
            return None
        self._echo(f"> {text.strip()}")
        return text.rstrip("\n")


def reader(echo: Callable[[str], None]) -> Reader:
    """Return the reader of this process; bytes that are no text are shown as such, not refused."""
    if isinstance(sys.stdin, TextIOWrapper):
        sys.stdin.reconfigure(errors="replace")
    return Reader(sys.stdin, echo)
