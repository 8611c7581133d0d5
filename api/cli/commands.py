"""The commands, each with the module that holds it. A command is imported only when it is called.

To add one: write `api/cli/<module>.py` with a function of the command's name (blanks and hyphens as
`_`), or with a Typer object named `app` where it has subcommands, and add a row here; one that stays
(a server, a session) is not `one_shot`, so that its garbage is collected.
"""

from __future__ import annotations

from typing import NamedTuple


class CommandRow(NamedTuple):
    """Where a command lives, its line in `wontweld --help`, and whether it answers once and ends."""

    module: str
    help: str
    one_shot: bool = True


COMMANDS: dict[str, CommandRow] = {
    "why": CommandRow("api.cli.why", "From what the welder says to ranked likely faults."),
    "chase": CommandRow(
        "api.cli.chase", "The guided session: step by step to a proved remedy.", one_shot=False
    ),
    "ready": CommandRow(
        "api.cli.ready", "Before the first arc: what is wrong, and the walk-round."
    ),
    "reckon": CommandRow("api.cli.reckon", "The sums of the trade, with the working shown."),
    "chart": CommandRow(
        "api.cli.chart", "Cause charts: what is behind a symptom, what comes of a fault."
    ),
    "cases": CommandRow("api.cli.cases", "The cases that are kept.", one_shot=False),
    "station": CommandRow("api.cli.station", "The stations that are kept, with their plates."),
    "handover": CommandRow("api.cli.handover", "The sheet from which a stranger can start."),
    "fleet": CommandRow("api.cli.fleet", "Which faults come back on which stations."),
    "knowledge": CommandRow("api.cli.knowledge", "Read and check what the program knows."),
    "serve": CommandRow("api.cli.serve", "Answer over HTTP on this machine.", one_shot=False),
}
"""In the order in which `--help` lists them."""
