"""Plain words to symptoms: bench talk, denials, slips of the pen, danger words, and junk."""

from __future__ import annotations

import time
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ruamel.yaml import YAML

from diagnose.case import Case
from diagnose.hearing.recognise import Hearing, Phrasebook, Unrecognised, recognise
from diagnose.reason import reason
from knowledge.loader import load
from knowledge.models import StartKind, StopCard, Symptom

ENTRIES = Path(__file__).parents[2] / "knowledge" / "entries"
YAML_READER = YAML(typ="safe")
SYMPTOMS = [
    Symptom.model_validate(row)
    for path in sorted((ENTRIES / "symptoms").glob("*.yaml"))
    for row in YAML_READER.load(path.read_text(encoding="utf-8"))
]
STARTS = [
    StartKind.model_validate(row)
    for row in YAML_READER.load((ENTRIES / "starts.yaml").read_text(encoding="utf-8"))
]
CARDS = [
    StopCard(
        id=card,
        title=card,
        signal_word="DANGER",
        why="Somebody can get hurt.",
        do=["Stop."],
        who="electrician",
        raised_by=[card],
        phrases=phrases,
    )
    for card, phrases in {
        "tingle": ["felt a tingle", "got a shock", "it bit me"],
        "burning_smell": ["burning smell", "smoke from the machine"],
        "earth_open": ["no earth on the plug", "ground pin broken off"],
    }.items()
]
BOOK = Phrasebook(SYMPTOMS, STARTS, CARDS)
REAL_CARDS = [
    StopCard.model_validate(row)
    for row in YAML_READER.load((ENTRIES / "stop_cards.yaml").read_text(encoding="utf-8"))
]
REAL_BOOK = Phrasebook(SYMPTOMS, STARTS, REAL_CARDS)
TALK = YAML_READER.load((Path(__file__).parent / "bench_talk.yaml").read_text(encoding="utf-8"))
KNOWN_MISSES = {"my fillet is all on the bottom leg"}


def found(hearing: Hearing) -> set[str]:
    """Ids taken from a hearing, with a minus before the denied ones."""
    return {("-" if one.seen == "no" else "") + one.symptom for one in hearing.recognised}


def is_hit(text: str, wanted: list[str]) -> bool:
    """All that was meant is found, nothing else is claimed, and junk stays junk."""
    got = found(BOOK.hear([text]))
    if not wanted:
        return not got
    return set(wanted) <= got and not {one for one in got - set(wanted) if one[0] != "-"}


@pytest.mark.parametrize(("text", "wanted"), TALK["tuned"])
def test_tuned_bench_talk(text: str, wanted: list[str]) -> None:
    if text in KNOWN_MISSES:
        assert not is_hit(text, wanted), "now a hit: take it off the list"
        assert wanted[0] in BOOK.hear([text]).unrecognised[0].nearest
    else:
        assert is_hit(text, wanted), BOOK.hear([text])


def test_held_out_bench_talk_is_understood_nearly_as_well() -> None:
    hits = sum(is_hit(text, wanted) for text, wanted in TALK["held_out"])
    assert hits / len(TALK["held_out"]) >= 0.90


def test_bench_talk_is_not_copied_from_the_phrases() -> None:
    phrases = {phrase for symptom in SYMPTOMS for phrase in symptom.phrases}
    copies = {text for part in TALK.values() for text, _ in part if text.lower() in phrases}
    assert copies == {"no gas", "no arc", "no penetration"}
    assert len(TALK["held_out"]) >= 60
    assert sum(len(part) for part in TALK.values()) >= 120


@pytest.mark.parametrize("symptom", SYMPTOMS, ids=lambda one: one.id)
def test_every_phrase_means_its_own_symptom(symptom: Symptom) -> None:
    for phrase in symptom.phrases:
        claimed = {one for one in found(BOOK.hear([phrase])) if one[0] != "-"}
        assert claimed == {symptom.id}, phrase


