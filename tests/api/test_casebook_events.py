"""Entries and what they add up to; pure, no database."""

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import PurePosixPath, PureWindowsPath

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.casebook import replay, standing, summary
from api.casebook.cursor import mark, position
from api.casebook.events import KINDS, Event, check_next, check_order, checked_body, written
from api.casebook.ids import sayable
from api.casebook.place import address, masked, shown
from api.casebook_place import default_place
from api.errors import BadAddress, BadCursor, CaseClosed, EntryRefused
from diagnose.case import Case

AT = datetime(2031, 5, 4, 9, 12, tzinfo=UTC)


def log(*entries):
    """Return entries (kind, body) numbered from 1 on."""
    return [
        Event("babab-babab", seq, f"k{seq}", kind, AT, None, checked_body(kind, body))
        for seq, (kind, body) in enumerate(entries, start=1)
    ]


def test_a_body_keeps_only_what_was_said_in_si():
    body = checked_body("reported", {"station": {"gas": {"flow_l_min": "35 cfh"}}})
    assert body == {"station": {"gas": {"flow_l_min": pytest.approx(16.52, abs=0.01)}}}


@pytest.mark.parametrize(
    ("kind", "body", "said"),
    [
        ("welded", {}, "no entry of kind 'welded'"),
        ("found", {"check": "tug_each_lug"}, "result: Field required"),
        ("found", {"check": "tug_each_lug", "result": "loose", "mood": "good"}, "mood: Extra"),
        ("read", {"what": "drop", "value": float("nan"), "unit": "V"}, "value"),
        ("undone", {"seq": 0}, "seq"),
        ("closed", {"outcome": "exploded"}, "outcome"),
        ("reported", {"said": ["\ud800"]}, "said.0"),
        ("reported", [], "valid dictionary"),
    ],
)
def test_a_body_that_does_not_fit_is_refused_by_name(kind, body, said):
    with pytest.raises(EntryRefused, match=said):
        checked_body(kind, body)


def test_entries_fold_into_one_case():
    case = replay(
        log(
            ("reported", {"said": ["no arc"], "symptoms": [{"id": "no_arc", "seen": "yes"}]}),
            ("reported", {"station": {"gun": {"tip_mm": 0.9}, "process": "GMAW"}}),
            ("found", {"check": "tug_each_lug", "result": "loose", "minutes": 2}),
            ("read", {"what": "drop", "value": 2, "unit": "V", "from": "work_stud"}),
            ("reported", {"station": {"gun": {"tip_mm": 1.0}}, "said": ["no arc", "hot clamp"]}),
            ("remedied", {"fault": "lug_loose", "cured": False, "note": "still dead"}),
            ("reported", {"symptoms": [{"id": "no_arc", "seen": "no", "by": "tried_it"}]}),
            ("found", {"check": "tug_each_lug", "result": "good"}),
            ("advised", {"step": "check", "id": "drop_across_clamp"}),
        )
    )
    assert case == Case.model_validate(
        {
            "said": ["no arc", "hot clamp"],
            "symptoms": [{"id": "no_arc", "seen": "no", "by": "tried_it"}],
            "station": {"gun": {"tip_mm": 1.0}, "process": "GMAW"},
            "findings": [{"check": "tug_each_lug", "result": "good"}],
            "readings": [{"what": "drop", "value": 2, "unit": "V", "from": "work_stud"}],
            "remedied": [{"fault": "lug_loose", "cured": False}],
        }
    )


def test_a_null_takes_back_what_was_known_of_the_station():
    case = replay(
        log(
            ("reported", {"station": {"polarity": {"electrode": "negative"}}}),
            ("reported", {"station": {"polarity": None}}),
        )
    )
    assert case.station.polarity is None


def test_an_undone_entry_does_not_count():
    entries = log(
        ("reported", {"said": ["no arc"]}),
        ("found", {"check": "tug_each_lug", "result": "loose"}),
        ("undone", {"seq": 2, "why": "wrong lug"}),
    )
    assert replay(entries) == replay(entries[:1])
    assert [event.seq for event in standing(entries)] == [1]


