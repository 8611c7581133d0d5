"""Idempotency keys for opening a case and adding a station, and when a case last changed."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"

_ordered = sa.String().with_variant(sa.String(collation="C"), "postgresql")


def upgrade() -> None:
    """Add the columns; the time of the last change is taken from the entries."""
    op.add_column("stations", sa.Column("key", _ordered))
    op.create_index("stations_key", "stations", ["key"], unique=True)
    op.add_column("cases", sa.Column("key", _ordered))
    op.create_index("cases_key", "cases", ["key"], unique=True)
    op.add_column("cases", sa.Column("changed_at", sa.DateTime(timezone=True)))
    op.execute(
        "UPDATE cases SET changed_at = (SELECT events.at FROM events "
        "WHERE events.case_id = cases.id AND events.seq = cases.last_seq)"
    )
