"""Writing in a case over HTTP: an address for each kind of entry, each against a version."""

# No `from __future__ import annotations`: FastAPI reads the annotations of functions made here.

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any

from fastapi import APIRouter, Body, Query, Request
from pydantic import Field
from starlette.responses import Response

from api.casebook import events as kinds
from api.http.answers import Known
from api.http.book import Book, IfMatch, Key, expected_version, versioned
from api.http.cases import CaseId
from api.http.described import KEPT, documented
from api.http.limits import JsonRoute
from api.http.listing import NoQuery
from api.kept_shapes import Entry, Kind, entry
from diagnose.case import Case, Finding, Remedied
from diagnose.reason import check_ids
from knowledge.errors import UnknownId
from knowledge.loader import PROOF_WELD, Knowledge
from knowledge.nearest import nearest

Who = Annotated[str | None, Field(max_length=80, description="Who made the entry; free text.")]


class NewReport(Case):
    """More that was told of the case."""

    who: Who = None


class NewFinding(kinds.Found):
    """The result of a check."""

    who: Who = None


class NewReading(kinds.Read):
    """A reading from an instrument."""

    who: Who = None


class NewAdvice(kinds.Advised):
    """The step that was advised."""

    who: Who = None


class NewRemedy(kinds.RemedyDone):
    """A remedy that was carried out, and whether it cured."""

    who: Who = None


class NewProof(kinds.Proved):
    """A proof weld or proving check, and whether it was good."""

    who: Who = None


class NewUndo(kinds.Undone):
    """The number of the entry that is taken back."""

    who: Who = None


class NewClose(kinds.Closed):
    """How the case ended, and the faults that turned out to be the cause."""

    who: Who = None


class NewHandOver(kinds.HandedOver):
    """To whom the case goes."""

    who: Who = None


def _ids_of_report(told: Case, knowledge: Knowledge) -> None:
    check_ids(told, knowledge)


def _ids_of_finding(told: Finding, knowledge: Knowledge) -> None:
    check_ids(Case(findings=[Finding(check=told.check, result=told.result)]), knowledge)


def _ids_of_remedy(told: Remedied, knowledge: Knowledge) -> None:
    check_ids(Case(remedied=[Remedied(fault=told.fault, cured=told.cured)]), knowledge)


def _ids_of_proof(told: kinds.Proved, knowledge: Knowledge) -> None:
    if told.check != PROOF_WELD:
        _known("check", told.check, [*knowledge.checks, PROOF_WELD])
    if told.fault is not None:
        _known("fault", told.fault, knowledge.faults)


def _ids_of_close(told: kinds.Closed, knowledge: Knowledge) -> None:
    for fault in told.faults:
        _known("fault", fault, knowledge.faults)


def _known(kind: str, name: str, known: Any) -> None:
    if name not in known:
        close = nearest(name, known)
        raise UnknownId(kind, name, [close] if close else [])


def _no_ids(_told: Any, _knowledge: Knowledge) -> None:
    """Nothing in such an entry names what the knowledge holds."""


@dataclass(frozen=True)
class Written:
    """One kind of entry: its address below the case, its shape, what to check, and an example."""

    path: str
    kind: Kind
    body: type[Any]
    check: Callable[[Any, Knowledge], None]
    summary: str
    example: dict[str, Any]


WRITTEN = (
    Written(
        "reports",
        "reported",
        NewReport,
        _ids_of_report,
        "Tell more of the case",
        {"said": ["clamp too hot to hold"], "who": "day shift"},
    ),
    Written(
        "findings",
        "found",
        NewFinding,
        _ids_of_finding,
        "Enter the result of a check",
        {"check": "tug_each_lug", "result": "all_firm", "minutes": 2},
    ),
    Written(
        "readings",
        "read",
        NewReading,
        _no_ids,
        "Enter a reading",
        {"what": "drop", "value": 2.0, "unit": "V", "from": "work_stud", "to": "work_lug"},
    ),
    Written(
        "advice",
        "advised",
        NewAdvice,
        _no_ids,
        "Note the step that was advised",
        {"step": "check", "id": "tug_each_lug"},
    ),
    Written(
        "remedies",
        "remedied",
        NewRemedy,
        _ids_of_remedy,
        "Enter a remedy that was carried out",
        {"fault": "work_clamp_off", "cured": True, "minutes": 3},
    ),
    Written(
        "proofs",
        "proved",
        NewProof,
        _ids_of_proof,
        "Enter a proof weld or proving check",
        {"check": PROOF_WELD, "good": True},
    ),
    Written("undo", "undone", NewUndo, _no_ids, "Take an earlier entry back", {"seq": 2}),
    Written(
        "close",
        "closed",
        NewClose,
        _ids_of_close,
        "Close the case",
        {"outcome": "cured", "faults": ["work_clamp_off"]},
    ),
    Written(
        "hand-over",
        "handed_over",
        NewHandOver,
        _no_ids,
        "Hand the case over",
        {"to": "service", "note": "no volts at the studs with the trigger held"},
    ),
)
"""Every kind of entry, as it stands in addresses: /v1/cases/{id}/<path>."""

router = APIRouter(prefix="/v1/cases", tags=["cases"], route_class=JsonRoute)


def _add_route(written: Written) -> None:
    shape: Any = Annotated[
        written.body,
        Body(
            openapi_examples={
                written.kind: {"summary": written.summary, "value": written.example},
            }
        ),
    ]

    @router.post(
        f"/{{id}}/{written.path}",
        operation_id=f"write_{written.kind}",
        summary=written.summary,
        status_code=201,
        response_model=Entry,
        responses=documented(400, 409, 412, 413, 415, 422, 428, *KEPT),
    )
    def write(
        *,
        request: Request,
        case_id: CaseId,
        told: shape,
        knowledge: Known,
        book: Book,
        key: Key,
        tag: IfMatch,
        query: Annotated[NoQuery, Query()],
    ) -> Response:
        """Add the entry to a case that stands as If-Match says; the new ETag comes with the answer.

        The same Idempotency-Key again gives the stored entry back, whatever came after it.
        """
        written.check(told, knowledge)
        body = told.model_dump(mode="json", by_alias=True, exclude_unset=True)
        who = body.pop("who", None)
        expected = expected_version(tag, book.version(case_id) if tag == "*" else None)
        stored = book.append(case_id, written.kind, body, expected=expected, event_id=key, who=who)
        where = f"{router.prefix}/{case_id}"
        return versioned(request, entry(stored), stored.seq, created=where)


for _written in WRITTEN:
    _add_route(_written)
