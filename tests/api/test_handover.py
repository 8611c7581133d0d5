"""The handover sheet as Markdown, as a page to print, and as JSON; made from casebook or case."""

import html.parser
import json
import re
import shutil
import subprocess

import pytest
from crash.places import ticking
from played_session import CANONICAL, ENDS, Play
from truthful_station import TruthfulStation

from api.casebook import Casebook, replay
from api.handover import as_html, as_markdown, sheet_of, sheet_of_case
from api.handover.html import content_security_policy
from api.handover.markdown import plain
from api.json_text import to_json
from diagnose.answer import in_words
from diagnose.case import Case, Station
from diagnose.handover.history import Noted
from diagnose.handover.report import handover_sheet
from diagnose.handover.sheet import HandoverSheet
from diagnose.reason import reason
from diagnose.session.answers import UNKNOWN
from diagnose.session.history import as_it_stands

PLATE = {
    "name": "Bay 3",
    "process": "GMAW",
    "wire": {"class": "ER70S-6", "diameter_mm": 0.9, "supply": "spool"},
    "polarity": {"electrode": "positive", "known": "looked"},
    "gas": {"name": "75Ar/25CO2", "flow_l_min": 15, "measured_at": "meter", "supply": "cylinder"},
    "source": {"output": "constant_voltage", "rated_a": 250, "rated_duty_pct": 60, "phases": 3},
    "feeder": {"groove": "V", "roll_mm": 0.9},
    "gun": {"rated_a": 300, "length_m": 4.5, "tip_mm": 0.9, "liner_mm": 1.0},
    "leads": [{"side": "work", "length_m": 7.6, "area_mm2": 50}],
    "clamp": {"kind": "spring", "rated_a": 200},
}
HOSTILE = '<script>alert("x")</script> ![i](http://evil.example/a) **b** | `c` \x1b[31m\u202e & <img src=x>'


def kept_case(book):
    """Keep a usual case: a complaint, two checks, a reading, a remedy tried, then handed over."""
    book.add_station(Station.model_validate(PLATE))
    told = Case.model_validate(
        {"said": ["wire feeds, no arc"], "symptoms": [{"id": "no_arc", "seen": "yes"}]}
    )
    case_id = book.open_case(told, station="Bay 3", who="Kim").id
    for seq, (kind, body) in enumerate(
        [
            ("found", {"check": "tug_each_lug", "result": "all_firm", "minutes": 3}),
            ("found", {"check": "look_at_work_clamp", "result": "good", "minutes": 1}),
            ("read", {"what": "open_circuit", "value": 0.4, "unit": "V", "minutes": 4}),
            ("remedied", {"fault": "clamp_on_paint", "cured": False, "minutes": 4}),
            ("handed_over", {"to": "service", "note": "no volts at the studs"}),
        ],
        start=1,
    ):
        book.append(case_id, kind, body, expected=seq, who="Kim")
    return book.case(case_id)


@pytest.fixture
def kept(tmp_path):
    with Casebook.open(tmp_path / "book.sqlite3", clock=ticking()) as book:
        yield kept_case(book)


@pytest.fixture
def sheet(kept, knowledge):
    return sheet_of(kept, knowledge)


def test_a_stranger_finds_everything_on_it(sheet, kept):
    assert (sheet.case_id, sheet.station, sheet.state) == (kept.id, "Bay 3", "handed_over")
    assert (sheet.opened.who, sheet.handed_over.to) == ("Kim", "service")
    assert sheet.opened.at < sheet.handed_over.at == sheet.changed_at
    assert sheet.minutes_spent == kept.summary.minutes == 12
    assert [row.kind for row in sheet.done] == ["check", "check", "reading", "remedy"]
    assert all(row.at and row.who == "Kim" for row in sheet.done)
    for text in (as_markdown(sheet), as_html(sheet)):
        for wanted in (
            "wire feeds, no arc",
            "ER70S-6",
            "0.4 V",
            "it did not cure",
            "no volts at the studs",
            "electrode positive (traced by hand)",
            "For service only",
            "2031-05-04",
            sheet.disclaimer.partition(".")[0],
            *(row.in_words for row in sheet.left),
        ):
            assert wanted in text, wanted


