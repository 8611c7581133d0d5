"""What all tests share."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from crash.places import KINDS, place

from knowledge.loader import Knowledge, load


@pytest.fixture(scope="session")
def knowledge() -> Knowledge:
    """Return the shipped knowledge."""
    return load()


@pytest.fixture(params=KINDS)
def where(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """Yield an empty place for a casebook: a file, and a schema of its own on PostgreSQL."""
    yield from place(request.param, tmp_path)
