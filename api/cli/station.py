"""`wontweld station`: the stations that are kept, each with its plate."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

if TYPE_CHECKING:
    from api.casebook import StoredStation

app = typer.Typer(
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="The stations that are kept: add, list, show, edit.",
)
Name = Annotated[str, typer.Argument(metavar="NAME", help="The station's name, or its id.")]
From = Annotated[
    Path | None, typer.Option("--from", metavar="FILE", help="The plate: YAML or JSON.")
]
Sets = Annotated[
    list[str] | None,
    typer.Option(
        "--set",
        metavar="PATH=VALUE",
        help="One thing, such as gun.tip_mm=0.9; nothing after = takes it away. Repeatable.",
    ),
]
Units = Annotated[Literal["metric", "us"], typer.Option(help="Units to show and take sizes in.")]
Json = Annotated[bool, typer.Option("--json", help="As JSON.")]
Width = Annotated[int | None, typer.Option(min=20, max=400, help="Columns to write in.")]


@app.command()
def add(
    name: Annotated[str, typer.Argument(metavar="NAME", help="As the shop calls it.")],
    *,
    from_: From = None,
    set_: Sets = None,
    as_json: Json = False,
) -> None:
    """Keep a new station. With neither --from nor --set the plate is written in your editor."""
    from api.casebook import Casebook
    from api.cli.plate_input import kept_if_refused, plate_from

    plate = plate_from({"name": name}, file=from_, sets=set_ or (), name=name)
    with kept_if_refused(plate), Casebook.open() as book:
        _told(book.add_station(plate), "added", as_json=as_json)


@app.command("list")
def list_stations(
    *,
    limit: Annotated[int, typer.Option(min=1, max=500, help="Stations at the most.")] = 50,
    cursor: Annotated[
        str | None, typer.Option(metavar="MARK", help="The mark at the end of the page before.")
    ] = None,
    as_json: Json = False,
    width: Width = None,
) -> None:
    """List the stations by name."""
    from api.cli import emit
    from api.cli.kept import book_if_there
    from api.cli.show.kept import put_stations
    from api.cli.show.page import Page
    from api.json_text import to_json
    from api.kept_shapes import StationsPage, stations_page

    book = book_if_there()
    found = StationsPage(items=[], next=None)
    if book is not None:
        with book:
            found = stations_page(book.stations(limit=limit, cursor=cursor))
    if as_json:
        emit.answer(to_json(found))
        return
    if found.items:
        page = Page(emit.width_for(sys.stdout, width), sys.stdout.encoding)
        put_stations(page, found)
        emit.answer_page(page)
    elif book is not None:
        emit.say("no station is kept yet; 'wontweld station add NAME' keeps one")
    if found.next:
        emit.say(f"there are more: --cursor {found.next}")


@app.command()
def show(
    name: Name,
    *,
    units: Units = "metric",
    as_yaml: Annotated[
        bool, typer.Option("--yaml", help="The plate as YAML, as --station and --from take it.")
    ] = False,
    as_json: Json = False,
    width: Width = None,
) -> None:
    """Show one station with its plate."""
    from api.cli import emit
    from api.cli.kept import book_there
    from api.cli.plate_input import plate_yaml
    from api.cli.show.kept import put_station
    from api.cli.show.page import Page
    from api.cli.usage import UsageRefused
    from api.json_text import to_json
    from api.kept_shapes import station_kept

    if as_yaml and as_json:
        raise UsageRefused("--yaml and --json are two forms of one answer: give one of them")
    with book_there() as book:
        station = book.station(name)
    if as_json:
        emit.answer(to_json(station_kept(station)))
    elif as_yaml:
        emit.answer(plate_yaml(station.plate))
    else:
        page = Page(emit.width_for(sys.stdout, width), sys.stdout.encoding)
        put_station(page, station, units)
        emit.answer_page(page)


@app.command()
def edit(
    name: Name,
    *,
    from_: From = None,
    set_: Sets = None,
    version: Annotated[
        int | None,
        typer.Option(min=1, help="The version you looked at; refused when another stands."),
    ] = None,
    as_json: Json = False,
) -> None:
    """Change a station's plate. With neither --from nor --set it opens in your editor.

    --from replaces the plate, --set changes what it names. Cases that are kept stay as they were.
    """
    from api.cli.kept import book_there
    from api.cli.plate_input import kept_if_refused, plate_from, plate_values

    with book_there() as book:
        old = book.station(name)
        plate = plate_from(plate_values(old.plate), file=from_, sets=set_ or (), name=old.name)
        expected = old.version if version is None else version
        with kept_if_refused(plate):
            changed = book.edit_station(old.id, plate, expected=expected)
    _told(changed, "changed", as_json=as_json)


def _told(station: StoredStation, done: str, *, as_json: bool) -> None:
    from api.cli import emit
    from api.json_text import to_json
    from api.kept_shapes import station_kept

    if as_json:
        emit.answer(to_json(station_kept(station)))
    emit.say(f"station {station.name} is {done}: id {station.id}, version {station.version}")
