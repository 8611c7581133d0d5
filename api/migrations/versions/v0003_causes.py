"""What a case came to, beside the case: its cause, whether proved, to whom it went, minutes.

Learning and the fleet view count these without reading every entry.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from itertools import groupby
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"

_cases = sa.table(
    "cases",
    sa.column("id", sa.String),
    sa.column("cause", sa.Text),
    sa.column("proved", sa.Boolean),
    sa.column("handed_to", sa.Text),
    sa.column("minutes", sa.Float),
)
_events = sa.table(
    "events",
    sa.column("case_id", sa.String),
    sa.column("seq", sa.Integer),
    sa.column("kind", sa.Text),
    sa.column("body", sa.Text),
)
_CASES_AT_ONCE = 500


def upgrade() -> None:
    """Add the columns and fill them from the entries."""
    op.add_column("cases", sa.Column("cause", sa.Text))
    op.add_column(
        "cases", sa.Column("proved", sa.Boolean, nullable=False, server_default=sa.false())
    )
    op.add_column("cases", sa.Column("handed_to", sa.Text))
    op.add_column("cases", sa.Column("minutes", sa.Float, nullable=False, server_default="0"))
    op.create_index("cases_by_cause", "cases", ["proved", "cause"])
    names = ("cause", "proved", "handed_to", "minutes")
    filled = sa.update(_cases).where(_cases.c.id == sa.bindparam("of"))
    filled = filled.values({name: sa.bindparam(f"new_{name}") for name in names})
    for ids in _batches():
        op.get_bind().execute(filled, list(_outcomes(ids)))


def _batches() -> Iterator[list[str]]:
    query = sa.select(_cases.c.id).order_by(_cases.c.id).limit(_CASES_AT_ONCE)
    ids = list(op.get_bind().scalars(query))
    while ids:
        yield ids
        ids = list(op.get_bind().scalars(query.where(_cases.c.id > ids[-1])))


def _outcomes(ids: list[str]) -> Iterator[dict[str, Any]]:
    query = sa.select(_events).where(_events.c.case_id.in_(ids))
    entries = op.get_bind().execute(query.order_by(_events.c.case_id, _events.c.seq))
    for case_id, rows in groupby(entries, key=lambda row: row.case_id):
        told = [(row.seq, row.kind, json.loads(row.body)) for row in rows]
        gone = {body["seq"] for _, kind, body in told if kind == "undone"}
        yield {"of": case_id} | _outcome(
            [(kind, body) for seq, kind, body in told if kind != "undone" and seq not in gone]
        )


def _outcome(counted: list[tuple[str, dict[str, Any]]]) -> dict[str, Any]:
    last = dict(counted)
    closing, proof, handing = (last.get(kind) for kind in ("closed", "proved", "handed_over"))
    cured = closing is not None and closing["outcome"] == "cured"
    faults = closing.get("faults", []) if closing and cured else []
    return {
        "new_cause": " ".join(sorted(set(faults))) or None,
        "new_proved": bool(proof and proof["good"]),
        "new_handed_to": handing["to"] if handing else None,
        "new_minutes": sum(body.get("minutes") or 0.0 for _, body in counted),
    }
