"""Several processes on one casebook: the database decides who was first, and nothing is lost."""

from collections import Counter
from concurrent.futures import ThreadPoolExecutor

import pytest
from crash import writers
from crash.places import process_maker

from api.casebook import Casebook
from api.errors import VersionConflict
from diagnose.case import Case

ROUNDS = 40


@pytest.fixture(scope="module")
def processes():
    with pytest.MonkeyPatch.context() as patch:
        yield process_maker(patch)


def started(processes, work, many, *arguments):
    """Start `many` processes, wait for all, let them go at once, and return their words."""
    pairs = []
    for given in many:
        ours, theirs = processes.Pipe()
        process = processes.Process(target=work, args=(*arguments, *given, theirs))
        process.start()
        theirs.close()
        pairs.append((process, ours))
    for _, pipe in pairs:
        assert pipe.poll(20), "a process did not start"
        assert pipe.recv() == "ready"
    for _, pipe in pairs:
        pipe.send("go")
    words = [pipe.recv() for _, pipe in pairs]
    for process, pipe in pairs:
        process.join(20)
        assert process.exitcode == 0
        pipe.close()
    return words


def test_exactly_one_of_two_processes_wins_each_number(where, processes):
    with Casebook.open(where) as book:
        case_id = book.open_case(Case(said=["no arc"])).id
        many = [("one", ROUNDS), ("two", ROUNDS)]
        one, two = started(processes, writers.race, many, where, case_id)
        assert sorted(one + two) == list(range(2, ROUNDS + 2))
        events = book.events(case_id)[1:]
        assert [event.seq for event in events] == sorted(one + two)
        assert {event.seq for event in events if event.who == "one"} == set(one)


def test_one_key_from_many_processes_is_stored_once(where, processes):
    with Casebook.open(where) as book:
        case_id = book.open_case(Case(said=["no arc"])).id
        words = started(processes, writers.say_again, [()] * 4, where, case_id)
        assert len(set(words)) == 1
        assert len(book.events(case_id)) == 2
        assert len(book.cases().items) == 2


def test_one_casebook_serves_many_threads(where):
    with Casebook.open(where) as book, ThreadPoolExecutor(8) as threads:
        opened = list(threads.map(lambda _: book.open_case(Case(said=["no arc"])).id, range(40)))
        tried = threads.map(lambda case_id: appended(book, case_id), opened * 2)
        assert sorted(tried) == [False] * 40 + [True] * 40
        assert {line.version for line in book.cases().items} == {2}


def appended(book, case_id):
    """Return whether the second entry of the case was ours."""
    try:
        return book.append(case_id, "found", writers.FOUND, expected=1).seq == 2
    except VersionConflict:
        return False


def test_many_processes_open_a_new_casebook_at_once(where, processes):
    ids = started(processes, writers.open_first, [()] * 4, where)
    assert all(isinstance(one, str) for one in ids), ids
    with Casebook.open(where) as book:
        assert Counter(line.id for line in book.cases().items) == Counter(ids)
