"""What a request may bring: so many bytes, JSON only, not too deep, no number that is none."""

from __future__ import annotations

import json
from collections.abc import Callable, Coroutine
from email.message import Message as Headers
from math import isfinite
from typing import Any

from fastapi import Request
from fastapi.routing import APIRoute
from pydantic_core import from_json
from starlette.datastructures import Headers as RequestHeaders
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.http.problems import problem_response
from api.http.refusals import BodyTooLarge, MalformedJson, TooDeep, WrongMediaType

LARGEST_BODY = 256 * 1024
"""Bytes. A full case has about 20,000."""
DEEPEST = 32
"""Lists and objects inside one another. A case has five."""

_Handler = Callable[[Request], Coroutine[Any, Any, Response]]


class BodyLimit:
    """ASGI middleware: refuses a body of more than `largest` bytes, announced or as it streams in."""

    def __init__(self, app: ASGIApp, largest: int = LARGEST_BODY) -> None:
        self.app = app
        self.largest = largest

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, counting the bytes of its body."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        announced = RequestHeaders(scope=scope).get("content-length", "0")
        if announced.isdecimal() and int(announced[:20]) > self.largest:
            refusal = problem_response(self.refused(), headers={"Connection": "close"})
            await refusal(scope, receive, send)
            return
        taken = 0

        async def counted() -> Message:
            nonlocal taken
            message = await receive()
            taken += len(message.get("body", b""))
            if taken > self.largest:
                raise self.refused()
            return message

        await self.app(scope, counted, send)

    def refused(self) -> BodyTooLarge:
        """Return the refusal of a body that is too large."""
        return BodyTooLarge(
            f"the body has more than {self.largest} bytes",
            where="body",
            next_step="Send one case, without what has nothing to do with it.",
        )


class StrictRequest(Request):
    """A request whose JSON body is read strictly."""

    async def json(self) -> Any:
        """Return the body. Raises MalformedJson and TooDeep."""
        return strict_json(await self.body())


class JsonRoute(APIRoute):
    """A route that takes JSON bodies only, read strictly."""

    def get_route_handler(self) -> _Handler:
        """Return FastAPI's own handler with a strict request put before it."""
        handle = super().get_route_handler()

        async def strictly(request: Request) -> Response:
            if request.method in ("POST", "PUT", "PATCH"):
                refuse_other_than_json(request.headers.get("content-type"))
            return await handle(StrictRequest(request.scope, request.receive))

        return strictly


def refuse_other_than_json(content_type: str | None) -> None:
    """Raise WrongMediaType unless the header says JSON, in UTF-8 if it names a character set."""
    headers = Headers()
    headers["content-type"] = content_type or "none/none"
    kind, charset = headers.get_content_type(), headers.get_content_charset("utf-8")
    json_kind = kind == "application/json" or (
        kind.startswith("application/") and kind.endswith("+json")
    )
    if not json_kind or charset not in ("utf-8", "us-ascii"):
        raise WrongMediaType(
            "the body must be JSON in UTF-8",
            where="Content-Type",
            next_step="Send it with the header 'Content-Type: application/json'.",
        )


def strict_json(body: bytes) -> Any:
    """Return the value of a JSON text.

    Raises MalformedJson for what RFC 8259 does not allow (NaN, Infinity), a number too large for
    a double, half a surrogate pair or a name given twice; TooDeep for nesting beyond `DEEPEST`.

    >>> strict_json(b'{"said": ["no arc"]}')
    {'said': ['no arc']}
    """
    try:
        from_json(body, allow_inf_nan=False)
        value = json.loads(body, object_pairs_hook=_each_once)
    except (ValueError, RecursionError) as error:
        if "recursion" in str(error):
            raise _too_deep() from None
        step = "Check brackets, commas and quotes; NaN and Infinity are no JSON."
        raise MalformedJson(str(error), where="body", next_step=step) from None
    _check_inside(value, 1)
    return value


def _each_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for name, value in pairs:
        if name in found:
            raise ValueError(f"the name '{name[:64]}' is given twice")
        found[name] = value
    return found


def _check_inside(value: Any, depth: int) -> None:
    if depth > DEEPEST:
        raise _too_deep()
    if isinstance(value, float) and not isfinite(value):
        step = "Give a number that fits a double."
        raise MalformedJson("a number is too large", where="body", next_step=step)
    if isinstance(value, (dict, list)):
        for inner in value.values() if isinstance(value, dict) else value:
            _check_inside(inner, depth + 1)


def _too_deep() -> TooDeep:
    what = f"lists and objects nest deeper than {DEEPEST}"
    return TooDeep(what, where="body", next_step="A case needs five levels; flatten it.")
