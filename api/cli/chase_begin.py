"""How a session begins: from words, from a kept case, or without the casebook."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from dataclasses import dataclass

from api.casebook import Casebook
from api.cli import chase_show as show
from api.cli import emit
from api.cli.chase_log import CaseLog, KeptLog, LooseLog
from api.cli.chase_loop import Session
from api.cli.chase_talk import Reader, reader, understood
from api.cli.show.page import Page
from api.exit_codes import ExitCode
from api.learned import learning_on, prevalence
from diagnose.case import Case
from diagnose.reason import check_ids
from diagnose.session.answers import Entry
from diagnose.session.steps import Step
from knowledge.loader import Knowledge

_ASKED = Step(
    kind="words",
    id="words",
    title="What does the welder notice?",
    takes_text=True,
)


@dataclass(frozen=True)
class Beginning:
    """What the command line said. `width` is in columns, None for those of the terminal."""

    case: Case
    knowledge: Knowledge
    who: str | None
    width: int | None
    learning_off: bool = False

    def put(self, fill: Callable[[Page], None]) -> None:
        """Write a page, filled by `fill` and wrapped to the width."""
        page = Page(emit.width_for(sys.stdout, self.width), sys.stdout.encoding)
        fill(page)
        emit.answer_page(page)

    def reader(self) -> Reader:
        """Return what reads the user's lines, and repeats those that nobody types."""
        return reader(lambda line: self.put(lambda page: page.put(line)))


def start(begin: Beginning, *, station: str | None, keep: bool) -> ExitCode:
    """Begin a new case, in the casebook unless `keep` is off.

    Raises UnknownId, NotFound for the station, StorageError.
    """
    check_ids(begin.case, begin.knowledge)
    lines = begin.reader()
    case = begin.case
    if not (case.said or case.symptoms):
        words = _first_words(begin, lines)
        if not words:
            return ExitCode.USAGE
        case = case.model_copy(update={"said": [words]})
    if not keep:
        return _run(begin, LooseLog(case, begin.who), lines, None)
    with Casebook.open() as book:
        stored = book.open_case(case, station=station, who=begin.who)
        return _run(begin, KeptLog(book, stored.id, begin.who), lines, book)


def go_on(begin: Beginning, case_id: str, *, reopen: bool) -> ExitCode:
    """Go on with a kept case; one that is closed only with `reopen`.

    Raises NotFound, VersionConflict, StorageError.
    """
    with Casebook.open() as book:
        log = KeptLog(book, case_id, begin.who)
        if log.closed and not reopen:
            body = log.closed.body
            begin.put(lambda page: show.put_closed(page, begin.knowledge, body, case_id))
            return ExitCode.ANSWERED
        if log.closed:
            log.undo()
        told = begin.case.model_dump(mode="json", by_alias=True, exclude_unset=True)
        if told:
            log.add([Entry("reported", told)])
        return _run(begin, log, begin.reader(), book)


def _run(begin: Beginning, log: CaseLog, lines: Reader, book: Casebook | None) -> ExitCode:
    learn = book is not None and learning_on(os.environ, off=begin.learning_off)
    learned = prevalence(book, begin.knowledge) if book is not None and learn else None
    begin.put(lambda page: show.welcome(page, log.case_id, learned=learned is not None))
    return Session(log, begin.knowledge, lines, begin.put, learned).run()


def _first_words(begin: Beginning, lines: Reader) -> str:
    """Return the complaint, asked for until there is one; empty when the user stops."""
    begin.put(lambda page: show.put_step(page, _ASKED, hazard_before=None))
    while (line := lines.line()) is not None:
        said = understood(line, _ASKED)
        if said.act == "quit":
            break
        if said.act in ("text", "words", "danger") and said.text:
            return said.text
        if said.act == "help":
            begin.put(show.put_help)
            continue
        begin.put(lambda page: show.put_step(page, _ASKED, hazard_before=None))
    begin.put(lambda page: page.put("Nothing was said, so there is nothing to keep."))
    return ""
