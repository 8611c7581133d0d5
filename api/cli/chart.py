"""`wontweld chart`: what can be behind a symptom, or what comes of a fault, as a tree to teach from."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from api.cli import emit

if TYPE_CHECKING:
    from api.cli.show.page import Page
    from diagnose.chart import Branch, Direction


def chart(
    node: Annotated[
        str,
        typer.Argument(metavar="ID", help="A symptom, mechanism or fault, such as no_arc."),
    ],
    *,
    effects: Annotated[
        bool, typer.Option("--effects", help="What it brings about, not what brings it about.")
    ] = False,
    depth: Annotated[int, typer.Option(min=1, max=8, help="How many links deep.")] = 5,
    dot: Annotated[bool, typer.Option("--dot", help="In the DOT language, to draw it.")] = False,
    station: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Cut to what applies to this station.")
    ] = None,
    knowledge: Annotated[
        list[Path] | None,
        typer.Option("--knowledge", metavar="DIR", help="Your own entries, laid over ours."),
    ] = None,
    width: Annotated[int | None, typer.Option(min=20, max=400, help="Columns.")] = None,
) -> None:
    """Draw a cause chart; a fault is drawn with its effects, anything else with its causes."""
    from api.cli.case_input import station_told
    from api.entry_shown import Setting
    from diagnose.chart import as_dot, causes_of, effects_of
    from knowledge.errors import UnknownId
    from knowledge.loader import load
    from knowledge.nearest import nearest

    known = load(*(knowledge or ()))
    setting = Setting.of(known, station_told(station))
    cut = setting.cut
    direction: Direction = "effects" if effects or node in known.faults else "causes"
    if node not in cut.graph or cut.graph.nodes[node]["kind"] == "finding":
        close = nearest(node, [*known.symptoms, *known.mechanisms, *known.faults])
        kind = "symptom, mechanism or fault on this station"
        raise UnknownId(kind, node, [close] if close and close != node else [])
    if direction == "causes":
        tree = causes_of(known, cut, node, setting.per_thousand, depth)
    else:
        tree = effects_of(known, cut, node, depth)
    if dot:
        emit.answer(as_dot(tree, direction))
        return
    from api.cli.show.page import Page

    page = Page(emit.width_for(sys.stdout, width), sys.stdout.encoding)
    if direction == "effects":
        page.put(f"{tree.title}: what can come of it, and in how many of 100 such cases.")
    else:
        page.put(
            f"{tree.title}: what can be behind it, and in how many of 100 such cases it shows."
        )
        if node in known.symptoms:
            page.put("Beside each fault: how likely it is when nothing else is known.")
    _put(page, tree, 0)
    emit.answer_page(page)


def _put(page: Page, branch: Branch, level: int) -> None:
    from diagnose.in_words import chance_in_words

    for one in branch.branches:
        text = f"{one.title} ({100 * (one.strength or 0):.0f})"
        if one.share is not None:
            text += f", {chance_in_words(one.share)}"
        page.put(text, indent=2 * min(level, 6), mark="-")
        _put(page, one, level + 1)
