"""A station's plate from a file, from options or from the user's editor; nothing typed is lost."""

from __future__ import annotations

import io
import os
import shlex
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from api.cli.case_files import Sheet, read_file, station_sheet
from api.cli.case_input import CaseSheet, set_place
from api.cli.usage import UsageRefused
from api.errors import CasebookError
from diagnose.case import Station
from knowledge.errors import CaseError, InputError

_HEAD = """\
# The plate of station {name}. Only what you know; leave the rest out. Quantities may have a unit.
# Such as:
#   process: GMAW
#   wire: {{class: ER70S-6, diameter_mm: 0.035 in}}
#   gun: {{tip_mm: 0.9, length_m: 15 ft}}
#   leads: [{{side: work, length_m: 25 ft, area_mm2: 2/0 AWG}}]
# An empty file changes nothing.

"""


def plate_values(plate: Station) -> dict[str, Any]:
    """Return what is known of a station, as a file says it."""
    values: dict[str, Any] = plate.model_dump(mode="json", by_alias=True, exclude_none=True)
    return values


def plate_yaml(plate: Station) -> str:
    """Return a plate as YAML; empty for a station of which nothing is known."""
    from ruamel.yaml import YAML

    values = _rounded(plate_values(plate))
    if not values:
        return ""
    out = io.StringIO()
    writer = YAML()
    writer.width = 1000
    writer.dump(values, out)
    return out.getvalue()


def _rounded(value: Any) -> Any:
    """Return the values with the dust of unit conversion swept off: 1.1429999999999998 is 1.143."""
    if isinstance(value, dict):
        return {key: _rounded(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_rounded(inner) for inner in value]
    return float(f"{value:.6g}") if isinstance(value, float) else value


def plate_from(
    values: dict[str, Any], *, file: Path | None, sets: Sequence[str], name: str
) -> Station:
    """Return the plate: `values` with what was set over them, or a whole file, or what was edited.

    A plate that does not say its name keeps `name`. Raises CaseError, InputError, UsageRefused.
    """
    if file is None and not sets:
        return _edited(values, name)
    sheet = CaseSheet()
    if file is not None:
        sheet.lay(station_sheet(read_file(file), str(file)))
    else:
        sheet.values["station"] = values
    for text in sets:
        _set(sheet, text)
    return _named(sheet.case().station, name)


@contextmanager
def kept_if_refused(plate: Station) -> Iterator[None]:
    """Keep the plate in a file when the casebook refuses it inside the block, and say where."""
    try:
        yield
    except CasebookError as error:
        file = Path(tempfile.mkdtemp(prefix="wontweld-station-")) / "plate.yaml"
        file.write_text(plate_yaml(plate), encoding="utf-8")
        error.next_step = f"{error.next_step}\n  What you gave is kept: --from {file}".lstrip()
        raise


def _named(plate: Station, name: str) -> Station:
    return plate if plate.name else plate.model_copy(update={"name": name})


def _set(sheet: CaseSheet, text: str) -> None:
    path, equals, value = text.partition("=")
    if not equals or value.strip():
        set_place(sheet, text, "--set")
        return
    *before, last = [step.strip() for step in path.strip().removeprefix("station.").split(".")]
    inner: Any = sheet.values.get("station", {})
    for step in before:
        inner = inner.get(step) if isinstance(inner, dict) else None
    if not isinstance(inner, dict) or last not in inner:
        raise CaseError(
            f"there is nothing at '{path}' to take away",
            where="--set",
            next_step="'station show' says what is known",
        )
    del inner[last]


def _edited(values: dict[str, Any], name: str) -> Station:
    """Return the plate as the user leaves it in the editor. What does not fit is kept in a file."""
    if not (sys.stdin.isatty() or os.environ.get("VISUAL") or os.environ.get("EDITOR")):
        raise UsageRefused("give --from FILE or --set PATH=VALUE; there is no terminal to edit on")
    before = plate_yaml(Station.model_validate(values))
    folder = Path(tempfile.mkdtemp(prefix="wontweld-station-"))
    file = folder / "plate.yaml"
    file.write_text(_HEAD.format(name=" ".join(name.split())) + before, encoding="utf-8")
    _open_editor(file)
    text = read_file(file)
    if not _says_something(text):
        text = before
    try:
        sheet = CaseSheet()
        sheet.lay(station_sheet(text, str(file)) if text else Sheet(str(file), {}, lambda _: None))
        plate = _named(sheet.case().station, name)
    except CaseError as error:
        error.next_step = (
            f"{error.next_step}\n  What you wrote is kept: put it right and give --from {file}"
        ).strip()
        raise
    file.unlink()
    folder.rmdir()
    return plate


def _says_something(text: str) -> bool:
    lines = (line.strip() for line in text.splitlines())
    return any(line and not line.startswith("#") for line in lines)


def _open_editor(file: Path) -> None:
    fallback = "notepad" if os.name == "nt" else "vi"
    editor = os.environ.get("VISUAL") or os.environ.get("EDITOR") or fallback
    try:
        done = subprocess.run([*shlex.split(editor), str(file)], check=False)  # noqa: S603
    except (OSError, ValueError) as error:
        raise InputError(
            f"the editor '{editor}' cannot be started: {error}",
            where="EDITOR",
            next_step="Set EDITOR, or give --from FILE or --set PATH=VALUE",
        ) from None
    if done.returncode != 0:
        raise InputError(
            f"the editor '{editor}' ended with code {done.returncode}; nothing was changed",
            where="EDITOR",
            next_step=f"What you wrote is in {file}",
        )
