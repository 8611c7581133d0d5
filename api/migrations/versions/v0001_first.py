"""Stations, cases and their entries.

Frozen: casebooks out there were made by it. It spells its types out and imports nothing of the
program, so that later changes of the program cannot change it.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

_ordered = sa.String().with_variant(sa.String(collation="C"), "postgresql")
_moment = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Make the three tables."""
    op.create_table(
        "stations",
        sa.Column("id", _ordered, primary_key=True),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("name_key", _ordered, nullable=False),
        sa.Column("plate", sa.Text, nullable=False),
        sa.Column("created_at", _moment, nullable=False),
        sa.Column("updated_at", _moment, nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.UniqueConstraint("name_key", name="stations_name"),
    )
    op.create_table(
        "cases",
        sa.Column("id", _ordered, primary_key=True),
        sa.Column("station_id", _ordered, sa.ForeignKey("stations.id", name="cases_station")),
        sa.Column("state", sa.Text, nullable=False),
        sa.Column("opened_at", _moment, nullable=False),
        sa.Column("last_seq", sa.Integer, nullable=False),
        sa.Column("complaint", sa.Text, nullable=False),
    )
    op.create_index("cases_by_time", "cases", ["opened_at", "id"])
    op.create_index("cases_by_station", "cases", ["station_id", "opened_at", "id"])
    op.create_index("cases_by_state", "cases", ["state", "opened_at", "id"])
    op.create_table(
        "events",
        sa.Column(
            "case_id", _ordered, sa.ForeignKey("cases.id", name="events_case"), nullable=False
        ),
        sa.Column("seq", sa.Integer, nullable=False),
        sa.Column("event_id", _ordered, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("at", _moment, nullable=False),
        sa.Column("who", sa.Text),
        sa.Column("body", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("case_id", "seq", name="events_number"),
        sa.UniqueConstraint("case_id", "event_id", name="events_key"),
        sqlite_with_rowid=False,
    )
