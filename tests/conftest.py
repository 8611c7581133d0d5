"""What all tests share."""

from __future__ import annotations

import pytest

from knowledge.loader import Knowledge, load


@pytest.fixture(scope="session")
def knowledge() -> Knowledge:
    """Return the shipped knowledge."""
    return load()
