"""A million entries: how long the import takes, and how fast the casebook is with them in it.

Run by hand: python tests/bench/casebook_million.py [PATH or URL] [--events N]
The place must be empty; nothing is cleared away afterwards. With --events 0 it may hold cases already.
"""

import argparse
import itertools
import json
import statistics
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

from fastapi.testclient import TestClient

from api.casebook import Casebook
from api.casebook.ids import sayable
from api.http.app import create_app
from diagnose.case import Case

STATIONS = 200
ENTRIES_PER_CASE = 20
START = datetime(2021, 1, 4, 6, 0, tzinfo=UTC)


def export_lines(events: int) -> Iterator[str]:
    """Yield an export with so many entries, as a shop of 200 stations makes it over years."""
    yield json.dumps({"wontweld_casebook": 1})
    stamp = START.isoformat()
    for number in range(STATIONS):
        plate = {"name": f"Bay {number}", "process": "GMAW", "gun": {"tip_mm": 0.9}}
        times = {"created_at": stamp, "updated_at": stamp}
        yield json.dumps(
            {"station": {"id": f"station-{number}", "version": 1, "plate": plate, **times}}
        )
    for number in range(events // ENTRIES_PER_CASE):
        # An odd multiplier scatters the ids as random ones would be, without meeting twice.
        case_id = sayable(number * 2654435761 % 2**32)
        station = number * 7 % STATIONS
        yield json.dumps({"case": {"id": case_id, "station_id": f"station-{station}"}})
        opened = START + timedelta(minutes=47 * number)
        for seq, (kind, body) in enumerate(entries(station, number), start=1):
            at = (opened + timedelta(minutes=seq)).isoformat()
            event = {"case_id": case_id, "seq": seq, "event_id": f"k{seq}", "at": at}
            yield json.dumps({"event": event | {"kind": kind, "body": body, "who": "Kim"}})


def entries(station: int, number: int) -> Iterator[tuple[str, dict[str, object]]]:
    """Yield the twenty entries of one case."""
    plate = {"name": f"Bay {station}", "process": "GMAW", "gun": {"tip_mm": 0.9}}
    yield "reported", {"said": ["wire feeds, no arc", f"clamp hot {number}"], "station": plate}
    for step in range(7):
        yield "advised", {"step": "check", "id": f"check_{step}", "faults": {"lug_loose": 0.4}}
        yield "found", {"check": f"check_{step}", "result": "good", "minutes": 2}
    yield "read", {"what": "drop", "value": 1.5, "unit": "V", "at_current_a": 200}
    yield "undone", {"seq": 16}
    yield "remedied", {"fault": "lug_loose", "cured": True, "minutes": 5}
    yield "proved", {"check": "proof_weld", "good": True}
    ending = {"outcome": "cured", "faults": ["lug_loose"]}
    yield ("closed", ending) if number % 10 else ("handed_over", {"to": "service"})


def spread_ms(work: Callable[[], object], times: int) -> str:
    """Return the median and the slowest in a hundred of `work`, in milliseconds."""
    took = []
    for _ in range(times):
        began = time.perf_counter()
        work()
        took.append(1000 * (time.perf_counter() - began))
    took.sort()
    slow = took[int(0.99 * (len(took) - 1))]
    return f"median {statistics.median(took):7.2f} ms   99 of 100 within {slow:7.2f} ms"


def measure(book: Casebook) -> None:
    """Print how long lists, reading and writing take."""
    deep = next_pages(book, 100)
    some = [line.id for line in book.cases(limit=200).items]
    ids = itertools.cycle(some)
    opened = book.open_case(Case(said=["no arc"]), station="Bay 3")
    versions = itertools.count(1)

    def append() -> None:
        body = {"step": "check", "id": "tug_each_lug"}
        book.append(opened.id, "advised", body, expected=next(versions))

    middle = START + timedelta(days=365)
    for name, work in {
        "list, newest 50": book.cases,
        "list, page 100": lambda: book.cases(cursor=deep),
        "list, one station": lambda: book.cases(station="Bay 77"),
        "list, handed over": lambda: book.cases(state="handed_over"),
        "list, since": lambda: book.cases(since=middle),
        "one case": lambda: book.case(next(ids)),
        "open a case": lambda: book.open_case(Case(said=["no arc"]), station="Bay 4"),
        "next entry": append,
    }.items():
        print(f"{name:20} {spread_ms(work, 200)}")
    with TestClient(create_app(casebook=book), base_url="http://127.0.0.1") as client:
        address = f"/v1/cases/{opened.id}/next"
        client.get(address).raise_for_status()
        print(f"{'next check, API':20} {spread_ms(lambda: client.get(address), 50)}")


def next_pages(book: Casebook, pages: int) -> str | None:
    """Return the mark of the page so many pages on."""
    cursor = None
    for _ in range(pages):
        following = book.cases(cursor=cursor).next
        if following is None:
            break
        cursor = following
    return cursor


def main() -> None:
    """Import, then measure."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("where", nargs="?")
    parser.add_argument("--events", type=int, default=1_000_000)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        where = given.where or str(Path(folder) / "casebook.sqlite3")
        with Casebook.open(where) as book:
            began = time.perf_counter()
            carried = book.import_(export_lines(given.events))
            took = time.perf_counter() - began
            print(
                f"import: {carried.events} entries in {took:.0f} s, {carried.events / took:.0f}/s"
            )
            measure(book)
            began = time.perf_counter()
            with (Path(folder) / "export.jsonl").open("w", encoding="utf-8") as file:
                lines = book.export(file)
            print(f"export: {lines} lines in {time.perf_counter() - began:.0f} s")
            if "://" not in where:
                print(f"file: {Path(where).stat().st_size / 2**20:.0f} MiB")


if __name__ == "__main__":
    main()
