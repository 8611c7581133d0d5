"""The guided session, without a terminal: what is put next, what an answer means, what goes stale."""

from __future__ import annotations

import pytest
from played_session import CANONICAL, ENDS, Play
from truthful_station import TruthfulStation

from api.casebook.events import checked_body, replay
from diagnose.answer import in_words
from diagnose.next_step import adviser_for
from diagnose.seen_wrong import seen_wrong
from diagnose.session.answers import BETTER, DONE, PASSED, SKIP, UNKNOWN, Entry, entries_of
from diagnose.session.history import Happened, History, stale_checks
from diagnose.session.moves import hand_over, leaders
from diagnose.session.questions import band, priced_questions
from diagnose.session.steps import Step, proved_by
from knowledge.loader import PROOF_WELD, Knowledge


@pytest.mark.parametrize("name", sorted(CANONICAL))
def test_truthful_answers_lead_to_the_true_fault(knowledge: Knowledge, name: str) -> None:
    first, fault, end, most = CANONICAL[name]
    play = Play(knowledge, first)
    station = TruthfulStation(knowledge, replay(play.events), fault)
    step = play.to_the_end(station)
    assert step.kind == end, station.asked
    assert len(station.asked) <= most, station.asked
    if end == "cured":
        assert step.id == fault
        closed = play.events[-1]
        assert (closed.kind, closed.body) == ("closed", {"outcome": "cured", "faults": [fault]})
    else:
        assert fault in {item.about for item in step.items}


def test_fault_of_an_electrician_is_a_hand_over_item_without_steps(knowledge: Knowledge) -> None:
    first, fault, _, _ = CANONICAL["lost phase"]
    play = Play(knowledge, first)
    step = play.to_the_end(TruthfulStation(knowledge, replay(play.events), fault))
    assert step.who == "electrician"
    assert not step.steps
    told = step.model_dump_json()
    for line in knowledge.faults[fault].remedy.steps:
        assert line not in told


def test_nobody_is_offered_what_is_not_theirs_whatever_the_answers(knowledge: Knowledge) -> None:
    # The operator of a dead machine passes over everything: nothing of others turns up on the way.
    play = Play(knowledge, {"said": ["machine is dead"]})
    for _ in range(60):
        step = play.step()
        if step.kind in ENDS:
            break
        assert step.who == "operator"
        assert step.hazard != "covers_off_or_supply"
        play.answer(step, SKIP)
    assert step.kind in ("hand_over", "not_in_our_list")


def test_only_what_splits_is_asked(knowledge: Knowledge) -> None:
    play = Play(knowledge, {"said": ["porosity"]})
    reasoned = play.reasoned()
    priced = priced_questions(reasoned, adviser_for(reasoned), History())
    assert priced
    assert all(option.rate > 1.0 for option, _ in priced)
    assert all(
        option.saves_min > 0.0 and sum(o.probability for o in option.outcomes) == pytest.approx(1.0)
        for option, _ in priced
    )


def test_questions_get_dearer(knowledge: Knowledge) -> None:
    play = Play(knowledge, {"said": ["porosity"]})
    reasoned = play.reasoned()
    put = History(tuple(Happened("told") for _ in range(9)))
    fresh = priced_questions(reasoned, adviser_for(reasoned), History())
    tired = priced_questions(reasoned, adviser_for(reasoned), put)
    prices_of = {option.id: option.minutes for option, _ in fresh}
    assert len(tired) <= len(fresh)
    assert all(option.minutes == pytest.approx(3 * prices_of[option.id]) for option, _ in tired)


def test_who_has_no_arc_is_not_asked_about_the_bead(knowledge: Knowledge) -> None:
    play = Play(knowledge, {"said": ["wire feeds, no arc"]})
    for _ in range(15):
        step = play.step()
        if step.kind in ENDS:
            break
        if step.kind == "symptom":
            assert "bead" not in knowledge.symptoms[step.id].presupposes
        play.answer(step, UNKNOWN)


