"""The page of several pieces in a real browser: what a tap and a key do, and that only one piece sounds."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest

from reedpath.jobs.lesson_pages import page_of_pieces
from support.browsers import NEEDS_BROWSER, SIZES, VIOLATIONS, playwright, started_browser, wait
from support.pieces import lesson_of_pieces

pytestmark = NEEDS_BROWSER


@pytest.fixture(scope="module")
def written(tmp_path_factory) -> str:
    path = tmp_path_factory.mktemp("pieces") / "lesson.html"
    path.write_bytes(page_of_pieces(lesson_of_pieces()))
    return path.as_uri()


@pytest.fixture(scope="module")
def browser() -> Iterator[playwright.Browser]:
    with started_browser() as one:
        yield one


@pytest.fixture
def opened(browser, written) -> Iterator:
    """Open the page; when the test is over, it must not have complained, nor asked for anything outside itself."""
    made: list[tuple[playwright.Page, list[str], list[str]]] = []

    def open_page(size: str = "small phone", *, at: str = "", **wishes: object) -> playwright.Page:
        width, height = SIZES[size]
        settings = {
            "locale": "en-GB",
            "offline": True,
            "has_touch": size != "desktop",
            "is_mobile": size != "desktop",
        }
        context = browser.new_context(viewport={"width": width, "height": height}, **(settings | wishes))
        page, said, asked = context.new_page(), [], []
        page.on("console", lambda message: said.append(message.text))
        page.on("pageerror", lambda error: said.append(str(error)))
        page.on("request", lambda request: asked.append(request.url))
        page.goto(written + at)
        made.append((page, said, asked))
        return page

    yield open_page
    for page, said, asked in made:
        page.context.close()
        assert said == []
        assert [url for url in asked if not re.match(r"(file:///.*lesson\.html|blob:null/|data:)", url)] == []


def seen(page: playwright.Page) -> list[str]:
    """The pieces and lessons that are to be seen."""
    found = "[...document.querySelectorAll('.piece, .lesson')].filter((one) => one.checkVisibility())"
    return page.evaluate(f"{found}.map((one) => one.id)")


def sounding(page: playwright.Page) -> list[str]:
    """The players that are sounding."""
    found = "[...document.querySelectorAll('audio')].filter((one) => !one.paused)"
    return page.evaluate(f"{found}.map((one) => one.id)")


def go(page: playwright.Page, name: str) -> None:
    page.click(f".pieces a[href='#{name}']")


def wait_for_sound(page: playwright.Page, prefix: str) -> None:
    wait(page, f"document.getElementById('{prefix}sound').currentTime > 0.2")


def test_one_piece_is_seen_at_a_time_and_the_list_goes_to_each(opened):
    page = opened()
    assert seen(page) == ["piece-1", "p1-lesson"]
    for name, lessons in (("piece-3", ["p3-lesson"]), ("piece-5", ["p5-lesson"]), ("piece-all", [])):
        go(page, name)
        assert seen(page) == [name, *lessons]
        assert page.get_attribute(f".pieces a[href='#{name}']", "aria-current") == "true"
        assert page.locator(".pieces a[aria-current]").count() == 1
        assert page.evaluate("document.activeElement.id") == name
    page.go_back()
    wait(page, "document.getElementById('piece-5').checkVisibility()")
    assert seen(page) == ["piece-5", "p5-lesson"]


def test_an_address_with_a_piece_opens_it_there(opened):
    assert seen(opened(at="#piece-4")) == ["piece-4", "p4-lesson"]
    assert seen(opened(at="#elsewhere")) == ["piece-1", "p1-lesson"]


def test_the_next_piece_is_a_tap_away(opened):
    page = opened()
    page.click("#piece-1 .onward a")
    assert seen(page) == ["piece-3", "p3-lesson"]
    page.click("#piece-3 .onward a")
    assert seen(page) == ["piece-4", "p4-lesson"]


def test_only_one_piece_sounds(opened):
    page = opened()
    page.click("#p1-play")
    wait_for_sound(page, "p1-")
    assert sounding(page) == ["p1-sound"]
    go(page, "piece-4")
    assert sounding(page) == []
    page.click("#p4-play")
    wait_for_sound(page, "p4-")
    assert sounding(page) == ["p4-sound"]
    # even where one is begun from outside, as by a headphone's button
    page.evaluate("document.getElementById('p1-sound').play()")
    wait(page, "document.getElementById('p4-sound').paused")
    assert sounding(page) == ["p1-sound"]


def test_the_other_level_takes_the_place_of_the_first(opened):
    page = opened()
    page.click("#p1-play")
    wait_for_sound(page, "p1-")
    page.click("label[for=piece-1-version-1]")
    assert seen(page) == ["piece-1", "p2-lesson"]
    assert sounding(page) == []
    page.click("#p2-play")
    wait_for_sound(page, "p2-")
    assert sounding(page) == ["p2-sound"]
    go(page, "piece-4")
    go(page, "piece-1")
    assert seen(page) == ["piece-1", "p2-lesson"]


def test_keys_move_the_piece_that_is_seen(opened):
    page = opened("desktop")
    page.keyboard.press("ArrowRight")
    assert page.get_attribute("#p1-lesson .strip", "aria-valuenow") == "2"
    go(page, "piece-4")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    assert page.get_attribute("#p4-lesson .strip", "aria-valuenow") == "3"
    assert page.get_attribute("#p1-lesson .strip", "aria-valuenow") == "2"
    page.keyboard.press("Digit2")
    assert page.is_checked("#p4-rung-1")
    assert page.is_checked("#p1-rung-0")
    page.keyboard.press("l")
    assert page.get_attribute("#p4-again", "aria-pressed") == "true"
    page.keyboard.press(" ")
    wait_for_sound(page, "p4-")
    page.keyboard.press(" ")
    assert sounding(page) == []
    go(page, "piece-all")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Digit1")  # nothing to move there, and no complaint


def test_the_list_can_be_walked_with_the_keyboard_alone(opened):
    page = opened("desktop")
    page.focus(".pieces a[href='#piece-4']")
    page.keyboard.press("Enter")
    assert seen(page) == ["piece-4", "p4-lesson"]
    go(page, "piece-1")
    page.focus("#piece-1-version-0")
    page.keyboard.press("ArrowRight")
    assert seen(page) == ["piece-1", "p2-lesson"]


def test_a_tap_on_a_step_or_a_part_plays_it_in_its_piece(opened):
    page = opened()
    go(page, "piece-5")
    page.uncheck("#p5-count-in")
    page.locator("#p5-lesson .step:visible").nth(1).click()
    wait(page, "!document.getElementById('p5-sound').paused")
    assert sounding(page) == ["p5-sound"]
    wait(page, "document.getElementById('p5-sound').paused")
    page.locator("#p5-lesson .practise:visible").first.click()
    assert page.get_attribute("#p5-again", "aria-pressed") == "true"
    lit = "[...document.querySelectorAll('.lit')].filter((one) => getComputedStyle(one).display !== 'none')"
    wait(page, f"{lit}.length > 0")
    assert page.evaluate(f"{lit}.every((one) => one.closest('#p5-lesson') || !one.checkVisibility())")


def test_each_language_says_every_piece_in_its_words(opened):
    page = opened()
    page.click(".languages button[lang=fr]")
    assert page.inner_text(".pieces a[href='#piece-4'] b").startswith("Morceau 3")
    assert page.inner_text("#piece-1 > h2").startswith("Morceau 1")
    go(page, "piece-4")
    assert "harmonica en ré" in page.inner_text("#piece-4").lower()
    assert "aspiré" in page.inner_text("#p4-lesson .said") or "soufflé" in page.inner_text("#p4-lesson .said")
    page.click("#p4-play")
    wait_for_sound(page, "p4-")
    page.click("#p4-play")
    assert page.inner_text("#announced").startswith("Pause")


@pytest.mark.parametrize(("size", "light"), [("small phone", "light"), ("desktop", "dark")])
def test_axe_finds_nothing_in_any_piece(opened, size, light):
    """axe-core of Deque Systems (MPL-2.0): WCAG 2.0 to 2.2, A and AA, and its own advice."""
    axe = pytest.importorskip("axe_playwright_python.base", reason="no axe-playwright-python").AXE_SCRIPT
    page = opened(size, color_scheme=light)
    page.evaluate(axe)
    for name in ("piece-1", "piece-all"):
        go(page, name)
        page.evaluate("document.querySelectorAll('details:not(.display)').forEach((one) => (one.open = true))")
        assert page.evaluate(VIOLATIONS) == []


@pytest.mark.parametrize("size", SIZES)
def test_nothing_is_wider_than_the_screen_and_everything_can_be_tapped(opened, size):
    page = opened(size)
    for name in ("piece-1", "piece-3", "piece-5", "piece-all"):
        go(page, name)
        assert page.evaluate("document.documentElement.scrollWidth") <= SIZES[size][0]
        small = page.evaluate(
            """() => [...document.querySelectorAll('button, label, summary, nav a, .onward a')]
              .filter((one) => one.checkVisibility() && !one.matches('.slower label'))
              .map((one) => [one.id || one.className || one.textContent, one.getBoundingClientRect()])
              .filter(([, box]) => box.width < 43.9 || box.height < 43.9)
              .map(([name, box]) => [name, box.width, box.height])"""
        )
        assert small == []


def test_without_script_all_pieces_stand_in_order_with_their_sounds(opened):
    page = opened(java_script_enabled=False)
    assert page.locator("audio[controls]:visible").count() == sum(
        len(piece.lesson.ladder) for piece in lesson_of_pieces().pieces
    )
    tops = [page.locator(f"#{name}").bounding_box()["y"] for name in ("piece-1", "piece-3", "piece-4", "piece-5")]
    assert tops == sorted(tops)
    assert page.locator("#p2-lesson").is_visible()
    page.click(".pieces a[href='#piece-4']")
    assert page.url.endswith("#piece-4")


def test_everything_is_printed(opened):
    page = opened("desktop")
    page.emulate_media(media="print")
    assert seen(page) == [
        "piece-1", "p1-lesson", "p2-lesson", "piece-3", "p3-lesson", "piece-4", "p4-lesson", "piece-5", "p5-lesson",
        "piece-all",
    ]  # fmt: skip
    assert not page.locator(".pieces").is_visible()


def test_all_pieces_are_played_in_a_row_each_as_it_is_seen(opened):
    page = opened()
    go(page, "piece-all")
    page.locator("[data-round='2']:visible").click()
    for prefix, name in (("p1-", "piece-1"), ("p4-", "piece-4"), ("p5-", "piece-5")):
        wait_for_sound(page, prefix)
        assert seen(page) == [name, f"{prefix}lesson"]
        assert sounding(page) == [f"{prefix}sound"]
        assert page.evaluate(f"document.getElementById('{prefix}sound').playbackRate") == 1
        # on to the last note; while it is counted in, the player goes back to the first
        end = "if (!sound.paused) sound.currentTime += 60; return sound.paused"
        wait(page, f"(() => {{ const sound = document.getElementById('{prefix}sound'); {end} }})()")
    wait(page, "document.getElementById('piece-all').checkVisibility()")
    assert sounding(page) == []


def test_a_row_that_is_stopped_goes_no_further_and_slower_rounds_are_slowed(opened):
    page = opened()
    go(page, "piece-all")
    page.locator("[data-round='0']:visible").click()
    wait_for_sound(page, "p1-")
    told = page.evaluate("JSON.parse(document.getElementById('lesson').textContent).rounds[0][0]")
    assert page.evaluate("document.getElementById('p1-sound').playbackRate") == told["rate"]
    assert page.is_checked(f"#p1-rung-{told['sound']}")
    page.click("#p1-play")
    assert sounding(page) == []
    page.wait_for_timeout(300)
    assert seen(page) == ["piece-1", "p1-lesson"]
    go(page, "piece-all")
    page.locator("[data-round='2']:visible").click()
    wait_for_sound(page, "p1-")
    go(page, "piece-5")
    page.wait_for_timeout(300)
    assert sounding(page) == []
    assert seen(page) == ["piece-5", "p5-lesson"]
