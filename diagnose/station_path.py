"""One word about the station at a path such as 'station.place.outdoors', and the case that says it."""

from __future__ import annotations

from typing import Any

from diagnose.case import Station

__all__ = ["part_at", "value_at", "with_word"]


def part_at(path: str, value: object) -> dict[str, Any]:
    """Return a part of the station that says one thing.

    >>> part_at("station.wire.class", "E71T-11")
    {'wire': {'class': 'E71T-11'}}
    """
    _, *parts, last = path.split(".")
    told: dict[str, Any] = {last: value}
    for name in reversed(parts):
        told = {name: told}
    return told


def value_at(path: str, answer: str) -> object:
    """Return the word of an answer as the case holds it: yes and no as truth, phases as a number.

    >>> value_at("station.place.outdoors", "yes"), value_at("station.source.phases", "three")
    (True, 3)
    """
    if path == "station.source.phases":
        return {"single": 1, "three": 3}[answer]
    if path in ("station.work.surface", "station.place.bonded_to"):
        return [answer]
    return {"yes": True, "no": False}.get(answer, answer)


def with_word(station: Station, path: str, answer: str) -> Station:
    """Return the station with one more word about it; what it says already stands.

    >>> with_word(Station(), "station.place.outdoors", "yes").place.outdoors
    True
    """
    whole = station.model_dump(by_alias=True, exclude_none=True)
    _, *parts, last = path.split(".")
    part = whole
    for name in parts:
        part = part.setdefault(name, {})
    part.setdefault(last, value_at(path, answer))
    return Station.model_validate(whole)