def test_what_was_undone_is_not_on_it(tmp_path, knowledge):
    with Casebook.open(tmp_path / "book.sqlite3") as book:
        kept = kept_case(book)
        book.append(kept.id, "undone", {"seq": 4}, expected=6)
        sheet = sheet_of(book.case(kept.id), knowledge)
    assert [row.kind for row in sheet.done] == ["check", "check", "remedy"]


def test_a_case_whose_only_report_was_taken_back_still_has_a_sheet(tmp_path, knowledge):
    with Casebook.open(tmp_path / "book.sqlite3") as book:
        case_id = book.open_case(Case(said=["no arc"])).id
        book.append(case_id, "undone", {"seq": 1}, expected=1)
        sheet = sheet_of(book.case(case_id), knowledge)
    assert (sheet.complaint, sheet.done) == ([], [])
    assert as_markdown(sheet)
    assert as_html(sheet)


def test_a_case_that_nobody_keeps_has_a_sheet_without_times(knowledge):
    case = Case.model_validate(
        {"said": ["porosity"], "findings": [{"check": "tug_each_lug", "result": "all_firm"}]}
    )
    sheet = sheet_of_case(case, knowledge)
    assert (sheet.case_id, sheet.opened.at, sheet.changed_at) == (None, None, None)
    assert sheet.done[0].at is None
    assert "not kept in a casebook" in as_markdown(sheet)


def test_a_case_that_names_what_is_no_longer_known_still_has_a_sheet(tmp_path, knowledge):
    told = {
        "said": ["no arc"],
        "symptoms": [{"id": "an_old_symptom", "seen": "yes"}, {"id": "no_arc", "seen": "yes"}],
        "started": {"change": ["an_old_start"]},
        "user": {"tools": ["an_old_tool", "multimeter"]},
    }
    with Casebook.open(tmp_path / "book.sqlite3") as book:
        case_id = book.open_case(Case.model_validate(told)).id
        book.append(case_id, "found", {"check": "tug_each_lug", "result": "old"}, expected=1)
        book.append(case_id, "remedied", {"fault": "an_old_fault", "cured": False}, expected=2)
        sheet = sheet_of(book.case(case_id), knowledge)
    assert sheet.lost == [
        "an_old_symptom",
        "tug_each_lug=old",
        "an_old_fault",
        "an_old_start",
        "an_old_tool",
    ]
    assert [row.title for row in sheet.symptoms] == [knowledge.title("no_arc")]
    assert sheet.done[-1].what == "Put right: an old fault"
    assert "an_old_symptom" in as_html(sheet)


def test_json_and_back(sheet):
    text = to_json(sheet)
    assert HandoverSheet.model_validate(json.loads(text)) == sheet


def test_the_same_case_gives_the_same_sheet(kept, knowledge):
    one, other = sheet_of(kept, knowledge), sheet_of(kept, knowledge)
    assert as_html(one) == as_html(other)
    assert as_markdown(one) == as_markdown(other)


def hostile_sheet(knowledge, tmp_path):
    with Casebook.open(tmp_path / "hostile.sqlite3") as book:
        station = {"name": "Bay <b>4</b>", "wire": {"class": "<i>w</i>"}, "gas": {"name": "a|b`c"}}
        case_id = book.open_case(
            Case.model_validate({"said": [HOSTILE, "# no arc"], "station": station}),
            who="<u>Kim</u>",
        ).id
        found = {"check": "tug_each_lug", "result": "all_firm", "note": HOSTILE}
        book.append(case_id, "found", found, expected=1, who="[x](javascript:alert(1))")
        read = {"what": "drop", "value": 2, "unit": "V", "from": "<a>", "to": "</td>"}
        book.append(case_id, "read", read, expected=2)
        book.append(case_id, "handed_over", {"to": "service", "note": HOSTILE}, expected=3)
        return sheet_of(book.case(case_id), knowledge)


