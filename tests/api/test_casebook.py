"""The casebook as its users see it: the same suite on a file and on a server."""

import io
import json
from datetime import UTC, datetime, timedelta

import pytest
from crash.places import KINDS, counting, place, ticking

from api.casebook import Carried, Casebook
from api.errors import (
    BadCursor,
    CaseClosed,
    EntryRefused,
    ImportRefused,
    KeyConflict,
    NameTaken,
    NotFound,
    VersionConflict,
)
from diagnose.case import Case, Station

FOUND = {"check": "tug_each_lug", "result": "loose"}


@pytest.fixture
def book(where):
    with Casebook.open(
        where, clock=ticking(), new_id=counting("id"), new_key=counting("key")
    ) as opened:
        yield opened


def plate(**parts):
    return Station.model_validate({"name": "Bay 3", **parts})


def told(*words, **parts):
    return Case.model_validate({"said": list(words), **parts})


def exported(book):
    text = io.StringIO()
    book.export(text)
    return text.getvalue()


# Stations


def test_a_station_is_found_by_id_and_by_name(book):
    added = book.add_station(plate(name="  Bay   3 ", gun={"tip_mm": "0.035 in"}))
    assert added.name == "Bay 3"
    assert added.version == 1
    assert book.station(added.id) == added
    assert book.station("BAY 3").plate.gun.tip_mm == pytest.approx(0.889)


def test_a_station_has_a_name_of_its_own(book):
    book.add_station(plate())
    with pytest.raises(NameTaken, match="Bay 3"):
        book.add_station(plate(name="bay  3"))
    with pytest.raises(EntryRefused, match="needs a name"):
        book.add_station(Station())
    with pytest.raises(EntryRefused, match="printable"):
        book.add_station(plate(name="bay\x00"))


def test_the_same_key_adds_a_station_once(book):
    added = book.add_station(plate(), key="once")
    assert book.add_station(plate(), key="once") == added
    with pytest.raises(KeyConflict):
        book.add_station(plate(name="Bay 4"), key="once")


def test_an_unknown_station_names_the_nearest(book):
    book.add_station(plate())
    with pytest.raises(NotFound, match="Nearest: 'Bay 3'"):
        book.station("bay3")


def test_a_stale_edit_of_a_station_is_refused(book):
    added = book.add_station(plate())
    edited = book.edit_station("bay 3", plate(process="GMAW"), expected=1)
    assert (edited.version, edited.id, edited.plate.process) == (2, added.id, "GMAW")
    assert book.station(added.id) == edited
    with pytest.raises(VersionConflict, match="you know version 1, but version 2 stands") as clash:
        book.edit_station(added.id, plate(process="FCAW-S"), expected=1)
    assert (clash.value.expected, clash.value.actual) == (1, 2)
    assert book.station(added.id) == edited


def test_a_station_cannot_take_the_name_of_another(book):
    book.add_station(plate())
    other = book.add_station(plate(name="Bay 4"))
    with pytest.raises(NameTaken):
        book.edit_station(other.id, plate(name="BAY 3"), expected=1)
    assert book.edit_station(other.id, plate(name="BAY 4"), expected=1).name == "BAY 4"


def test_pages_of_stations_join_to_the_whole_list(book):
    for number in range(7):
        book.add_station(plate(name=f"Bay {number}"))
    names, cursor = [], None
    while True:
        page = book.stations(limit=3, cursor=cursor)
        names += [station.name for station in page.items]
        if (cursor := page.next) is None:
            break
    assert names == [f"Bay {number}" for number in range(7)]


# Cases and their entries


def test_a_case_begins_with_what_was_reported(book):
    opened = book.open_case(told("no arc", units="us"), who=" Kim ")
    assert opened.case == told("no arc", units="us")
    assert (opened.version, opened.summary.state) == (1, "open")
    assert [(event.kind, event.who) for event in opened.events] == [("reported", "Kim")]
    assert book.case(opened.id) == opened


def test_the_plate_is_copied_into_the_case_and_what_is_told_lies_over_it(book):
    book.add_station(plate(process="GMAW", gun={"tip_mm": 0.9, "length_m": 3}))
    opened = book.open_case(told("stubs", station={"gun": {"tip_mm": 1.2}}), station="bay 3")
    book.edit_station("bay 3", plate(process="FCAW-S"), expected=1)
    station = book.case(opened.id).case.station
    assert (station.name, station.process) == ("Bay 3", "GMAW")
    assert (station.gun.tip_mm, station.gun.length_m) == (1.2, 3)


