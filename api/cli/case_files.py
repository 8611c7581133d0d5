"""Case and station files: JSON or YAML in, values with the line on which each stands."""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from knowledge.errors import CaseError

LARGEST = 256 * 1024
"""Bytes. A case is a few kilobytes; the HTTP side takes no more either."""
DEEPEST = 20
Where = Sequence[str | int]

_CASE_KEY = re.compile(
    r"^(said|symptoms|started|station|readings|findings|remedied|made_safe|user|units)[ \t]*:", re.M
)


@dataclass(frozen=True)
class Sheet:
    """What one file said, and where: `line_of` gives the line of a place in it, where it is known."""

    name: str
    values: dict[str, Any]
    line_of: Callable[[Where], int | None]

    def at(self, place: Where) -> str:
        """Return 'file:line' of a place, or the file alone."""
        line = self.line_of(place)
        return f"{self.name}:{line}" if line else self.name


def read_file(path: Path) -> str:
    """Return the text of a file. Raises CaseError, saying why it cannot be read."""
    try:
        with path.open("rb") as stream:
            return _text(stream.read(LARGEST + 1), str(path))
    except OSError as error:
        raise CaseError(f"cannot be read: {error.strerror or error}", where=str(path)) from None


def read_stdin() -> str:
    """Return what stands on stdin. Raises CaseError when it is no text or too much of it."""
    stream = getattr(sys.stdin, "buffer", None)
    content = stream.read(LARGEST + 1) if stream else sys.stdin.read(LARGEST + 1).encode()
    return _text(content, "stdin")


def _text(content: bytes, name: str) -> str:
    if len(content) > LARGEST:
        raise CaseError(
            f"is larger than {LARGEST // 1024} KiB",
            where=name,
            next_step="Give one case at a time.",
        )
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise CaseError(
            f"is not UTF-8 text (byte {error.start + 1})",
            where=name,
            next_step="Save it as UTF-8.",
        ) from None


def case_sheet(text: str, name: str) -> Sheet:
    """Return a case written as JSON or YAML, or plain lines of the welder's words.

    Raises CaseError with the line where the text breaks off.
    """
    if text.lstrip()[:1] == "{":
        return json_sheet(text, name)
    if _CASE_KEY.search(text):
        return yaml_sheet(text, name)
    lines = [(n, line.strip()) for n, line in enumerate(text.splitlines(), 1) if line.strip()]
    numbers = [n for n, _ in lines]

    def line_of(place: Where) -> int | None:
        at = place[1] if len(place) > 1 else None
        return numbers[at] if isinstance(at, int) and at < len(numbers) else None

    return Sheet(name, {"said": [line for _, line in lines]} if lines else {}, line_of)


def station_sheet(text: str, name: str) -> Sheet:
    """Return a station file, JSON or YAML, as a case that has nothing but the station. Raises CaseError."""
    sheet = json_sheet(text, name) if text.lstrip()[:1] == "{" else yaml_sheet(text, name)
    if "station" in sheet.values:
        raise CaseError(
            "this is a whole case, not a station alone",
            where=name,
            next_step="Give it with --case, or keep only what stands under 'station'.",
        )
    return Sheet(name, {"station": sheet.values}, lambda place: sheet.line_of(place[1:]))


def json_sheet(text: str, name: str) -> Sheet:
    """Return a JSON object. Raises CaseError with the line."""
    try:
        values = json.loads(text, object_pairs_hook=_each_once, parse_constant=_no_constant)
    except json.JSONDecodeError as error:
        where = f"{name}:{error.lineno}"
        raise CaseError(
            f"is not proper JSON: {error.msg} (column {error.colno})", where=where
        ) from None
    except ValueError as error:
        raise CaseError(str(error), where=name) from None
    except RecursionError:
        raise CaseError(f"nests deeper than {DEEPEST} levels", where=name) from None
    return Sheet(name, _mapping(values, name), lambda place: None)


def _each_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        names = [key for key, _ in pairs]
        twice = next(key for key in names if names.count(key) > 1)
        raise ValueError(f"says '{twice[:64]}' twice in one place; keep one of the two")
    return found


def _no_constant(name: str) -> float:
    raise ValueError(f"{name} is no number")


def yaml_sheet(text: str, name: str) -> Sheet:
    """Return a YAML mapping. Raises CaseError with the line."""
    from ruamel.yaml import YAML
    from ruamel.yaml.error import MarkedYAMLError, YAMLError
    from ruamel.yaml.events import AliasEvent

    try:
        if any(isinstance(event, AliasEvent) for event in YAML(typ="safe", pure=True).parse(text)):
            raise CaseError("says a thing by reference (*); write it out", where=name)
        raw: Any = YAML(typ="rt").load(text)
    except MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        where = f"{name}:{mark.line + 1}" if mark else name
        raise CaseError(
            f"is not proper YAML: {error.problem or error.context}", where=where
        ) from None
    except (YAMLError, ValueError) as error:
        raise CaseError(f"is not proper YAML: {error}", where=name) from None
    except RecursionError:
        raise CaseError(f"nests deeper than {DEEPEST} levels", where=name) from None
    if raw is None:
        return Sheet(name, {}, lambda place: None)
    return Sheet(name, _mapping(_plain(raw, name), name), lambda place: _line(raw, place))


def _mapping(values: Any, name: str) -> dict[str, Any]:
    if not isinstance(values, dict):
        raise CaseError(
            "is not a list of names with values",
            where=name,
            next_step="Write it as 'name: value', or give words in plain lines.",
        )
    return values


def _plain(value: Any, name: str, depth: int = 0) -> Any:
    """Return plain dicts, lists, numbers and text in place of those that know their line."""
    if depth > DEEPEST:
        raise CaseError(f"nests deeper than {DEEPEST} levels", where=name)
    if isinstance(value, dict):
        return {str(key): _plain(item, name, depth + 1) for key, item in value.items()}
    if isinstance(value, list):
        return [_plain(item, name, depth + 1) for item in value]
    if isinstance(value, bool) or value is None:
        return value
    for kind in (int, float, str):
        if isinstance(value, kind):
            return kind(value)
    return value


def _line(raw: Any, place: Where) -> int | None:
    """Return the line of a place, or of the nearest thing around it."""
    line = int(raw.lc.line)
    for step in place:
        try:
            places = raw.lc
            line = int((places.key(step) if isinstance(raw, dict) else places.item(step))[0])
            raw = raw[step]
        except (AttributeError, KeyError, IndexError, TypeError):
            break
    return line + 1
