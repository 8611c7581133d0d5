"""Kill -9 in the middle of writing, again and again: every acknowledged entry is there.

This shows what happens when the program dies. A power cut is not tried: for that the file relies on
`synchronous = FULL`, which waits for the disk at every commit.
"""

import random
import sqlite3
import time
from contextlib import closing

import pytest
from crash import writers
from crash.places import process_maker

from api.casebook import Casebook

KILLS = 200
AT_ONCE = 2


def writer(processes, where):
    """Start a process that writes until it is killed; return it and the pipe it speaks into."""
    ours, theirs = processes.Pipe(duplex=False)
    process = processes.Process(target=writers.write_until_killed, args=(str(where), theirs))
    process.start()
    theirs.close()
    return process, ours


def words_of(pipe):
    """Return what was said before the end; the last word can be cut off by the kill."""
    said = []
    try:
        while True:
            said.append(pipe.recv())
    except (EOFError, OSError):
        pipe.close()
        return said


@pytest.mark.slow
def test_two_hundred_kills_lose_nothing_that_was_acknowledged(where, monkeypatch):
    processes = process_maker(monkeypatch)
    chance = random.Random(20310504)  # noqa: S311
    acknowledged = []
    for _ in range(KILLS // AT_ONCE):
        running = [writer(processes, where) for _ in range(AT_ONCE)]
        for process, pipe in running:
            assert pipe.poll(30), "the casebook no longer opens or writes"
            time.sleep(chance.uniform(0, 0.06))
            process.kill()
        for process, pipe in running:
            process.join()
            assert process.exitcode == -9
            acknowledged.append(words_of(pipe))
    if "://" not in where:
        with closing(sqlite3.connect(where)) as plain:
            assert plain.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    with Casebook.open(where) as book:
        assert len(acknowledged) == KILLS
        for words in acknowledged:
            case_id = words[0][0]
            stored = book.case(case_id)
            keys = [(event.case_id, event.seq, event.event_id) for event in stored.events]
            assert keys[: len(words)] == words
            # What was stored but not yet acknowledged is one entry at most, and whole.
            assert len(keys) - len(words) in (0, 1)
            assert [event.seq for event in stored.events] == list(range(1, stored.version + 1))
    assert sum(map(len, acknowledged)) > 2 * KILLS
