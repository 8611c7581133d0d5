"""The page itself: the first sheet, the page of a case, the sheet to hand over, the token."""

from __future__ import annotations

from collections.abc import Mapping

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from api.handover import as_html
from api.handover.build import sheet_of_case
from api.handover.html import content_security_policy
from api.http.answers import Known
from api.http.book import Learned
from api.http.problems import problem_of
from api.http.refusals import TokenRefused
from api.page import keep, know
from api.page.answering import after
from api.page.body import Form, SentForm
from api.page.door import COOKIE, Key
from api.page.fields import BY_NAME, SYMPTOM, case_from, choices, fields_of
from api.page.log import Log
from api.page.render import HEADERS, html, style
from api.page.view import view_of
from diagnose.case import Case
from knowledge.errors import WontweldError
from knowledge.loader import Knowledge

router = APIRouter(include_in_schema=False)
router.include_router(know.router)
router.include_router(keep.router)


@router.get("/")
def first_sheet(knowledge: Known) -> Response:
    """Return the empty sheet: what the welder says, and what is worth asking first."""
    return _sheet(knowledge, fields_of(Case()), Log())


@router.post("/")
def case_page(request: Request, form: SentForm, knowledge: Known, learned: Learned) -> Response:
    """Return the page of a case after what was pressed or filled in.

    What cannot be taken comes back with the reason and everything as it was entered.
    """
    try:
        log = Log.from_text(form.one("log")) if form.one("log") else Log()
    except WontweldError as error:
        return _sheet(knowledge, form.values, Log(), request=request, error=error)
    if form.one("do") == "edit":
        return _sheet(knowledge, fields_of(log.first_report()), log)
    if form.one("do") == "diagnose":
        return _from_sheet(request, form, log, knowledge, learned)
    return _from_case(request, form, log, knowledge, learned)


def _from_sheet(
    request: Request, form: Form, log: Log, knowledge: Knowledge, learned: Learned
) -> Response:
    try:
        case = case_from(form, log.first_report(), knowledge)
        if not log.answers and _says_nothing(case):
            return _sheet(knowledge, form.values, log, nothing=True)
        return keep.page_of(request, view_of(log.edited(case), knowledge, learned))
    except WontweldError as error:
        return _sheet(knowledge, form.values, log, request=request, error=error)


def _from_case(
    request: Request, form: Form, log: Log, knowledge: Knowledge, learned: Learned
) -> Response:
    give_up = form.one("do") == "hand_over"
    try:
        view = view_of(after(log, form, knowledge), knowledge, learned, give_up=give_up)
        return keep.page_of(request, view)
    except WontweldError as error:
        return _as_before(request, form, log, knowledge, learned, error)


def _as_before(
    request: Request,
    form: Form,
    log: Log,
    knowledge: Knowledge,
    learned: Learned,
    error: WontweldError,
) -> Response:
    """Return the page as it was before what could not be taken, with the reason and what was typed."""
    typed = {name: form.one(name) for name in ("text", "more", "reading", "name")}
    try:
        view = view_of(log, knowledge, learned)
    except WontweldError as deeper:
        return _sheet(knowledge, fields_of(log.first_report()), log, request=request, error=deeper)
    return keep.page_of(request, view, problem=problem_of(error, request), typed=typed)


def _says_nothing(case: Case) -> bool:
    """Return whether a case has nothing to go on: no words, no answers, no set-up."""
    return case == Case(units=case.units, user=case.user)


def _sheet(
    knowledge: Knowledge,
    values: Mapping[str, list[str]] | Mapping[str, object],
    log: Log,
    *,
    request: Request | None = None,
    error: WontweldError | None = None,
    nothing: bool = False,
) -> Response:
    problem = problem_of(error, request) if error else None
    symptoms = {
        heading: [row for row in knowledge.symptoms.values() if row.group == group]
        for group, heading in know.GROUPS.items()
    }
    return html(
        "sheet.html",
        status=problem.status if problem else 200,
        values=values,
        questions=BY_NAME,
        choices=choices(knowledge),
        symptoms=symptoms,
        symptom=SYMPTOM,
        knowledge=knowledge,
        log=log,
        problem=problem,
        nothing=nothing,
    )


@router.post("/sheet")
def hand_over_sheet(form: SentForm, knowledge: Known, learned: Learned) -> Response:
    """Return the handover sheet of a case that is kept nowhere, to be printed."""
    log = Log.from_text(form.one("log"))
    headers = {**HEADERS, "Content-Security-Policy": content_security_policy()}
    text = as_html(sheet_of_case(log.folded, knowledge, learned))
    return Response(text, headers=headers, media_type="text/html")


@router.post("/token")
def take_token(request: Request, form: SentForm) -> Response:
    """Take the token once and give a cookie for it that no script and no other site can use.

    Raises TokenRefused.
    """
    key: Key | None = request.app.state.page_key
    if key is not None and not key.fits(form.one("token")):
        step = "Ask whoever started the server for its token."
        raise TokenRefused("not the right token", where="Token", next_step=step)
    answer = RedirectResponse("/", 303)
    if key is not None:
        secure = request.url.scheme == "https"
        answer.set_cookie(COOKIE, key.cookie, httponly=True, samesite="strict", secure=secure)
    return answer


@router.get("/style.css")
def style_sheet() -> Response:
    """Return the one style sheet."""
    return Response(style(), media_type="text/css", headers={"Cache-Control": "no-cache"})
