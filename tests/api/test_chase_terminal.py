"""`wontweld chase` on a terminal: a pseudo-terminal, narrow, dumb, cut off at any moment."""

from __future__ import annotations

import os
import random
import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from played_session import CANONICAL, Play
from truthful_station import TruthfulStation

from api.casebook import Casebook, replay
from knowledge.loader import Knowledge

pexpect = pytest.importorskip("pexpect", reason="pseudo-terminals need pexpect")

ROOT = Path(__file__).parents[2]
WONTWELD = [sys.executable, "-c", "import sys; from api.cli import main; sys.exit(main())"]
KILLS = 20
SESSION_S = 240
"""Sixty steps of reasoning take half a minute of a processor that may be shared."""


@pytest.fixture
def environment(tmp_path: Path) -> dict[str, str]:
    """The environment of a session: a casebook of its own."""
    return {
        "PATH": os.environ["PATH"],
        "HOME": str(tmp_path),
        "PYTHONPATH": str(ROOT),
        "WONTWELD_CASEBOOK": str(tmp_path / "casebook.sqlite3"),
        "TERM": "xterm-256color",
        "LANG": "C.UTF-8",
    }


@pytest.fixture
def book(environment: dict[str, str]) -> Iterator[Casebook]:
    """The casebook of the session, open beside it."""
    with Casebook.open(environment["WONTWELD_CASEBOOK"]) as opened:
        yield opened


def terminal(
    arguments: list[str], environment: dict[str, str], columns: int = 80
) -> pexpect.spawn[str]:
    """Return `wontweld chase` on a pseudo-terminal."""
    return pexpect.spawn(
        WONTWELD[0],
        [*WONTWELD[1:], "chase", *arguments],
        cwd=environment["HOME"],
        env=environment,
        dimensions=(24, columns),
        encoding="utf-8",
        timeout=SESSION_S,
        preexec_fn=_heeds_ctrl_c,
    )