class Elements(html.parser.HTMLParser):
    def __init__(self):
        super().__init__()
        self.found, self.attributes = set(), set()

    def handle_starttag(self, tag, attrs):
        self.found.add(tag)
        self.attributes |= {name for name, _ in attrs}


def test_hostile_text_does_nothing_in_html(knowledge, tmp_path):
    text = as_html(hostile_sheet(knowledge, tmp_path))
    seen = Elements()
    seen.feed(text)
    assert not seen.found & {"script", "img", "a", "u", "iframe", "link", "object"}
    assert seen.attributes <= {"lang", "charset", "name", "content", "class", "scope"}
    assert "&lt;script&gt;" in text


def test_hostile_text_does_nothing_in_markdown(knowledge, tmp_path):
    text = as_markdown(hostile_sheet(knowledge, tmp_path))
    assert not re.search(r"(?<!\\)<", text)
    assert not re.search(r"(?<!\\)\[", text)
    assert not re.search(r"https?:", text)
    assert "\x1b" not in text
    assert "\u202e" not in text
    assert all(line.count(" | ") <= 3 for line in text.splitlines())
    assert "“# no arc”" in text


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("- item", r"\- item"),
        ("+ item", r"\+ item"),
        ("1. item", r"1\. item"),
        ("12) item", r"12\) item"),
        ("=====", r"\====="),
        ("0.4 V", "0.4 V"),
        ("a_b*c", r"a\_b\*c"),
        ("ma@il.example", r"ma\@il.example"),
        ("a\nb\tc", "a b c"),
        ("&lt;", r"\&lt;"),
    ],
)
def test_text_stands_in_markdown_as_it_is(text, shown):
    assert plain(text) == shown


def test_the_page_loads_nothing_and_its_style_may_stand_under_a_strict_policy(sheet):
    text = as_html(sheet)
    assert "url(" not in text
    assert "http" not in text.replace("http-equiv", "")
    assert text.count("<style>") == 1
    assert "unsafe" not in content_security_policy()
    assert "style=" not in text


def chromium():
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    if found is None:
        pytest.skip("no Chromium on this machine")
    return found


def pages(sheet, paper, tmp_path):
    """Return how many pages the sheet takes when it is printed."""
    sized = as_html(sheet).replace("@page {", f"@page {{ size: {paper};")
    page, pdf = tmp_path / "sheet.html", tmp_path / "sheet.pdf"
    page.write_text(sized, encoding="utf-8")
    printed = [f"--print-to-pdf={pdf}", "--no-pdf-header-footer", page.as_uri()]
    home = f"--user-data-dir={tmp_path / 'home'}"
    subprocess.run(
        [chromium(), "--headless", "--no-sandbox", "--disable-gpu", home, *printed],
        check=True,
        capture_output=True,
        timeout=60,
    )
    return len(re.findall(rb"/Type\s*/Page\b", pdf.read_bytes()))


@pytest.mark.browser
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_usual_case_is_one_page(sheet, tmp_path, paper):
    assert pages(sheet, paper, tmp_path) == 1


@pytest.mark.browser
@pytest.mark.parametrize("name", CANONICAL)
def test_a_session_that_is_handed_over_half_way_is_one_page(name, knowledge, tmp_path):
    first, fault, _, _ = CANONICAL[name]
    station = PLATE | first.get("station", {})
    play = Play(knowledge, first | {"station": station})
    truth = TruthfulStation(knowledge, replay(play.events), fault)
    for _ in range(4):
        step = play.step()
        if step.kind in ("remedy", *ENDS):
            break
        told = truth.answer(step)
        text = told if step.takes_text else ""
        play.answer(step, "" if text else (told or UNKNOWN), text)
    case = as_it_stands(replay(play.events), play.history, knowledge)
    reasoned = reason(case, knowledge)
    noted = [Noted(event.kind, event.body, event.at, "Kim Doe") for event in play.events]
    sheet = handover_sheet(reasoned, in_words(reasoned), noted, "kibof-fajal")
    assert pages(sheet, "Letter", tmp_path) == 1
