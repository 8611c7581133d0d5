"""`wontweld handover`: the sheet from which a stranger can start."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from diagnose.case import Case
    from diagnose.handover.sheet import HandoverSheet
    from knowledge.loader import Knowledge


def handover(
    case: Annotated[
        str | None, typer.Argument(metavar="[CASE]", help="The case's name in the casebook.")
    ] = None,
    *,
    file: Annotated[
        Path | None,
        typer.Option("--case", metavar="FILE", help="A case kept nowhere: JSON, YAML or words."),
    ] = None,
    markdown: Annotated[
        bool, typer.Option("--markdown", help="As Markdown; so it is without a form named.")
    ] = False,
    html: Annotated[
        bool, typer.Option("--html", help="As one HTML file, to print on A4 or Letter.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="As JSON.")] = False,
    out: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write to this file, not to stdout.")
    ] = None,
    knowledge: Annotated[
        list[Path] | None,
        typer.Option(metavar="DIR", help="Folder of your own entries, laid over ours. Repeatable."),
    ] = None,
    no_learning: Annotated[
        bool,
        typer.Option("--no-learning", help="Leave the shop's closed cases out of the figures."),
    ] = False,
) -> None:
    """Make the handover sheet of a case: what was found, what is left, and what is asked of whom."""
    from api.cli import emit
    from api.cli.kept import written_whole
    from api.cli.usage import UsageRefused

    if (case is None) == (file is None):
        raise UsageRefused("name a case of the casebook, or a file with --case")
    if markdown + html + as_json > 1:
        raise UsageRefused("--markdown, --html and --json are forms of one sheet: give one of them")
    sheet = _sheet(case, file, knowledge or [], off=no_learning)
    text = _text(sheet, html=html, as_json=as_json)
    if out is None:
        emit.answer(text)
        return
    with written_whole(out) as stream:
        stream.write(text)
    emit.say(f"written to {out}")


def _sheet(case: str | None, file: Path | None, own: list[Path], *, off: bool) -> HandoverSheet:
    from api.cli.learning import learned_or_say
    from api.handover import sheet_of, sheet_of_case
    from knowledge.loader import load

    known = load(*own)
    learned = learned_or_say(known, off=off)
    if case is None:
        return sheet_of_case(_case_in(file, known), known, learned)
    from api.cli.kept import book_there

    with book_there() as book:
        stored = book.case(case)
    return sheet_of(stored, known, learned)


def _case_in(file: Path | None, known: Knowledge) -> Case:
    from api.cli.case_input import CaseSheet
    from api.cli.case_options import put_files_and_words
    from diagnose.reason import check_ids

    sheet = CaseSheet()
    put_files_and_words(sheet, (), case=file, station=None)
    case = sheet.case()
    check_ids(case, known)
    return case


def _text(sheet: HandoverSheet, *, html: bool, as_json: bool) -> str:
    if as_json:
        from api.json_text import to_json

        return to_json(sheet)
    from api.handover import as_html, as_markdown

    return as_html(sheet) if html else as_markdown(sheet)
