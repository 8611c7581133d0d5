"""What can be entered in a case, and how the entries fold into the case as it stands.

A case is never changed: entries are added, and an `undone` entry takes an earlier one back.
Everything in this module is pure.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, Any, Literal, get_args

from pydantic import Field, ValidationError

from api.errors import CaseClosed, EntryRefused
from diagnose.case import Case, Finding, Id, Part, Reading, Remedied, Who

Kind = Literal[
    "reported",
    "found",
    "read",
    "advised",
    "undone",
    "remedied",
    "proved",
    "closed",
    "handed_over",
]
State = Literal["open", "closed", "handed_over"]
Body = Mapping[str, Any]
KINDS: tuple[Kind, ...] = get_args(Kind)

Note = Annotated[str, Field(min_length=1, max_length=400)]
Minutes = Annotated[float, Field(ge=0, le=100_000)]


class Found(Finding):
    """The result of a check, and the minutes it took."""

    minutes: Minutes | None = None
    note: Note | None = None


class Read(Reading):
    """A reading from an instrument, and the minutes it took."""

    minutes: Minutes | None = None
    note: Note | None = None


class Advised(Part):
    """The step that was advised, and the ranking behind it (fault -> probability)."""

    step: Literal["check", "remedy", "ask", "hand_over", "nothing_left"]
    id: Id | None = None
    why: Note | None = None
    faults: Annotated[
        dict[Id, Annotated[float, Field(ge=0, le=1)]] | None, Field(max_length=50)
    ] = None


class Undone(Part):
    """The number of the entry that is taken back."""

    seq: Annotated[int, Field(ge=1)]
    why: Note | None = None


class RemedyDone(Remedied):
    """A remedy that was carried out, whether it cured, and the minutes it took."""

    minutes: Minutes | None = None
    note: Note | None = None


class Proved(Part):
    """A proof weld or proving check, and whether it was good."""

    check: Id
    good: bool
    fault: Id | None = None
    minutes: Minutes | None = None
    note: Note | None = None


class Closed(Part):
    """How the case ended, and the faults that turned out to be the cause."""

    outcome: Literal["cured", "not_in_our_list", "nothing_found", "withdrawn"]
    faults: Annotated[list[Id], Field(max_length=10)] = Field(default_factory=list)
    note: Note | None = None


class HandedOver(Part):
    """To whom the case went."""

    to: Who
    note: Note | None = None


BODIES: Mapping[str, type[Part]] = {
    "reported": Case,
    "found": Found,
    "read": Read,
    "advised": Advised,
    "undone": Undone,
    "remedied": RemedyDone,
    "proved": Proved,
    "closed": Closed,
    "handed_over": HandedOver,
}
_OF_THE_LOG = ("minutes", "note")


@dataclass(frozen=True, slots=True)
class Event:
    """One entry of a case. `at` is UTC; `event_id` is the writer's idempotency key."""

    case_id: str
    seq: int
    event_id: str
    kind: Kind
    at: datetime
    who: str | None
    body: Body

    def same_content(self, kind: str, who: str | None, body: Body) -> bool:
        """Return whether this entry says the same, whenever and wherever it was written."""
        return (self.kind, self.who, written(self.body)) == (kind, who, written(body))