@pytest.mark.parametrize("kind", STARTS, ids=lambda one: one.id)
def test_every_start_phrase_means_its_own_start(kind: StartKind) -> None:
    for phrase in kind.phrases:
        assert kind.id in {one.kind for one in BOOK.hear([phrase]).starts}, phrase


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("wire but no gas", {"wire_but_no_gas"}),
        ("gas but no wire", {"gas_but_no_wire"}),
        ("wire feeds no arc", {"no_arc", "-wire_does_not_feed"}),
        ("no wire no gas", {"wire_does_not_feed", "wire_but_no_gas"}),
        ("clamp sparks and gets hot", {"arcing_at_clamp", "clamp_hot"}),
        ("no spatter, pores or undercut", {"-spatter", "-porosity", "-undercut"}),
        ("the gas doesn't stop", {"gas_will_not_stop"}),
        ("porosity went away", {"-porosity"}),
        ("nobody got a shock", {"-tingle"}),
        ("arc is fine", {"-arc_erratic", "-arc_weak", "-no_arc"}),
        ("the arc runs really well", {"-arc_erratic", "-arc_weak", "-no_arc"}),
        ("arc is not weak", {"-arc_weak"}),
        ("well the arc is weak", {"arc_weak"}),
        ("wire comes out straight", {"-wire_leaves_curved"}),
        ("no longer feeds", {"wire_does_not_feed"}),
        ("ground clamp gets so hot I can't touch it", {"clamp_hot"}),
        ("clamp gets hot, can't hold it", {"clamp_hot"}),
        ("wire keeps running after I let go of the trigger", {"wire_runs_on"}),
        ("dies, comes back after a smoke", {"stops_and_comes_back"}),
    ],
)
def test_what_is_denied_and_what_is_missing(text: str, wanted: set[str]) -> None:
    assert found(BOOK.hear([text])) == wanted


@pytest.mark.parametrize(
    "text",
    [
        "never no arc",
        "it's never not erratic",
        "I don't get no spatter",
        "maybe porosity",
        "is there porosity?",
        "I don't think there is any porosity",
        "the arc is not good",
        "it won't weld right",
        "arc",
        "gas",
        "hot",
        "no",
        "42",
        "?!",
        "my dog ate my lunch",
    ],
)
def test_nothing_is_guessed(text: str) -> None:
    heard = BOOK.hear([text])
    assert heard.recognised == ()
    assert len(heard.unrecognised) == 1
    assert len(heard.unrecognised[0].nearest) == 3


def test_what_is_not_understood_stands_beside_what_is() -> None:
    heard = BOOK.hear(["the clamp gets hot and my dog ate my lunch"])
    assert found(heard) == {"clamp_hot"}
    assert [one.said for one in heard.unrecognised] == ["my dog ate my lunch"]


def test_the_nearest_of_a_vague_complaint_are_near() -> None:
    assert "feed_jerky" in BOOK.hear(["wire wont feed right"]).unrecognised[0].nearest


@pytest.mark.parametrize(
    "text",
    ["arc is erratic at 18.5 V", "at 160 A, 0.9 mm, arc is erratic", "arc erratic 300 ipm 35 cfh"],
)
def test_numbers_and_units_do_not_disturb(text: str) -> None:
    heard = BOOK.hear([text])
    assert found(heard) == {"arc_erratic"}
    assert heard.unrecognised == ()


def test_volts_and_amperes_are_words_where_they_are_the_complaint() -> None:
    assert found(BOOK.hear(["0 amps but 36 volts on the meter"])) == {"volts_but_no_amps"}


@pytest.mark.parametrize(
    ("text", "symptom", "facet", "kind"),
    [
        ("porosity since the new bottle", "porosity", "change", "new_gas"),
        ("new spool and now the wire jerks", "feed_jerky", "change", "new_spool"),
        ("undercut all of a sudden", "undercut", "pattern", "at_once"),
        ("lots of spatter but only on this job", "spatter", "only", "this_job"),
        ("burns back, a new tip helps for a day", "burns_back", "pattern", "gradual"),
        ("burns back, new tip only helps for a while", "burns_back", "pattern", "gradual"),
        ("burns back since the new tip", "burns_back", "change", "new_tip"),
    ],
)
def test_starts_are_heard_beside_symptoms(text: str, symptom: str, facet: str, kind: str) -> None:
    heard = BOOK.hear([text])
    assert found(heard) == {symptom}
    assert [(one.facet, one.kind) for one in heard.starts] == [(facet, kind)]