def test_nothing_recognised_asks_for_words_and_offers_the_nearest(knowledge: Knowledge) -> None:
    step = Play(knowledge, {"said": ["zzyx qqv"]}).step()
    assert (step.kind, step.takes_text) == ("words", True)
    near = Play(knowledge, {"said": ["porosityx blorp"]})
    assert near.step().kind in ("words", "started", "check", "symptom", "station")


class TestStopCards:
    def test_card_comes_first_and_lists_only_who_may_lift_it(self, knowledge: Knowledge) -> None:
        step = Play(knowledge, {"said": ["felt a tingle", "porosity"]}).step()
        assert (step.kind, step.id, step.signal_word) == ("stop", "tingle", "DANGER")
        assert [choice.key for choice in step.choices] == ["electrician"]
        assert step.takes_name

    def test_passed_over_it_leaves_looks_and_questions_only(self, knowledge: Knowledge) -> None:
        play = Play(knowledge, {"said": ["felt a tingle", "porosity"]})
        play.answer(play.step(), SKIP)
        for _ in range(40):
            step = play.step()
            if step.kind in ENDS:
                break
            assert step.kind in ("symptom", "station", "started") or step.hazard == "look"
            play.answer(step, UNKNOWN)
        assert step.kind == "hand_over"
        assert step.who == "electrician"
        assert step.items[0].about == "tingle"

    def test_made_safe_by_an_electrician_the_session_goes_on(self, knowledge: Knowledge) -> None:
        play = Play(knowledge, {"said": ["felt a tingle", "porosity"]})
        play.answer(play.step(), "electrician")
        assert play.step().kind != "stop"

    def test_operator_cannot_lift_it(self, knowledge: Knowledge) -> None:
        play = Play(knowledge, {"said": ["felt a tingle", "porosity"]})
        with pytest.raises(ValueError, match="no answer"):
            play.answer(play.step(), "operator")
        play.add(Entry("reported", {"made_safe": [{"stop_card": "tingle", "by": "operator"}]}))
        assert play.step().kind == "stop"

    def test_danger_in_the_middle_withholds_the_proof(self, knowledge: Knowledge) -> None:
        play = Play(knowledge, {"said": ["porosity"]})
        play.add(Entry("advised", {"step": "remedy", "id": "wind", "why": DONE}))
        assert play.step().kind == "proof"
        play.add(Entry("reported", {"said": ["felt a tingle"]}))
        assert play.step().kind == "stop"
        play.answer(play.step(), SKIP)
        assert play.step().hazard in (None, "look")
        assert play.step().kind != "proof"


