"""`wontweld reckon`: the sums, with the working shown step by step."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from api.cli import emit
from api.cli.usage import UsageRefused
from api.exit_codes import ExitCode

if TYPE_CHECKING:
    from collections.abc import Mapping

    from api.cli.show.page import Page
    from diagnose.subjects.answers import LimitGiven, Reckoning, ResultGiven, Units


def reckon(
    subject: Annotated[
        str | None,
        typer.Argument(metavar="[SUBJECT]", help="Such as joint; with none, the list of them."),
    ] = None,
    inputs: Annotated[
        list[str] | None,
        typer.Argument(metavar="[NAME=VALUE]...", help="Such as drop=2V current=200A."),
    ] = None,
    *,
    units: Annotated[
        str, typer.Option(help="metric or us, for what is printed; inputs carry their own.")
    ] = "metric",
    as_json: Annotated[bool, typer.Option("--json", help="The results as JSON.")] = False,
    width: Annotated[int | None, typer.Option(min=20, max=400, help="Columns to write in.")] = None,
) -> None:
    """Work out a sum of the trade and show the working: wontweld reckon joint drop=2V current=200A.

    With a subject and nothing else it lists what the subject takes.
    """
    from api.cli.show.page import Page
    from diagnose.subjects.answers import reckoned, subject_named

    out_units = _units(units)
    page = Page(emit.width_for(sys.stdout, width), sys.stdout.encoding)
    if subject is None:
        put_subjects(page)
        emit.answer_page(page)
        return
    entry = subject_named(subject)
    told = named_values(inputs or [])
    if not told:
        put_inputs(page, subject, entry.title, entry.example)
        emit.answer_page(page)
        raise typer.Exit(ExitCode.USAGE)
    from knowledge.loader import load

    found = reckoned(subject, told, load(), out_units)
    if as_json:
        from api.json_text import to_json

        emit.answer(to_json(found))
        return
    put_reckoning(page, entry.title, found)
    emit.answer_page(page)


def named_values(words: list[str]) -> dict[str, object]:
    """Return name -> value of words such as 'drop=2V'. Raises a usage error for any other word.

    >>> named_values(["drop=2V", "work_lug-work=2 V"])
    {'drop': '2V', 'work_lug-work': '2 V'}
    """
    told: dict[str, object] = {}
    for word in words:
        name, sign, value = word.partition("=")
        name = name.strip()
        if not sign or not name or not value.strip():
            raise UsageRefused(f"'{word}' is not NAME=VALUE, such as drop=2V")
        if name in told:
            raise UsageRefused(f"'{name}' is given twice")
        told[name] = value.strip()
    return told


def _units(told: str) -> Units:
    if told not in ("metric", "us"):
        raise UsageRefused(f"--units is metric or us, not '{told}'")
    units: Literal["metric", "us"] = "us" if told == "us" else "metric"
    return units


def put_subjects(page: Page) -> None:
    """Put the list of subjects, each with an example."""
    from diagnose.subjects.answers import SUBJECTS

    page.put("Subjects", style="heading")
    for name, subject in SUBJECTS.items():
        page.put(f"{subject.title}.", mark=f"{name}:", mark_style="heading")
        page.put(command(name, subject.example), indent=4)
    page.blank()
    page.put("What a subject takes: wontweld reckon SUBJECT")


def put_inputs(page: Page, name: str, title: str, example: tuple[str, ...]) -> None:
    """Put what a subject takes."""
    from diagnose.subjects.answers import subject_named
    from diagnose.subjects.inputs import short_name

    page.put(f"{title}. It takes, as NAME=VALUE with the unit as written:")
    for field, about in subject_named(name).takes.model_fields.items():
        need = "needed" if about.is_required() else "may be left out"
        unit = unit_of(field)
        text = f"{about.description or 'see the example'} ({f'in {unit}, ' if unit else ''}{need})"
        page.put(text, indent=2, mark=f"{short_name(field)}:")
    page.blank()
    page.put(command(name, example))


_UNIT_NAMES: Mapping[str, str] = {
    "l_min": "L/min",
    "m_min": "m/min",
    "mm_s": "mm/s",
    "m_s": "m/s",
    "mm2": "mm²",
    "ohm": "ohm",
    "kpa": "kPa",
    "kg": "kg",
    "pct": "%",
    "min": "min",
    "mm": "mm",
    "v": "V",
    "a": "A",
    "m": "m",
    "c": "°C",
    "l": "L",
}


def unit_of(field: str) -> str:
    """Return the unit that a bare number of this input is in, or an empty string.

    >>> unit_of("drop_v"), unit_of("flow_l_min"), unit_of("gas")
    ('V', 'L/min', '')
    """
    from diagnose.subjects.inputs import short_name

    return _UNIT_NAMES.get(field.removeprefix(short_name(field)).removeprefix("_"), "")


def command(name: str, example: tuple[str, ...]) -> str:
    """Return an example as it is typed."""
    words = [f"'{word}'" if " " in word else word for word in example]
    return f"wontweld reckon {name} {' '.join(words)}"


def put_reckoning(page: Page, title: str, found: Reckoning) -> None:
    """Put the results: what each says, what it was held against, and the working."""
    page.put(title, style="heading")
    for result in found.results:
        _put_result(page, result)
    page.blank()
    page.put(found.disclaimer)


_VERDICTS = {"good": "good", "suspect": "suspect", "bad": "bad", "no_limit": "no verdict"}


def _put_result(page: Page, result: ResultGiven) -> None:
    page.heading(f"{result.quantity.capitalize()}: {figure(result.value, result.unit)}")
    page.put(result.says)
    page.put(_VERDICTS[result.verdict], mark="Verdict:")
    if result.working:
        page.put("Working:")
    for number, step in enumerate(result.working, 1):
        page.put(step, indent=2, mark=f"{number}.")
    if result.limits:
        page.put("Held against:")
    for limit in result.limits:
        page.put(held_against(limit), indent=2, mark="-")
    page.put(result.how_sure.text, mark="How sure:")
    for note in result.notes:
        page.put(note, indent=2, mark="-")


def figure(value: float | None, unit: str) -> str:
    """Return a value with its unit, to four figures or exact; a unit of 1 is not written.

    >>> figure(0.0125, "V"), figure(None, "K"), figure(336.75, "A"), figure(1832.588, "1")
    ('0.0125 V', 'no honest number', '336.75 A', '1833')
    """
    if value is None:
        return "no honest number"
    exact = abs(value - round(value, 2)) < 1e-9
    text = f"{round(value, 2):.12g}" if exact else f"{value:.4g}"
    return text if unit == "1" else f"{text} {unit}"


def held_against(limit: LimitGiven) -> str:
    """Return a limit with its source and basis."""
    where = f", {limit.where}" if limit.where else ""
    basis = limit.basis.replace("_", " ")
    return f"{limit.name}: {figure(limit.value, limit.unit)} ({limit.source}{where}; {basis})"
