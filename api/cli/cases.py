"""`wontweld cases`: the cases that are kept, to look at, carry away, bring in, erase and back up."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated, Literal

import typer

from api.exit_codes import ExitCode

app = typer.Typer(
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="The cases that are kept: look, carry away, bring in, erase, back up.",
)
CaseId = Annotated[str, typer.Argument(metavar="CASE", help="The case's name, as the list has it.")]
Width = Annotated[int | None, typer.Option(min=20, max=400, help="Columns to write in.")]


@app.command("list")
def list_cases(
    *,
    station: Annotated[
        str | None, typer.Option(metavar="NAME", help="Only this station, by name or id.")
    ] = None,
    state: Annotated[
        Literal["open", "closed", "handed_over"] | None,
        typer.Option(help="Only cases that stand so."),
    ] = None,
    since: Annotated[
        str | None, typer.Option(metavar="DAY", help="Only cases opened on 2031-05-04 or later.")
    ] = None,
    limit: Annotated[int, typer.Option(min=1, max=500, help="Cases at the most.")] = 20,
    cursor: Annotated[
        str | None, typer.Option(metavar="MARK", help="The mark at the end of the page before.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="The page as JSON.")] = False,
    width: Width = None,
) -> None:
    """List cases, newest first."""
    from api.cli import emit
    from api.cli.kept import book_if_there, moment_of
    from api.cli.show.kept import put_cases
    from api.cli.show.page import Page
    from api.json_text import to_json
    from api.kept_shapes import CasesPage, cases_page

    moment = moment_of(since, "--since")
    book = book_if_there()
    found = CasesPage(items=[], next=None)
    if book is not None:
        with book:
            found = cases_page(
                book.cases(station=station, state=state, since=moment, limit=limit, cursor=cursor)
            )
    if as_json:
        emit.answer(to_json(found))
        return
    page = Page(emit.width_for(sys.stdout, width), sys.stdout.encoding)
    if found.items:
        put_cases(page, found)
        emit.answer_page(page)
    elif book is not None:
        emit.say("no case fits")
    if found.next:
        emit.say(f"there are more: --cursor {found.next}")


@app.command()
def show(
    case: CaseId,
    knowledge: Annotated[
        list[Path] | None,
        typer.Option(metavar="DIR", help="Folder of your own entries, laid over ours. Repeatable."),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="The case as JSON.")] = False,
    width: Width = None,
) -> None:
    """Show one case: how it stands, and every entry."""
    from api.cli import emit
    from api.cli.kept import book_there
    from api.cli.show.kept import put_case
    from api.cli.show.page import Page
    from api.json_text import to_json
    from api.kept_shapes import case_kept

    with book_there() as book:
        stored = book.case(case)
    if as_json:
        emit.answer(to_json(case_kept(stored)))
        return
    from knowledge.loader import load

    page = Page(emit.width_for(sys.stdout, width), sys.stdout.encoding)
    put_case(page, stored, load(*(knowledge or ())))
    emit.answer_page(page)


@app.command()
def export(
    out: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write to this file, not to stdout.")
    ] = None,
) -> None:
    """Write all stations and cases as JSON Lines, as they are at this moment."""
    from api.cli import emit
    from api.cli.kept import book_there, written_whole

    with book_there() as book:
        if out is None:
            with emit.answering() as stream:
                lines = book.export(stream)
        else:
            with written_whole(out) as stream:
                lines = book.export(stream)
    emit.say(f"{lines} lines exported")


@app.command("import")
def import_(
    file: Annotated[str, typer.Argument(metavar="FILE", help="An export; '-' reads stdin.")],
) -> None:
    """Bring in an export. What is here already is passed over, so it can be run again."""
    from api.casebook import Casebook
    from api.cli import emit
    from api.cli.kept import lines_of

    with lines_of(file) as lines, Casebook.open() as book:
        done = book.import_(lines)
    emit.say(
        f"{done.stations} stations, {done.cases} cases and {done.events} entries are new; "
        f"{done.known} cases were here already"
    )


@app.command()
def forget(
    case: CaseId,
    yes: Annotated[bool, typer.Option("--yes", help="Do not ask; it cannot be undone.")] = False,
) -> None:
    """Erase a case for good, entries and all."""
    from api.cli import emit
    from api.cli.kept import book_there

    with book_there() as book:
        stored = book.case(case)
        if not yes and not _sure(case, len(stored.events)):
            emit.say("nothing was erased")
            raise typer.Exit(ExitCode.USAGE)
        gone = book.forget(case)
    kinds = ", ".join(f"{number} {kind.replace('_', ' ')}" for kind, number in gone.kinds.items())
    emit.say(f"case {gone.case_id} is erased: {gone.entries} entries ({kinds}). {gone.remains}.")


def _sure(case: str, entries: int) -> bool:
    from api.cli import emit

    if not sys.stdin.isatty():
        emit.say("add --yes to erase it without being asked")
        return False
    emit.say(f"Erase case {case} with its {entries} entries for good? Type its name to say yes:")
    return sys.stdin.readline().strip() == case


@app.command()
def backup(
    to: Annotated[Path, typer.Argument(metavar="FILE", help="Where to; it must not be there yet.")],
) -> None:
    """Write a copy of the casebook that is whole, while others go on writing."""
    from api.cli import emit
    from api.cli.kept import book_there

    with book_there() as book:
        emit.say(f"backed up to {book.backup(to)}")
