"""`wontweld chase` driven by a script: answers on stdin, no terminal."""

from __future__ import annotations

import io
import itertools
import re
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest
from played_session import CANONICAL, Play
from truthful_station import TruthfulStation

from api.casebook import Casebook, replay
from api.cli import chase_show as show
from api.cli import main
from api.cli.chase_log import CaseLog, KeptLog
from api.cli.chase_talk import understood
from api.exit_codes import ExitCode
from diagnose.asks import STARTED_ASKS
from diagnose.case import Case
from diagnose.session.steps import Choice, Step
from knowledge.loader import Knowledge

Chase = Callable[..., tuple[int, str, str]]


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The casebook of this test."""
    file = tmp_path / "casebook.sqlite3"
    monkeypatch.setenv("WONTWELD_CASEBOOK", str(file))
    monkeypatch.setenv("NO_COLOR", "1")
    return file


@pytest.fixture
def chase(
    place: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Chase:
    """Run `wontweld chase` on lines of answers; return its exit code, stdout and stderr."""

    def run(*arguments: str, typed: str = "", command: str = "chase") -> tuple[int, str, str]:
        monkeypatch.setattr("sys.stdin", io.StringIO(typed))
        capsys.readouterr()
        code = main([command, *arguments])
        out, err = capsys.readouterr()
        return code, out, err

    return run


def only_case(place: Path | str) -> KeptLog:
    with Casebook.open(place) as book:
        (line,) = book.cases().items
        return KeptLog(book, line.id, None)


@pytest.mark.parametrize("name", sorted(CANONICAL))
def test_script_of_true_answers_ends_on_the_true_fault(
    knowledge: Knowledge,
    chase: Chase,
    where: str,
    monkeypatch: pytest.MonkeyPatch,
    name: str,
) -> None:
    monkeypatch.setenv("WONTWELD_CASEBOOK", where)
    first, fault, end, _ = CANONICAL[name]
    play = Play(knowledge, first)
    play.to_the_end(TruthfulStation(knowledge, replay(play.events), fault))
    station = first.get("station", {})
    options = ["--set=" + setting for setting in _settings(station)]
    last = ["1"] if end == "hand_over" else []
    code, out, _ = chase(
        *first["said"], *options, typed="".join(f"{line}\n" for line in [*play.typed, *last])
    )
    assert code == ExitCode.ANSWERED
    log = only_case(where)
    if end == "cured":
        assert f"Closed: {knowledge.title(fault)}. Put right and proved." in _joined(out)
        assert log.closed is not None
        assert log.closed.body["faults"] == [fault]
    else:
        assert "Handed over to an electrician." in out
        assert log.events[-1].kind == "handed_over"


def _settings(station: dict[str, object], before: str = "") -> list[str]:
    rows = []
    for name, value in station.items():
        if isinstance(value, dict):
            rows += _settings(value, f"{before}{name}.")
        else:
            rows.append(f"{before}{name}={value}")
    return rows


def _joined(text: str) -> str:
    return " ".join(text.split())


class TestLines:
    def test_same_lines_same_output(self, chase: Chase) -> None:
        typed = "2\n?\n1\nhelp\n\nxyz\n-\nq\n"
        first = chase("wire feeds, no arc", "--no-keep", typed=typed)
        assert first == chase("wire feeds, no arc", "--no-keep", typed=typed)
        assert first[0] == ExitCode.ANSWERED

    def test_end_of_input_stops_and_keeps(self, chase: Chase, place: Path) -> None:
        code, out, err = chase("wire feeds, no arc", typed="n\n")
        log = only_case(place)
        assert (code, err) == (ExitCode.ANSWERED, "")
        assert f"wontweld chase {log.case_id}" in _joined(out)
        assert len(log.events) == 2

    def test_movement_is_shown(self, chase: Chase) -> None:
        _, out, _ = chase("wire feeds, no arc", "--no-keep", typed="1\n")
        assert " -> " in out.split("> 1\n", 1)[1]

    def test_why_tells_what_each_answer_would_do(self, chase: Chase) -> None:
        _, out, _ = chase("wire feeds, no arc", "--no-keep", typed="?\n")
        assert "then this leads" in _joined(out.split("> ?\n", 1)[1])

    def test_disclaimer_once(self, chase: Chase) -> None:
        _, out, _ = chase("wire feeds, no arc", "--no-keep", typed="2\n1\n1\n")
        assert _joined(out).count("Advice, not certification") == 1

    def test_caution_of_a_hazard_only_when_it_changes(self, chase: Chase) -> None:
        _, out, _ = chase("wire feeds, no arc", "--no-keep", typed="s\n" * 12)
        hazards = re.findall(r"Hands on, machine off\.|Live weld circuit\.", _joined(out))
        cautions = re.findall(r"CAUTION (Put the output off|Live weld circuit)", _joined(out))
        changes = [one for one, _ in itertools.groupby(hazards)]
        assert len(hazards) > len(changes) > 0
        assert len(cautions) == len(changes)

    def test_words_prompted_for_when_none_are_given(self, chase: Chase, place: Path) -> None:
        code, out, _ = chase(typed="\n?\nhelp\nwire feeds, no arc\nq\n")
        assert code == ExitCode.ANSWERED
        assert "What does the welder notice?" in out
        assert only_case(place).case.said == ["wire feeds, no arc"]

    def test_nothing_said_keeps_nothing(self, chase: Chase, place: Path) -> None:
        code, _, _ = chase(typed="q\n")
        assert code == ExitCode.USAGE
        assert not place.exists()

    def test_more_words_are_understood_or_said_not_to_be(self, chase: Chase, place: Path) -> None:
        _, out, _ = chase(
            "wire feeds, no arc", typed="w the clamp is too hot to hold\nw\nzzyx qqv\nw\n\nq\n"
        )
        assert "Understood: Work clamp gets hot." in out
        assert 'Not understood: "zzyx qqv"' in out
        assert len(only_case(place).case.said) == 3

    @pytest.mark.parametrize(
        "junk",
        [
            "0",
            "99",
            "-1",
            "1.5",
            "yes please",
            "\x1b[2J",
            "1 1",
            "É" * 300,
            "r",
            "r 5",
            "r 5 furlongs",
            "!",
        ],
    )
    def test_junk_says_what_is_taken_and_keeps_nothing(
        self, chase: Chase, place: Path, junk: str
    ) -> None:
        code, out, err = chase("wire feeds, no arc", typed=f"{junk}\nq\n")
        assert (code, err) == (ExitCode.ANSWERED, "")
        assert len(only_case(place).events) == 1
        assert "\x1b" not in out

    def test_no_keep_makes_no_casebook_and_says_so(self, chase: Chase, place: Path) -> None:
        _, out, _ = chase("porosity", "--no-keep", typed="1\nq\n")
        assert not place.exists()
        assert "Nothing is kept" in out
        assert "Nothing was kept" in out

    def test_who_is_kept_beside_each_answer(self, chase: Chase, place: Path) -> None:
        chase("porosity", "--who", "Kim Doe", typed="1\nq\n")
        assert {event.who for event in only_case(place).events} == {"Kim Doe"}


class TestUndo:
    def test_takes_one_answer_back_and_puts_the_step_again(self, chase: Chase, place: Path) -> None:
        _, out, _ = chase("wire feeds, no arc", typed="q\n")
        step = out.split("\n\n")[-2]
        case_id = str(only_case(place).case_id)
        _, out, _ = chase(case_id, typed="2\n-\nq\n")
        assert step in out.split("Taken back", 1)[1]
        assert [e.kind for e in only_case(place).events][-1] == "undone"

    def test_names_a_question_in_its_own_words(self, chase: Chase, place: Path) -> None:
        _, out, _ = chase("porosity", typed="s\n-\nq\n")
        asked = only_case(place).events[1].body["id"].removeprefix("started_")
        assert f"({STARTED_ASKS[asked]})" in _joined(out)

    def test_stops_at_the_first_report(self, chase: Chase, place: Path) -> None:
        _, out, _ = chase("porosity", typed="-\n-\nq\n")
        assert out.count("Nothing to take back") == 2
        assert len(only_case(place).events) == 1

    def test_takes_a_cure_back_whole(self, knowledge: Knowledge, chase: Chase, place: Path) -> None:
        first, fault, _, _ = CANONICAL["no arc, clamp off"]
        play = Play(knowledge, first)
        play.to_the_end(TruthfulStation(knowledge, replay(play.events), fault))
        chase(*first["said"], typed="".join(f"{line}\n" for line in play.typed))
        case_id = str(only_case(place).case_id)
        code, out, _ = chase(case_id, typed="2\n")
        assert code == ExitCode.ANSWERED
        assert "--reopen" in out
        assert len(only_case(place).events) == len(play.events)
        _, out, _ = chase(case_id, "--reopen", typed="q\n")
        assert "Prove it" in out
        log = only_case(place)
        assert log.closed is None
        assert log.history.awaiting_proof == fault


class TestReadings:
    def test_reading_with_a_unit_answers_the_check(self, chase: Chase, place: Path) -> None:
        case_id = _at_check(chase, place, "Measure the flow at the nozzle")
        _, out, _ = chase(case_id, typed="2 l/min\nq\n")
        log = only_case(place)
        assert [(r.what, r.value, r.from_) for r in log.case.readings] == [("flow", 2.0, "nozzle")]
        assert {f.check: f.result for f in log.case.findings}["flow_at_nozzle"] == "not_sure"
        assert "Measure the flow at the nozzle" not in out.split("> 2 l/min", 1)[1]

    def test_reading_at_any_time(self, chase: Chase, place: Path) -> None:
        _, out, _ = chase("wire stubs", typed="r drop clamp work 4 V at 200 A\nq\n")
        log = only_case(place)
        assert (log.case.readings[0].from_, log.case.readings[0].to) == ("clamp", "work")
        assert "Not taken" not in out

    def test_reading_that_cannot_be_is_kept_and_named(self, chase: Chase, place: Path) -> None:
        _, out, _ = chase("porosity", typed="r flow nozzle -3 l/min\nq\n")
        assert "Kept, but not used" in out
        assert len(only_case(place).case.readings) == 1


def _at_check(chase: Chase, place: Path, title: str) -> str:
    """Bring a case to a check by passing over what comes before it."""
    chase("porosity", "--wire", "ER70S-6", typed="q\n")
    case_id = str(only_case(place).case_id)
    typed = ""
    for _ in range(40):
        _, out, _ = chase("porosity", "--wire", "ER70S-6", "--no-keep", typed=typed)
        if title in _joined(out):
            chase(case_id, typed=typed)
            return case_id
        typed += "n\n"
    raise AssertionError(f"'{title}' never came")


class TestDanger:
    def test_card_comes_before_anything_and_needs_a_name(self, chase: Chase, place: Path) -> None:
        _, out, _ = chase("felt a tingle", "porosity", typed="1\nyes\n1 Kim Doe\nq\n")
        assert out.index("DANGER") < out.index("Likely now")
        assert "say who it was" in _joined(out)
        log = only_case(place)
        assert [(m.stop_card, m.by) for m in log.case.made_safe] == [("tingle", "electrician")]
        assert log.events[-1].who == "Kim Doe"

    def test_bang_reports_it_in_words(self, chase: Chase, place: Path) -> None:
        _, out, _ = chase("porosity", typed="! I felt a tingle\nq\n")
        assert "DANGER" in out
        assert only_case(place).case.said[-1] == "I felt a tingle"

    def test_bang_alone_lists_the_dangers(self, chase: Chase, place: Path) -> None:
        _, out, _ = chase("porosity", typed="!\n1\nq\n")
        assert "Which danger is it?" in out
        assert only_case(place).case.symptoms[0].seen == "yes"

    def test_nothing_live_while_it_stands(self, chase: Chase) -> None:
        _, out, _ = chase("felt a tingle", "porosity", "--no-keep", typed="s\n" * 30)
        text = _joined(out)
        assert "Live weld circuit." not in text
        assert "Hands on, machine off." not in text
        assert "Hand over to an electrician" in text


class TestHandOver:
    def test_at_any_time(self, chase: Chase, place: Path) -> None:
        code, out, _ = chase("porosity", typed="h\n2\n")
        assert code == ExitCode.ANSWERED
        assert f"wontweld handover {only_case(place).case_id}" in out

    def test_passed_over_goes_back_to_the_session(self, chase: Chase, place: Path) -> None:
        chase("porosity", typed="h\ns\nq\n")
        assert len(only_case(place).events) == 1

    def test_can_be_gone_on_with_by_another(self, chase: Chase, place: Path) -> None:
        chase("machine hums", typed="h\n1\n")
        case_id = str(only_case(place).case_id)
        code, _, _ = chase(case_id, "--may", "maintenance", typed="n\nq\n")
        assert code == ExitCode.ANSWERED
        assert only_case(place).case.user.may == "maintenance"

    def test_not_in_our_list_is_said_and_closes(self, chase: Chase, place: Path) -> None:
        typed = "".join(["n\n"] * 80)
        _, out, _ = chase("porosity", "--tool", "hand_tools", typed=typed)
        text = _joined(out)
        assert "Hand over to" in text or "probably not in our list" in text


class TestUsage:
    @pytest.mark.parametrize(
        "arguments",
        [
            ("--no-keep", "babab-babab"),
            ("--no-keep", "--case-station", "bay 3", "porosity"),
            ("--reopen", "porosity"),
            ("babab-babab", "--case-station", "bay 3"),
        ],
    )
    def test_what_does_not_go_together(self, chase: Chase, arguments: tuple[str, ...]) -> None:
        code, out, err = chase(*arguments)
        assert (code, out) == (ExitCode.USAGE, "")
        assert err.startswith("error:")

    def test_case_there_is_not(self, chase: Chase) -> None:
        code, _, err = chase("babab-babab")
        assert code != 0
        assert "babab-babab" in err

    def test_bad_value_of_an_option(self, chase: Chase) -> None:
        code, _, err = chase("porosity", "--may", "wizard")
        assert code == ExitCode.BAD_INPUT
        assert "--may" in err

    def test_station_of_the_casebook(self, chase: Chase, place: Path) -> None:
        from diagnose.case import Station

        with Casebook.open(place) as book:
            book.add_station(Station.model_validate({"name": "bay 3", "process": "FCAW-S"}))
        chase("porosity", "--case-station", "bay 3", typed="q\n")
        assert only_case(place).case.station.process == "FCAW-S"

    def test_place_that_cannot_be_written(
        self, chase: Chase, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setenv("WONTWELD_CASEBOOK", "/proc/nowhere/casebook.sqlite3")
        code, _, err = chase("porosity", typed="q\n")
        assert code != 0
        assert "/proc/nowhere" in err


class TestWhyKeep:
    def test_chase_goes_on_from_what_why_kept(self, chase: Chase, place: Path) -> None:
        code, out, err = chase("wire feeds, no arc", "--keep", "--json", command="why")
        log = only_case(place)
        assert code == 0
        assert out.startswith("{")
        assert str(log.case_id) in err
        _, out, _ = chase(str(log.case_id), typed="q\n")
        assert "Understood: Wire feeds, but there is no arc" in _joined(out)

    def test_without_it_nothing_is_kept(self, chase: Chase, place: Path) -> None:
        chase("wire feeds, no arc", command="why")
        assert not place.exists()

    def test_nothing_to_go_on_keeps_nothing(self, chase: Chase, place: Path) -> None:
        code, _, _ = chase("--keep", command="why")
        assert code == ExitCode.USAGE
        assert not place.exists()

    def test_id_that_is_not_known_keeps_nothing(self, chase: Chase, place: Path) -> None:
        code, _, _ = chase("x", "--keep", "--symptom", "porositie", command="why")
        assert code == ExitCode.UNKNOWN_ID
        assert not place.exists()


class TestLearning:
    def test_is_told_once_and_only_where_closed_cases_count(
        self, chase: Chase, place: Path
    ) -> None:
        _, before, _ = chase("porosity", typed="q\n")
        with Casebook.open(place) as book:
            case_id = book.cases().items[0].id
            book.append(case_id, "proved", {"check": "proof_weld", "good": True}, expected=1)
            book.append(case_id, "closed", {"outcome": "cured", "faults": ["wind"]}, expected=2)
        _, after, _ = chase("porosity", typed="q\n")
        _, off, _ = chase("porosity", "--no-learning", typed="q\n")
        assert [show.LEARNED in _joined(out) for out in (before, after, off)] == [
            False,
            True,
            False,
        ]

    def test_cases_of_the_shop_shift_the_figures_unless_switched_off(
        self, chase: Chase, place: Path
    ) -> None:
        _, shipped, _ = chase("wire feeds, no arc", "--no-keep")
        with Casebook.open(place) as book:
            for _ in range(200):
                case = book.open_case(Case(said=["wire feeds, no arc"]))
                book.append(case.id, "proved", {"check": "proof_weld", "good": True}, expected=1)
                closed = {"outcome": "cured", "faults": ["work_lead_off"]}
                book.append(case.id, "closed", closed, expected=2)
        _, learned, _ = chase("wire feeds, no arc")
        _, off, _ = chase("wire feeds, no arc", "--no-learning")
        assert _leading(learned) != _leading(shipped)
        assert _leading(off) == _leading(shipped)


def _leading(out: str) -> str:
    return out.split("Likely now\n", 1)[1].split("\n", 1)[0]


class TestOvertaken:
    def test_answer_to_an_older_state_is_not_kept(
        self, chase: Chase, place: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        chase("wire feeds, no arc", typed="q\n")
        case_id = str(only_case(place).case_id)
        body = {"check": "look_at_work_clamp", "result": "clamp_off"}
        first = CaseLog.add

        def somebody_else_first(log: CaseLog, entries: object, who: str | None = None) -> None:
            with Casebook.open(place) as other:
                other.append(case_id, "found", body, expected=len(log.events), who="Lee Roe")
            first(log, entries, who)  # type: ignore[arg-type]

        monkeypatch.setattr(CaseLog, "add", somebody_else_first)
        code, out, _ = chase(case_id, typed="2\n2\n")
        assert code == ExitCode.CONFLICT
        assert "NOT kept: somebody else has added" in _joined(out)
        assert "Put right: Work clamp is off" in out  # the newer state
        assert len(only_case(place).events) == 2


class TestUnderstood:
    CHECK = Step(
        kind="check", id="drop_across_work_clamp", title="", choices=(Choice(key="a", says="a"),)
    )
    STOP = Step(
        kind="stop", id="tingle", title="", takes_name=True, choices=(Choice(key="a", says="a"),)
    )

    @pytest.mark.parametrize(
        ("line", "act"),
        [
            ("", "repeat"),
            ("   ", "repeat"),
            ("?", "why"),
            ("why", "why"),
            ("-", "undo"),
            ("S", "skip"),
            ("N", "unknown"),
            ("Q", "quit"),
            ("quit", "quit"),
            ("h", "hand_over"),
            ("!", "danger"),
            ("!it burns", "danger"),
            ("w", "words"),
            ("w it pops", "words"),
            ("1", "choice"),
            ("2", "not_taken"),
            ("2 V at 200 A", "reading"),
            ("r drop clamp work 2 V at 200 A", "reading"),
            ("2 V between here and there", "not_taken"),
            ("what", "not_taken"),
        ],
    )
    def test_lines_of_a_check(self, line: str, act: str) -> None:
        assert understood(line, self.CHECK).act == act

    def test_bare_number_means_what_the_check_measures(self) -> None:
        said = understood("2 V at 200 A", self.CHECK)
        assert said.reading is not None
        assert (said.reading["from"], said.reading["to"]) == ("clamp", "work")

    def test_name_goes_with_the_number(self) -> None:
        said = understood("1 Kim Doe", self.STOP)
        assert (said.act, said.number, said.text) == ("choice", 1, "Kim Doe")
        assert understood("1", self.STOP).act == "not_taken"


def test_cut_off_between_cure_and_close_is_made_good(
    knowledge: Knowledge, chase: Chase, place: Path
) -> None:
    chase("wire feeds, no arc", typed="q\n")
    case_id = str(only_case(place).case_id)
    with Casebook.open(place) as book:
        book.append(case_id, "remedied", {"fault": "work_clamp_off", "cured": True}, expected=1)
    code, out, _ = chase(case_id, typed="")
    assert code == ExitCode.ANSWERED
    assert "Put right and proved." in _joined(out)
    assert [event.kind for event in only_case(place).events][-2:] == ["proved", "closed"]


def test_damaged_casebook_says_so(chase: Chase, place: Path) -> None:
    place.write_bytes(b"this is no casebook" * 100)
    code, _, err = chase("porosity", typed="q\n")
    assert code != 0
    assert str(place) in err
    with pytest.raises(sqlite3.DatabaseError):
        sqlite3.connect(place).execute("select * from cases")
