"""Keeping the case of a page in the casebook, and going on with one that is kept."""

from __future__ import annotations

import secrets
from collections.abc import Mapping, Sequence

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from api.casebook import Casebook, Event, standing
from api.errors import VersionConflict
from api.handover import as_html, sheet_of
from api.handover.html import content_security_policy
from api.http.answers import Known
from api.http.book import Book, Learned
from api.http.cases import CaseId
from api.http.problems import Problem
from api.page.body import SentForm
from api.page.log import Kept, Log, log_of
from api.page.render import HEADERS, html
from api.page.view import UNFOLDED, CaseView, view_of
from diagnose.reason import check_ids
from knowledge.loader import Knowledge

router = APIRouter(include_in_schema=False)


def page_of(
    request: Request,
    view: CaseView,
    *,
    problem: Problem | None = None,
    typed: Mapping[str, str] | None = None,
) -> Response:
    """Return the page of a case, with what could not be taken where there is such a thing."""
    book: Casebook | None = request.app.state.casebook
    knowledge: Knowledge = request.app.state.knowledge
    return html(
        "case.html",
        status=problem.status if problem else 200,
        view=view,
        log=view.log.to_text(),
        knowledge=knowledge,
        problem=problem,
        typed=typed or {},
        unfolded=UNFOLDED,
        keeps=book is not None,
        once=secrets.token_hex(8) if book is not None else "",
        new_since=_unkept(view.log, book),
    )


def _unkept(log: Log, book: Casebook | None) -> bool:
    """Return whether the page knows more, or less, than what is kept."""
    if book is None or log.kept is None:
        return book is not None
    there, ours = standing(book.events(log.kept.id)), log.events()
    return not len(there) == len(ours) == _alike(there, ours)


@router.post("/keep")
def keep(form: SentForm, knowledge: Known, book: Book) -> Response:
    """Keep the case, or what is new in it, and go to its own address. Sent twice, it is kept once.

    Raises VersionConflict where others have written in the case since.
    """
    log = Log.from_text(form.one("log"))
    who = form.one("who")[:80] or None
    once = form.one("once")[:32] or secrets.token_hex(8)
    if log.kept:
        _keep_what_is_new(log, log.kept, book, once, who)
        return RedirectResponse(f"/kept/{log.kept.id}", 303)
    check_ids(log.folded, knowledge)
    stored = book.open_case(log.case, who=who, key=f"page.{once}")
    _append(book, stored.id, log.events()[1:], _keys(log, once), stored.version, who)
    return RedirectResponse(f"/kept/{stored.id}", 303)


def _keys(log: Log, once: str) -> list[str]:
    """Return a key for each entry after the first report; those of one answer belong together."""
    return [
        f"page.{once}-{number}.{place}"
        for number, answer in enumerate(log.answers)
        for place, _ in enumerate(answer.entries)
    ]


def _append(
    book: Casebook,
    case_id: str,
    events: Sequence[Event],
    keys: Sequence[str],
    version: int,
    who: str | None,
) -> None:
    """Add entries one after the other; one that is there already under its key is not added again."""
    for event, key in zip(events, keys, strict=True):
        stored = book.append(
            case_id,
            event.kind,
            event.body,
            expected=version,
            event_id=key,
            who=event.who or who,
        )
        version = max(version, stored.seq)


def _keep_what_is_new(log: Log, kept: Kept, book: Casebook, once: str, who: str | None) -> None:
    """Take back what the page took back, then add what is new."""
    stored = book.case(kept.id)
    there, ours = standing(stored.events), log.events()
    same = _alike(there, ours)
    if stored.version != kept.version or not same:
        raise VersionConflict(f"case {kept.id}", expected=kept.version, actual=stored.version)
    version = stored.version
    for event in reversed(there[same:]):
        undone = book.append(kept.id, "undone", {"seq": event.seq}, expected=version, who=who)
        version = undone.seq
    _append(book, kept.id, ours[same:], _keys(log, once)[max(0, same - 1) :], version, who)


def _alike(there: Sequence[Event], ours: Sequence[Event]) -> int:
    """Return how many entries from the first on are the same."""
    pairs = zip(there, ours, strict=False)
    return next(
        (n for n, (a, b) in enumerate(pairs) if (a.kind, a.body) != (b.kind, b.body)),
        min(len(there), len(ours)),
    )


@router.get("/kept/{id}")
def go_on(
    request: Request, case_id: CaseId, knowledge: Known, book: Book, learned: Learned
) -> Response:
    """Return the page of a case that is kept, to go on with."""
    log = log_of(book.case(case_id))
    return page_of(request, view_of(log, knowledge, learned))


@router.get("/kept/{id}/sheet")
def kept_sheet(case_id: CaseId, knowledge: Known, book: Book, learned: Learned) -> Response:
    """Return the handover sheet of a case that is kept, with its times and names."""
    headers = {**HEADERS, "Content-Security-Policy": content_security_policy()}
    text = as_html(sheet_of(book.case(case_id), knowledge, learned))
    return Response(text, headers=headers, media_type="text/html")
