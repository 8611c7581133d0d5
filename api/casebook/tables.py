"""The tables, as the newest migration leaves them (a test compares the two)."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import (
    Boolean,
    Column,
    DateTime,
    Dialect,
    Float,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    PrimaryKeyConstraint,
    String,
    Table,
    Text,
    TypeDecorator,
    UniqueConstraint,
    false,
)


class UtcTime(TypeDecorator[datetime]):
    """A moment, stored in UTC to the microsecond; a time without a zone is refused."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Return the moment in UTC. Raises ValueError for a time without a zone."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError(f"{value} has no time zone")
        return value.astimezone(UTC)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Return the stored moment with its zone."""
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


def ordered_text() -> Any:
    """Return a text type that both databases order alike, by code point."""
    return String().with_variant(String(collation="C"), "postgresql")


metadata = MetaData()

stations = Table(
    "stations",
    metadata,
    Column("id", ordered_text(), primary_key=True),
    Column("name", Text, nullable=False),
    Column("name_key", ordered_text(), nullable=False),
    Column("plate", Text, nullable=False),
    Column("created_at", UtcTime, nullable=False),
    Column("updated_at", UtcTime, nullable=False),
    Column("version", Integer, nullable=False),
    Column("key", ordered_text()),
    UniqueConstraint("name_key", name="stations_name"),
    Index("stations_key", "key", unique=True),
)

cases = Table(
    "cases",
    metadata,
    Column("id", ordered_text(), primary_key=True),
    Column("station_id", ordered_text(), ForeignKey("stations.id", name="cases_station")),
    Column("state", Text, nullable=False),
    Column("opened_at", UtcTime, nullable=False),
    Column("last_seq", Integer, nullable=False),
    Column("complaint", Text, nullable=False),
    Column("key", ordered_text()),
    Column("changed_at", UtcTime),
    Column("cause", Text),
    Column("proved", Boolean, nullable=False, server_default=false()),
    Column("handed_to", Text),
    Column("minutes", Float, nullable=False, server_default="0"),
    Index("cases_key", "key", unique=True),
    Index("cases_by_time", "opened_at", "id"),
    Index("cases_by_station", "station_id", "opened_at", "id"),
    Index("cases_by_state", "state", "opened_at", "id"),
    Index("cases_by_cause", "proved", "cause"),
)

events = Table(
    "events",
    metadata,
    Column("case_id", ordered_text(), ForeignKey("cases.id", name="events_case"), nullable=False),
    Column("seq", Integer, nullable=False),
    Column("event_id", ordered_text(), nullable=False),
    Column("kind", Text, nullable=False),
    Column("at", UtcTime, nullable=False),
    Column("who", Text),
    Column("body", Text, nullable=False),
    PrimaryKeyConstraint("case_id", "seq", name="events_number"),
    UniqueConstraint("case_id", "event_id", name="events_key"),
    sqlite_with_rowid=False,
)
