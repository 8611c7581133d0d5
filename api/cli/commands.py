"""The commands, each with the module that holds it. A command is imported only when it is called.

To add one: write `api/cli/<module>.py` with a function of the command's name (blanks and hyphens as
`_`), or with a Typer object named `app` where it has subcommands, and add a row here.
"""

from __future__ import annotations

from typing import NamedTuple


class CommandRow(NamedTuple):
    """Where a command lives, and its line in `wontweld --help`."""

    module: str
    help: str


COMMANDS: dict[str, CommandRow] = {
    "why": CommandRow("api.cli.why", "From what the welder says to ranked likely faults."),
    "chase": CommandRow("api.cli.chase", "The guided session: step by step to a proved remedy."),
    "knowledge": CommandRow("api.cli.knowledge", "Read and check what the program knows."),
    "serve": CommandRow("api.cli.serve", "Answer over HTTP on this machine."),
}
"""In the order in which `--help` lists them."""
