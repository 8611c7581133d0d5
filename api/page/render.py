"""HTML answers: templates, the words they use, and the headers that keep a browser careful."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.responses import Response

from api.http.problems import Problem
from api.wording.figures import (
    HAZARD,
    WHO,
    chance_in_words,
    lower_first,
    minutes_in_words,
)
from diagnose.answer import DISCLAIMER

_FOLDER = Path(__file__).parent
POLICY = (
    "default-src 'none'; style-src 'self'; img-src data:; form-action 'self'; "
    "base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "Referrer-Policy": "same-origin",
    "Cache-Control": "private, no-cache",
}
"""Own style and own forms, nothing else. The browser may keep a page, so that its back button works."""


@lru_cache(maxsize=1)
def _templates() -> Environment:
    environment = Environment(
        loader=FileSystemLoader(_FOLDER / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters |= {
        "odds": chance_in_words,
        "minutes": minutes_in_words,
        "small": lower_first,
        "who": WHO.__getitem__,
        "hazard": HAZARD.__getitem__,
        "plain": lambda name: str(name).replace("_", " "),
        "big": lambda text: text[:1].upper() + text[1:],
    }
    environment.globals |= {"disclaimer": DISCLAIMER}
    return environment


def html(template: str, *, status: int = 200, **shown: Any) -> Response:
    """Return a page. Everything put into it is escaped."""
    text = _templates().get_template(template).render(**shown)
    return Response(text, status, HEADERS, "text/html; charset=utf-8")


def problem_page(problem: Problem, *, back: str = "/") -> Response:
    """Return a problem as a page: the same message as everywhere, and the way on."""
    return html("problem.html", status=problem.status, problem=problem, back=back)


@lru_cache(maxsize=1)
def style() -> str:
    """Return the one style sheet."""
    return (_FOLDER / "style.css").read_text(encoding="utf-8")