def test_a_start_alone_is_no_symptom() -> None:
    heard = BOOK.hear(["it comes and goes"])
    assert [one.kind for one in heard.starts] == ["now_and_then"]
    assert heard.recognised == ()
    assert heard.unrecognised == ()


@pytest.mark.parametrize(
    ("text", "card", "sure"),
    [
        ("I felt a tingle off the bench", "tingle", True),
        ("weak arc, and there is a burning smell", "burning_smell", True),
        ("there's smoke from the machine", "burning_smell", True),
        ("no earth on the plug", "earth_open", True),
        ("it bit me", "tingle", True),
        ("maybe I felt a tingle", "tingle", False),
        ("felt a tingel", "tingle", False),
        ("I got shocked by it", "tingle", True),
        ("smoke from somewhere at the back", "burning_smell", False),
        ("ground pin is loose", "earth_open", False),
    ],
)
def test_danger_words_and_near_misses(text: str, card: str, sure: bool) -> None:
    assert [(one.card, one.sure) for one in BOOK.hear([text]).danger] == [(card, sure)]


def test_a_symptom_well_understood_is_no_near_miss() -> None:
    card = CARDS[0].model_copy(update={"id": "bare_cable", "phrases": ["cracked cable jacket"]})
    book = Phrasebook(SYMPTOMS, STARTS, [card])
    assert book.hear(["a crack right down the center of the weld"]).danger == ()
    assert [one.sure for one in book.hear(["cable jacket has split"]).danger] == [False]


@pytest.mark.parametrize(
    "text",
    [
        "no burning smell",
        "nobody felt a tingle",
        "porosity all over",
        "bits of copper",
        "my dog ate my lunch",
    ],
)
def test_no_danger_where_none_is_said(text: str) -> None:
    assert BOOK.hear([text]).danger == ()


@pytest.mark.parametrize(
    "text",
    [
        *(p for s in SYMPTOMS if s.group in ("arc", "wire", "bead", "gas") for p in s.phrases),
        "wire burns off in mid air",
        "rolls slip in the air",
        "feeding in air is fine",
        "there is air in the hose",
    ],
)
def test_plain_words_about_the_weld_never_mean_a_room_without_air(text: str) -> None:
    cards = {one.card for one in REAL_BOOK.hear([text]).danger}
    assert "gas_in_confined_space" not in cards


def test_words_about_a_room_without_air_raise_its_card() -> None:
    danger = REAL_BOOK.hear(["nothing to breathe in there"]).danger
    assert ("gas_in_confined_space", True) in [(one.card, one.sure) for one in danger]


def test_twice_denied_danger_is_perhaps() -> None:
    assert [one.sure for one in BOOK.hear(["I never not felt a tingle"]).danger] == [False]


def test_nothing_known_means_nothing_recognised() -> None:
    assert recognise(["no arc"], []) == Hearing(unrecognised=(Unrecognised("no arc", ()),))


def test_the_order_of_entries_and_of_phrases_makes_no_difference() -> None:
    backwards = [
        one.model_copy(update={"phrases": one.phrases[::-1]}) for one in reversed(SYMPTOMS)
    ]
    other = Phrasebook(backwards, STARTS[::-1], CARDS[::-1])
    said = [text for text, _ in TALK["tuned"]]
    assert other.hear(said) == BOOK.hear(said)


BENCH_WORDS = sorted({word for symptom in SYMPTOMS for p in symptom.phrases for word in p.split()})
UTTERANCES = st.one_of(
    st.text(max_size=400),
    st.lists(
        st.sampled_from(
            [*BENCH_WORDS, "and", "but", "no", "not", ",", ".", ";", "or", "18.5", "V"]
        ),
        max_size=40,
    ).map(lambda words: " ".join(words)[:400]),
)


