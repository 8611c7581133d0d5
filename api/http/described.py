"""What the API's own description says of errors: which can come, and what they look like."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from api.errors import CaseClosed, StorageFull, VersionConflict
from api.http.problems import MEDIA_TYPE, Problem, problem_of
from api.http.refusals import (
    BodyTooLarge,
    HostRefused,
    InternalError,
    MalformedJson,
    Misfit,
    NotReady,
    ShapeRefused,
    TagMissing,
    TokenRefused,
    WrongMediaType,
)
from knowledge.errors import UnknownId, WontweldError

_MEANS: dict[int, tuple[str, WontweldError | None]] = {
    304: ("What you have is still what stands.", None),
    400: (
        "The request cannot be read: malformed JSON, nested too deep, or a page mark of another list.",
        MalformedJson("expected `,` or `}` at line 3 column 5", where="body"),
    ),
    401: ("The server demands a token.", TokenRefused("no token, or not the right one")),
    404: ("There is no such entry.", UnknownId("fault", "work_clamp_of", ["work_clamp_off"])),
    409: (
        "What is there already stands in the way: a name or a key that is taken, a case that is closed.",
        CaseClosed("the case is closed", where="case tupot-ruroz", next_step="Undo entry 7"),
    ),
    412: (
        "Another version stands than the one If-Match names.",
        VersionConflict("case tupot-ruroz", expected=6, actual=7),
    ),
    413: (
        "The body is too large.",
        BodyTooLarge("the body has more than 262144 bytes", where="body"),
    ),
    415: (
        "The body is not sent as JSON.",
        WrongMediaType("the body must be JSON in UTF-8", where="Content-Type"),
    ),
    421: (
        "The request is addressed to another name.",
        HostRefused("this server has another name", where="Host"),
    ),
    422: (
        "What was sent has not the right shape, or names an id there is not.",
        ShapeRefused(
            [Misfit("station.polarty", "there is no such name here", "nearest: 'polarity'")]
        ),
    ),
    428: (
        "A write must name, by If-Match, the version it was made against.",
        TagMissing("If-Match is missing", where="If-Match", next_step="Read it first."),
    ),
    500: ("The program failed.", InternalError("something failed that should not have")),
    503: (
        "Something needed is not there yet, or the casebook is held or out of reach.",
        NotReady("the rules are not built yet"),
    ),
    507: (
        "There is no room left where the casebook stands; nothing more was stored.",
        StorageFull("there is no room left on the disk", where="casebook"),
    ),
}
EVERYWHERE: Sequence[int] = (401, 421, 500)
"""Statuses that any address can answer with."""
KEPT: Sequence[int] = (404, 503, 507)
"""Statuses that whatever needs the casebook can answer with besides."""


def documented(*statuses: int) -> dict[int | str, dict[str, Any]]:
    """Return the entries of FastAPI's `responses` for these statuses, each with an example."""
    return {status: _described(*_MEANS[status]) for status in (*statuses, *EVERYWHERE)}


def _described(means: str, error: WontweldError | None) -> dict[str, Any]:
    if error is None:
        return {"description": means}
    example = problem_of(error).model_dump(mode="json", exclude_defaults=True)
    return {
        "description": means,
        "model": Problem,
        "content": {MEDIA_TYPE: {"example": example}},
    }
