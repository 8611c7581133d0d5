"""README's sessions are what the program prints. `python -m tests.readme` writes them anew."""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
import tempfile
from pathlib import Path

README = Path(__file__).parents[1] / "README.md"
_CONSOLE = re.compile(r"^```console\n\$ (wontweld .*)\n((?:.*\n)*?)```$", re.MULTILINE)
_STATION = re.compile(r"^```yaml\n(name: bay 3\n(?:.*\n)*?)```$", re.MULTILINE)


def sessions(text: str) -> list[tuple[str, str]]:
    """Return the commands that README shows, each with the output it shows."""
    return [(match[1], match[2]) for match in _CONSOLE.finditer(text)]


def output_of(command: str, text: str) -> str:
    """Return what a command prints, 80 columns wide, beside the station file that README shows."""
    with tempfile.TemporaryDirectory() as folder:
        if station := _STATION.search(text):
            Path(folder, "bay3.yaml").write_text(station[1], "utf-8")
        run = subprocess.run(
            [sys.executable, "-m", "api.cli", *shlex.split(command)[1:]],
            cwd=folder,
            env={
                "PYTHONPATH": str(README.parent),
                "COLUMNS": "80",
                "PYTHONIOENCODING": "utf-8",
                "HOME": folder,
                "XDG_DATA_HOME": folder,
            },
            capture_output=True,
            text=True,
            check=False,
            encoding="utf-8",
        )
    return run.stdout + run.stderr


def rewritten(text: str) -> str:
    """Return README with every session as the program prints it now."""
    return _CONSOLE.sub(
        lambda match: f"```console\n$ {match[1]}\n{output_of(match[1], text)}```", text
    )


if __name__ == "__main__":
    README.write_text(rewritten(README.read_text("utf-8")), "utf-8")