@settings(max_examples=80, deadline=None)
@given(UTTERANCES)
def test_any_text_is_answered(text: str) -> None:
    heard = BOOK.hear([text])
    assert all(0.0 < one.score <= 1.0 for one in heard.recognised)
    if text.strip():
        assert heard.recognised or heard.starts or heard.unrecognised


@settings(max_examples=40, deadline=None)
@given(st.lists(UTTERANCES, max_size=4), st.randoms(use_true_random=False))
def test_the_order_of_what_was_said_makes_no_difference(said: list[str], shuffler) -> None:  # type: ignore[no-untyped-def]
    mixed = list(said)
    shuffler.shuffle(mixed)
    assert BOOK.hear(mixed) == BOOK.hear(said)


def test_hearing_is_the_small_part_of_the_work() -> None:
    """A ratio in one run: five utterances are heard in less than half the time reasoning takes."""
    said = [text for text, _ in TALK["held_out"][:5]]
    case, known = Case(said=said), load()
    hearing, reasoning = [], []
    for _ in range(5):
        begun = time.process_time()
        BOOK.hear(said)
        heard = time.process_time()
        reason(case, known)
        hearing.append(heard - begun)
        reasoning.append(time.process_time() - heard)
    assert min(hearing) < 0.5 * min(reasoning)


@pytest.mark.parametrize(
    "text",
    [
        "arc is fine when it's cold",
        "feeds well until it warms up",
        "gas is good, until the door opens",
    ],
)
def test_praise_under_a_condition_denies_nothing(text: str) -> None:
    assert not {one for one in found(BOOK.hear([text])) if one[0] == "-"}


def test_a_denial_in_passing_does_not_hide_that_the_rest_was_lost() -> None:
    heard = BOOK.hear(["the zebra starts grazing when I pull the trigger"])
    assert found(heard) <= {"-trigger_does_nothing"}
    assert heard.unrecognised


@pytest.mark.parametrize(
    "text",
    [
        "fine when I plug it in at the wall",
        "the breaker's not tripped, I checked",
        "clamp's stuck on painted angle",
        "wire welds itself to the tip every time I start",
        "clamp sparks when I strike up",
        "comes back after a smoke",
    ],
)
def test_cards_do_not_cry_wolf(text: str) -> None:
    assert REAL_BOOK.hear([text]).danger == ()


@pytest.mark.parametrize(
    ("text", "card"),
    [
        ("got a little buzz off the table when I leaned on it", "tingle"),
        ("got a nip off the gun", "tingle"),
        ("plug's brown and gets hot", "hot_supply_plug"),
        ("ground lead warm and nobody welding", "foreign_current"),
        ("my clamp sparks when the neighbour strikes", "foreign_current"),
        ("smoke out of the back of the feeder", "burning"),
    ],
)
def test_danger_in_slang_still_raises_its_card(text: str, card: str) -> None:
    heard = REAL_BOOK.hear([text])
    raised = {one.id for one in REAL_CARDS if set(one.raised_by) & found(heard)}
    assert card in raised | {one.card for one in heard.danger}


@pytest.mark.parametrize(
    ("text", "kinds"),
    [
        ("clamp's stuck on rusty plate", set()),
        ("the machine is fine", set()),
        ("other machines are fine", {"this_machine"}),
        ("crater cracks at the end of every bead", set()),
        ("holes at the end of the bead", set()),
        ("mine are fine on the same machine", {"this_welder"}),
        ("weak arc since the sparky worked on the panel", {"supply_changed"}),
        ("weak here, fine when I plug it into the wall", {"on_extension_cord"}),
        ("pops since we used it for gouging", {"other_process"}),
        ("it drops out as soon as the crane runs", {"time_of_day"}),
    ],
)
def test_how_it_started_is_heard_and_not_made_up(text: str, kinds: set[str]) -> None:
    assert {one.kind for one in BOOK.hear([text]).starts} == kinds
