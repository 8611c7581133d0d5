"""The one error for a command line that is not right."""

from __future__ import annotations

import typer


class UsageRefused(typer.BadParameter):
    """The command line is not right; the message stands as it is, without a prefix."""

    def format_message(self) -> str:
        """Return the message."""
        return self.message