def test_a_case_belongs_to_the_kept_station_that_it_names(book):
    kept = book.add_station(Station(name="Bay 3", process="GMAW"))
    told = Case(said=["no arc"], station=Station(name="bay  3"))
    stored = book.open_case(told, key="once")
    assert (stored.station_id, stored.case.station.process) == (kept.id, None)
    assert book.open_case(told, key="once").id == stored.id
    other = book.open_case(Case(said=["no arc"], station=Station(name="bay 4")), key="two")
    assert other.station_id is None
    book.add_station(Station(name="Bay 4"))
    again = Case(said=["no arc"], station=Station(name="bay 4"))
    assert book.open_case(again, key="two").id == other.id


def test_the_same_key_opens_a_case_once_even_after_the_plate_was_edited(book):
    book.add_station(plate(process="GMAW"))
    report = told("stubs", station={"gun": {"tip_mm": 1.2}})
    opened = book.open_case(report, station="bay 3", key="once")
    book.edit_station("bay 3", plate(process="FCAW-S"), expected=1)
    assert book.open_case(report, station="bay 3", key="once") == opened
    for other in (told("no arc"), told("stubs", station={"gun": {"tip_mm": 1.0}})):
        with pytest.raises(KeyConflict):
            book.open_case(other, station="bay 3", key="once")
    with pytest.raises(KeyConflict):
        book.open_case(report, key="once")
    assert len(book.cases().items) == 1


def test_a_case_on_an_unknown_station_is_not_opened(book):
    with pytest.raises(NotFound):
        book.open_case(told("no arc"), station="bay 9")
    assert book.cases().items == ()


def test_a_taken_id_is_drawn_again(where):
    ids = iter(["same-id", "same-id", "other-id"])
    with Casebook.open(where, new_id=lambda: next(ids)) as book:
        assert book.open_case(told("no arc")).id == "same-id"
        assert book.open_case(told("no arc")).id == "other-id"


def test_entries_are_numbered_and_given_back_as_stored(book):
    case_id = book.open_case(told("no arc")).id
    found = book.append(case_id, "found", FOUND, expected=1, who="Kim")
    read = book.append(
        case_id, "read", {"what": "drop", "value": "2", "unit": "V"}, expected=2, event_id="r.1"
    )
    assert (found.seq, read.seq, read.event_id) == (2, 3, "r.1")
    assert found.at < read.at
    assert book.events(case_id)[1:] == [found, read]
    assert book.events(case_id, after=2) == [read]
    stored = book.case(case_id)
    assert stored.version == 3
    assert [finding.result for finding in stored.case.findings] == ["loose"]


def test_a_stale_entry_is_refused_and_says_both_versions(book):
    case_id = book.open_case(told("no arc")).id
    book.append(case_id, "found", FOUND, expected=1)
    for wrong in (0, 1, 3):
        with pytest.raises(VersionConflict) as clash:
            book.append(case_id, "found", FOUND, expected=wrong)
        assert (clash.value.expected, clash.value.actual) == (wrong, 2)
    assert len(book.events(case_id)) == 2


def test_the_same_key_and_content_gives_the_stored_entry_back(book):
    case_id = book.open_case(told("no arc")).id
    first = book.append(case_id, "found", FOUND, expected=1, event_id="once", who="Kim")
    book.append(case_id, "advised", {"step": "ask"}, expected=2)
    again = book.append(case_id, "found", FOUND, expected=1, event_id="once", who="Kim")
    assert again == first
    assert len(book.events(case_id)) == 3
    with pytest.raises(KeyConflict, match="stored entry 2"):
        book.append(case_id, "found", FOUND | {"result": "good"}, expected=3, event_id="once")


def test_the_same_key_serves_in_two_cases(book):
    for _ in range(2):
        case_id = book.open_case(told("no arc")).id
        assert book.append(case_id, "found", FOUND, expected=1, event_id="same").seq == 2


def test_an_entry_for_an_unknown_case_names_the_nearest(where):
    with Casebook.open(where, new_id=lambda: "tomik-lusab") as book:
        book.open_case(told("no arc"))
        with pytest.raises(NotFound, match="Nearest: 'tomik-lusab'"):
            book.append("tomik-lusav", "found", FOUND, expected=1)
        for use in (book.case, book.events, book.forget):
            with pytest.raises(NotFound):
                use("100%_'; DROP TABLE cases")


