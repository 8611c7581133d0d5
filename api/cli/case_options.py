"""The options that describe a case, put on a case sheet. Each error names its option."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from api.cli.case_files import case_sheet, read_file, read_stdin, station_sheet
from api.cli.case_input import CaseSheet, set_place
from api.cli.usage import UsageRefused
from knowledge.errors import CaseError, UnknownId
from knowledge.loader import Knowledge
from knowledge.nearest import nearest

STATION_PLACE = {
    "process": "process",
    "wire": "wire.class",
    "polarity": "polarity.electrode",
    "gas": "gas.name",
    "metal": "work.metal",
    "joint": "work.joint",
    "wire-size": "wire.diameter_mm",
    "flow": "gas.flow_l_min",
    "thickness": "work.thickness_mm",
}
"""Option -> where in the station it stands."""
AS_WRITTEN = ("wire", "gas")
LIKE = {
    "wire-size": ("0.9 mm", "0.035 in"),
    "flow": ("15 L/min", "35 cfh"),
    "thickness": ("6 mm", "1/4 in"),
}
SAID_AS = {
    "process": {
        "mig": "GMAW",
        "mag": "GMAW",
        "gmaw": "GMAW",
        "fcaw-g": "FCAW-G",
        "fcaw-s": "FCAW-S",
    },
    "polarity": dict.fromkeys(("+", "plus", "pos", "dcep", "dc+", "ep"), "positive")
    | dict.fromkeys(("-", "minus", "neg", "dcen", "dc-", "en"), "negative"),
    "metal": {"steel": "carbon_steel", "mild_steel": "carbon_steel", "aluminum": "aluminium"}
    | {"stainless_steel": "stainless"},
}
"""What people also call the answers of these options."""
_BARE_NUMBER = re.compile(r"\s*[+-]?(?:\d+(?:[.,]\d+)?|[.,]\d+)\s*\Z")


def put_files_and_words(
    sheet: CaseSheet, words: Sequence[str], *, case: Path | None, station: Path | None
) -> None:
    """Put a case file, then stdin where a word is '-', then a station file, then the words."""
    if case:
        sheet.lay(case_sheet(read_file(case), str(case)))
    if "-" in words:
        sheet.lay(case_sheet(read_stdin(), "stdin"))
    if station:
        sheet.lay(station_sheet(read_file(station), str(station)))
    for number, said in enumerate((word for word in words if word != "-"), 1):
        sheet.add("said", said, f"word {number}")


def put_user(
    sheet: CaseSheet, *, units: str | None, may: str | None, tools: Sequence[str] | None
) -> None:
    """Put who asks, what is at hand, and the units to answer in."""
    if units:
        sheet.put(["units"], units.lower(), "--units")
    if may:
        sheet.put(["user", "may"], as_named("may", may), "--may")
    if tools:
        sheet.put(["user", "tools"], list(tools), "--tool")


def put_set_up(
    sheet: CaseSheet,
    *,
    named: Mapping[str, str | None],
    sizes: Mapping[str, str | None],
    looked: bool,
    surface: Sequence[str] | None,
    outdoors: bool | None,
    paths: Iterable[str],
) -> None:
    """Put what the options say about the station. Raises CaseError and UsageRefused."""
    for option, value in named.items():
        if value is not None:
            plain = value if option in AS_WRITTEN else as_named(option, value)
            _put_station(sheet, option, plain)
    for option, value in sizes.items():
        if value is not None:
            _put_station(sheet, option, with_unit(value, option, str(sheet.values.get("units"))))
    if looked:
        _mark_looked(sheet)
    if surface:
        answers = [one.lower() for one in surface]
        sheet.put(["station", "work", "surface"], answers, "--surface")
    if outdoors is not None:
        name = "--outdoors" if outdoors else "--indoors"
        sheet.put(["station", "place", "outdoors"], outdoors, name)
    for text in paths:
        set_place(sheet, text, "--set")


def _put_station(sheet: CaseSheet, option: str, value: str) -> None:
    sheet.put(["station", *STATION_PLACE[option].split(".")], value, f"--{option}")


def _mark_looked(sheet: CaseSheet) -> None:
    station = sheet.values.get("station")
    polarity = station.get("polarity") if isinstance(station, dict) else None
    if not isinstance(polarity, dict) or "electrode" not in polarity:
        raise UsageRefused("--looked says how the polarity is known; give --polarity too")
    sheet.put(["station", "polarity", "known"], "looked", "--looked")


def put_findings(
    sheet: CaseSheet,
    known: Knowledge,
    *,
    symptoms: Iterable[str],
    tried: bool,
    started: Iterable[str],
    readings: Iterable[str],
    found: Iterable[str],
    remedied: Iterable[str],
    made_safe: Iterable[str],
) -> None:
    """Put what was seen, measured, found and done. Raises CaseError, UnknownId and UsageRefused."""
    for text in symptoms:
        name, _, seen = (part.strip() for part in text.partition("="))
        sheet.drop("symptoms", "id", name)
        row = {"id": name, "seen": seen or "yes", "by": "tried_it" if tried else "welder"}
        sheet.add("symptoms", row, "--symptom")
    for kind in started:
        _put_started(sheet, known, kind)
    for text in readings:
        from api.reading_text import reading

        sheet.add("readings", reading(text), "--reading")
    for text in found:
        check, result = pair(text, "--found", "CHECK=RESULT")
        sheet.add("findings", {"check": check, "result": result}, "--found")
    for text in remedied:
        fault, how = pair(text, "--remedied", "FAULT=cured or FAULT=not")
        if how not in ("cured", "not"):
            raise CaseError(f"'{how}' is neither cured nor not", where="--remedied")
        sheet.add("remedied", {"fault": fault, "cured": how == "cured"}, "--remedied")
    for text in made_safe:
        card, who = pair(text, "--made-safe", "CARD=WHO")
        sheet.add("made_safe", {"stop_card": card, "by": who}, "--made-safe")


def _put_started(sheet: CaseSheet, known: Knowledge, kind: str) -> None:
    """Put a kind of start under its facet."""
    row = known.starts.get(kind)
    if row is None:
        close = nearest(kind, known.starts)
        raise UnknownId("kind of start", kind, [close] if close else [])
    if row.facet == "change":
        sheet.add("started.change", kind, "--started")
        return
    told = sheet.origin(("started", row.facet)) == "--started"
    if told and sheet.values["started"][row.facet] != kind:
        other = sheet.values["started"][row.facet]
        raise UsageRefused(f"--started: {other} and {kind} cannot both be; give one")
    sheet.put(["started", row.facet], kind, "--started")


def as_named(option: str, value: str) -> str:
    """Return an answer by the name the case has for it.

    >>> as_named("polarity", "DCEN"), as_named("process", "gmaw")
    ('negative', 'GMAW')
    """
    name = value.strip().lower().replace(" ", "_")
    return SAID_AS.get(option, {}).get(name, name if option != "process" else value)


def with_unit(value: str, option: str, units: str) -> str:
    """Return a quantity as written. Raises CaseError for a bare number whose unit nobody can tell."""
    metric, us = LIKE[option]
    bare = _BARE_NUMBER.match(value)
    if bare and (units == "us" or (option == "wire-size" and _in_inches(value))):
        hint = f"Write '{us}' or '{metric}'."
        raise CaseError(f"{value.strip()} of what?", where=f"--{option}", next_step=hint)
    return value


def _in_inches(value: str) -> bool:
    """Return whether a wire size this small can only have been meant in inches."""
    return abs(float(value.replace(",", "."))) < 0.3


def pair(text: str, option: str, like: str) -> tuple[str, str]:
    """Return the two sides of 'a=b'. Raises CaseError."""
    left, equals, right = (part.strip() for part in text.partition("="))
    if not (left and equals and right):
        raise CaseError(f"'{text}' is not {like}", where=option)
    return left, right