class TestRemedies:
    def at_the_proof(self, knowledge: Knowledge, fault: str = "wind") -> tuple[Play, Step]:
        play = Play(knowledge, {"said": ["porosity"]})
        play.add(Entry("advised", {"step": "remedy", "id": fault, "why": DONE}))
        step = play.step()
        assert (step.kind, step.id) == ("proof", fault)
        return play, step

    def test_proof_ends_with_a_weld_like_the_one_that_failed(self, knowledge: Knowledge) -> None:
        _, step = self.at_the_proof(knowledge)
        assert "like the one that failed" in step.steps[-1]
        assert step.hazard == "live_weld_circuit"

    def test_cured_names_the_fault_and_closes(self, knowledge: Knowledge) -> None:
        play, step = self.at_the_proof(knowledge)
        play.answer(step, "cured")
        assert [event.kind for event in play.events[-3:]] == ["remedied", "proved", "closed"]
        assert play.step().kind == "cured"

    def test_as_before_is_evidence_against_it(self, knowledge: Knowledge) -> None:
        play, step = self.at_the_proof(knowledge)
        before = play.reasoned().ranking.on["wind"]
        play.answer(step, "as_before")
        assert play.reasoned().ranking.on["wind"] < before / 3
        assert play.step().kind != "remedy" or play.step().id != "wind"

    def test_better_is_named_when_the_other_one_cures(self, knowledge: Knowledge) -> None:
        play, step = self.at_the_proof(knowledge)
        play.answer(step, "better")
        assert play.events[-1].body["note"] == BETTER
        play.add(Entry("advised", {"step": "remedy", "id": "nozzle_blocked", "why": DONE}))
        play.answer(play.step(), "cured")
        assert play.events[-1].body["faults"] == ["wind", "nozzle_blocked"]

    def test_check_that_is_not_good_brings_the_remedy_again(self, knowledge: Knowledge) -> None:
        play, step = self.at_the_proof(knowledge, "cylinder_empty")
        assert "not_good" in {choice.key for choice in step.choices}
        play.answer(step, "not_good")
        again = play.step()
        assert (again.kind, again.id) == ("remedy", "cylinder_empty")
        play.answer(again, SKIP)
        assert play.history.not_good_yet is None
        assert (play.step().kind, play.step().id) != ("remedy", "cylinder_empty")

    def test_remedy_passed_over_is_handed_over(self, knowledge: Knowledge) -> None:
        play = Play(knowledge, {"said": ["wire feeds, no arc"]})
        play.add(Entry("found", {"check": "look_at_work_clamp", "result": "clamp_off"}))
        play.add(Entry("advised", {"step": "remedy", "id": "work_clamp_off", "why": PASSED}))
        items = hand_over(play.reasoned(), play.history).items
        assert ("work_clamp_off", "maintenance") in {(item.about, item.who) for item in items}

    def test_proof_of_another_person_is_a_weld(self, knowledge: Knowledge) -> None:
        for name, fault in knowledge.faults.items():
            check = knowledge.checks.get(fault.remedy.proved_by)
            if check and check.who not in ("operator", "maintenance"):
                assert proved_by(knowledge, name, "operator") == PROOF_WELD


class TestWhatGoesStale:
    FOUND = Happened("found", "look_at_work_clamp", "not_on_bright_metal")
    TRIED = Happened("remedied", "clamp_on_paint", "no")

    def test_finding_that_showed_what_was_put_right(self, knowledge: Knowledge) -> None:
        assert stale_checks([self.FOUND, self.TRIED], knowledge) == {"look_at_work_clamp"}

    def test_not_what_was_found_after_it(self, knowledge: Knowledge) -> None:
        assert not stale_checks([self.TRIED, self.FOUND], knowledge)
        assert not stale_checks([self.FOUND, self.TRIED, self.FOUND], knowledge)

    def test_not_a_finding_about_something_else(self, knowledge: Knowledge) -> None:
        other = Happened("remedied", "cylinder_empty", "no")
        assert not stale_checks([self.FOUND, other], knowledge)

    def test_the_check_is_worth_doing_again(self, knowledge: Knowledge) -> None:
        play = Play(knowledge, {"said": ["wire feeds, no arc"]})
        play.add(
            Entry("found", {"check": "look_at_work_clamp", "result": "not_on_bright_metal"}),
            Entry("remedied", {"fault": "clamp_on_paint", "cured": False}),
        )
        assert not play.reasoned().case.findings
        assert play.reasoned().ranking.on["clamp_on_paint"] < 0.1

    def test_readings_of_the_same_area_go_too(self, knowledge: Knowledge) -> None:
        play = Play(knowledge, {"said": ["wire feeds, no arc"]})
        drop = {"what": "drop", "value": 3.0, "unit": "V", "from": "clamp", "to": "work"}
        flow = {"what": "flow", "value": 12.0, "unit": "l/min"}
        play.add(
            Entry("read", drop),
            Entry("read", flow),
            Entry("remedied", {"fault": "clamp_on_paint", "cured": False}),
            Entry("read", drop),
        )
        left = play.reasoned().case.readings
        assert [reading.what for reading in left] == ["flow", "drop"]


