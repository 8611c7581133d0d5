"""`why` from a cold start, against importing the two libraries it needs, turn by turn in one run."""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
LIBRARIES = ["-c", "import networkx, pydantic"]
WHY = ["-m", "api.cli", "why", "wire feeds but no arc", "clamp gets hot"]


def _seconds(arguments: list[str], folder: Path) -> float:
    """Return the wall time of one process; its compiled modules are kept, as for an installed one."""
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    environment |= {"PYTHONPATH": str(ROOT), "XDG_DATA_HOME": str(folder)}
    began = time.perf_counter()
    subprocess.run(
        [sys.executable, *arguments], env=environment, capture_output=True, check=True, cwd=folder
    )
    return time.perf_counter() - began


@pytest.mark.slow
def test_why_starts_in_less_than_four_times_its_libraries(tmp_path: Path) -> None:
    _seconds(WHY, tmp_path)
    _seconds(LIBRARIES, tmp_path)
    ratios = [_seconds(WHY, tmp_path) / _seconds(LIBRARIES, tmp_path) for _ in range(11)]
    assert statistics.median(ratios) < 4.0, sorted(round(ratio, 2) for ratio in ratios)
