"""The command `wontweld`: a group that imports each command only when it is called."""

from __future__ import annotations

import gc
from importlib import import_module
from typing import Annotated, Any

import typer
from typer.core import TyperGroup

from api.cli.commands import COMMANDS
from api.cli.usage import UsageRefused
from knowledge.nearest import nearest


class LazyGroup(TyperGroup):
    """A group that knows its commands by name and line of help, and imports the one that is called."""

    def list_commands(self, ctx: Any) -> list[str]:
        """Return the names in the order of the table."""
        return list(COMMANDS)

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        """Return the command; for `--help` a stand-in that has its line of help and nothing else."""
        if cmd_name not in COMMANDS:
            return None
        if ctx.args or ctx._protected_args:
            return _imported(cmd_name)
        return _stand_in(cmd_name)

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:
        """Return the command that the arguments name. Raises a usage error naming the nearest."""
        name = args[0]
        if name not in COMMANDS and not name.startswith("-"):
            close = nearest(name, COMMANDS)
            hint = f"Did you mean '{close}'?" if close else f"Commands: {', '.join(COMMANDS)}."
            raise UsageRefused(f"there is no command '{name}'. {hint}", ctx=ctx)
        return name, _imported(name), args[1:]


def _imported(name: str) -> Any:
    row = COMMANDS[name]
    if not row.one_shot:
        gc.enable()
    module = import_module(row.module)
    app = getattr(module, "app", None)
    if not isinstance(app, typer.Typer):
        app = _plain_typer()
        app.command(name)(getattr(module, name.replace("-", "_")))
    command = typer.main.get_command(app)
    command.name = name
    return command


def _stand_in(name: str) -> Any:
    app = _plain_typer()

    @app.command(name, help=COMMANDS[name].help)
    def stand_in() -> None: ...

    return typer.main.get_command(app)


def _plain_typer() -> typer.Typer:
    return typer.Typer(add_completion=False, pretty_exceptions_enable=False, rich_markup_mode=None)


def _print_version(wanted: bool) -> None:
    if wanted:
        from importlib.metadata import PackageNotFoundError, version

        try:
            typer.echo(f"wontweld {version('wontweld')}")
        except PackageNotFoundError:
            typer.echo("wontweld, not installed")
        raise typer.Exit


app = typer.Typer(
    cls=LazyGroup,
    name="wontweld",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
)


@app.callback(epilog="Exit codes: 0 answered, 2 usage, 3 can't tell, 4 bad input, 5 unknown id.")
def wontweld(
    version: Annotated[
        bool,
        typer.Option(
            "--version", is_eager=True, callback=_print_version, help="Print the version."
        ),
    ] = False,
) -> None:
    """Find what is wrong when a wire-feed welding station won't weld right."""
