"""What the routes over the casebook share: the book, the shop's figures, keys and versions."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated

from fastapi import Depends, Header, Request
from pydantic import BaseModel
from starlette.responses import Response

from api.casebook import Casebook
from api.http.answers import matches
from api.http.refusals import NoCasebook, TagMissing, TagRefused
from api.json_text import to_json
from api.learned import prevalence
from knowledge.loader import Knowledge


def book_of(request: Request) -> Casebook:
    """Return the casebook of this server. Raises NoCasebook."""
    book: Casebook | None = request.app.state.casebook
    if book is None:
        raise NoCasebook(
            "this server keeps no casebook",
            where=request.url.path,
            next_step="Start it with one: see 'wontweld serve --help'.",
        )
    return book


def learned_of(request: Request) -> Mapping[str, float] | None:
    """Return fault -> complaints of 1,000 as the shop's closed cases shift them; None for the shipped.

    Counted anew for every request, so that all servers over one casebook say the same at once.
    """
    book: Casebook | None = request.app.state.casebook
    knowledge: Knowledge = request.app.state.knowledge
    if book is None or not request.app.state.learning:
        return None
    return prevalence(book, knowledge)


def idempotency_key(
    key: Annotated[
        str | None,
        Header(
            alias="Idempotency-Key",
            max_length=66,
            description="A name of the writer's for this write: sent again, it is done only once.",
        ),
    ] = None,
) -> str | None:
    """Return the key of a write, without the quotes that structured fields put around it."""
    if key is not None and len(key) >= 2 and key[0] == key[-1] == '"':
        return key[1:-1]
    return key


def if_match(
    tag: Annotated[
        str | None,
        Header(
            alias="If-Match",
            max_length=80,
            description="The ETag of what was read and is now written against. Must be given.",
        ),
    ] = None,
) -> str:
    """Return the header If-Match as it came. Raises TagMissing."""
    if tag is None:
        raise TagMissing(
            "If-Match is missing",
            where="If-Match",
            next_step="Read it first, and send the ETag that came with it.",
        )
    return tag.strip()


def expected_version(tag: str, current: int | None = None) -> int:
    """Return the version that an If-Match names; `current` for '*', which takes what stands.

    Raises TagRefused for a tag that `etag` did not make; a weak one matches nothing (RFC 9110, 13.1.1).

    >>> expected_version('"7"'), expected_version("*", 9)
    (7, 9)
    """
    if tag == "*" and current is not None:
        return current
    digits = tag[1:-1] if len(tag) >= 3 and tag[0] == tag[-1] == '"' else ""
    if not (digits.isascii() and digits.isdigit() and len(digits) <= 9 and digits[0] != "0"):
        raise TagRefused(
            "this is no version that was given out here",
            where="If-Match",
            next_step='Send the ETag as it came, such as "7".',
        )
    return int(digits)


def etag(version: int) -> str:
    """Return the strong ETag of a version."""
    return f'"{version}"'


def versioned(
    request: Request, model: BaseModel, version: int, *, created: str | None = None
) -> Response:
    """Return a model with its version as ETag; 304 where the reader has it, 201 where it is new.

    `created` is the address of what was made.
    """
    headers = {"ETag": etag(version), "Cache-Control": "private, no-cache"}
    known = request.headers.get("if-none-match", "")
    if request.method == "GET" and known and matches(known, etag(version)):
        return Response(status_code=304, headers=headers)
    if created is not None:
        headers["Location"] = created
    status = 200 if created is None else 201
    return Response(to_json(model), status, headers, "application/json")


Book = Annotated[Casebook, Depends(book_of)]
Learned = Annotated[Mapping[str, float] | None, Depends(learned_of)]
Key = Annotated[str | None, Depends(idempotency_key)]
IfMatch = Annotated[str, Depends(if_match)]
