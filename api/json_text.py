"""A model as JSON text. One function for `--json` and for API bodies, so that the two are equal."""

from __future__ import annotations

from pydantic import BaseModel


def to_json(model: BaseModel) -> str:
    r"""Return the model as indented JSON, names as outsiders write them, with a newline at the end.

    >>> from diagnose.case import Finding
    >>> to_json(Finding(check="tug_each_lug", result="loose"))
    '{\n  "check": "tug_each_lug",\n  "result": "loose"\n}\n'
    """
    return model.model_dump_json(by_alias=True, indent=2) + "\n"
