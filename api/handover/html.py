"""The handover sheet as one self-contained HTML file, made to be printed on A4 or Letter."""

from __future__ import annotations

import base64
import hashlib
from functools import lru_cache
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined, Template

from api.handover import words
from diagnose.handover.sheet import HandoverSheet

_FOLDER = Path(__file__).parent


def as_html(sheet: HandoverSheet) -> str:
    """Return the sheet as an HTML document. Everything in it is escaped; it loads nothing."""
    return _template().render(sheet=sheet, words=words, style=style(), facts=words.facts(sheet))


@lru_cache(maxsize=1)
def style() -> str:
    """Return the style sheet that stands in the document."""
    return (_FOLDER / "sheet.css").read_text(encoding="utf-8")


def content_security_policy() -> str:
    """Return the policy under which the document may be shown: its own style and nothing else."""
    digest = base64.b64encode(hashlib.sha256(style().encode()).digest()).decode()
    return f"default-src 'none'; style-src 'sha256-{digest}'; frame-ancestors 'none'"


@lru_cache(maxsize=1)
def _template() -> Template:
    environment = Environment(
        loader=FileSystemLoader(_FOLDER),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    return environment.get_template("sheet.html.jinja")
