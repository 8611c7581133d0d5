"""Every error as a problem document (RFC 9457, application/problem+json)."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, get_type_hints

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from pydantic import BaseModel, ConfigDict, Field
from starlette.exceptions import HTTPException
from starlette.responses import Response

import api.errors  # noqa: F401  (brings its classes into the tree)
from api.http.refusals import (
    InternalError,
    MethodRefused,
    NoSuchAddress,
    NotReady,
    Refusal,
    ShapeRefused,
    TokenRefused,
)
from api.http.shape import shape_refused
from knowledge.errors import KnowledgeError, UnknownId, WontweldError

MEDIA_TYPE = "application/problem+json"
CAREFUL = {
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "no-referrer",
    "Content-Security-Policy": "default-src 'none'; frame-ancestors 'none'",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cache-Control": "no-store",
}
"""What every answer carries; a failure is answered outside all middleware, so it brings its own."""


class Trouble(BaseModel):
    """One place in what was sent that does not fit."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    where: str
    what: str
    next_step: str = ""


class Problem(BaseModel):
    """What went wrong, where, and what to do next, as RFC 9457 has it."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    type: str = Field(description="Address of a page that says what this kind of problem is.")
    title: str
    status: int
    detail: str
    where: str = ""
    next_step: str = ""
    nearest: list[str] = Field([], description="Ids that may have been meant.")
    errors: list[Trouble] = Field([], description="A line for each place that does not fit.")


def problem_of(error: WontweldError, request: Request | None = None) -> Problem:
    """Return the problem document of an error.

    An unknown id in the address keeps its 404; one in a body is a 422, for the address does exist.
    """
    status = error.status
    if isinstance(error, UnknownId) and request and error.name not in request.path_params.values():
        status = 422
    return Problem(
        type=error.problem_type,
        title=title_of(type(error)),
        status=status,
        detail=error.what,
        where=error.where or (error.kind if isinstance(error, UnknownId) else ""),
        next_step=error.next_step,
        nearest=list(error.nearest) if isinstance(error, UnknownId) else [],
        errors=list(_troubles(error)),
    )


def _troubles(error: WontweldError) -> Iterator[Trouble]:
    if isinstance(error, ShapeRefused):
        for misfit in error.misfits:
            yield Trouble(where=misfit.where, what=misfit.what, next_step=misfit.next_step)
    elif isinstance(error, UnknownId):
        yield Trouble(where=error.where or error.kind, what=error.what, next_step=error.next_step)
    elif isinstance(error, KnowledgeError):
        for line in error.problems:
            yield Trouble(where="knowledge", what=line)


def title_of(kind: type[WontweldError]) -> str:
    """Return the title of a kind of problem; where it has none of its own, what its docstring says."""
    if kind.title != WontweldError.title:
        return kind.title
    return (kind.__doc__ or kind.title).partition("\n")[0].partition(":")[0].rstrip(".")


def kinds() -> dict[str, type[WontweldError]]:
    """Return every kind of problem this program can answer with, by name, in order of name."""
    found: dict[str, type[WontweldError]] = {}
    wanted: list[type[WontweldError]] = [WontweldError]
    while wanted:
        kind = wanted.pop()
        wanted += kind.__subclasses__()
        if "/" in kind.problem_type and kind.__module__.split(".")[0] in (
            "api",
            "diagnose",
            "knowledge",
        ):
            found.setdefault(kind.problem_type.rpartition("/")[2], kind)
    return dict(sorted(found.items()))


def problem_response(
    error: WontweldError, request: Request | None = None, headers: Mapping[str, str] | None = None
) -> Response:
    """Return the answer to a request that ended in an error."""
    problem = problem_of(error, request)
    sent = dict(headers or {})
    if isinstance(error, TokenRefused):
        sent["WWW-Authenticate"] = 'Bearer realm="wontweld"'
    if isinstance(error, NotReady):
        sent["Retry-After"] = "2"
    text = problem.model_dump_json(indent=2, exclude_defaults=True) + "\n"
    return Response(text, problem.status, sent, MEDIA_TYPE)


def install(app: FastAPI) -> None:
    """Make the app answer every error with a problem document."""
    for kind in (WontweldError, RequestValidationError, HTTPException, Exception):
        app.add_exception_handler(kind, _answer)


async def _answer(request: Request, error: Exception) -> Response:
    if isinstance(error, HTTPException):
        if isinstance(error.__cause__, WontweldError):
            return problem_response(error.__cause__, request)
        return problem_response(_refusal(error, request), request, error.headers)
    if isinstance(error, RequestValidationError):
        return problem_response(shape_refused(error.errors(), _asked_for(request)), request)
    if isinstance(error, WontweldError):
        return problem_response(error, request)
    return problem_response(_unforeseen(request), request, CAREFUL)


def _asked_for(request: Request) -> list[type[BaseModel]]:
    """Return the models that the endpoint of a request takes."""
    hints: dict[str, Any] = get_type_hints(request.scope["endpoint"])
    hints.pop("return", None)
    return [
        hint for hint in hints.values() if isinstance(hint, type) and issubclass(hint, BaseModel)
    ]


def _refusal(error: HTTPException, request: Request) -> Refusal:
    where = request.url.path
    if error.status_code == NoSuchAddress.status:
        step = "See /openapi.json for the addresses there are."
        return NoSuchAddress("there is nothing here", where=where, next_step=step)
    if error.status_code == MethodRefused.status:
        allowed = (error.headers or {}).get("Allow", "")
        what = f"{request.method} is not taken here"
        return MethodRefused(what, where=where, next_step=f"Use {allowed}." if allowed else "")
    return Refusal(str(error.detail), where=where)


def _unforeseen(request: Request) -> InternalError:
    return InternalError(
        "something failed that should not have",
        where=request.url.path,
        next_step="The server's log says what. Report it, with the request that brought it about.",
    )
