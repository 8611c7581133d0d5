"""Errors that only HTTP has, below the one tree in `knowledge.errors`.

WontweldError
└── Refusal                 a request that is not answered
    ├── NoSuchAddress       404
    ├── MethodRefused       405
    ├── MalformedJson       400
    ├── TooDeep             400
    ├── ShapeRefused        422, with a line for each trouble
    ├── BodyTooLarge        413
    ├── WrongMediaType      415
    ├── NoCasebook          404
    ├── TagRefused          412
    ├── TagMissing          428
    ├── TokenRefused        401
    ├── HostRefused         421
    ├── NotReady            503
    └── InternalError       500, without details
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from knowledge.errors import WontweldError

__all__ = [
    "BodyTooLarge",
    "HostRefused",
    "InternalError",
    "MalformedJson",
    "MethodRefused",
    "NoCasebook",
    "NoSuchAddress",
    "NotReady",
    "Refusal",
    "ShapeRefused",
    "TagMissing",
    "TagRefused",
    "TokenRefused",
    "TooDeep",
    "WrongMediaType",
]


@dataclass(frozen=True)
class Misfit:
    """One place in what was sent that does not fit: where, what, and what to do next."""

    where: str
    what: str
    next_step: str = ""


class Refusal(WontweldError):
    """A request that is not answered."""

    exit_code = 4
    problem_type = "/problems/refused"
    status = 400
    title = "The request cannot be answered"


class NoSuchAddress(Refusal):
    """There is nothing at this address."""

    problem_type = "/problems/no-such-address"
    status = 404
    title = "Nothing at this address"


class MethodRefused(Refusal):
    """The address exists and does not take this method; the header Allow lists those it takes."""

    problem_type = "/problems/method-refused"
    status = 405
    title = "Not this method"


class MalformedJson(Refusal):
    """The body is not JSON as RFC 8259 has it, or says one thing twice."""

    problem_type = "/problems/malformed-json"
    title = "The body is not proper JSON"


class TooDeep(Refusal):
    """The body nests lists and objects deeper than anything here asks for."""

    problem_type = "/problems/too-deep"
    title = "The body nests too deep"


class ShapeRefused(Refusal):
    """What was sent does not have the right shape; `misfits` has a line for each trouble."""

    problem_type = "/problems/shape"
    status = 422
    title = "What was sent does not have the right shape"

    def __init__(self, misfits: Sequence[Misfit], more: int = 0) -> None:
        count = len(misfits) + more
        things = "1 thing does not fit" if count == 1 else f"{count} things do not fit"
        super().__init__(
            things + (f"; the first {len(misfits)} are listed" if more else ""),
            next_step="Put right what 'errors' lists and send it again.",
        )
        self.misfits = tuple(misfits)


class BodyTooLarge(Refusal):
    """The body is larger than the server takes."""

    problem_type = "/problems/body-too-large"
    status = 413
    title = "The body is too large"


class WrongMediaType(Refusal):
    """The body is not sent as application/json in UTF-8."""

    problem_type = "/problems/wrong-media-type"
    status = 415
    title = "The body is not sent as JSON"


class NoCasebook(Refusal):
    """No casebook is kept by this server, so it has neither cases nor stations."""

    problem_type = "/problems/no-casebook"
    status = 404
    title = "No casebook is kept here"


class TagRefused(Refusal):
    """If-Match does not name a version that this server gave out."""

    exit_code = 8
    problem_type = "/problems/tag-refused"
    status = 412
    title = "Not a version of this"


class TagMissing(Refusal):
    """A write that must say, by If-Match, which version it was made against."""

    exit_code = 8
    problem_type = "/problems/tag-missing"
    status = 428
    title = "The version is missing"


class TokenRefused(Refusal):
    """The server demands a token, and the request has none or a wrong one."""

    problem_type = "/problems/token-refused"
    status = 401
    title = "A token is needed"


class HostRefused(Refusal):
    """The request is addressed to a name this server does not answer to."""

    problem_type = "/problems/host-refused"
    status = 421
    title = "Not addressed to this server"


class NotReady(Refusal):
    """Something the server needs is not there yet."""

    exit_code = 70
    problem_type = "/problems/not-ready"
    status = 503
    title = "Not ready"


class InternalError(Refusal):
    """A fault of the program. The server's log has the details; the answer has none."""

    exit_code = 70
    problem_type = "/problems/internal-error"
    status = 500
    title = "The program failed"
