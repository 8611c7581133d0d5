"""The page's own door: the token asked for once and held by a strict cookie, and errors as pages."""

from __future__ import annotations

import hashlib
import hmac
import json
from http.cookies import CookieError, SimpleCookie

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.http.problems import MEDIA_TYPE, Problem
from api.page.render import problem_page

COOKIE = "wontweld_page"
_PASSED_ON = ("www-authenticate", "allow", "retry-after", "connection")


class Key:
    """What opens the page: the server's token, or the cookie that was given for it.

    The cookie is made from the token and does not give it away.
    """

    def __init__(self, token: str) -> None:
        self._token = token.encode()
        self.cookie = hmac.new(self._token, b"wontweld page", hashlib.sha256).hexdigest()

    def fits(self, token: str) -> bool:
        """Return whether this is the token."""
        return hmac.compare_digest(token.encode("utf-8", "replace"), self._token)

    def header(self, cookies: str) -> bytes | None:
        """Return the header Authorization that these cookies stand for, or None."""
        try:
            found = SimpleCookie(cookies).get(COOKIE)
        except CookieError:
            return None
        given = found.value.encode("utf-8", "replace") if found else b""
        if not hmac.compare_digest(given, self.cookie.encode()):
            return None
        return b"Bearer " + self._token


def is_page(path: str) -> bool:
    """Return whether an address belongs to the page.

    >>> is_page("/"), is_page("/know/fault/tip_worn"), is_page("/v1/cases")
    (True, True, False)
    """
    return path in ("/", "/keep", "/sheet", "/token", "/know") or path.startswith(
        ("/know/", "/kept/")
    )


class Door:
    """ASGI middleware before the gate, for the page's addresses only.

    Takes the cookie for the header, and shows problem documents as pages.
    """

    def __init__(self, app: ASGIApp, *, key: Key | None = None) -> None:
        self.app = app
        self.key = key

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on; turn a problem in the answer into a page."""
        if scope["type"] != "http" or not is_page(scope["path"]):
            await self.app(scope, receive, send)
            return
        answer = _AnswerAsPage(scope, receive, send)
        await self.app(self._with_header(scope), receive, answer.take)

    def _with_header(self, scope: Scope) -> Scope:
        headers = Headers(scope=scope)
        if self.key is None or "authorization" in headers:
            return scope
        stands_for = self.key.header("; ".join(headers.getlist("cookie")))
        if stands_for is None:
            return scope
        return {**scope, "headers": [*scope["headers"], (b"authorization", stands_for)]}


class _AnswerAsPage:
    """Passes an answer on, but holds a problem document back until it can be shown as a page."""

    def __init__(self, scope: Scope, receive: Receive, send: Send) -> None:
        self._scope, self._receive, self._send = scope, receive, send
        self._held: Message | None = None
        self._body = b""

    async def take(self, message: Message) -> None:
        """Take one part of the answer."""
        if message["type"] == "http.response.start":
            kind = MutableHeaders(scope=message).get("content-type", "")
            if kind.startswith(MEDIA_TYPE):
                self._held = message
                return
        elif self._held is not None:
            self._body += message.get("body", b"")
            if not message.get("more_body", False):
                page = problem_page(Problem.model_validate(json.loads(self._body)))
                page.headers.update(_passed_on(self._held))
                await page(self._scope, self._receive, self._send)
            return
        await self._send(message)


def _passed_on(start: Message) -> dict[str, str]:
    """Return the headers of a problem that its page must carry too."""
    headers = MutableHeaders(scope=start)
    return {name: headers[name] for name in _PASSED_ON if name in headers}
