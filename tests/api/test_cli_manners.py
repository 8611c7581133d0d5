"""Manners of the command: width, colour, pipes, characters, codes, and no stack trace."""

from __future__ import annotations

import subprocess

import pytest

from api.cli.emit import encodable, visible
from api.cli.show.page import Page, cells
from api.exit_codes import ExitCode
from knowledge.errors import WontweldError
from tests.api.cli_runner import COMMAND, ROOT, run, run_apart

TALK = ("why", "tingle through my gloves", "erratic arc", "clamp gets hot", "x" * 120)
SET_UP = ("--wire", "E71T-11", "--polarity", "+", "--looked", "--units", "us", "--flow", "35 cfh")


@pytest.mark.parametrize("width", [20, 40, 60, 80, 120])
@pytest.mark.parametrize("more", [[], ["--all"], ["--short"]])
def test_no_line_is_longer_than_the_width(width: int, more: list[str]) -> None:
    out = run(*TALK, *SET_UP, "--width", str(width), *more).out
    assert out
    assert max(cells(line) for line in out.splitlines()) <= width


@pytest.mark.parametrize("entry", ["clamp_jaws_loose", "porosity", "tingle", "look_at_work_clamp"])
def test_entries_keep_to_the_width_too(entry: str) -> None:
    out = run("knowledge", "show", entry, "--width", "40").out
    assert max(cells(line) for line in out.splitlines()) <= 40


def test_the_same_words_stand_at_every_width() -> None:
    narrow, wide = (run("why", "no arc", "--width", width).out.split() for width in ("40", "120"))
    assert narrow == wide


def test_wide_characters_are_counted_by_their_columns() -> None:
    page = Page(20)
    page.put("溶接ができない" * 4, mark="1.", indent=2)
    assert max(cells(line) for line in page.plain().splitlines()) <= 20


def test_what_was_said_cannot_steer_the_terminal() -> None:
    out = run("why", "porosity", "\x1b]0;title\x07\x1b[2J\u202eevil\u200b").out
    assert "\x1b" not in out
    assert "\x07" not in out
    assert "\u202e" not in out


def test_characters_that_stdout_cannot_show_are_written_out() -> None:
    assert encodable("2 mΩ at 20 °C → hot", "ascii") == "2 mohm at 20  deg C -> hot"
    assert visible("a\x00b\x9bc") == "a b c"
    out = run("why", "no arc \u2013 \u201cdead\u201d at 3 m\u03a9", encoding="ascii").out
    assert "at 3 mohm" in out


def test_piped_output_has_no_colour() -> None:
    out = run_apart(*TALK, env={"TERM": "xterm-256color"}).stdout
    assert out.startswith(b"DANGER")
    assert b"\x1b" not in out


def _on_a_terminal(env: dict[str, str], *arguments: str) -> str:
    pexpect = pytest.importorskip("pexpect")
    out: str = pexpect.run(
        " ".join((*map(_quoted, [*COMMAND, *arguments]),)),
        cwd=str(ROOT),
        env={"PATH": "/usr/bin:/bin", "PYTHONPATH": str(ROOT), **env},
        encoding="utf-8",
        timeout=60,
    )
    return out


def _quoted(text: str) -> str:
    return "'" + text + "'"


def test_colour_only_on_a_terminal_that_can_and_the_word_always_stands() -> None:
    said = ("why", "tingle through my gloves", "--width", "60")
    bright = _on_a_terminal({"TERM": "xterm-256color"}, *said)
    assert "\x1b[" in bright
    assert "DANGER" in bright
    for env in ({"TERM": "xterm-256color", "NO_COLOR": "1"}, {"TERM": "dumb"}, {}):
        plain = _on_a_terminal(env, *said)
        assert "\x1b[" not in plain
        assert plain.startswith("DANGER ")


def test_a_reader_that_goes_away_is_no_error() -> None:
    process = subprocess.Popen(
        [*COMMAND, "knowledge", "list", "faults", "--json"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        cwd=ROOT,
    )
    assert process.stdout is not None
    assert process.stderr is not None
    process.stdout.close()  # long before the first byte is written
    assert process.stderr.read() == b""
    process.stderr.close()
    assert process.wait() == ExitCode.BROKEN_PIPE


def _broken(*arguments: object, **options: object) -> object:
    raise ZeroDivisionError("a fault \x1b of ours")


def test_a_fault_of_the_program_shows_no_trace(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("diagnose.reason.reason", _broken)
    monkeypatch.delenv("WONTWELD_TRACEBACK", raising=False)
    ran = run("why", "porosity")
    assert ran.code == ExitCode.INTERNAL
    assert ran.out == ""
    assert "ZeroDivisionError" in ran.err
    assert "Report it" in ran.err
    assert "Traceback" not in ran.err
    assert "\x1b" not in ran.err


def test_the_trace_is_there_for_who_asks(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("diagnose.reason.reason", _broken)
    monkeypatch.setenv("WONTWELD_TRACEBACK", "1")
    assert "Traceback" in run("why", "porosity").err


def test_ctrl_c_is_said_in_a_word(monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(*arguments: object, **options: object) -> object:
        raise KeyboardInterrupt

    monkeypatch.setattr("diagnose.reason.reason", interrupted)
    ran = run("why", "porosity")
    assert ran.code == ExitCode.INTERRUPTED
    assert "Traceback" not in ran.err


@pytest.mark.parametrize(
    ("arguments", "code", "says"),
    [
        ([], ExitCode.USAGE, "Commands:"),
        (["wy"], ExitCode.USAGE, "Did you mean 'why'?"),
        (["knowledge"], ExitCode.USAGE, "lint"),
        (["knowledge", "lst"], ExitCode.USAGE, "No such command 'lst'"),
        (["knowledge", "list"], ExitCode.USAGE, "Missing argument 'KIND'"),
    ],
)
def test_a_command_line_that_is_not_right(arguments: list[str], code: int, says: str) -> None:
    ran = run(*arguments)
    assert (ran.code, ran.out) == (code, "")
    assert says in ran.err


def test_help_and_version_answer() -> None:
    for arguments in (["--help"], ["why", "-h"], ["knowledge", "show", "--help"], ["--version"]):
        ran = run(*arguments)
        assert (ran.code, ran.err) == (ExitCode.ANSWERED, "")
        assert ran.out


def test_every_error_ends_with_a_documented_code() -> None:
    def below(kind: type[WontweldError]) -> set[type[WontweldError]]:
        return {kind}.union(*(below(one) for one in kind.__subclasses__()))

    own = {one for one in below(WontweldError) if one.__module__.startswith("knowledge.")}
    for one in own - {WontweldError}:
        assert one.exit_code in set(ExitCode), one


def test_why_does_not_import_what_it_does_not_need() -> None:
    program = (
        "import sys; from api.cli import main; main(['why', 'no arc']);"
        "sys.exit(' '.join(m for m in ('fastapi', 'sqlalchemy', 'pint', 'ruamel.yaml', 'rich.console')"
        " if m in sys.modules) or None)"
    )
    ran = subprocess.run(
        [COMMAND[0], "-c", program], capture_output=True, cwd=ROOT, check=False, text=True
    )
    assert ran.stderr.strip() == ""
    assert ran.returncode == 0


def test_the_same_answer_under_any_hash_seed() -> None:
    answers = {
        run_apart(*TALK, *SET_UP, env={"PYTHONHASHSEED": seed}).stdout for seed in ("0", "1", "77")
    }
    assert len(answers) == 1
    assert answers.pop().startswith(b"DANGER")
