"""`wontweld fleet`: which faults come back on which stations, and what it took."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer


def fleet(
    *,
    within: Annotated[
        float,
        typer.Option(
            metavar="DAYS",
            min=0,
            max=3650,
            help="Another complaint within so many days is a repeat.",
        ),
    ] = 30.0,
    since: Annotated[
        str | None, typer.Option(metavar="DAY", help="Only cases opened on 2031-05-04 or later.")
    ] = None,
    as_csv: Annotated[
        bool, typer.Option("--csv", help="Faults by station as CSV, for a spreadsheet.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="The whole report as JSON.")] = False,
    knowledge: Annotated[
        list[Path] | None,
        typer.Option(metavar="DIR", help="Folder of your own entries, laid over ours. Repeatable."),
    ] = None,
    width: Annotated[int | None, typer.Option(min=20, max=400, help="Columns to write in.")] = None,
) -> None:
    """Which faults come back on which stations, the time they took, and what was handed over."""
    from api.cli import emit
    from api.cli.kept import book_if_there, moment_of
    from api.cli.usage import UsageRefused
    from api.fleet import fleet_csv, fleet_report
    from knowledge.loader import load

    if as_csv and as_json:
        raise UsageRefused("--csv and --json are two forms of one answer: give one of them")
    moment = moment_of(since, "--since")
    book = book_if_there()
    outcomes = []
    if book is not None:
        with book:
            outcomes = book.outcomes(since=moment)
    report = fleet_report(outcomes, load(*(knowledge or ())), within_days=within, since=moment)
    if as_json:
        from api.json_text import to_json

        emit.answer(to_json(report))
    elif as_csv:
        emit.answer(fleet_csv(report))
    else:
        from api.cli.show.kept import put_fleet
        from api.cli.show.page import Page

        page = Page(emit.width_for(sys.stdout, width), sys.stdout.encoding)
        put_fleet(page, report)
        emit.answer_page(page)