def test_a_closed_case_is_reopened_by_undoing_the_close(book):
    case_id = book.open_case(told("no arc")).id
    book.append(case_id, "closed", {"outcome": "cured", "faults": ["lug_loose"]}, expected=1)
    assert book.cases(state="closed").items[0].id == case_id
    with pytest.raises(CaseClosed):
        book.append(case_id, "found", FOUND, expected=2)
    book.append(case_id, "undone", {"seq": 2}, expected=2)
    assert book.case(case_id).summary.state == "open"
    assert book.cases(state="closed").items == ()
    assert book.append(case_id, "found", FOUND, expected=3).seq == 4


def test_a_case_that_was_handed_over_goes_on(book):
    case_id = book.open_case(told("no arc")).id
    book.append(case_id, "handed_over", {"to": "electrician"}, expected=1)
    book.append(case_id, "found", FOUND, expected=2)
    assert book.cases(state="handed_over").items[0].version == 3


def test_a_refused_entry_leaves_no_trace(book):
    case_id = book.open_case(told("no arc")).id
    before = exported(book)
    for kind, body in (("found", {}), ("undone", {"seq": 5}), ("nonsense", {})):
        with pytest.raises(EntryRefused):
            book.append(case_id, kind, body, expected=1)
    with pytest.raises(EntryRefused, match="64"):
        book.append(case_id, "found", FOUND, expected=1, event_id="k" * 65)
    with pytest.raises(EntryRefused, match="printable"):
        book.append(case_id, "found", FOUND, expected=1, who="Kim\x00")
    assert exported(book) == before


def test_odd_words_come_back_as_they_were(book):
    odd = ["Brenner zündet nicht ⚡", 'it\'s "dead"; -- %s', "tab\tand\nline", "nul\x00in it", "\\"]
    opened = book.open_case(told(*odd))
    assert book.case(opened.id).case.said == odd
    assert "\x00" not in book.cases().items[0].complaint


# Lists


def test_pages_of_cases_join_to_the_whole_list_newest_first(where):
    clock = ticking(timedelta(0))
    ids = iter([f"c-{number}" for number in (5, 1, 7, 2, 8, 3, 6, 4, 90, 91, 92)])
    with Casebook.open(where, clock=clock, new_id=lambda: next(ids)) as book:
        opened = [book.open_case(told(f"case {number}")).id for number in range(8)]
        seen, cursor = [], None
        while True:
            page = book.cases(limit=3, cursor=cursor)
            seen += [line.id for line in page.items]
            book.open_case(told("added meanwhile"))
            if (cursor := page.next) is None:
                break
    assert [case_id for case_id in seen if case_id in opened] == sorted(opened, reverse=True)
    assert len(seen) == len(set(seen))


def test_cases_are_listed_by_station_state_and_time(book):
    book.add_station(plate())
    first = book.open_case(told("no arc"), station="bay 3").id
    second = book.open_case(told("pores")).id
    book.append(second, "closed", {"outcome": "withdrawn"}, expected=1)
    opened_at = book.case(second).summary.opened_at
    lines = book.cases(station="BAY 3").items
    assert [(line.id, line.station_name, line.complaint) for line in lines] == [
        (first, "Bay 3", "no arc")
    ]
    assert [line.id for line in book.cases(state="closed").items] == [second]
    assert [line.id for line in book.cases(since=opened_at).items] == [second]
    elsewhere = opened_at.astimezone(tz=None)
    assert [line.id for line in book.cases(since=elsewhere).items] == [second]
    assert book.cases(since=opened_at + timedelta(seconds=1)).items == ()
    with pytest.raises(NotFound):
        book.cases(station="bay 9")
    with pytest.raises(EntryRefused, match="time zone"):
        book.cases(since=datetime(2031, 5, 4))


def test_a_page_mark_of_another_list_is_refused(book):
    for number in range(3):
        book.open_case(told(f"case {number}"))
    cursor = book.cases(limit=1).next
    with pytest.raises(BadCursor):
        book.cases(limit=1, state="open", cursor=cursor)
    with pytest.raises(BadCursor):
        book.stations(cursor=cursor)


@pytest.mark.parametrize("limit", [0, -1, 501])
def test_a_page_has_bounds(book, limit):
    for list_of in (book.cases, book.stations):
        with pytest.raises(EntryRefused, match="1 to 500"):
            list_of(limit=limit)


# Forgetting


