"""What the tests of the casebook share."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from crash.places import KINDS, place


@pytest.fixture(params=KINDS)
def where(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """An empty place for a casebook: a file, and a schema of its own on PostgreSQL."""
    yield from place(request.param, tmp_path)
