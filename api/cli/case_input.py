"""From files, words and options to one Case; what is more specific wins, and errors name the place."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, Literal, get_args, get_origin

from pydantic import BaseModel, ValidationError

from api.cli.case_files import Sheet, Where, read_file, station_sheet
from diagnose.case import Case, Station
from knowledge.errors import CaseError
from knowledge.nearest import nearest


class CaseSheet:
    """A case as it is put together: later layers over earlier ones, each value with its origin."""

    def __init__(self) -> None:
        self.values: dict[str, Any] = {}
        self._origins: dict[tuple[str | int, ...], str] = {}

    def lay(self, sheet: Sheet) -> None:
        """Lay a file over what is there. Lists of the case are joined, all else is replaced."""
        self._lay(self.values, sheet.values, (), (), sheet)

    def _lay(
        self,
        into: dict[str, Any],
        new: Mapping[str, Any],
        place: Where,
        told_at: Where,
        sheet: Sheet,
    ) -> None:
        for key, value in new.items():
            here, there = (*place, key), (*told_at, key)
            if isinstance(value, dict) and isinstance(into.get(key), dict):
                self._lay(into[key], value, here, there, sheet)
            elif isinstance(value, list) and isinstance(into.get(key), list) and len(here) == 1:
                start = len(into[key])
                into[key] = [*into[key], *value]
                for index, item in enumerate(value):
                    self._note(item, (*here, start + index), (*there, index), sheet)
            else:
                into[key] = value
                self._note(value, here, there, sheet)

    def _note(self, value: Any, here: Where, there: Where, sheet: Sheet) -> None:
        self._origins[tuple(here)] = sheet.at(there)
        items: Iterable[tuple[str | int, Any]] = ()
        if isinstance(value, dict):
            items = value.items()
        elif isinstance(value, list):
            items = enumerate(value)
        for step, inner in items:
            self._note(inner, (*here, step), (*there, step), sheet)

    def put(self, place: Sequence[str], value: Any, origin: str) -> None:
        """Put one value at a place, as an option does. Raises CaseError where a list stands in the way."""
        into = self.values
        for depth, step in enumerate(place[:-1], 1):
            inner = into.setdefault(step, {})
            if not isinstance(inner, dict):
                at = ".".join(place[:depth])
                raise CaseError(f"'{at}' has no parts with names", where=origin)
            into = inner
        into[place[-1]] = value
        self._origins[tuple(place)] = origin

    def add(self, name: str, item: Any, origin: str) -> None:
        """Add an item to one of the lists of the case, or of `started`."""
        into: Any = self.values
        path: list[str | int] = list(name.split("."))
        for step in path[:-1]:
            into = into.setdefault(step, {})
        rows = into.setdefault(path[-1], [])
        if not isinstance(rows, list):
            raise CaseError(f"'{name}' is no list there", where=self.origin(path))
        rows.append(item)
        self._origins[(*path, len(rows) - 1)] = origin

    def drop(self, name: str, key: str, value: str) -> None:
        """Drop the rows of a list that say something about `value`: an option says it anew."""
        rows = self.values.get(name)
        if isinstance(rows, list):
            told = [row for row in rows if not (isinstance(row, dict) and row.get(key) == value)]
            if len(told) < len(rows):
                self.values[name] = told

    def origin(self, place: Where) -> str:
        """Return where a place was told: an option, or a file and line."""
        for length in range(len(place), 0, -1):
            if found := self._origins.get(tuple(place[:length])):
                return found
        inside = (told for at, told in self._origins.items() if at[: len(place)] == tuple(place))
        return next(inside, "")

    def case(self) -> Case:
        """Return the case. Raises CaseError with a line for each thing that does not fit."""
        try:
            return Case.model_validate(self.values)
        except ValidationError as error:
            raise CaseError("\n".join(self._misfits(error))) from None

    def _misfits(self, error: ValidationError) -> Iterator[str]:
        rows = error.errors(include_url=False)
        for number, row in enumerate(rows):
            if number == 20:
                yield f"and {len(rows) - 20} more"
                return
            place = row["loc"]
            origin = self.origin(place)
            names = [origin] if origin else []
            if not origin.startswith("--") or origin == "--set":
                names.append(written(place))
            what, hint = _what(row)
            yield ": ".join((*names, what)) + (f"\n  {hint}" if hint else "")


def station_told(path: Path | None) -> Station:
    """Return the station of a file, or one of which nothing is known. Raises CaseError."""
    sheet = CaseSheet()
    if path:
        sheet.lay(station_sheet(read_file(path), str(path)))
    return sheet.case().station


def written(place: Where) -> str:
    """Return a place as people write it.

    >>> written(("readings", 1, "value"))
    'readings[1].value'
    """
    text = "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in place)
    return text.removeprefix(".")


def _what(row: Mapping[str, Any]) -> tuple[str, str]:
    """Return what is wrong and the nearest that would be right."""
    place = row["loc"]
    if row["type"] == "extra_forbidden":
        known = names_at(Case, place[:-1])
        close = nearest(str(place[-1]), known)
        hint = f"nearest: '{close}'" if close else f"names here: {', '.join(known)}"
        return "there is no such name here", hint
    if row["type"] == "literal_error":
        answers = re.findall(r"'([^']*)'|(\d+)", str(row["ctx"]["expected"]))
        words = [text or number for text, number in answers]
        close = nearest(str(row["input"])[:64], words)
        hint = f"nearest: '{close}'" if close else ""
        return f"'{row['input']}' is not one of {', '.join(words)}", hint
    if row["type"] == "missing":
        return "is missing", ""
    message = str(row["msg"]).removeprefix("Value error, ")
    return re.sub(r"^Input should ", "should ", message), ""


def names_at(model: type[BaseModel], place: Where) -> list[str]:
    """Return the names that a model takes at a place; none where the place is not in the model.

    >>> names_at(Case, ("station", "wire"))
    ['class', 'diameter_mm', 'form', 'supply']
    """
    for step in place:
        if isinstance(step, int):
            continue
        inner = next(_models_in(annotation_at(model, step)), None)
        if inner is None:
            return []
        model = inner
    return [field.alias or name for name, field in model.model_fields.items()]


def annotation_at(model: type[BaseModel], step: str) -> Any:
    """Return the annotation of a field by the name outsiders write, or None."""
    fields = {field.alias or name: field for name, field in model.model_fields.items()}
    return fields[step].annotation if step in fields else None


def _models_in(annotation: Any) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for part in get_args(annotation):
        yield from _models_in(part)


def set_place(sheet: CaseSheet, text: str, origin: str) -> None:
    """Put 'path=value' on the sheet; a path starts at the station unless it names a part of the case.

    Raises CaseError.
    """
    path, equals, value = text.partition("=")
    place = [step.strip() for step in path.split(".")]
    if not equals or not all(place):
        raise CaseError(
            f"'{text}' is not path=value", where=origin, next_step="Such as gun.tip_mm=0.9"
        )
    if place[0] in Station.model_fields:
        place = ["station", *place]
    elif place[0] not in Case.model_fields:
        close = nearest(place[0], [*Station.model_fields, *Case.model_fields])
        hint = f"nearest: '{close}'" if close else f"names: {', '.join(Station.model_fields)}"
        raise CaseError(f"there is no '{place[0]}'", where=origin, next_step=hint)
    sheet.put(place, _as_typed(place, value.strip()), origin)


def _as_typed(place: Sequence[str], value: str) -> Any:
    """Return a value as its field wants it: lists from commas or JSON, a number for a numeric choice."""
    if value[:1] in "[{" and value:
        import json

        try:
            return json.loads(value)
        except ValueError:
            return value
    model: type[BaseModel] | None = Case
    annotation: Any = None
    for step in place:
        annotation = annotation_at(model, step) if model else None
        model = next(_models_in(annotation), None) if annotation is not None else None
    if _holds(annotation, list):
        return [item.strip() for item in value.split(",") if item.strip()]
    if value.isdigit() and int(value) in _choices(annotation):
        return int(value)
    return value


def _holds(annotation: Any, kind: type) -> bool:
    return get_origin(annotation) is kind or any(_holds(p, kind) for p in get_args(annotation))


def _choices(annotation: Any) -> tuple[Any, ...]:
    if get_origin(annotation) is Literal:
        return get_args(annotation)
    return tuple(choice for part in get_args(annotation) for choice in _choices(part))
