"""What travels with the page: the first report, and the answers since, in the casebook's own entries."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import UTC, datetime
from typing import Annotated, Any, Literal, cast

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from api.casebook import Event, Kind, StoredCase, replay, standing
from api.casebook.events import check_order, checked_body
from api.http.limits import strict_json
from api.http.refusals import Refusal
from api.http.shape import shape_refused
from diagnose.case import Case, Short
from diagnose.known_ids import only_known
from diagnose.session.answers import Entry, history_of
from diagnose.session.history import History, as_it_stands
from knowledge.loader import Knowledge

MOST_ANSWERS = 200
Units = Literal["metric", "us"]
MARKS = ("page", "chase")
"""How the keys of entries begin that belong to one answer: '<mark>.<answer>.<number>'."""
_LONG_AGO = datetime(1970, 1, 1, tzinfo=UTC)
ENDINGS = ("closed", "handed_over")


class LogRefused(Refusal):
    """What travels with the page was changed or cut on the way."""

    problem_type = "/problems/log-refused"
    status = 422
    title = "What came with the page cannot be read"


class _Part(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Entered(_Part):
    """One entry as the casebook knows it."""

    kind: Annotated[str, Field(max_length=16)]
    body: dict[str, Any]


class Answered(_Part):
    """One answer: its entries, taken back as one, and who stands for it."""

    who: Short | None = None
    entries: Annotated[tuple[Entered, ...], Field(min_length=1, max_length=8)]


class Kept(_Part):
    """The case of the casebook this log was kept as, and the version it had then."""

    id: Annotated[str, Field(max_length=80)]
    version: Annotated[int, Field(ge=1)]


class Log(_Part):
    """A case as it grows on the page."""

    case: Case = Case()
    answers: Annotated[tuple[Answered, ...], Field(max_length=MOST_ANSWERS)] = ()
    kept: Kept | None = None

    @classmethod
    def from_text(cls, text: str) -> Log:
        """Return the log that a page carried.

        Raises MalformedJson, TooDeep, ShapeRefused, and what the casebook refuses.
        """
        value = strict_json(text.encode("utf-8", "replace"))
        try:
            log = cls.model_validate(value)
        except ValidationError as error:
            rows = [{**row, "loc": ("body", *row["loc"])} for row in error.errors()]
            raise shape_refused(rows, [cls]) from None
        return log.checked()

    def to_text(self) -> str:
        """Return the log as it travels: only what was said."""
        return self.model_dump_json(by_alias=True, exclude_unset=True)

    def checked(self) -> Log:
        """Return the log itself. Raises EntryRefused or CaseClosed where the entries do not add up."""
        events = self.events()
        check_order(events)
        replay(events)
        return self

    def events(self) -> list[Event]:
        """Return the entries as the casebook folds them, without times. Raises EntryRefused."""
        return [
            Event("", seq, "", cast("Kind", kind), _LONG_AGO, who, checked_body(kind, body))
            for seq, (kind, body, who) in enumerate(self._rows(), 1)
        ]

    def _rows(self) -> Iterator[tuple[str, Mapping[str, Any], str | None]]:
        told = self.case.model_dump(mode="json", by_alias=True, exclude_unset=True)
        yield "reported", told, None
        for answer in self.answers:
            for entry in answer.entries:
                yield entry.kind, entry.body, answer.who

    @property
    def folded(self) -> Case:
        """The case as the answers leave it."""
        return replay(self.events())

    @property
    def history(self) -> History:
        """What has happened, in order."""
        return history_of((kind, body) for kind, body, _ in self._rows())

    @property
    def ended(self) -> Entered | None:
        """The entry that closed the case or handed it over, where nothing came after it."""
        last = self.answers[-1].entries[-1] if self.answers else None
        return last if last and last.kind in ENDINGS else None

    def as_it_stands(self, knowledge: Knowledge) -> tuple[Case, list[str]]:
        """Return the case without what a remedy made stale, and the ids that are known no more.

        Only a case that was kept can hold such ids; elsewhere they are left in, to be refused.
        """
        case = as_it_stands(self.folded, self.history, knowledge)
        return only_known(case, knowledge) if self.kept else (case, [])

    def edited(self, case: Case) -> Log:
        """Return the log with another first report; what was reported since is part of it now."""
        answers = []
        for answer in self.answers:
            entries = tuple(entry for entry in answer.entries if entry.kind != "reported")
            if entries:
                answers.append(answer.model_copy(update={"entries": entries}))
        return Log(case=case, answers=tuple(answers)).checked()

    def first_report(self) -> Case:
        """Return the first report with everything that was reported since: what the form shows."""
        return replay(event for event in self.events() if event.kind == "reported")

    def answered(self, entries: Iterable[Entry], who: str | None = None) -> Log:
        """Return the log with one more answer. Raises EntryRefused, CaseClosed, LogRefused."""
        rows = tuple(Entered(kind=one.kind, body=one.body) for one in entries)
        if not rows:
            return self
        if len(self.answers) >= MOST_ANSWERS:
            step = "Hand it over with what was found."
            raise LogRefused(f"a case has {MOST_ANSWERS} answers at the most", next_step=step)
        return self._with([*self.answers, Answered(who=who or None, entries=rows)])

    def in_units(self, units: Units) -> Log:
        """Return the log to be read in other units. In a kept case that is an entry like any other."""
        if self.kept:
            return self.answered([Entry("reported", {"units": units})])
        case = self.case.model_copy(update={"units": units})
        return self.model_copy(update={"case": case}).checked()

    def taken_back(self) -> Log:
        """Return the log without its last answer."""
        return self._with(self.answers[:-1])

    def _with(self, answers: Sequence[Answered]) -> Log:
        return self.model_copy(update={"answers": tuple(answers)}).checked()


def log_of(stored: StoredCase) -> Log:
    """Return the log of a case of the casebook, to go on with on the page."""
    events = standing(stored.events)
    case = Case()
    if events and events[0].kind == "reported":
        case = Case.model_validate(dict(events[0].body))
        events = events[1:]
    groups: list[list[Event]] = []
    for event in events:
        if groups and _group_of(groups[-1][0]) == _group_of(event):
            groups[-1].append(event)
        else:
            groups.append([event])
    answers = tuple(
        Answered(
            who=group[0].who,
            entries=tuple(Entered(kind=one.kind, body=dict(one.body)) for one in group),
        )
        for group in groups
    )
    return Log(case=case, answers=answers, kept=Kept(id=stored.id, version=stored.version))


def _group_of(event: Event) -> str:
    mark, *rest = event.event_id.split(".")
    return rest[0] if mark in MARKS and len(rest) == 2 else event.event_id
