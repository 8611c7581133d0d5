"""Every error of the program, in one tree. Each class owns its exit code and its problem type.

WontweldError
├── InputError          what was entered cannot be used
│   ├── CaseError       the case or station file does not have the right shape
│   ├── QuantityError   a number is outside what the sum is good for
│   └── UnknownId       an id that we do not know, with the nearest
├── KnowledgeError      the knowledge files do not hold together
└── (api.errors adds what belongs to storage and HTTP)
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

__all__ = [
    "CaseError",
    "InputError",
    "KnowledgeError",
    "QuantityError",
    "UnknownId",
    "WontweldError",
]


class WontweldError(Exception):
    """What went wrong, where, and what to do next."""

    exit_code: ClassVar[int] = 1
    problem_type: ClassVar[str] = "about:blank"
    status: ClassVar[int] = 500
    title: ClassVar[str] = "Something went wrong"

    def __init__(self, what: str, *, where: str = "", next_step: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.where = where
        self.next_step = next_step

    def __str__(self) -> str:
        lines = [f"{self.where}: {self.what}" if self.where else self.what]
        if self.next_step:
            lines.append(f"  {self.next_step}")
        return "\n".join(lines)


class InputError(WontweldError):
    """What was entered cannot be used."""

    exit_code = 4
    problem_type = "/problems/input"
    status = 422
    title = "The input cannot be used"


class CaseError(InputError):
    """The case or the station file does not have the right shape."""

    problem_type = "/problems/case"
    title = "The case does not have the right shape"


class QuantityError(InputError):
    """A number is outside what the sum is good for."""

    problem_type = "/problems/quantity"
    title = "A quantity is out of range"


class UnknownId(InputError):
    """An id that the knowledge does not hold; `nearest` lists what it may have been."""

    exit_code = 5
    problem_type = "/problems/unknown-id"
    status = 404
    title = "No such entry"

    def __init__(self, kind: str, name: str, nearest: Sequence[str] = ()) -> None:
        hint = f"nearest: {', '.join(nearest)}" if nearest else ""
        super().__init__(f"there is no {kind} '{name}'", next_step=hint)
        self.kind = kind
        self.name = name
        self.nearest = tuple(nearest)


class KnowledgeError(WontweldError):
    """The knowledge files do not hold together; `problems` has a line for each trouble."""

    exit_code = 6
    problem_type = "/problems/knowledge"
    title = "The knowledge does not hold together"

    def __init__(self, problems: Sequence[str]) -> None:
        super().__init__("\n".join(problems))
        self.problems = tuple(problems)
