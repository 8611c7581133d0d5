"""`wontweld ready`: the hook-up check before the first arc."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from api.cli import emit
from api.cli.usage import UsageRefused
from api.exit_codes import ExitCode
from knowledge.errors import CaseError, InputError

if TYPE_CHECKING:
    from diagnose.readiness.hook_up import Readiness, ReadinessAsked

CODES = {
    "ready": ExitCode.ANSWERED,
    "not_ready": ExitCode.NOT_READY,
    "cant_tell": ExitCode.CANT_TELL,
}
TICKS = ("good", "bad", "not_done")


def ready(
    station: Annotated[
        Path | None,
        typer.Argument(metavar="STATION.yaml", help="The station, YAML or JSON; '-' for stdin."),
    ] = None,
    *,
    ticks: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE", help="Ticks: line id to good, bad or not_done; or a saved one."
        ),
    ] = None,
    tick: Annotated[
        list[str] | None, typer.Option(metavar="ID=good|bad|not_done", help="One tick. Repeatable.")
    ] = None,
    reading: Annotated[
        list[str] | None,
        typer.Option(
            metavar="TEXT", help="Such as 'drop work_lug work 0.2 V at 200 A'. Repeatable."
        ),
    ] = None,
    made_safe: Annotated[
        list[str] | None,
        typer.Option(metavar="CARD=WHO", help="A stop card lifted by somebody entitled to."),
    ] = None,
    set_: Annotated[
        list[str] | None,
        typer.Option("--set", metavar="PATH=VALUE", help="Such as gun.tip_mm=0.9. Repeatable."),
    ] = None,
    knowledge: Annotated[
        list[Path] | None,
        typer.Option(metavar="DIR", help="Folder of your own entries, laid over ours. Repeatable."),
    ] = None,
    units: Annotated[str, typer.Option(help="metric or us, for what is printed.")] = "metric",
    as_json: Annotated[bool, typer.Option("--json", help="The check as JSON.")] = False,
    markdown: Annotated[
        bool, typer.Option("--markdown", help="A sheet to print, with boxes to tick.")
    ] = False,
    save: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write the check as JSON, ticks and all.")
    ] = None,
    width: Annotated[int | None, typer.Option(min=20, max=400, help="Columns to write in.")] = None,
) -> None:
    """Check a hook-up before the first arc: what is wrong on paper, and the walk-round for this station.

    Ends with 0 when ready, 1 when not ready, 3 when nobody can tell yet.
    """
    from diagnose.readiness.hook_up import readiness
    from knowledge.loader import load

    if as_json and markdown:
        raise UsageRefused("--json and --markdown are two different answers; ask for one")
    if station is None and not set_:
        raise UsageRefused("name the station's file, such as station.yaml, or --set parts of it")
    if units not in ("metric", "us"):
        raise UsageRefused(f"--units is metric or us, not '{units}'")
    asked = _asked(station, ticks, tick or [], reading or [], made_safe or [], set_ or [])
    asked = asked.model_copy(update={"units": units})
    found = readiness(asked, load(*(knowledge or ())))
    if save is not None:
        _save(found, save)
    _print(found, as_json=as_json, markdown=markdown, width=width)
    raise typer.Exit(CODES[found.verdict])


def _asked(
    station: Path | None,
    ticks: Path | None,
    tick: list[str],
    reading: list[str],
    made_safe: list[str],
    paths: list[str],
) -> ReadinessAsked:
    """Return what is asked, from files and options; errors name file, line and the nearest."""
    from api.cli.case_files import read_file, read_stdin, station_sheet
    from api.cli.case_input import CaseSheet
    from api.cli.case_options import put_findings, put_set_up
    from diagnose.readiness.hook_up import ReadinessAsked
    from knowledge.loader import load

    sheet = CaseSheet()
    if station is not None:
        name = "stdin" if str(station) == "-" else str(station)
        text = read_stdin() if str(station) == "-" else read_file(station)
        sheet.lay(station_sheet(text, name))
    put_set_up(sheet, named={}, sizes={}, looked=False, surface=None, outdoors=None, paths=paths)
    put_findings(
        sheet,
        load(),
        symptoms=(),
        tried=False,
        started=(),
        readings=reading,
        found=(),
        remedied=(),
        made_safe=made_safe,
    )
    case = sheet.case()
    marks = {**(ticks_in(ticks) if ticks else {}), **dict(map(_tick, tick))}
    return ReadinessAsked.model_validate(
        {
            "station": case.station,
            "readings": case.readings,
            "made_safe": case.made_safe,
            "ticks": marks,
        }
    )


def ticks_in(path: Path) -> dict[str, str]:
    """Return the ticks of a file: ids to ticks, or a check saved with --save. Raises CaseError."""
    from api.cli.case_files import json_sheet, read_file

    values: dict[str, Any] = json_sheet(read_file(path), str(path)).values
    if isinstance(values.get("walk_round"), list):
        values = {
            str(row.get("id")): row.get("tick", "not_done")
            for row in values["walk_round"]
            if isinstance(row, dict)
        }
    elif isinstance(values.get("ticks"), dict):
        values = values["ticks"]
    for name, value in values.items():
        if value not in TICKS:
            raise CaseError(
                f"'{name}' is ticked '{value}'",
                where=str(path),
                next_step=f"A tick is {', '.join(TICKS)}.",
            )
    return values


def _tick(word: str) -> tuple[str, str]:
    name, sign, value = (part.strip() for part in word.partition("="))
    if not sign or value not in TICKS:
        raise UsageRefused(f"'{word}' is not ID={'|'.join(TICKS)}")
    return name, value


def _save(found: Readiness, path: Path) -> None:
    from api.json_text import to_json

    try:
        path.write_text(to_json(found), "utf-8")
    except OSError as error:
        raise InputError(
            f"cannot be written: {error.strerror or error}",
            where=str(path),
            next_step="Name a file in a folder that you may write in.",
        ) from None
    emit.say(f"saved: {path}")


def _print(found: Readiness, *, as_json: bool, markdown: bool, width: int | None) -> None:
    if as_json:
        from api.json_text import to_json

        emit.answer(to_json(found))
    elif markdown:
        from api.cli.show.ready import as_markdown

        emit.answer(as_markdown(found))
    else:
        from api.cli.show.page import Page
        from api.cli.show.ready import put_readiness

        page = Page(emit.width_for(sys.stdout, width), sys.stdout.encoding)
        put_readiness(page, found)
        emit.answer_page(page)
