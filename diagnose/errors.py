"""Every error this program raises on purpose. One tree, drawn here:

WontweldError
└── QuantityError      a number that cannot be what it claims to be
"""

from __future__ import annotations

from typing import ClassVar

__all__ = ["QuantityError", "WontweldError"]


class WontweldError(Exception):
    """What went wrong, where, and what to do next. Each class owns its exit code and problem type.

    >>> print(WontweldError("no current", where="current_a", next_step="Give the weld current."))
    current_a: no current. Give the weld current.
    """

    exit_code: ClassVar[int] = 70
    problem_type: ClassVar[str] = "internal-error"

    def __init__(self, what: str, *, where: str = "", next_step: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.where = where
        self.next_step = next_step

    def __str__(self) -> str:
        place = f"{self.where}: " if self.where else ""
        advice = f". {self.next_step}" if self.next_step else ""
        return f"{place}{self.what}{advice}"


class QuantityError(WontweldError):
    """A quantity outside the range in which it means anything (negative ohms, duty above 1)."""

    exit_code = 65
    problem_type = "quantity-out-of-range"