class TestAnswers:
    def test_every_kind_of_question_has_an_answer_that_fits_the_case(
        self, knowledge: Knowledge
    ) -> None:
        station_questions = [row for row in knowledge.attributes.values() if row.path]
        assert station_questions
        for row in station_questions:
            for value in row.answers:
                keys = [value] if row.id != "electrode_polarity" else []
                for key in keys:
                    step = Step(
                        kind="station",
                        id=str(row.path),
                        title="",
                        choices=({"key": key, "says": ""},),  # type: ignore[arg-type]
                    )
                    (entry,) = entries_of(step, key, History())
                    checked_body(entry.kind, entry.body)

    def test_what_nobody_knows_is_not_asked_again(self, knowledge: Knowledge) -> None:
        play = Play(knowledge, {"said": ["porosity"]})
        seen = set()
        for _ in range(60):
            step = play.step()
            if step.kind in ("hand_over", "not_in_our_list"):
                break
            assert (step.kind, step.id) not in seen
            seen.add((step.kind, step.id))
            play.answer(step, UNKNOWN)
        assert step.kind in ("hand_over", "not_in_our_list")

    def test_undone_answers_do_not_count(self, knowledge: Knowledge) -> None:
        play = Play(knowledge, {"said": ["wire feeds, no arc"]})
        before = play.step()
        play.answer(before, before.choices[0].key)
        play.add(Entry("undone", {"seq": play.events[-1].seq}))
        assert play.step() == before

    def test_unknown_key_is_refused(self, knowledge: Knowledge) -> None:
        step = Play(knowledge, {"said": ["porosity"]}).step()
        with pytest.raises(ValueError, match="no answer"):
            entries_of(step, "made_up", History())


def test_leaders_hold_not_in_our_list_in_its_place(knowledge: Knowledge) -> None:
    rows = leaders(Play(knowledge, {"said": ["porosity"]}).reasoned(), most=200)
    assert [row.probability for row in rows] == sorted(
        (row.probability for row in rows), reverse=True
    )
    assert None in {row.id for row in rows}


def test_same_history_same_step(knowledge: Knowledge) -> None:
    one = Play(knowledge, {"said": ["porosity", "wire stubs"]}).step()
    other = Play(knowledge, {"said": ["wire stubs", "porosity"]}).step()
    assert one == other


def test_rates_within_a_tenth_count_as_equal() -> None:
    assert band(3.0) == band(3.05)
    assert band(3.0) > band(2.0)


def test_when_nothing_we_know_of_is_found_it_says_so(knowledge: Knowledge) -> None:
    # Every check finds nothing, every remedy is carried out and cures nothing.
    play = Play(knowledge, {"said": ["wire feeds, no arc"]})
    for _ in range(60):
        step = play.step()
        if step.kind in ENDS:
            break
        found = {"check": step.choices[-1].key if step.choices else "", "symptom": "no"}
        tried = {"remedy": "done", "proof": "as_before"}
        play.answer(step, (found | tried).get(step.kind, UNKNOWN))
    assert step.kind == "not_in_our_list"
    assert leaders(play.reasoned())[0].id is None
    assert step.choices[-1].key == "close"
    play.answer(step, "close")
    assert play.events[-1].body == {"outcome": "not_in_our_list"}


def test_what_was_seen_hanging_free_is_put_on_before_anybody_welds_to_find_out(
    knowledge: Knowledge,
) -> None:
    first = {"said": ["arc is weak", "clamp too hot to hold"]}
    play = Play(knowledge, first).add(
        Entry("found", {"check": "look_at_work_clamp", "result": "clamp_off"})
    )
    assert play.reasoned().ranking.on["work_clamp_off"] < 0.5
    step = play.step()
    assert (step.kind, step.id) == ("remedy", "work_clamp_off")
    now = in_words(play.reasoned()).next_step
    assert now is not None
    assert (now.kind, now.id) == ("remedy", "work_clamp_off")
    play.answer(step, SKIP)
    assert play.step().id != "work_clamp_off"


def test_a_look_that_may_be_mistaken_or_a_long_remedy_waits_its_turn(knowledge: Knowledge) -> None:
    for check, result in (
        ("look_at_work_clamp", "not_on_bright_metal"),
        ("look_at_work_clamp", "braid_broken"),
        ("look_at_work_clamp", "good"),
    ):
        play = Play(knowledge, {"said": ["porosity"]}).add(
            Entry("found", {"check": check, "result": result})
        )
        assert seen_wrong(play.reasoned()) == []
