"""The handover sheet over HTTP, as JSON, Markdown or a page to print."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query
from starlette.responses import Response

from api.handover import as_html, as_markdown, sheet_of
from api.handover.html import content_security_policy
from api.http.answers import Known, answer
from api.http.book import Book, Learned
from api.http.cases import CaseId
from api.http.described import KEPT, documented
from api.http.limits import JsonRoute
from api.http.listing import NoQuery
from diagnose.handover.sheet import HandoverSheet

router = APIRouter(prefix="/v1/cases", tags=["cases"], route_class=JsonRoute)


class FormWanted(NoQuery):
    """In which form the sheet is wanted."""

    form: Literal["json", "markdown", "html"] = "json"


def _responses() -> dict[int | str, dict[str, Any]]:
    text = {"schema": {"type": "string"}}
    return {
        200: {
            "description": "The sheet, in the form asked for.",
            "content": {"text/markdown": text, "text/html": text},
        },
        **documented(422, *KEPT),
    }


@router.get(
    "/{id}/handover",
    operation_id="get_handover_sheet",
    response_model=HandoverSheet,
    responses=_responses(),
)
def get_handover_sheet(
    case_id: CaseId,
    knowledge: Known,
    book: Book,
    learned: Learned,
    query: Annotated[FormWanted, Query()],
) -> Response:
    """The sheet from which a stranger can start: the answer of `wontweld handover CASE`."""
    sheet = sheet_of(book.case(case_id), knowledge, learned)
    if query.form == "markdown":
        return Response(as_markdown(sheet), media_type="text/markdown")
    if query.form == "html":
        headers = {"Content-Security-Policy": content_security_policy()}
        return Response(as_html(sheet), headers=headers, media_type="text/html")
    return answer(sheet)