def test_forgetting_a_case_says_what_it_erased_and_leaves_the_others(book):
    book.add_station(plate())
    kept = book.open_case(told("pores"), station="bay 3")
    gone = book.open_case(told("no arc"), station="bay 3").id
    book.append(gone, "found", FOUND, expected=1)
    erased = book.forget(gone)
    assert (erased.entries, erased.kinds) == (2, {"found": 1, "reported": 1})
    assert "backups" in erased.remains
    with pytest.raises(NotFound):
        book.case(gone)
    assert "no arc" not in exported(book)
    assert book.case(kept.id) == kept


# Export and import


def fill(book):
    """Put every kind of entry in, on two stations."""
    book.add_station(plate(gun={"tip_mm": "0.045 in"}), key="s1")
    book.add_station(plate(name="Straße 7", leads=[{"side": "work", "length_m": 15}]))
    book.edit_station("bay 3", plate(process="FCAW-S"), expected=1)
    for number, station in enumerate(["bay 3", None, "STRASSE 7"]):
        case = told(f"„{number}“ no arc", readings=[{"what": "drop", "value": 1 / 3, "unit": "V"}])
        case_id = book.open_case(case, station=station, who="Kim", key=f"open.{number}").id
        book.append(case_id, "found", FOUND | {"minutes": 0.1}, expected=1)
        book.append(case_id, "read", {"what": "flow", "value": 9.5, "unit": "l/min"}, expected=2)
        book.append(case_id, "advised", {"step": "check", "faults": {"a": 0.7}}, expected=3)
        book.append(case_id, "undone", {"seq": 3}, expected=4)
        book.append(case_id, "remedied", {"fault": "lug_loose", "cured": True}, expected=5)
        book.append(case_id, "proved", {"check": "proof_weld", "good": True}, expected=6)
        ending = {"closed": {"outcome": "cured"}, "handed_over": {"to": "service"}}
        kind = "closed" if number else "handed_over"
        book.append(case_id, kind, ending[kind], expected=7)


@pytest.mark.parametrize("kind", KINDS)
def test_an_export_imported_elsewhere_exports_the_same_bytes(book, kind, tmp_path):
    fill(book)
    text = exported(book)
    for elsewhere in place(kind, tmp_path / "elsewhere"):
        with Casebook.open(elsewhere) as other:
            carried = other.import_(io.StringIO(text))
            assert carried == Carried(stations=2, cases=3, events=24)
            assert exported(other) == text
            assert other.cases() == book.cases()
            assert other.import_(io.StringIO(text)) == Carried(0, 0, 0, known=3)
            assert exported(other) == text


def test_an_export_goes_by_time_in_batches_of_any_size(where, tmp_path, monkeypatch):
    ids = [f"c-{number}" for number in (5, 1, 7, 2, 6, 3, 4)]
    drawn = iter(ids)
    clock = ticking(timedelta(0))
    with Casebook.open(where, clock=clock, new_id=lambda: next(drawn)) as book:
        for number in range(3):
            book.open_case(told(f"case {number}"))
    with Casebook.open(where, clock=ticking(), new_id=lambda: next(drawn)) as book:
        for number in range(4):
            case_id = book.open_case(told(f"case {number}")).id
            book.append(case_id, "found", FOUND, expected=1)
        whole = exported(book)
        monkeypatch.setattr("api.casebook.transfer._CASES_AT_ONCE", 2)
        monkeypatch.setattr("api.casebook.transfer._EVENTS_AT_ONCE", 3)
        assert exported(book) == whole
        with Casebook.open(tmp_path / "other.sqlite3") as other:
            assert other.import_(io.StringIO(whole)) == Carried(0, 7, 11)
            assert exported(other) == whole
    records = [json.loads(line) for line in whole.splitlines()]
    order = [record["case"]["id"] for record in records if "case" in record]
    assert order == [*sorted(ids[:3]), *ids[3:]]


def test_an_export_is_one_moment_whatever_is_written_meanwhile(book, monkeypatch):
    monkeypatch.setattr("api.casebook.transfer._CASES_AT_ONCE", 1)
    fill(book)
    whole = exported(book)
    line = book.cases(state="handed_over").items[0]

    class WritingReader(io.StringIO):
        written_meanwhile = False

        def write(self, text):
            if '"station"' in text and not self.written_meanwhile:
                self.written_meanwhile = True
                book.append(line.id, "found", FOUND, expected=line.version)
                book.open_case(told("opened meanwhile"))
            return super().write(text)

    out = WritingReader()
    book.export(out)
    assert out.written_meanwhile
    assert out.getvalue() == whole
    assert exported(book) != whole


