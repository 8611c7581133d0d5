"""`wontweld serve`: the API on this machine, or, with a token, on the shop's network."""

from __future__ import annotations

import socket
import sys
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from knowledge.errors import InputError

if TYPE_CHECKING:
    from fastapi import FastAPI

    from api.casebook import Casebook

SHORTEST_TOKEN = 16
"""Characters. A guess a second for a year finds no random token of this length."""
_TOKEN_FROM = "WONTWELD_TOKEN"  # noqa: S105  (the name of the variable, not a token)
_FINISH_WITHIN_S = 10


class AddressRefused(InputError):
    """The address cannot be listened on."""

    exit_code = 4
    problem_type = "/problems/address-refused"
    status = 500
    title = "The address cannot be listened on"


class TokenNeeded(InputError):
    """The server is not started without a token that is good enough."""

    exit_code = 2
    problem_type = "/problems/token-needed"
    status = 500
    title = "A token is needed"


def serve(
    *,
    host: Annotated[
        str, typer.Option(help="Address to listen on; any but this machine's own needs a token.")
    ] = "127.0.0.1",
    port: Annotated[
        int, typer.Option(min=0, max=65535, help="Port to listen on; 0 takes a free one.")
    ] = 8765,
    token: Annotated[
        str | None,
        typer.Option(
            envvar=_TOKEN_FROM,
            show_envvar=True,
            help="Bearer token that every request must carry. The variable is the safer way.",
        ),
    ] = None,
    knowledge: Annotated[
        list[Path] | None,
        typer.Option(metavar="DIR", help="Folder of your own entries, laid over ours. Repeatable."),
    ] = None,
    casebook: Annotated[
        str | None,
        typer.Option(
            metavar="PLACE",
            help="Where cases are kept: a file, or postgresql://... that servers share. "
            "Your own place if not given.",
        ),
    ] = None,
    no_keep: Annotated[
        bool, typer.Option("--no-keep", help="Keep nothing: no cases, no stations.")
    ] = False,
    no_learning: Annotated[
        bool,
        typer.Option("--no-learning", help="Leave the shop's closed cases out of the figures."),
    ] = False,
) -> None:
    """Answer over HTTP. Stops with Ctrl+C; requests under way are finished first."""
    from contextlib import closing, nullcontext

    from api.casebook import Casebook
    from api.cli.usage import UsageRefused
    from api.http.gate import is_loopback
    from api.http.refusals import InternalError

    if casebook and no_keep:
        raise UsageRefused("--casebook says where to keep cases, --no-keep to keep none: give one")
    check_token(token, needed=not is_loopback(host))
    learning = False if no_learning else None
    with (
        listening(host, port) as listener,
        nullcontext() if no_keep else closing(Casebook.open(casebook)) as book,
    ):
        app = app_for(host, token, knowledge or [], book, learning=learning)
        started = run(app, listener, announcement(host, listener, token))
    if not started:
        raise typer.Exit(InternalError.exit_code)


def check_token(token: str | None, *, needed: bool) -> None:
    """Raise TokenNeeded when a token is needed and missing, or too easily guessed."""
    make_one = (
        f"Set {_TOKEN_FROM}, for example to what this prints: "
        'python -c "import secrets; print(secrets.token_urlsafe(24))"'
    )
    if token is None:
        if needed:
            what = "other machines could reach this address, so a token is needed"
            raise TokenNeeded(what, where="--token", next_step=make_one)
        return
    if len(token) < SHORTEST_TOKEN or not (token.isascii() and token.isprintable()) or " " in token:
        what = f"a token has at least {SHORTEST_TOKEN} plain characters and no space"
        raise TokenNeeded(what, where="--token", next_step=make_one)


def app_for(
    host: str,
    token: str | None,
    own: list[Path],
    casebook: Casebook | None = None,
    *,
    learning: bool | None = None,
) -> FastAPI:
    """Return the app to serve. Raises KnowledgeError for entries that do not hold together."""
    from api.http.app import create_app
    from api.http.gate import LOOPBACK_NAMES, is_loopback
    from knowledge.loader import load

    hosts = {*LOOPBACK_NAMES, host.strip("[]").lower()} if is_loopback(host) else None
    return create_app(load(*own), casebook=casebook, learning=learning, hosts=hosts, token=token)


def run(app: FastAPI, listener: socket.socket, announced: str) -> bool:
    """Serve until told to stop; say so on stderr once it answers. Return whether it ever did."""
    import uvicorn

    class Announcing(uvicorn.Server):
        async def startup(self, sockets: list[socket.socket] | None = None) -> None:
            await super().startup(sockets)
            if self.started:
                print(announced, file=sys.stderr, flush=True)

    config = uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        server_header=False,
        proxy_headers=False,
        timeout_graceful_shutdown=_FINISH_WITHIN_S,
    )
    server = Announcing(config)
    with suppress(KeyboardInterrupt):
        server.run(sockets=[listener])
    if server.started:
        print("stopped", file=sys.stderr)
    return server.started


def listening(host: str, port: int) -> socket.socket:
    """Return a socket that listens on the address. Raises AddressRefused."""
    try:
        family, kind, protocol, _, address = socket.getaddrinfo(
            host.strip("[]"), port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE
        )[0]
        listener = socket.socket(family, kind, protocol)
    except OSError as error:
        raise _refused(host, port, error) from None
    try:
        if sys.platform != "win32":
            listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listener.bind(address)
        listener.listen(128)
    except OSError as error:
        listener.close()
        raise _refused(host, port, error) from None
    return listener


def _refused(host: str, port: int, error: OSError) -> AddressRefused:
    return AddressRefused(
        f"cannot listen here: {error.strerror or error}",
        where=f"{host}:{port}",
        next_step="Give another --port (0 takes a free one), or another --host.",
    )


def announcement(host: str, listener: socket.socket, token: str | None) -> str:
    """Return the line that says where the server listens and who can reach it."""
    from api.http.gate import is_loopback

    port = listener.getsockname()[1]
    name = f"[{host.strip('[]')}]" if ":" in host else host
    who = "this machine only" if is_loopback(host) else "every machine that can reach this address"
    demands = ", token demanded" if token else ""
    return f"wontweld listens on http://{name}:{port} ({who}{demands}). Ctrl+C stops it."