def written(body: Body) -> str:
    """Return `body` as canonical JSON: the same content is always the same text.

    >>> written({"b": 1, "a": "ö"})
    '{"a":"ö","b":1}'
    """
    return json.dumps(body, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def checked_body(kind: str, body: object, *, where: str = "") -> dict[str, Any]:
    """Return `body` in the shape its kind asks for: units made SI, only what was said.

    Raises EntryRefused for an unknown kind or a body that does not fit it.

    >>> checked_body("found", {"check": "tug_each_lug", "result": "loose"})
    {'check': 'tug_each_lug', 'result': 'loose'}
    """
    if kind not in BODIES:
        raise EntryRefused(
            f"there is no entry of kind '{kind}'",
            where=where,
            next_step=f"The kinds are {', '.join(KINDS)}",
        )
    try:
        part = BODIES[kind].model_validate(body)
    except ValidationError as error:
        raise EntryRefused(_first_complaint(error), where=where or kind) from None
    return part.model_dump(mode="json", by_alias=True, exclude_unset=True)


def standing(events: Iterable[Event]) -> list[Event]:
    """Return the entries that count: neither taken back nor themselves the taking back."""
    entries = list(events)
    gone = {event.body["seq"] for event in entries if event.kind == "undone"}
    return [event for event in entries if event.kind != "undone" and event.seq not in gone]


def replay(events: Iterable[Event]) -> Case:
    """Return the case as the entries leave it; what was undone does not count.

    Later answers replace earlier ones about the same symptom, check or fault; words and readings
    add up; what is said of the station is laid over what was known.

    Raises EntryRefused when together they break a bound of the case's shape.
    """
    case: dict[str, Any] = {}
    for event in standing(events):
        _FOLDS.get(event.kind, _fold_nothing)(case, event.body)
    try:
        return Case.model_validate(case)
    except ValidationError as error:
        raise EntryRefused(
            _first_complaint(error),
            where="case",
            next_step="Undo an earlier entry, or close this case and open another",
        ) from None


def check_next(earlier: Sequence[Event], new: Event) -> None:
    """Raise EntryRefused when `new` cannot follow `earlier`, CaseClosed when the case is closed."""
    check_order([*earlier, new])
    if new.kind in _FOLDS or new.kind == "undone":
        replay([*earlier, new])


def check_order(events: Iterable[Event]) -> None:
    """Raise EntryRefused at the first entry that cannot stand where it does.

    A case begins with a report; an undo names an earlier entry that still counts; after a close
    only the undo of that close follows.
    """
    kinds: dict[int, Kind] = {}
    gone: set[int] = set()
    closing: int | None = None
    for event in events:
        where = f"case {event.case_id}"
        if not kinds and event.kind != "reported":
            raise EntryRefused("a case begins with a report", where=where)
        if closing is not None and not (event.kind == "undone" and event.body["seq"] == closing):
            raise CaseClosed(
                "the case is closed",
                where=where,
                next_step=f"Undo entry {closing} to reopen it, or open another case",
            )
        if event.kind == "undone":
            _check_undo(event.body["seq"], kinds, gone, where)
            gone.add(event.body["seq"])
            closing = None
        elif event.kind == "closed":
            closing = event.seq
        kinds[event.seq] = event.kind


def _check_undo(seq: int, kinds: Mapping[int, Kind], gone: set[int], where: str) -> None:
    if seq not in kinds:
        raise EntryRefused(
            f"there is no entry {seq} to undo", where=where, next_step="Look at the entries first"
        )
    if kinds[seq] == "undone":
        raise EntryRefused(
            f"entry {seq} is an undo itself",
            where=where,
            next_step="Enter again what it took back",
        )
    if seq in gone:
        raise EntryRefused(f"entry {seq} is undone already", where=where)


def _first_complaint(error: ValidationError) -> str:
    first = error.errors(include_url=False, include_input=False)[0]
    place = ".".join(str(step) for step in first["loc"])
    return f"{place}: {first['msg']}" if place else str(first["msg"])


def laid_over(below: Mapping[str, Any], above: Mapping[str, Any]) -> dict[str, Any]:
    """Return `above` laid over `below`, part by part; a null above takes what was known away.

    >>> laid_over({"gun": {"tip_mm": 0.9}, "name": "bay 3"}, {"gun": {"tip_mm": 1.0}})
    {'gun': {'tip_mm': 1.0}, 'name': 'bay 3'}
    """
    result = dict(below)
    for name, value in above.items():
        old = result.get(name)
        nested = isinstance(old, Mapping) and isinstance(value, Mapping)
        result[name] = laid_over(result[name], value) if nested else value
    return result


def _add_latest(case: dict[str, Any], part: str, entry: Body, *names: str) -> None:
    def about(one: Body) -> tuple[Any, ...]:
        return tuple(one[name] for name in names)

    others = [one for one in case.get(part, []) if about(one) != about(entry)]
    case[part] = [*others, {key: entry[key] for key in entry if key not in _OF_THE_LOG}]


def _fold_found(case: dict[str, Any], body: Body) -> None:
    _add_latest(case, "findings", body, "check")


def _fold_remedied(case: dict[str, Any], body: Body) -> None:
    _add_latest(case, "remedied", body, "fault")


def _fold_read(case: dict[str, Any], body: Body) -> None:
    reading = {key: body[key] for key in body if key not in _OF_THE_LOG}
    case.setdefault("readings", []).append(reading)


def _fold_reported(case: dict[str, Any], body: Body) -> None:
    for words in body.get("said", []):
        if words not in case.setdefault("said", []):
            case["said"].append(words)
    for reading in body.get("readings", []):
        _fold_read(case, reading)
    for part, names in _ABOUT.items():
        for entry in body.get(part, []):
            _add_latest(case, part, entry, *names)
    for part in ("started", "station", "user"):
        if part in body:
            case[part] = laid_over(case.get(part, {}), body[part])
    if "units" in body:
        case["units"] = body["units"]


def _fold_nothing(case: dict[str, Any], body: Body) -> None:
    """Entries of the log only: they say what happened, not what is known of the fault."""


_ABOUT = {
    "symptoms": ("id",),
    "findings": ("check",),
    "remedied": ("fault",),
    "made_safe": ("stop_card", "by"),
}
_FOLDS: Mapping[str, Callable[[dict[str, Any], Body], None]] = {
    "reported": _fold_reported,
    "found": _fold_found,
    "read": _fold_read,
    "remedied": _fold_remedied,
}
