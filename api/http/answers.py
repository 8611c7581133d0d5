"""Answers as text, and the strong ETag by which a client asks only for what has changed."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Coroutine
from typing import Annotated, Any

from fastapi import Depends, Header, Request
from pydantic import BaseModel
from starlette.responses import Response

from api.http.limits import JsonRoute
from api.json_text import to_json
from knowledge.loader import Knowledge


def answer(model: BaseModel) -> Response:
    """Return a model as the body of an answer, the same text as `--json` prints."""
    return Response(to_json(model), media_type="application/json")


def knowledge_of(request: Request) -> Knowledge:
    """Return the knowledge this server answers from."""
    knowledge: Knowledge = request.app.state.knowledge
    return knowledge


Known = Annotated[Knowledge, Depends(knowledge_of)]


def etag_of(knowledge: Knowledge, path: str, query: str) -> str:
    """Return the strong ETag of an address: it changes with the program and with the knowledge."""
    named = "\n".join((knowledge.version, knowledge.digest, path, query))
    return f'"{hashlib.sha256(named.encode()).hexdigest()[:32]}"'


def matches(if_none_match: str, etag: str) -> bool:
    """Return whether a header If-None-Match names the ETag (RFC 9110, 13.1.2: weak comparison).

    >>> matches('W/"a", "b"', '"a"'), matches("*", '"a"'), matches('"b"', '"a"')
    (True, True, False)
    """
    given = [tag.strip().removeprefix("W/") for tag in if_none_match.split(",")]
    return "*" in given or etag in given


def if_none_match(
    if_none_match: Annotated[
        str | None, Header(description="ETag at hand; the answer is 304 while it still holds.")
    ] = None,
) -> None:
    """Declare the header for the API's description; `TaggedRoute` reads it."""


class TaggedRoute(JsonRoute):
    """A route whose answers depend on the address and the knowledge alone, and say so by ETag."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        """Return the handler with the ETag put on what it answers."""
        handle = super().get_route_handler()

        async def tagged(request: Request) -> Response:
            response = await handle(request)
            if response.status_code != 200:
                return response
            etag = etag_of(knowledge_of(request), request.url.path, request.url.query)
            headers = {"ETag": etag, "Cache-Control": "private, no-cache"}
            if matches(request.headers.get("if-none-match", ""), etag):
                return Response(status_code=304, headers=headers)
            response.headers.update(headers)
            return response

        return tagged
