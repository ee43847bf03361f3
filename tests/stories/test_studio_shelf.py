"""The studio's shelf in a real browser: let in once, a phrase brought in, found by its tune, changed and undone."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from reedpath.jobs import LessonWishes, RouteRequest, read_source
from reedpath.jobs.lessons import lesson_from
from reedpath.signal import encode
from reedpath.sound import PlayAlong, play_along
from support.browsers import NEEDS_BROWSER, playwright, started_browser
from support.studios import ServedStudio, assert_accessible_and_fitting, served_studio, studio_page

pytestmark = NEEDS_BROWSER

TUNE = "X:1\nT:Three fields (invented)\nM:4/4\nL:1/8\nK:G\nG2 B2 d2 g2 | f2 d2 B2 A2 | G4 z4 |\n"


@pytest.fixture(scope="module")
def studio(tmp_path_factory) -> Iterator[ServedStudio]:
    with served_studio(tmp_path_factory.mktemp("studio") / "shelf.sqlite") as served:
        yield served


@pytest.fixture(scope="module")
def browser(tmp_path_factory) -> Iterator[playwright.Browser]:
    with started_browser(microphone=played_tune(tmp_path_factory.mktemp("microphone"))) as opened:
        yield opened


def played_tune(folder: Path) -> Path:
    """The tune as a student plays it on a harp in another key, without the program's shelf."""
    read = read_source(
        TUNE.replace("K:G", "K:A")
        .replace("G2 B2 d2 g2", "A2 c2 e2 a2")
        .replace("f2 d2 B2 A2 | G4", "g2 e2 c2 B2 | A4")
        .encode(),
        name="tune.abc",
    )
    lesson = lesson_from(read, RouteRequest(), LessonWishes())
    sound = folder / "tune.wav"
    played = play_along(lesson, lesson.ladder[-1], PlayAlong(count_in_bars=0, click_through=False))
    sound.write_bytes(encode(played, bits=16))  # as the browser's microphone of a file wants it
    return sound


@pytest.fixture
def page(studio: ServedStudio, browser: playwright.Browser) -> Iterator[playwright.Page]:
    with studio_page(studio, browser) as opened:
        yield opened


def test_a_phrase_is_brought_in_found_and_taken_back(page: playwright.Page, studio: ServedStudio) -> None:
    page.fill("textarea", "half a tab")
    page.set_input_files("#files", {"name": "fields.abc", "mimeType": "text/plain", "buffer": TUNE.encode()})
    page.wait_for_selector("text=Three fields")
    assert page.input_value("textarea") == "half a tab"  # what is being typed stays when the shelf is shown anew
    page.fill("input[name=tune]", "C E G C B G E D C")
    page.press("input[name=tune]", "Enter")
    page.wait_for_selector("text=Three fields")
    page.click("text=Three fields")
    page.fill("input[name=title]", "Four fields")
    page.click("button:has-text('Save')")
    assert page.inner_text("h1") == "Four fields"
    page.goto(studio.address + "/")
    page.click("button:has-text('Undo')")
    assert "Three fields" in page.inner_text("main")
    page.goto(studio.address + "/work")
    assert "Done" in page.inner_text("#jobs")


def test_a_tune_that_is_played_into_the_microphone_is_found(page: playwright.Page, studio: ServedStudio) -> None:
    page.goto(studio.address + "/")
    page.click("#play-tune")
    page.wait_for_selector("#play-tune[aria-pressed=true]")
    page.wait_for_timeout(6000)  # the tune lasts so long
    page.click("#play-tune")
    page.wait_for_url("**/?tune=*", timeout=120_000)
    assert "Three fields" in page.inner_text("main table")


@pytest.mark.parametrize("address", ["/", "/work", "/settings", "/harps", "/phrases/1", "/nowhere"])
def test_axe_finds_nothing_and_nothing_runs_out_of_the_page(
    page: playwright.Page, studio: ServedStudio, address: str
) -> None:
    page.goto(studio.address + address)
    assert_accessible_and_fitting(page)


def test_the_menu_of_a_small_phone_has_two_rows_in_every_language(
    page: playwright.Page, studio: ServedStudio
) -> None:
    page.set_viewport_size({"width": 360, "height": 740})
    rows = {}
    for language in ("fr", "de", "es", "it", "en"):
        page.goto(studio.address + "/settings")
        page.click(f"label[for=language-{language}]")
        page.click("main button")
        page.goto(studio.address + "/workbench")  # the screen that is open stands in bold, and takes more room
        assert page.get_attribute("html", "lang") == language
        links = page.eval_on_selector_all(".studio-head a", "links => links.map((one) => one.offsetTop)")
        rows[language] = (len(links), len(set(links)))
    page.goto(studio.address + "/settings")
    page.click("label[for=language-usual]")
    page.click("main button")
    assert rows == dict.fromkeys(("fr", "de", "es", "it", "en"), (6, 2))


def test_the_language_and_the_light_stay_chosen(page: playwright.Page, studio: ServedStudio) -> None:
    page.goto(studio.address + "/settings")
    page.click("label[for=language-fr]")
    page.click("label[for=light-dark]")
    page.click("main button")
    assert page.get_attribute("html", "lang") == "fr"
    assert page.get_attribute("html", "data-light") == "dark"
    page.goto(studio.address + "/")
    assert page.inner_text("h1") == "Étagère"
    page.goto(studio.address + "/settings")
    page.click("label[for=language-usual]")
    page.click("label[for=light-usual]")
    page.click("main button")
    assert page.get_attribute("html", "lang") == "en"


def test_the_shelf_works_before_any_script_runs(studio: ServedStudio, browser: playwright.Browser) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(studio.way_in())
    page.wait_for_url(studio.address + "/")
    page.goto(studio.address + "/")
    page.fill("textarea", TUNE.replace("Three", "Five"))
    page.click("button:has-text('Put on the shelf')")
    assert "Five fields" in page.inner_text("main")
    context.close()
