"""Who gets in, and what every answer carries: Host check, bearer token, HEAD, security headers."""

from __future__ import annotations

import hmac
from collections.abc import Collection
from ipaddress import ip_address

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.http.problems import CAREFUL, problem_response
from api.http.refusals import HostRefused, Refusal, TokenRefused

LOOPBACK_NAMES = frozenset({"localhost", "127.0.0.1", "::1"})
OPEN_TO_ALL = frozenset({"/healthz", "/readyz", "/token", "/style.css"})
"""Addresses that need no token: for whatever watches the server, and to give the token to the page."""


def is_loopback(host: str) -> bool:
    """Return whether an address is this machine's own, reachable by nobody else.

    >>> is_loopback("127.0.0.1"), is_loopback("::1"), is_loopback("localhost"), is_loopback("0.0.0.0")
    (True, True, True, False)
    """
    if host == "localhost":
        return True
    try:
        return ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return False


def name_in(host_header: str) -> str:
    """Return the name in a Host header, without port and brackets.

    >>> name_in("[::1]:8765"), name_in("LocalHost:8765"), name_in("bay3.example")
    ('::1', 'localhost', 'bay3.example')
    """
    text = host_header.strip().lower()
    if text.startswith("["):
        return text[1:].partition("]")[0]
    return text.partition(":")[0].removesuffix(".")


class Gate:
    """ASGI middleware: the Host check against DNS rebinding, then the token, before any body is read.

    `hosts` are the names answered to, None for any; `token` is demanded as 'Authorization: Bearer'.
    """

    def __init__(
        self, app: ASGIApp, *, hosts: Collection[str] | None = None, token: str | None = None
    ) -> None:
        self.app = app
        self.hosts = hosts
        self.token = token.encode() if token is not None else None

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, or answer it with what keeps it out."""
        refusal = self.refusal(scope) if scope["type"] == "http" else None
        answer = problem_response(refusal) if refusal else self.app
        await answer(scope, receive, send)

    def refusal(self, scope: Scope) -> Refusal | None:
        """Return what keeps a request out, or None."""
        headers = Headers(scope=scope)
        host = name_in(headers.get("host", ""))
        if self.hosts is not None and host not in self.hosts:
            step = f"Use one of: {', '.join(sorted(self.hosts))}."
            return HostRefused("this server has another name", where="Host", next_step=step)
        if self.token is None or scope["path"] in OPEN_TO_ALL:
            return None
        scheme, _, given = headers.get("authorization", "").partition(" ")
        right = hmac.compare_digest(given.strip().encode("latin-1", "replace"), self.token)
        if scheme.lower() == "bearer" and right:
            return None
        step = (
            "Send the header 'Authorization: Bearer …' with the token the server was started with."
        )
        return TokenRefused("no token, or not the right one", where="Authorization", next_step=step)


class EveryAnswer:
    """ASGI middleware: HEAD wherever there is GET, and headers that keep browsers careful."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on; add what is missing from the answer's headers."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        head = scope["method"] == "HEAD"

        async def guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in CAREFUL.items():
                    headers.setdefault(name, value)
            elif head and message["type"] == "http.response.body":
                message = {**message, "body": b""}
            await send(message)

        await self.app({**scope, "method": "GET"} if head else scope, receive, guarded)
