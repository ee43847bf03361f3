"""The table of a survey of many tunes in a real browser: sorted and searched, by hand and by key."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from reedpath.jobs import LocalPool, RouteRequest, survey_tunes, write_tune_survey
from support.browsers import NEEDS_BROWSER, SIZES, VIOLATIONS, playwright, started_browser
from support.svg_contrast import BACKINGS, LOST
from support.tune_folders import step_tunes

pytestmark = NEEDS_BROWSER


@pytest.fixture(scope="module")
def page(tmp_path_factory) -> Iterator[playwright.Page]:
    """The table, opened on a desk without a network."""
    folder = tmp_path_factory.mktemp("table")
    tunes = step_tunes(folder / "tunes")
    write_tune_survey(survey_tunes([tunes], RouteRequest(), pool=LocalPool(1)), folder / "out")
    with started_browser() as browser:
        width, height = SIZES["desktop"]
        context = browser.new_context(viewport={"width": width, "height": height}, offline=True, locale="en-GB")
        opened, said = context.new_page(), []
        opened.on("console", lambda message: said.append(message.text))
        opened.on("pageerror", lambda error: said.append(str(error)))
        opened.goto((folder / "out" / "survey.html").as_uri())
        yield opened
        assert said == []


def column(page: playwright.Page, name: str) -> list[str]:
    place = page.locator("thead th").all_inner_texts().index(name)
    return page.locator(f"tbody tr:not([hidden]) > :nth-child({place + 1})").all_inner_texts()


def heading(page: playwright.Page, name: str) -> playwright.Locator:
    return page.get_by_role("button", name=name, exact=True)


def test_it_is_sorted_and_searched_by_the_keyboard_alone(page):
    efforts = list(map(float, column(page, "Effort a note")))
    assert efforts == sorted(efforts)
    field = page.get_by_label("Search")
    field.press("Tab")  # the table, which scrolls
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    titles = column(page, "Tune")
    assert titles == sorted(titles, key=str.casefold)
    page.keyboard.press("Space")
    assert column(page, "Tune") == titles[::-1]
    assert page.locator("th[aria-sort]").get_attribute("aria-sort") == "descending"
    field.fill("STEPS gb")
    assert set(column(page, "Tune")) == {"Steps in Gb"}
    assert page.get_by_role("status").inner_text() == "1 of 13 rows"
    field.fill("")
    assert len(column(page, "Tune")) == 13


def test_numbers_are_sorted_as_numbers(page):
    heading(page, "Length").click()
    lengths = column(page, "Length")
    assert lengths == sorted(lengths)
    heading(page, "Position").click()
    positions = column(page, "Position")
    assert positions[0].startswith("first")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing(page, scheme):
    axe = pytest.importorskip("axe_playwright_python.sync_playwright")
    page.emulate_media(color_scheme=scheme)
    axe.Axe().run(page)
    assert page.evaluate(VIOLATIONS) == []
    assert page.evaluate(LOST, BACKINGS)[1] == []


def test_a_phone_scrolls_the_table_and_not_the_page(page):
    width, height = SIZES["small phone"]
    page.set_viewport_size({"width": width, "height": height})
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
