"""Running the command in this process, or in one of its own."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from collections.abc import Mapping
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from pathlib import Path
from unittest.mock import patch

from api.cli import main

ROOT = Path(__file__).parents[2]
COMMAND = [sys.executable, "-c", "import sys; from api.cli import main; sys.exit(main())"]

NO_CASEBOOK = {"WONTWELD_CASEBOOK": str(ROOT / "no" / "such" / "casebook.db")}
"""No test of these sees, or makes, a casebook of the one who runs them."""


@dataclass(frozen=True)
class Ran:
    code: int
    out: str
    err: str


def run(
    *arguments: str,
    stdin: bytes = b"",
    encoding: str = "utf-8",
    env: Mapping[str, str] | None = None,
) -> Ran:
    out = io.TextIOWrapper(io.BytesIO(), encoding=encoding, write_through=True)
    err = io.TextIOWrapper(io.BytesIO(), encoding=encoding, write_through=True)
    given = io.TextIOWrapper(io.BytesIO(stdin), encoding="utf-8")
    with (
        redirect_stdout(out),
        redirect_stderr(err),
        patch.object(sys, "stdin", given),
        patch.dict(os.environ, {**NO_CASEBOOK, **(env or {})}),
    ):
        code = main(arguments)
    written = [stream.buffer.getvalue().decode(encoding) for stream in (out, err)]  # type: ignore[attr-defined]
    return Ran(code, *written)


def run_apart(
    *arguments: str, stdin: bytes = b"", env: Mapping[str, str] | None = None
) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [*COMMAND, *arguments],
        input=stdin,
        capture_output=True,
        cwd=ROOT,
        env={**os.environ, **NO_CASEBOOK, "PYTHONPATH": str(ROOT), **(env or {})},
        check=False,
    )
