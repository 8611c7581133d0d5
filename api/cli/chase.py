"""`wontweld chase`: the guided session, from a complaint to a proved remedy, step by step."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Annotated

import typer

from api.cli.usage import UsageRefused

_CASE_ID = re.compile(r"[a-z]{5}-[a-z]{5}\Z")


def chase(
    words: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[CASE | WORDS]...",
            help="The id of a case to go on with, or what the welder says, a complaint to each "
            "argument. With neither, the session asks.",
        ),
    ] = None,
    who: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="Who answers; kept beside each answer."),
    ] = None,
    no_keep: Annotated[
        bool, typer.Option("--no-keep", help="Keep nothing in the casebook.")
    ] = False,
    reopen: Annotated[
        bool,
        typer.Option("--reopen", help="Go on with a case that was closed."),
    ] = False,
    case_station: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="The station in the casebook it is about."),
    ] = None,
    station: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="The station, YAML or JSON."),
    ] = None,
    process: Annotated[str | None, typer.Option(help="GMAW, FCAW-G or FCAW-S.")] = None,
    wire: Annotated[str | None, typer.Option(metavar="CLASS", help="Such as E71T-11.")] = None,
    polarity: Annotated[
        str | None,
        typer.Option(help="Of the electrode: positive or negative."),
    ] = None,
    gas: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="As on the cylinder."),
    ] = None,
    set_: Annotated[
        list[str] | None,
        typer.Option(
            "--set",
            metavar="PATH=VALUE",
            help="Anything else, such as gun.tip_mm=0.9. Repeatable.",
        ),
    ] = None,
    may: Annotated[
        str | None,
        typer.Option(help="You are: operator, maintenance, electrician or service."),
    ] = None,
    tool: Annotated[
        list[str] | None,
        typer.Option(
            metavar="ID",
            help="A tool at hand; with none named, the usual. Repeatable.",
        ),
    ] = None,
    units: Annotated[str | None, typer.Option(help="metric or us.")] = None,
    no_learning: Annotated[
        bool,
        typer.Option("--no-learning", help="Leave the shop's closed cases out of the figures."),
    ] = False,
    knowledge: Annotated[
        list[Path] | None,
        typer.Option(metavar="DIR", help="Folder of your own entries, laid over ours. Repeatable."),
    ] = None,
    width: Annotated[int | None, typer.Option(min=20, max=400, help="Columns to write in.")] = None,
) -> None:
    """Find the fault step by step: what to look at, ask or put right next, until it is proved.

    Each answer is kept before the next step, so a session can be stopped anywhere and gone on with.
    """
    from api.cli.case_input import CaseSheet
    from api.cli.case_options import put_files_and_words, put_set_up, put_user
    from api.cli.chase_begin import Beginning, go_on, start
    from knowledge.loader import load

    known = load(*(knowledge or ()))
    said = list(words or ())
    case_id = said[0].lower() if len(said) == 1 and _CASE_ID.match(said[0].lower()) else None
    if no_keep and (case_id or case_station):
        raise UsageRefused("--no-keep goes with words: a case or station of the casebook is kept")
    if reopen and not case_id:
        raise UsageRefused("--reopen needs the id of the case")
    if case_id and case_station:
        raise UsageRefused("--case-station is for a new case; this one has its station already")
    sheet = CaseSheet()
    put_files_and_words(sheet, [] if case_id else said, case=None, station=station)
    put_user(sheet, units=units, may=may, tools=tool)
    named = {"process": process, "wire": wire, "polarity": polarity, "gas": gas}
    put_set_up(
        sheet, named=named, sizes={}, looked=False, surface=None, outdoors=None, paths=set_ or ()
    )
    begin = Beginning(sheet.case(), known, who, width, learning_off=no_learning)
    if case_id:
        raise typer.Exit(go_on(begin, case_id, reopen=reopen))
    raise typer.Exit(start(begin, station=case_station, keep=not no_keep))