@pytest.mark.parametrize(
    ("seq", "said"), [(9, "no entry 9"), (3, "is an undo itself"), (2, "undone already")]
)
def test_an_undo_names_an_entry_that_counts(seq, said):
    earlier = log(("reported", {}), ("advised", {"step": "ask"}), ("undone", {"seq": 2}))
    new = replace(earlier[2], seq=4, body={"seq": seq})
    with pytest.raises(EntryRefused, match=said):
        check_next(earlier, new)


def test_after_the_close_only_its_undo_follows():
    entries = log(
        ("reported", {}),
        ("found", {"check": "tug_each_lug", "result": "loose"}),
        ("closed", {"outcome": "cured", "faults": ["lug_loose"]}),
        ("undone", {"seq": 3}),
        ("found", {"check": "tug_each_lug", "result": "good"}),
    )
    check_order(entries)
    for next_entry in (entries[1], replace(entries[3], body={"seq": 2})):
        with pytest.raises(CaseClosed, match="Undo entry 3"):
            check_next(entries[:3], replace(next_entry, seq=4))


def test_a_case_begins_with_a_report():
    with pytest.raises(EntryRefused, match="begins with a report"):
        check_order(log(("found", {"check": "tug_each_lug", "result": "loose"})))


def test_the_fifty_first_reading_is_refused_until_one_is_undone():
    reading = ("read", {"what": "drop", "value": 1, "unit": "V"})
    full = log(("reported", {}), *[reading] * 50)
    new = replace(full[-1], seq=52)
    with pytest.raises(EntryRefused, match="readings"):
        check_next(full, new)
    undo = Event("babab-babab", 52, "k", "undone", AT, None, {"seq": 7})
    check_next([*full, undo], replace(new, seq=53))


def test_the_summary_says_how_it_ended():
    line = summary(
        log(
            ("reported", {"said": ["no  arc\x00", "clamp\nhot"]}),
            ("found", {"check": "tug_each_lug", "result": "loose", "minutes": 2}),
            ("handed_over", {"to": "maintenance"}),
            ("remedied", {"fault": "lug_loose", "cured": True, "minutes": 5.5}),
            ("proved", {"check": "proof_weld", "good": True}),
            ("closed", {"outcome": "cured", "faults": ["lug_loose"]}),
        )
    )
    assert line.state == "closed"
    assert line.complaint == "no arc ; clamp hot"
    assert (line.outcome, line.faults, line.proved) == ("cured", ("lug_loose",), True)
    assert (line.handed_to, line.minutes, line.last_seq) == ("maintenance", 7.5, 6)


def test_the_complaint_of_taps_alone_is_their_names():
    body = {"symptoms": [{"id": "no_arc", "seen": "yes"}, {"id": "hum", "seen": "no"}]}
    assert summary(log(("reported", body))).complaint == "no arc"


words = st.text(st.characters(codec="utf-8"), min_size=1, max_size=20)
ids = st.sampled_from(["no_arc", "lug_loose", "tug_each_lug", "porosity"])
bodies = st.one_of(
    st.tuples(st.just("reported"), st.fixed_dictionaries({"said": st.lists(words, max_size=2)})),
    st.tuples(
        st.just("reported"),
        st.fixed_dictionaries(
            {
                "station": st.fixed_dictionaries(
                    {},
                    optional={
                        "process": st.sampled_from(["GMAW", "FCAW-S", None]),
                        "gun": st.fixed_dictionaries({"tip_mm": st.floats(0.5, 3)}),
                    },
                )
            }
        ),
    ),
    st.tuples(
        st.just("found"),
        st.fixed_dictionaries({"check": ids, "result": st.sampled_from(["good", "loose"])}),
    ),
    st.tuples(
        st.just("read"),
        st.fixed_dictionaries(
            {"what": st.just("drop"), "value": st.floats(-1e6, 1e6), "unit": st.just("V")},
            optional={"at": st.datetimes(timezones=st.just(UTC))},
        ),
    ),
    st.tuples(st.just("remedied"), st.fixed_dictionaries({"fault": ids, "cured": st.booleans()})),
    st.tuples(st.just("advised"), st.just({"step": "ask"})),
)


