"""What other processes do to a casebook in the tests, each function in a process of its own."""

import json
import os
import sys
from multiprocessing.connection import Connection
from pathlib import Path

from api.casebook import Casebook
from api.errors import CasebookError, VersionConflict
from diagnose.case import Case

FOUND = {"check": "tug_each_lug", "result": "loose"}


def write_until_killed(where: str, pipe: Connection) -> None:
    """Open a case and add entries, saying each one down the pipe once it is acknowledged."""
    with Casebook.open(where) as book:
        opened = book.open_case(Case(said=["no arc"]))
        pipe.send((opened.id, 1, opened.events[0].event_id))
        version = 1
        while True:
            body = FOUND | {"note": f"entry {version + 1} " + "x" * (version % 300)}
            event = book.append(opened.id, "found", body, expected=version)
            version = event.seq
            pipe.send((opened.id, event.seq, event.event_id))


def race(where: str, case_id: str, name: str, rounds: int, pipe: Connection) -> None:
    """Write each entry number once, without looking first; say which numbers were won."""
    won = []
    with Casebook.open(where, wait_s=30.0) as book:
        pipe.send("ready")
        pipe.recv()
        for expected in range(1, rounds + 1):
            try:
                event = book.append(case_id, "found", FOUND, expected=expected, who=name)
                won.append(event.seq)
            except VersionConflict:
                continue
    pipe.send(won)


def say_again(where: str, case_id: str, pipe: Connection) -> None:
    """Store one entry under one key, as every other process does at the same time."""
    with Casebook.open(where, wait_s=30.0) as book:
        pipe.send("ready")
        pipe.recv()
        event = book.append(case_id, "found", FOUND, expected=1, event_id="one-key")
        opened = book.open_case(Case(said=["hot clamp"]), key="one-case")
    pipe.send((event.seq, event.at, opened.id))


def open_first(where: str, pipe: Connection) -> None:
    """Open a casebook that is not there yet, at the same moment as others do, and write in it."""
    pipe.send("ready")
    pipe.recv()
    try:
        with Casebook.open(where, wait_s=30.0) as book:
            pipe.send(book.open_case(Case(said=["no arc"])).id)
    except CasebookError as error:
        pipe.send(error)


def keep_writing(where: str, stop: Connection) -> None:
    """Add entries until told to stop."""
    with Casebook.open(where, wait_s=30.0) as book:
        case_id, version = book.open_case(Case(said=["no arc"])).id, 1
        stop.send("ready")
        while not stop.poll():
            version = book.append(case_id, "found", FOUND, expected=version).seq
    stop.send(version)


def fill_disk(folder: str) -> None:
    """Run by itself on a small disk: write until it is full, make room, write on; print it."""
    where, ballast = Path(folder) / "book.sqlite3", Path(folder) / "ballast"
    ballast.write_bytes(bytes(200_000))
    body = FOUND | {"note": "x" * 400}
    with Casebook.open(where) as book:
        case_id = book.open_case(Case(said=["no arc"])).id
        acknowledged = 1
        try:
            while True:
                acknowledged = book.append(case_id, "found", body, expected=acknowledged).seq
        except CasebookError as error:
            refused = error
        while_full = len(book.events(case_id))
        ballast.unlink()
        after = book.append(case_id, "found", body, expected=acknowledged).seq
    with Casebook.open(where) as book:
        kept = len(book.events(case_id))
    report = {
        "refused": type(refused).__name__,
        "said": str(refused),
        "acknowledged": acknowledged,
        "while_full": while_full,
        "after": after,
        "kept": kept,
    }
    print(json.dumps(report))


def as_nobody(where: str) -> None:
    """Run by itself: give up all rights, then open the casebook and write; print the refusal."""
    if os.geteuid() == 0:
        os.setgroups([])
        os.setgid(65534)
        os.setuid(65534)
    try:
        with Casebook.open(where) as book:
            book.open_case(Case(said=["no arc"]))
    except CasebookError as error:
        print(type(error).__name__, error)


if __name__ == "__main__":
    {"fill_disk": fill_disk, "as_nobody": as_nobody}[sys.argv[1]](*sys.argv[2:])
