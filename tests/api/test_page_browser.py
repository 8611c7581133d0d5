"""The page in a browser, without scripts: a thumb can hit everything, and everybody can read it."""

from __future__ import annotations

import os
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
import uvicorn

from api.casebook import Casebook
from api.http.app import create_app
from knowledge.loader import Knowledge

pytestmark = pytest.mark.browser
BROWSER = os.environ.get("WONTWELD_TEST_BROWSER") or "/usr/bin/chromium"
SIZES = {"phone": (390, 844), "tablet": (820, 1180), "desk": (1280, 900)}
SMALLEST_TARGET_PX = 48
TOKEN = "a-token-for-tests-only"  # noqa: S105
RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}


@pytest.fixture(scope="module")
def chromium() -> Iterator[Any]:
    if not Path(BROWSER).exists():
        pytest.skip(f"no browser at {BROWSER}; set WONTWELD_TEST_BROWSER")
    sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    with sync_api.sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=BROWSER, args=["--no-sandbox"])
        yield browser
        browser.close()


@contextmanager
def served(app: Any) -> Iterator[str]:
    listener = socket.socket()
    listener.bind(("127.0.0.1", 0))
    listener.listen()
    server = uvicorn.Server(uvicorn.Config(app, log_level="warning"))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]})
    thread.start()
    deadline = time.monotonic() + 30
    while not server.started and time.monotonic() < deadline:
        time.sleep(0.05)
    try:
        yield f"http://127.0.0.1:{listener.getsockname()[1]}"
    finally:
        server.should_exit = True
        thread.join()
        listener.close()


@pytest.fixture(scope="module")
def here(knowledge: Knowledge, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    place = tmp_path_factory.mktemp("book") / "cases.sqlite"
    with (
        Casebook.open(place) as book,
        served(create_app(knowledge, casebook=book, learning=False)) as address,
    ):
        yield address


@pytest.fixture
def page(chromium: Any, here: str) -> Iterator[Any]:
    with opened(chromium, "tablet", here) as shown:
        yield shown


@contextmanager
def opened(chromium: Any, size: str, address: str, **options: Any) -> Iterator[Any]:
    width, height = SIZES[size]
    viewport = {"width": width, "height": height}
    context = chromium.new_context(viewport=viewport, java_script_enabled=False, **options)
    shown = context.new_page()
    shown.goto(address)
    try:
        yield shown
    finally:
        context.close()


def say(page: Any, words: str) -> None:
    page.get_by_label("What the welder says").fill(words)
    press(page, page.get_by_role("button", name="Find the fault").first)


def press(page: Any, what: Any) -> None:
    with page.expect_navigation():
        what.click()


def test_a_fault_is_found_and_cured_by_pressing_buttons(page: Any) -> None:
    say(page, "wire feeds, no arc")
    for _ in range(12):
        if page.get_by_role("heading", name="Put right").count():
            break
        press(page, page.locator(".next button").first)
    press(page, page.get_by_role("button", name="Done", exact=True))
    assert page.get_by_role("heading", name="Prove it").count()
    press(page, page.get_by_role("button", name="welds as it should"))
    assert page.get_by_role("heading", name="Put right and proved.").is_visible()


def test_back_in_the_browser_takes_an_answer_back(page: Any) -> None:
    say(page, "porosity")
    before = page.locator("#step").inner_text()
    press(page, page.locator(".next button").first)
    assert page.locator("#step").inner_text() != before
    page.go_back()
    assert page.locator("#step").inner_text() == before
    assert page.locator(".next button").first.is_enabled()


def test_back_to_the_first_sheet_finds_it_as_it_was_filled(page: Any) -> None:
    page.get_by_label("GMAW").check()
    say(page, "porosity")
    page.go_back()
    assert page.get_by_label("What the welder says").input_value() == "porosity"
    assert page.get_by_label("GMAW").is_checked()


def test_a_case_is_kept_and_its_sheet_printed(page: Any) -> None:
    say(page, "wire feeds, no arc")
    press(page, page.get_by_role("button", name="Keep this case"))
    assert "/kept/" in page.url
    press(page, page.get_by_role("link", name="Handover sheet to print"))
    assert page.locator(".said").first.is_visible()


def test_a_stop_card_is_the_first_thing_seen(page: Any) -> None:
    say(page, "I felt a tingle")
    card = page.locator("section.card").first
    assert card.bounding_box()["y"] < SIZES["tablet"][1] / 3
    assert card.get_by_text("DANGER").is_visible()


def test_the_token_is_given_in_the_browser(chromium: Any, knowledge: Knowledge) -> None:
    app = create_app(knowledge, token=TOKEN, learning=False)
    with served(app) as address, opened(chromium, "tablet", address) as page:
        page.get_by_label("Token of this server").fill(TOKEN)
        press(page, page.get_by_role("button", name="Open the page"))
        say(page, "no arc")
        assert page.locator("#step").is_visible()


@pytest.fixture(params=["sheet", "case", "stop", "trouble", "fault", "symptom", "check", "index"])
def shown(request: pytest.FixtureRequest) -> str:
    return str(request.param)


def go_to(page: Any, here: str, shown: str) -> None:
    reading = {
        "fault": "/know/fault/work_clamp_off",
        "symptom": "/know/symptom/no_arc",
        "check": "/know/check/tug_each_lug",
        "index": "/know",
    }
    words = {"case": "porosity\nblue smurfs", "stop": "I felt a tingle", "trouble": "x" * 401}
    page.goto(here + reading.get(shown, "/"))
    if shown in words:
        say(page, words[shown])
    page.locator("main details").evaluate_all("all => all.forEach(one => { one.open = true })")


@pytest.mark.parametrize("size", SIZES)
def test_nothing_is_too_small_or_runs_off_the_side(
    chromium: Any, here: str, shown: str, size: str
) -> None:
    with opened(chromium, size, here, bypass_csp=True) as page:
        go_to(page, here, shown)
        width = page.evaluate("document.documentElement.scrollWidth")
        assert width <= SIZES[size][0]
        small = page.evaluate(
            """least => [...document.querySelectorAll(
                'button, .chip, summary, input:not([type=hidden], .chip input), textarea')]
              .filter(one => one.checkVisibility())
              .map(one => [one.outerHTML.slice(0, 80), one.getBoundingClientRect().height])
              .filter(([, height]) => height < least)""",
            SMALLEST_TARGET_PX,
        )
        assert not small


def test_everybody_can_read_it(chromium: Any, here: str, shown: str) -> None:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright")
    context = chromium.new_context(viewport={"width": 820, "height": 1180}, bypass_csp=True)
    page = context.new_page()
    go_to(page, here, shown)
    found = axe.Axe().run(page, options=RULES)
    assert found.violations_count == 0, found.generate_report()
    context.close()


def test_no_page_breaks_its_own_policy(chromium: Any, here: str, shown: str) -> None:
    context = chromium.new_context()
    page = context.new_page()
    told: list[str] = []
    page.on("console", lambda message: told.append(message.text))
    page.on("pageerror", lambda error: told.append(str(error)))
    go_to(page, here, shown)
    assert [line for line in told if "status of 4" not in line] == []
    context.close()