@given(bodies)
def test_a_checked_body_is_checked_already(entry):
    kind, body = entry
    once = checked_body(kind, body)
    assert written(checked_body(kind, once)) == written(once)


@given(st.lists(bodies, max_size=12), st.data())
def test_replaying_with_undos_is_replaying_what_is_left(entries, data):
    told = log(("reported", {"said": ["dead"]}), *entries)
    undo = data.draw(st.sets(st.sampled_from([event.seq for event in told])))
    undos = [
        Event("babab-babab", len(told) + n, f"u{n}", "undone", AT, None, {"seq": seq})
        for n, seq in enumerate(sorted(undo), start=1)
    ]
    left = [event for event in told if event.seq not in undo]
    check_order([*told, *undos])
    assert replay([*told, *undos]) == replay(left)
    assert standing([*told, *undos]) == left


@given(st.lists(bodies, max_size=12), bodies)
def test_undoing_the_last_entry_gives_the_case_before_it(entries, last):
    before = log(("reported", {}), *entries)
    after = log(("reported", {}), *entries, last)
    undo = Event("babab-babab", len(after) + 1, "u", "undone", AT, None, {"seq": len(after)})
    check_next(after, undo)
    assert replay([*after, undo]) == replay(before)


def test_every_kind_has_a_body_to_check():
    for kind in KINDS:
        with pytest.raises(EntryRefused):
            checked_body(kind, {"no_such_key": 1})


@given(st.integers(0, 2**32 - 1), st.integers(0, 2**32 - 1))
def test_no_two_numbers_are_said_alike(one, other):
    assert (sayable(one) == sayable(other)) == (one == other)


@given(st.text("abcXYZ019!$/:@", min_size=8, max_size=20))
def test_a_password_is_never_shown(password):
    secret = f"Q{password}Q"
    assert secret not in masked(f"postgresql://kim:{secret}@db:5432/shop")
    assert secret not in masked(f"no-url://kim:{secret}@db")


def test_a_password_in_the_query_is_not_shown():
    url = address("postgresql://kim@db/shop?password=hunter2&sslmode=require")
    assert "hunter2" not in shown(url)
    assert "sslmode=require" in shown(url)


@pytest.mark.parametrize(
    ("environ", "platform", "home", "place"),
    [
        ({"WONTWELD_CASEBOOK": "/x/y"}, "linux", PurePosixPath("/home/kim"), "/x/y"),
        (
            {"XDG_DATA_HOME": "/data"},
            "linux",
            PurePosixPath("/home/kim"),
            "/data/wontweld/casebook.sqlite3",
        ),
        (
            {"XDG_DATA_HOME": "not/absolute"},
            "linux",
            PurePosixPath("/home/kim"),
            "/home/kim/.local/share/wontweld/casebook.sqlite3",
        ),
        (
            {"LOCALAPPDATA": r"D:\Local"},
            "win32",
            PureWindowsPath(r"C:\Users\kim"),
            r"D:\Local\wontweld\casebook.sqlite3",
        ),
        (
            {},
            "win32",
            PureWindowsPath(r"C:\Users\kim"),
            r"C:\Users\kim\AppData\Local\wontweld\casebook.sqlite3",
        ),
    ],
)
def test_the_default_place_follows_the_platform(environ, platform, home, place):
    assert default_place(environ, platform=platform, home=home) == place


@pytest.mark.parametrize(
    "bad", ["", "  ", "mysql://kim:hunter2@db/shop", "://", "sqlite://", "sqlite:///:memory:"]
)
def test_an_address_we_cannot_use_is_refused_without_its_secrets(bad):
    with pytest.raises(BadAddress) as refusal:
        address(bad)
    assert "hunter2" not in str(refusal.value)
    assert refusal.value.next_step


@given(st.text(max_size=40))
def test_a_made_up_page_mark_is_refused(text):
    with pytest.raises(BadCursor):
        position(("cases",), text, 2)


def test_a_page_mark_belongs_to_one_list():
    assert position(("cases",), mark(("cases",), ["a", "b"]), 2) == ["a", "b"]
    with pytest.raises(BadCursor):
        position(("stations",), mark(("cases",), ["a", "b"]), 2)