def _heeds_ctrl_c() -> None:
    """A terminal's programs heed Ctrl+C, though the tests may run where it is ignored."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


def type_in(session: pexpect.spawn[str], line: str) -> str:
    """Wait for the prompt and type a line; return what was shown before the prompt."""
    session.expect_exact("> ")
    shown = str(session.before)
    session.sendline(line)
    return shown


def truthful(knowledge: Knowledge, name: str) -> Play:
    first, fault, _, _ = CANONICAL[name]
    play = Play(knowledge, first)
    play.to_the_end(TruthfulStation(knowledge, replay(play.events), fault))
    return play


def without_colour(text: str) -> str:
    return re.sub(r"\x1b\[[0-9;]*m", "", text)


def test_whole_session_by_hand(
    knowledge: Knowledge, environment: dict[str, str], book: Casebook
) -> None:
    play = truthful(knowledge, "no arc, clamp off")
    session = terminal(["wire feeds, no arc", "--who", "Kim Doe"], environment)
    type_in(session, "?")
    type_in(session, "99")
    for line in play.typed:
        type_in(session, line)
    session.expect_exact("Put right and proved.")
    session.expect(pexpect.EOF)
    session.close()
    assert session.exitstatus == 0
    (line,) = book.cases().items
    assert line.state == "closed"
    assert book.case(line.id).summary.faults == ("work_clamp_off",)


def test_undo_and_resume_by_hand(environment: dict[str, str], book: Casebook) -> None:
    session = terminal(["wire feeds, no arc"], environment)
    first = type_in(session, "n")
    type_in(session, "-")
    session.expect_exact("Taken back")
    again = type_in(session, "q")
    question = first.strip().splitlines()[-3:]
    assert again.strip().splitlines()[-3:] == question
    session.expect(r"wontweld chase (\w{5}-\w{5})")
    case_id = session.match.group(1)
    session.expect(pexpect.EOF)
    resumed = terminal([case_id], environment)
    assert type_in(resumed, "q").strip().splitlines()[-3:] == question
    resumed.expect(pexpect.EOF)
    assert len(book.events(case_id)) == 3


def test_ctrl_d_keeps(environment: dict[str, str], book: Casebook) -> None:
    session = terminal(["porosity"], environment)
    session.expect_exact("> ")
    session.sendeof()
    session.expect(r"Go on with:\s+wontweld\s+chase")
    session.expect(pexpect.EOF)
    session.close()
    assert session.exitstatus == 0
    assert len(book.cases().items) == 1


def test_ctrl_c_keeps_and_says_how_to_go_on(environment: dict[str, str], book: Casebook) -> None:
    session = terminal(["porosity"], environment)
    type_in(session, "1")
    session.expect_exact("> ")
    session.sendintr()
    session.expect(r"Go on with:\s+wontweld\s+chase")
    session.expect(pexpect.EOF)
    session.close()
    assert session.exitstatus == 130
    (line,) = book.cases().items
    assert line.version == 2


@pytest.mark.parametrize("extra", [{"TERM": "dumb"}, {"NO_COLOR": "1"}])
def test_no_control_codes_where_they_are_not_wanted(
    environment: dict[str, str], extra: dict[str, str]
) -> None:
    session = terminal(["felt a tingle", "porosity"], environment | extra)
    shown = type_in(session, "s") + type_in(session, "?") + type_in(session, "q")
    session.expect(pexpect.EOF)
    assert "DANGER" in shown
    assert "\x1b" not in shown


def test_signal_word_stands_there_in_colour_too(environment: dict[str, str]) -> None:
    session = terminal(["felt a tingle", "porosity"], environment)
    shown = type_in(session, "q")
    session.expect(pexpect.EOF)
    assert "DANGER" in shown
    assert "\x1b[" in shown


@pytest.mark.parametrize("columns", [40, 60])
def test_no_line_is_wider_than_the_terminal(
    knowledge: Knowledge, environment: dict[str, str], columns: int
) -> None:
    session = terminal(["bird's nest at the rolls"], environment, columns)
    shown = type_in(session, "help")
    for line in ("?", "junk of a kind that is rather long", "! I felt a tingle", "s", "-", "-"):
        shown += type_in(session, line)
    for line in ("h", "s", *truthful(knowledge, "bird's nest").typed):
        shown += type_in(session, line)
    session.expect(pexpect.EOF)
    shown += str(session.before)
    lines = without_colour(shown).replace("\r", "").split("\n")
    # The terminal itself echoes what is typed; that line is the user's own.
    ours = [line for line in lines if "junk of a kind" not in line]
    assert max(len(line) for line in ours) <= columns


def test_piped_narrow_session(environment: dict[str, str]) -> None:
    done = subprocess.run(
        [*WONTWELD, "chase", "porosity", "--width", "40"],
        input="\n".join(["?", "word " * 40, "h", "s", *["n"] * 60]),
        env=environment,
        capture_output=True,
        text=True,
        timeout=SESSION_S,
        check=True,
    )
    assert max(len(line) for line in done.stdout.splitlines()) <= 40
    assert done.stderr == ""


def test_bytes_that_are_no_text(environment: dict[str, str]) -> None:
    done = subprocess.run(
        [*WONTWELD, "chase", "porosity"],
        input=b"\xff\xfe\x00\x80\n?\nq\n",
        env=environment,
        capture_output=True,
        timeout=SESSION_S,
        check=True,
    )
    assert b"Not taken" in done.stdout
    assert done.stderr == b""


def test_ascii_terminal(environment: dict[str, str]) -> None:
    done = subprocess.run(
        [*WONTWELD, "chase", "porosity"],
        input=b"?\nw \xc3\xa9t\xc3\xa9\nq\n",
        env=environment | {"PYTHONIOENCODING": "ascii"},
        capture_output=True,
        timeout=SESSION_S,
        check=True,
    )
    assert done.stdout.isascii()


@pytest.mark.slow
def test_killed_at_any_moment_no_answer_is_lost(
    environment: dict[str, str], book: Casebook
) -> None:
    """An answer after which the next prompt was shown is in the casebook, whenever the kill comes."""
    chance = random.Random(20310504)  # noqa: S311
    session = terminal(["porosity"], environment)
    shown = _prompted(session)
    (line,) = book.cases().items
    answered, spoken = 0, ["porosity"]
    for kill in range(KILLS):
        for number in range(chance.randint(0, 2)):
            words = f"w it is worse today {kill} {number}"
            typed = chance.choice(["n", "s", words])
            answered += typed == words or not _nothing_to_keep(shown)
            spoken += [words.removeprefix("w ")] if typed == words else []
            session.sendline(typed)
            shown = _prompted(session)
        session.sendline("-" if chance.random() < 0.3 else "n")  # in flight when the kill comes
        time.sleep(chance.random() * 0.25)
        session.kill(signal.SIGKILL)
        session.wait()
        events = book.events(line.id)
        kept = len(events) - 1
        assert answered <= kept <= answered + 1, f"kill {kill}: {shown}"
        assert [said for event in events for said in event.body.get("said", ())] == spoken
        answered = kept
        replay(events)
        session = terminal([line.id], environment)
        shown = _prompted(session)
    session.close(force=True)
    assert answered > KILLS / 2


def _prompted(session: pexpect.spawn[str]) -> str:
    session.expect_exact("> ")
    return without_colour(str(session.before))


def _nothing_to_keep(shown: str) -> bool:
    """Return whether the step takes no skip: the end of a session, or a proof."""
    ends = ("Hand over to ", "The cause is probably not in our list", "Prove it: ")
    return any(line.startswith(ends) for line in shown.splitlines())
