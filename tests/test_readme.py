"""README does not drift: its sessions, its table of commands and its exit codes are the program's own."""

from __future__ import annotations

import re

import pytest

from api.cli.commands import COMMANDS
from api.exit_codes import ExitCode
from tests.readme import README, output_of, sessions

TEXT = README.read_text("utf-8")


@pytest.mark.parametrize("command", [command for command, _ in sessions(TEXT)])
def test_a_session_is_what_the_program_prints(command: str) -> None:
    shown = dict(sessions(TEXT))[command]
    assert shown.strip()
    assert output_of(command, TEXT) == shown


def test_every_command_is_in_the_table() -> None:
    named = re.findall(r"^\| `wontweld ([a-z]+)` \|", TEXT, re.MULTILINE)
    assert sorted(named) == sorted(COMMANDS)


def test_the_exit_codes_are_the_programs() -> None:
    rows = re.findall(r"^\| (\d+) \| ([a-z_']+) \|", TEXT, re.MULTILINE)
    assert [(int(code), name) for code, name in rows] == [
        (int(code), code.name.lower()) for code in ExitCode
    ]


def test_the_two_commands_assume_nothing_but_python_and_pip() -> None:
    blocks = re.findall(r"^```sh\n(.*?)^```", TEXT, re.DOTALL | re.MULTILINE)
    assert len(blocks) == 2
    for block in blocks:
        assert block.startswith("python3 -m venv .venv && .venv/bin/pip install ")
