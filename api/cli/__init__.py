"""The command line. stdout carries the answer, stderr the rest; no stack trace reaches the user."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Sequence

__all__ = ["main"]


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command, by default the one this process was started with, and return its exit code.

    The codes are those of `api.exit_codes`.
    """
    if arguments is not None:
        return _guarded(arguments)
    # One answer and out: looking for garbage on the way and at the end takes a fifth of the time and
    # frees nothing. A command that stays turns it on again.
    gc.disable()
    code = _guarded(sys.argv[1:])
    gc.freeze()
    return code


def _guarded(arguments: Sequence[str]) -> int:
    try:
        return _run(arguments)
    except KeyboardInterrupt:
        return _stop("interrupted", 130)
    except BrokenPipeError:
        return _reader_gone()


def _run(arguments: Sequence[str]) -> int:
    import typer

    from api.cli.app import app
    from knowledge.errors import WontweldError

    shown_by_typer = typer.BadParameter.__mro__[2]  # every error of the command line itself
    try:
        code = app(
            args=list(arguments),
            prog_name="wontweld",
            standalone_mode=False,
        )
    except WontweldError as error:
        return _stop(_in_lines(error), error.exit_code)
    except typer.Abort:
        return _stop("interrupted", 130)
    except SystemExit as end:  # what Typer makes of a reader that went away
        if isinstance(end.__context__, BrokenPipeError):
            return _reader_gone()
        raise
    except (BrokenPipeError, KeyboardInterrupt):
        raise
    except Exception as error:
        if isinstance(error, shown_by_typer):
            return _usage(error)
        return _internal(error)
    return code if isinstance(code, int) else 0


def _in_lines(error: Exception) -> str:
    problems = getattr(error, "problems", None) or [str(error)]
    return "\n".join(f"error: {problem}" for problem in problems)


def _usage(error: Exception) -> int:
    context = getattr(error, "ctx", None)
    text = error.format_message() if hasattr(error, "format_message") else str(error)
    if text.startswith("Usage:"):  # called with nothing at all: the help is the message
        return _stop(text, 2)
    where = f"\n  see: {context.command_path} --help" if context is not None else ""
    return _stop(f"error: {text}{where}", 2)


def _internal(error: Exception) -> int:
    if os.environ.get("WONTWELD_TRACEBACK") == "1":
        import traceback

        traceback.print_exception(error, file=sys.stderr)
    text = " ".join(str(error).split())[:200]
    return _stop(
        f"error: a fault in the program itself: {type(error).__name__}: {text}\n"
        "  Report it to whoever keeps this program for you, with the command as you gave it; "
        "WONTWELD_TRACEBACK=1 shows where it happened.",
        70,
    )


def _stop(text: str, code: int) -> int:
    from api.cli.emit import say

    try:
        sys.stdout.flush()
        say(text)
    except BrokenPipeError:
        return _reader_gone()
    return code


def _reader_gone() -> int:
    """Return the code for a reader that went away; what is left in the buffer has nowhere to go."""
    for stream in (sys.__stdout__, sys.__stderr__):
        if stream is None:
            continue
        try:
            stream.flush()
        except (BrokenPipeError, ValueError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
    return 141
