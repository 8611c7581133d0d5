"""Cases over HTTP: opened, read, listed and forgotten; what the case comes to and what to do next."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any

from fastapi import APIRouter, Body, Depends, Path, Query, Request
from pydantic import BaseModel, ConfigDict, Field
from starlette.responses import Response

from api.casebook import StoredCase, standing
from api.http.answers import Known, answer, if_none_match
from api.http.book import Book, IfMatch, Key, Learned, expected_version, versioned
from api.http.described import KEPT, documented
from api.http.limits import JsonRoute
from api.http.listing import NoQuery
from api.kept_shapes import CaseKept, CasesPage, Entry, State, case_kept, cases_page, entry
from diagnose.answer import in_words
from diagnose.case import Case
from diagnose.diagnosis import Diagnosis
from diagnose.known_ids import only_known
from diagnose.reason import Reasoned, check_ids, reason
from diagnose.session.answers import history_of
from diagnose.session.history import History, as_it_stands
from diagnose.session.moves import Leader, leaders, next_move
from diagnose.session.steps import Step
from knowledge.loader import Knowledge

router = APIRouter(prefix="/v1/cases", tags=["cases"], route_class=JsonRoute)
OPENED: dict[str, Any] = {
    "just_hooked_up": {
        "summary": "A complaint on a station that is kept",
        "value": {
            "case": {"said": ["wire feeds, no arc"], "started": {"change": ["hooked_up"]}},
            "station": "Bay 3",
            "who": "day shift",
        },
    }
}
CaseId = Annotated[
    str, Path(alias="id", max_length=80, description="The case's id, as the list gives it.")
]
NoQueryAtAll = Annotated[NoQuery, Query()]


class CaseOpened(BaseModel):
    """A new case: what is known, on which station that is kept, and who says so."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    case: Case
    station: Annotated[str | None, Field(max_length=80, description="Id or name.")] = None
    who: Annotated[str | None, Field(max_length=80)] = None


class CasesWanted(NoQuery):
    """Which cases, and which page of them."""

    station: Annotated[str | None, Field(max_length=80, description="Id or name.")] = None
    state: State | None = None
    since: Annotated[
        datetime | None, Field(description="Opened at this moment or later; with a time zone.")
    ] = None
    limit: Annotated[int, Field(ge=1, le=500, description="Cases on a page.")] = 50
    cursor: Annotated[
        str | None, Field(max_length=2000, description="The `next` of the page before.")
    ] = None


class EntriesWanted(NoQuery):
    """Which entries of a case."""

    after: Annotated[int, Field(ge=0, le=2**31 - 1, description="Only those after this one.")] = 0


class EntriesListed(BaseModel):
    """The entries of a case, in order."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    items: list[Entry]


class NextMove(BaseModel):
    """What to put to the user next, and the leading faults as the case stands."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    version: int = Field(description="The version of the case this follows from.")
    step: Step
    leaders: list[Leader] = Field(description="Most probable first; `id` null is none of our list.")


class CaseForgotten(BaseModel):
    """What was erased, without its content, and where traces can remain."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    case_id: str
    opened_at: datetime
    entries: int
    kinds: dict[str, int]
    remains: str


@router.post(
    "",
    operation_id="open_case",
    status_code=201,
    response_model=CaseKept,
    responses=documented(400, 409, 413, 415, 422, *KEPT),
)
def open_case(
    *,
    request: Request,
    opened: Annotated[CaseOpened, Body(openapi_examples=OPENED)],
    knowledge: Known,
    book: Book,
    key: Key,
    query: NoQueryAtAll,
) -> Response:
    """Keep a new case, laid over the plate of its station.

    The same Idempotency-Key again gives the kept one back.
    """
    check_ids(opened.case, knowledge)
    stored = book.open_case(opened.case, station=opened.station, who=opened.who, key=key)
    where = f"{router.prefix}/{stored.id}"
    return versioned(request, case_kept(stored), stored.version, created=where)


@router.get(
    "",
    operation_id="list_cases",
    response_model=CasesPage,
    responses=documented(400, 422, *KEPT),
)
def list_cases(book: Book, query: Annotated[CasesWanted, Query()]) -> Response:
    """Cases, newest first, in pages. A page goes on where the last one ended, whatever was added."""
    page = book.cases(
        station=query.station,
        state=query.state,
        since=query.since,
        limit=query.limit,
        cursor=query.cursor,
    )
    return answer(cases_page(page))


@router.get(
    "/{id}",
    operation_id="get_case",
    response_model=CaseKept,
    responses=documented(304, 422, *KEPT),
    dependencies=[Depends(if_none_match)],
)
def get_case(request: Request, case_id: CaseId, book: Book, query: NoQueryAtAll) -> Response:
    """One case, with every entry. Its ETag names the version, to write against."""
    stored = book.case(case_id)
    return versioned(request, case_kept(stored), stored.version)


@router.delete(
    "/{id}",
    operation_id="forget_case",
    response_model=CaseForgotten,
    responses=documented(412, 422, 428, *KEPT),
)
def forget_case(case_id: CaseId, book: Book, tag: IfMatch, query: NoQueryAtAll) -> Response:
    """Erase a case for good, and answer with what was erased, without its content."""
    stored = book.case(case_id)
    gone = book.forget(case_id, expected=expected_version(tag, stored.version))
    return answer(
        CaseForgotten(
            case_id=gone.case_id,
            opened_at=gone.opened_at,
            entries=gone.entries,
            kinds=gone.kinds,
            remains=gone.remains,
        )
    )


@router.get(
    "/{id}/entries",
    operation_id="list_entries",
    response_model=EntriesListed,
    responses=documented(422, *KEPT),
)
def list_entries(case_id: CaseId, book: Book, query: Annotated[EntriesWanted, Query()]) -> Response:
    """The entries of a case in order, for whoever follows it."""
    counting = {event.seq for event in standing(book.events(case_id))}
    events = book.events(case_id, after=query.after)
    return answer(EntriesListed(items=[entry(one, one.seq in counting) for one in events]))


@router.get(
    "/{id}/diagnosis",
    operation_id="get_case_diagnosis",
    response_model=Diagnosis,
    responses=documented(422, *KEPT),
)
def get_diagnosis(
    case_id: CaseId, knowledge: Known, book: Book, learned: Learned, query: NoQueryAtAll
) -> Response:
    """What the case comes to as it stands: findings from before a remedy that changed them are out."""
    reasoned, _ = _reasoned(book.case(case_id), knowledge, learned)
    return answer(in_words(reasoned, learned is not None))


@router.get(
    "/{id}/next",
    operation_id="get_next_step",
    response_model=NextMove,
    responses=documented(422, *KEPT),
)
def get_next_step(
    case_id: CaseId, knowledge: Known, book: Book, learned: Learned, query: NoQueryAtAll
) -> Response:
    """The next step as the guided session puts it: check, question, remedy, proof or hand-over."""
    stored = book.case(case_id)
    reasoned, history = _reasoned(stored, knowledge, learned)
    return answer(
        NextMove(
            version=stored.version,
            step=next_move(reasoned, history),
            leaders=leaders(reasoned),
        )
    )


def _reasoned(
    stored: StoredCase, knowledge: Knowledge, learned: Learned
) -> tuple[Reasoned, History]:
    history = history_of((event.kind, event.body) for event in standing(stored.events))
    known, _ = only_known(as_it_stands(stored.case, history, knowledge), knowledge)
    return reason(known, knowledge, learned), history
