"""`wontweld why`: from what the welder says to ranked likely faults with their reasons."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from api.cli.usage import UsageRefused
from api.exit_codes import ExitCode

if TYPE_CHECKING:
    from api.cli.case_input import CaseSheet
    from diagnose.case import Case
    from diagnose.diagnosis import Diagnosis
    from knowledge.loader import Knowledge


USAGE = """Nothing to go on yet. Say what the welder says, a complaint to each argument:

  wontweld why "wire feeds, no arc" "clamp gets hot"
  wontweld why porosity --process GMAW --gas 75/25 --flow "35 cfh" --outdoors
  wontweld why - < what_he_said.txt

Options tell the set-up, readings and findings: wontweld why --help"""


def why(
    words: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[WORDS]...",
            help="What the welder says, a complaint to each argument; "
            "'-' reads a case (JSON, YAML) or lines of words from stdin.",
        ),
    ] = None,
    *,
    case: Annotated[
        Path | None, typer.Option(metavar="FILE", help="A case: JSON, YAML, or lines of words.")
    ] = None,
    station: Annotated[
        Path | None, typer.Option(metavar="FILE", help="The station alone, YAML or JSON.")
    ] = None,
    process: Annotated[str | None, typer.Option(help="GMAW, FCAW-G or FCAW-S.")] = None,
    wire: Annotated[str | None, typer.Option(metavar="CLASS", help="Such as E71T-11.")] = None,
    wire_size: Annotated[
        str | None, typer.Option(metavar="SIZE", help="Such as '0.035 in' or '0.9 mm'.")
    ] = None,
    polarity: Annotated[
        str | None, typer.Option(help="Of the electrode: positive or negative.")
    ] = None,
    looked: Annotated[
        bool, typer.Option("--looked", help="The polarity was traced by hand, not told.")
    ] = False,
    gas: Annotated[
        str | None, typer.Option(metavar="NAME", help="As on the cylinder; 'none' for no gas.")
    ] = None,
    flow: Annotated[str | None, typer.Option(help="Gas flow, '35 cfh' or '15 L/min'.")] = None,
    metal: Annotated[
        str | None, typer.Option(help="Of the work: carbon_steel, stainless, aluminium.")
    ] = None,
    thickness: Annotated[str | None, typer.Option(help="Of the work, '6 mm' or '1/4 in'.")] = None,
    surface: Annotated[
        list[str] | None,
        typer.Option(help="clean, paint, zinc, rust, scale, oil, wet. Repeatable."),
    ] = None,
    joint: Annotated[str | None, typer.Option(help="butt, fillet, lap, open_root.")] = None,
    outdoors: Annotated[
        bool | None, typer.Option("--outdoors/--indoors", help="Where the work stands.")
    ] = None,
    started: Annotated[
        list[str] | None,
        typer.Option(
            metavar="KIND",
            help="How it started: what was changed, how it comes, where only. Repeatable.",
        ),
    ] = None,
    symptom: Annotated[
        list[str] | None,
        typer.Option(metavar="ID[=ANSWER]", help="A symptom: yes, no or not_sure. Repeatable."),
    ] = None,
    tried: Annotated[
        bool, typer.Option("--tried", help="The symptoms of --symptom were tried by you.")
    ] = False,
    reading: Annotated[
        list[str] | None,
        typer.Option(
            metavar="TEXT", help="Such as 'drop work_stud work_lug 2 V at 200 A'. Repeatable."
        ),
    ] = None,
    found: Annotated[
        list[str] | None,
        typer.Option(metavar="CHECK=RESULT", help="The result of a check. Repeatable."),
    ] = None,
    remedied: Annotated[
        list[str] | None,
        typer.Option(metavar="FAULT=cured|not", help="A remedy carried out. Repeatable."),
    ] = None,
    made_safe: Annotated[
        list[str] | None,
        typer.Option(
            metavar="CARD=WHO", help="A stop card lifted by somebody entitled to. Repeatable."
        ),
    ] = None,
    set_: Annotated[
        list[str] | None,
        typer.Option(
            "--set", metavar="PATH=VALUE", help="Anything else, such as gun.tip_mm=0.9. Repeatable."
        ),
    ] = None,
    may: Annotated[
        str | None, typer.Option(help="You are: operator, maintenance, electrician or service.")
    ] = None,
    tool: Annotated[
        list[str] | None,
        typer.Option(metavar="ID", help="A tool at hand; with none named, the usual. Repeatable."),
    ] = None,
    units: Annotated[str | None, typer.Option(help="metric or us.")] = None,
    knowledge: Annotated[
        list[Path] | None,
        typer.Option(metavar="DIR", help="Folder of your own entries, laid over ours. Repeatable."),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="The diagnosis as JSON.")] = False,
    all_: Annotated[
        bool, typer.Option("--all", help="Everything: all faults, rules, sources, questions.")
    ] = False,
    short: Annotated[bool, typer.Option("--short", help="One line a fault.")] = False,
    keep: Annotated[
        bool, typer.Option("--keep", help="Keep it as a case; its id is told on stderr.")
    ] = False,
    case_station: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="With --keep: the station in the casebook it is about."),
    ] = None,
    no_learning: Annotated[
        bool,
        typer.Option("--no-learning", help="Leave the shop's closed cases out of the figures."),
    ] = False,
    width: Annotated[int | None, typer.Option(min=20, max=400, help="Columns to write in.")] = None,
) -> None:
    """Say what the welder says; get the likely faults, why, and what to do next.

    Absent means not known, never "no". Quantities are written with their unit. Options win over
    --station, --station over --case.
    """
    from api.cli.case_input import CaseSheet
    from api.cli.case_options import put_files_and_words, put_findings, put_set_up, put_user
    from knowledge.loader import load

    known = load(*(knowledge or ()))
    sheet = CaseSheet()
    put_files_and_words(sheet, words or (), case=case, station=station)
    put_user(sheet, units=units, may=may, tools=tool)
    put_set_up(
        sheet,
        named={"process": process, "metal": metal, "joint": joint, "polarity": polarity}
        | {"wire": wire, "gas": gas},
        sizes={"wire-size": wire_size, "flow": flow, "thickness": thickness},
        looked=looked,
        surface=surface,
        outdoors=outdoors,
        paths=set_ or (),
    )
    put_findings(
        sheet,
        known,
        symptoms=symptom or (),
        tried=tried,
        started=started or (),
        readings=reading or (),
        found=found or (),
        remedied=remedied or (),
        made_safe=made_safe or (),
    )
    case_ = _case(sheet)
    if case_station and not keep:
        raise UsageRefused("--case-station goes with --keep: it names a station of the casebook")
    if keep:
        case_ = _kept(case_, known, case_station)
    _answer(
        case_,
        known,
        as_json=as_json,
        everything=all_,
        short=short,
        width=width,
        no_learning=no_learning,
    )


def _case(sheet: CaseSheet) -> Case:
    """Return the case on the sheet; with nothing to go on, say how to begin and end there."""
    from api.cli import emit

    case = sheet.case()
    if case == type(case)(units=case.units, user=case.user):
        emit.say(USAGE)
        raise typer.Exit(ExitCode.USAGE)
    return case


def _kept(case: Case, known: Knowledge, station: str | None) -> Case:
    """Keep the case, say its id, and return it as kept: with what the casebook knows of the station."""
    from api.casebook import Casebook
    from api.cli import emit
    from diagnose.reason import check_ids

    check_ids(case, known)
    with Casebook.open() as book:
        stored = book.open_case(case, station=station)
    emit.say(f"kept as case {stored.id}; go on with: wontweld chase {stored.id}")
    return stored.case


def _answer(
    case: Case,
    known: Knowledge,
    *,
    as_json: bool,
    everything: bool,
    short: bool,
    width: int | None,
    no_learning: bool,
) -> None:
    """Diagnose the case, print it, and end with the exit code."""
    from api.cli import emit
    from api.cli.learning import learned_or_say
    from api.cli.show.diagnosis import put_diagnosis, put_short
    from diagnose.answer import in_words
    from diagnose.reason import reason

    learned = learned_or_say(known, off=no_learning)
    reasoned = reason(case, known, learned)
    found = in_words(reasoned, learned is not None)
    if as_json:
        from api.json_text import to_json

        emit.answer(to_json(found))
    else:
        from api.cli.show.page import Page

        page = Page(emit.width_for(sys.stdout, width), sys.stdout.encoding)
        if short:
            put_short(page, found, everything=everything)
        else:
            put_diagnosis(page, reasoned, found, everything=everything)
        emit.answer_page(page)
    raise typer.Exit(_code(found))


def _code(found: Diagnosis) -> ExitCode:
    from diagnose.diagnosis import points_to_our_list, something_to_go_on

    if any(card.state != "made_safe" for card in found.stop_cards):
        return ExitCode.ANSWERED
    answered = something_to_go_on(found) and points_to_our_list(found)
    return ExitCode.ANSWERED if answered else ExitCode.CANT_TELL
