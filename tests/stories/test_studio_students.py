"""The students' screens in a real browser: takes dropped in, asked about, a letter edited, a student erased."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from reedpath.jobs import add_to_shelf
from reedpath.shelf import Shelf, Student
from support.browsers import NEEDS_BROWSER, playwright, started_browser, wait
from support.glued_takes import Fault, Kind
from support.students import TUNES, take_file, tune_folder, tune_route
from support.studios import (
    ServedStudio,
    assert_accessible_and_fitting,
    assert_fitting,
    in_language,
    served_studio,
    studio_page,
)

pytestmark = NEEDS_BROWSER

LANE, KITE = TUNES


@pytest.fixture(scope="module")
def takes(tmp_path_factory) -> list[Path]:
    folder = tmp_path_factory.mktemp("takes")
    bends = [index for index, one in enumerate(tune_route(LANE).events) if one.choice.move.semitones]
    return [
        take_file(folder / "Ada - week 1.mp3", LANE, [Fault(Kind.FLAT, index, 45.0) for index in bends]),
        take_file(folder / "recording.mp3", KITE, seed=5),
    ]


@pytest.fixture(scope="module")
def studio(tmp_path_factory) -> Iterator[ServedStudio]:
    folder = tmp_path_factory.mktemp("studio")
    with Shelf(folder / "shelf.sqlite", make=True) as shelf:
        add_to_shelf(shelf, [tune_folder(title, folder / str(number)) for number, title in enumerate(TUNES)])
        with shelf.step("student"):
            shelf.add(Student(name="Ada Inventée", level="easy"))
            shelf.add(Student(name="Bo Invented", level="first-months"))
    with served_studio(folder / "shelf.sqlite") as served:
        yield served


@pytest.fixture(scope="module")
def page(studio: ServedStudio) -> Iterator[playwright.Page]:
    allowed = ["clipboard-read", "clipboard-write"]
    with started_browser() as browser, studio_page(studio, browser, permissions=allowed) as opened:
        yield opened


def test_a_thursday_in_the_studio(page: playwright.Page, studio: ServedStudio, takes: list[Path]) -> None:
    page.goto(studio.address + "/students")
    page.set_input_files("#files", takes)
    page.wait_for_selector("text=One take is not sure", timeout=120_000)
    page.select_option("select[name=student]", label="Bo Invented")
    page.click("button:has-text('Answer it')")
    page.wait_for_selector("h2:has-text('is not sure')", state="detached", timeout=60_000)
    page.click("text=Ada Inventée")
    assert "draw bends of a half step" in page.inner_text(".standings")
    page.click("form.job-form button")
    page.wait_for_selector(f"text={KITE}", timeout=60_000)
    page.click("button:has-text('Propose a letter')")
    page.wait_for_selector("#letter-text")
    page.fill("#letter-text", "Dear Ada,\n\nmy own words.")
    page.click("#letter-form button:has-text('Save')")
    page.wait_for_load_state()
    assert page.input_value("#letter-text") == "Dear Ada,\n\nmy own words.\n"
    page.click("#copy")
    page.wait_for_selector("text=The letter is copied.")
    assert page.evaluate("navigator.clipboard.readText()") == "Dear Ada,\n\nmy own words.\n"
    page.click("text=Ada - week 1.mp3")
    assert "notes out of" in page.inner_text("main")
    # the fault is heard where it is, and the sound stops behind it
    place = page.locator("button[data-from]").first
    place.click()
    first, last = (float(place.get_attribute(name) or "nan") for name in ("data-from", "data-until"))
    wait(page, f"document.getElementById('take').currentTime > {first} + 0.2")
    wait(page, "document.getElementById('take').paused")
    assert last <= page.evaluate("document.getElementById('take').currentTime") < last + 1.0


@pytest.mark.parametrize("address", ["/students", "/students/1", "/students/2", "/students/1/takes/1"])
@pytest.mark.parametrize("light", ["light", "dark"])
def test_axe_finds_nothing_and_nothing_runs_out_of_the_page(
    page: playwright.Page, studio: ServedStudio, address: str, light: str
) -> None:
    page.emulate_media(color_scheme=light)
    page.goto(studio.address + address)
    assert_accessible_and_fitting(page)


@pytest.mark.parametrize("language", ["fr", "de", "es", "it"])
def test_the_words_of_every_language_fit_on_every_screen(
    page: playwright.Page, studio: ServedStudio, language: str
) -> None:
    with in_language(page, studio, language):
        for address in (
            "/", "/phrases/1", "/workbench", "/lessons/1", "/lessons/1/film", "/rehearse", "/rehearse/long-notes",
            "/students", "/students/1", "/students/1/takes/1", "/harps", "/settings", "/work",
        ):  # fmt: skip
            assert page.goto(studio.address + address).status == 200, address
            assert_fitting(page)


def test_a_student_is_erased_only_where_the_box_is_ticked(page: playwright.Page, studio: ServedStudio) -> None:
    page.goto(studio.address + "/students/2")
    page.click("button:has-text('Erase')")
    assert page.url.endswith("/students/2")
    page.check("#sure-box")
    page.click("button:has-text('Erase')")
    page.wait_for_selector("text=Bo Invented is erased")
