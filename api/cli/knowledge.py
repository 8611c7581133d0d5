"""`wontweld knowledge`: list and show what the program knows, check it, and print its grammar."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from api.cli import emit
from api.cli.usage import UsageRefused

if TYPE_CHECKING:
    from knowledge.loader import Knowledge

app = typer.Typer(
    help="Read and check what the program knows.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)

_Own = Annotated[
    list[Path] | None,
    typer.Option(
        "--knowledge", metavar="DIR", help="Folder of your own entries, laid over ours. Repeatable."
    ),
]
_Json = Annotated[bool, typer.Option("--json", help="As JSON.")]
_Width = Annotated[int | None, typer.Option(min=20, max=400, help="Columns to write in.")]


@app.command("list")
def list_entries(
    kind: Annotated[str, typer.Argument(metavar="KIND", help="Such as faults or symptoms.")],
    *,
    area: Annotated[
        str | None,
        typer.Option(metavar="A", help="Only this area of faults, or group of symptoms."),
    ] = None,
    knowledge: _Own = None,
    as_json: _Json = False,
    width: _Width = None,
) -> None:
    """List the entries of a kind: id and title."""
    from api.cli.entries import kind_named
    from knowledge.loader import load

    name = kind_named(kind)
    rows = list(load(*(knowledge or ())).entries(name).values())
    if area is not None:
        rows = _narrowed(name, rows, area)
    if as_json:
        emit.answer(_page_in_json(name, rows))
        return
    from api.cli.show.page import Page

    page = Page(emit.width_for(sys.stdout, width), sys.stdout.encoding)
    for row in rows:
        page.put(row.title, mark=f"{row.id}:")
    emit.answer_page(page)


def _narrowed(kind: str, rows: list[Any], area: str) -> list[Any]:
    """Return the faults of an area, or the symptoms of a group. Raises UsageRefused."""
    from knowledge.nearest import nearest

    by = {"faults": "area", "symptoms": "group"}.get(kind)
    if by is None:
        raise UsageRefused(f"--area narrows faults and symptoms, not {kind.replace('_', ' ')}")
    wanted = area.strip().lower().replace("-", "_")
    known = list(dict.fromkeys(getattr(row, by) for row in rows))
    if wanted not in known:
        close = nearest(wanted, known)
        hint = f"nearest: '{close}'" if close else f"there are: {', '.join(known)}"
        raise UsageRefused(f"there is no {by} '{area}'; {hint}")
    return [row for row in rows if getattr(row, by) == wanted]


def _page_in_json(kind: str, rows: list[Any]) -> str:
    """Return the entries in the shape of the API's lists, all on one page."""
    from api.http.listing import Page
    from api.json_text import to_json
    from knowledge.models import KINDS

    listed: Any = Page.__class_getitem__(KINDS[kind])
    return to_json(listed(items=rows, total=len(rows), next=None))


@app.command("show")
def show(
    entry_id: Annotated[str, typer.Argument(metavar="ID", help="Such as work_clamp_off.")],
    *,
    kind: Annotated[
        str | None, typer.Option(metavar="KIND", help="Where one id stands for two entries.")
    ] = None,
    station: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Cut to what applies to this station.")
    ] = None,
    knowledge: _Own = None,
    as_json: _Json = False,
    width: _Width = None,
) -> None:
    """Show an entry: for a fault what one would see, what looks the same, and the remedy."""
    from api.cli.case_input import station_told
    from api.cli.entries import SINGULAR, kind_named, kinds_of
    from api.entry_shown import Setting
    from knowledge.loader import load

    known = load(*(knowledge or ()))
    kinds = kinds_of(known, entry_id, kind_named(kind) if kind else None)
    setting = Setting.of(known, station_told(station))
    if as_json:
        from api.json_text import to_json

        if len(kinds) > 1:
            names = " and a ".join(SINGULAR[one].replace("_", " ") for one in kinds)
            raise UsageRefused(f"'{entry_id}' is a {names}; say which with --kind")
        emit.answer(to_json(setting.shown(kinds[0], entry_id)))
        return
    from api.cli.show.entry import put_entry
    from api.cli.show.page import Page

    page = Page(emit.width_for(sys.stdout, width), sys.stdout.encoding)
    for one in kinds:
        put_entry(page, known, one, setting.shown(one, entry_id))
    emit.answer_page(page)


@app.command("lint")
def lint(
    folders: Annotated[
        list[Path] | None,
        typer.Argument(metavar="[DIR]...", help="Folders laid over ours, in this order."),
    ] = None,
) -> None:
    """Check that the entries hold together (file, line, nearest), and warn of what is thin."""
    from api.cli.lint import warnings
    from knowledge.loader import ENTRIES, read

    known = read([ENTRIES, *(folders or ())])
    found = list(warnings(known))
    lines = [f"warning: {line}" for line in found]
    counted = f"{_count(known)} hold together; {len(found)} warnings."
    emit.answer("\n".join([*lines, counted]) + "\n")


def _count(known: Knowledge) -> str:
    kinds = ("faults", "mechanisms", "symptoms", "checks")
    return ", ".join(f"{len(known.entries(kind))} {kind}" for kind in kinds)


@app.command("schema")
def schema(
    kind: Annotated[
        str | None, typer.Argument(metavar="[KIND]", help="One kind; all of them without.")
    ] = None,
) -> None:
    """Print the JSON Schema of the knowledge files."""
    from api.cli.entries import kind_named
    from knowledge.loader import schemas

    every = schemas()
    found = every[kind_named(kind)] if kind else every
    emit.answer(json.dumps(found, indent=2, ensure_ascii=False, sort_keys=True) + "\n")