def test_an_import_adds_the_entries_that_are_missing(book, tmp_path):
    fill(book)
    early = exported(book)
    line = book.cases(state="handed_over").items[0]
    book.append(line.id, "closed", {"outcome": "cured"}, expected=line.version)
    late = exported(book)
    with Casebook.open(tmp_path / "other.sqlite3") as other:
        other.import_(io.StringIO(early))
        assert other.import_(io.StringIO(late)) == Carried(0, 0, 1, known=3)
        assert exported(other) == late
        assert other.import_(io.StringIO(early)) == Carried(0, 0, 0, known=3)
        assert exported(other) == late


def test_an_import_never_overwrites_a_different_case(book):
    fill(book)
    text = exported(book)
    changed = text.replace('"result":"loose"', '"result":"good"', 1)
    with pytest.raises(ImportRefused, match="is here already, and its entry 2 says something else"):
        book.import_(io.StringIO(changed))
    assert exported(book) == text


def test_an_import_never_overwrites_a_different_station(book):
    fill(book)
    text = exported(book)
    with pytest.raises(ImportRefused, match="with another plate"):
        book.import_(io.StringIO(text.replace('"process":"FCAW-S"', '"process":"GMAW"', 1)))
    taken = json.loads(text.splitlines()[1])
    taken["station"]["id"] = "another-id"
    lines = [text.splitlines()[0], json.dumps(taken)]
    with pytest.raises(ImportRefused, match=r"line 2: the name .* belongs to another"):
        book.import_(lines)
    assert exported(book) == text


def test_an_import_of_a_newer_plate_takes_it_over(book, tmp_path):
    book.add_station(plate())
    early = exported(book)
    book.edit_station("bay 3", plate(process="GMAW"), expected=1)
    late = exported(book)
    with Casebook.open(tmp_path / "other.sqlite3") as other:
        for text in (early, late, early):
            other.import_(io.StringIO(text))
        assert exported(other) == late


def broken(text):
    lines = text.splitlines()
    entry = next(n for n, line in enumerate(lines) if '"found"' in line)

    def with_entry(**changes):
        record = json.loads(lines[entry])
        record["event"] |= changes
        return [*lines[:entry], json.dumps(record), *lines[entry + 1 :]]

    number = entry + 1
    yield lines[1:], 1, "no export of a casebook"
    yield ['{"wontweld_casebook":2}', *lines[1:]], 1, "newer form"
    yield [*lines[:entry], lines[entry][:30]], number, "not JSON"
    yield [*lines[:entry], "[]"], number, "one object"
    yield [*lines[:entry], '{"weld":{}}'], number, "not 'weld'"
    yield [*lines[:entry], *lines[entry + 1 :]], number, "entry 2 is missing"
    yield with_entry(body={"check": "tug_each_lug"}), number, "result: Field required"
    yield with_entry(kind="welded"), number, "welded"
    yield with_entry(at="2031-05-04T09:12:00"), number, "time zone"
    yield with_entry(at="soon"), number, "soon"
    yield with_entry(seq="2"), number, "whole number"
    yield with_entry(who="Kim\x07"), number, "printable"
    yield with_entry(kind="undone", body={"seq": 7}), number - 2, "no entry 7"
    yield [*lines[:3], *lines[4:]], 4, "stands below its case"


def test_a_broken_line_is_named_and_its_case_stays_out(book, tmp_path):
    fill(book)
    for count, (lines, number, said) in enumerate(broken(exported(book))):
        with Casebook.open(tmp_path / f"{count}.sqlite3") as other:
            with pytest.raises(ImportRefused, match=said) as refusal:
                other.import_(lines)
            assert refusal.value.where == f"line {number}"
            assert refusal.value.next_step
            for line in other.cases().items:
                assert line.version == 8


def test_an_import_with_a_case_on_a_missing_station_is_refused(book, tmp_path):
    fill(book)
    lines = [line for line in exported(book).splitlines() if not line.startswith('{"station"')]
    with (
        Casebook.open(tmp_path / "other.sqlite3") as other,
        pytest.raises(ImportRefused, match="station that is not here"),
    ):
        other.import_(lines)


def test_times_are_utc_whatever_the_clock_says(where):
    berlin = datetime.fromisoformat("2031-05-04T11:12:00+02:00")
    with Casebook.open(where, clock=lambda: berlin) as book:
        event = book.open_case(told("no arc")).events[0]
        assert book.events(event.case_id)[0].at == datetime(2031, 5, 4, 9, 12, tzinfo=UTC)
        assert book.events(event.case_id)[0].at.tzinfo == UTC
