"""A lesson in the studio, in a real browser: a line edited and undone, a film lined up and cut, the prompter."""

from __future__ import annotations

import wave
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from reedpath.jobs import lesson_of_version, lines_in
from reedpath.jobs.footage_of_versions import footage_of, line_up_footage, put_own_files
from reedpath.lesson import LineKind
from reedpath.shelf import LessonVersion, Shelf, last_version
from support.browsers import NEEDS_BROWSER, playwright, started_browser
from support.pieces import lesson_of_pieces, porch
from support.shelves import put_lesson
from support.studios import ServedStudio, assert_accessible_and_fitting, served_studio, studio_page
from support.teacher_films import RATE, FilmMade, playing, quiet, talk, write_film

pytestmark = NEEDS_BROWSER

OWN = "Play it as if you told somebody the time of day."
LESSON = porch()


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    """A shelf with a lesson, 1, whose film is lined up, one of several pieces, 2, and a sound for the microphone."""
    folder = tmp_path_factory.mktemp("lessons")
    played = [playing(LESSON, -1), quiet(2.0), playing(LESSON, -1), quiet(1.0)]
    sound = np.concatenate([talk(1.0, 1), quiet(1.0), *played])
    write_film(folder / "raw.mp4", sound, FilmMade(size=(160, 90), fps=10))
    with wave.open(str(folder / "mic.wav"), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE)
        file.writeframes((32_000 * playing(LESSON, -1)[:, 0]).astype("<i2").tobytes())
    with Shelf(folder / "shelf.sqlite", make=True) as made:
        put_lesson(made, LESSON)
        put_lesson(made, lesson_of_pieces())
        files = line_up_footage(made.files, last_version(made, 1), [folder / "raw.mp4"])
        put_own_files(made, 1, files, what="footage")
    return folder


@pytest.fixture(scope="module")
def studio(folder: Path) -> Iterator[ServedStudio]:
    with served_studio(folder / "shelf.sqlite") as served:
        yield served


@pytest.fixture(scope="module")
def browser(folder: Path) -> Iterator[playwright.Browser]:
    with started_browser(microphone=folder / "mic.wav") as opened:
        yield opened


@pytest.fixture
def page(studio: ServedStudio, browser: playwright.Browser) -> Iterator[playwright.Page]:
    with studio_page(studio, browser, permissions=["camera", "microphone"]) as opened:
        yield opened


def last(studio: ServedStudio, number: int) -> LessonVersion:
    return studio.shelf.now(last_version, number)


def test_a_line_is_kept_when_it_is_left_and_a_note_beside_it(page: playwright.Page, studio: ServedStudio) -> None:
    lines = lines_in(lesson_of_version(last(studio, 1)), "en")
    index = next(index for index, line in enumerate(lines) if line.kind is LineKind.SENTENCE)
    page.goto(studio.address + "/lessons/1")
    box = page.locator(f'textarea[name="text en {index}"]')
    box.fill(OWN)
    box.press("Tab")
    page.wait_for_selector("#kept:has-text('Kept as version 2')")
    assert lines_in(lesson_of_version(last(studio, 1)), "en")[index].text == OWN
    page.locator(".cell", has=box).locator(".add-note summary").click()
    note = page.locator(f'textarea[name="note en {index}"]')
    note.fill("Listen first.")
    note.press("Tab")
    page.wait_for_selector("text=Your own note")
    page.locator(".cell", has=page.locator(f'textarea[name="text en {index}"]')).locator("button.back").click()
    page.wait_for_selector("#kept:has-text('Kept as version 4')")
    said = lines_in(lesson_of_version(last(studio, 1)), "en")
    assert [line.text for line in said[index : index + 2]] == [lines[index].text, "Listen first."]
    for _ in range(3):
        page.click("button:has-text('Undo')")
    assert last(studio, 1).version == 1


def test_another_phrase_is_looked_for_and_taught_too(page: playwright.Page, studio: ServedStudio) -> None:
    before = last(studio, 1)
    page.goto(studio.address + "/lessons/1")
    page.get_by_text("Teach another phrase too").click()
    page.get_by_role("searchbox").fill("doors")
    page.get_by_role("searchbox").press("Enter")
    assert page.locator('select[name="phrase"] option').first.inner_text().startswith("Two doors")
    page.get_by_role("button", name="Add it").click()
    page.wait_for_selector(f"text=Kept as version {before.version + 1}.")
    assert page.locator("#pieces a").all_inner_texts() == ["Porch steps", "Two doors"]
    page.get_by_role("button", name="Undo").first.click()
    page.wait_for_selector("#pieces", state="detached")
    assert last(studio, 1) == before


def test_a_line_that_is_written_elsewhere_too_is_not_lost(page: playwright.Page, studio: ServedStudio) -> None:
    page.goto(studio.address + "/lessons/1")
    other = page.context.new_page()
    other.goto(studio.address + "/lessons/1")
    other.fill('textarea[name="text fr 1"]', "Prendre son temps.")
    other.press('textarea[name="text fr 1"]', "Tab")
    other.wait_for_selector("#kept:has-text('Kept as version')")
    other.close()
    page.fill('textarea[name="text fr 1"]', "Respirer d’abord.")
    page.press('textarea[name="text fr 1"]', "Tab")
    page.wait_for_selector(".cell .wrong")
    assert "Respirer d’abord." in page.inner_text(".cell .wrong")
    assert page.input_value('textarea[name="text fr 1"]') == "Respirer d’abord."
    page.evaluate("document.querySelector('textarea[name=\"text fr 1\"]').value = 'Prendre son temps.'")
    page.evaluate("document.querySelector('input[name=\"was fr 1\"]').value = 'Prendre son temps.'")


def test_the_cut_is_corrected_by_keys_by_hand_and_in_the_table(page: playwright.Page, studio: ServedStudio) -> None:
    def cut():
        return footage_of(studio.shelf.files, last(studio, 1)).cut

    page.goto(studio.address + "/lessons/1/film")
    before = cut()
    played = [index for index, one in enumerate(before.pieces) if one.kind == "play"]
    assert [before.pieces[index].keep for index in played] == [False, True]
    page.focus(f"#stretch-{played[0]}")
    with page.expect_response(lambda answer: answer.url.endswith("/film/cut")):
        page.keyboard.press("Enter")
    assert cut().pieces[played[0]].keep
    handle = f"#handle-{played[0] - 1}"
    page.focus(handle)
    with page.expect_response(lambda answer: answer.url.endswith("/film/cut")):
        page.keyboard.press("ArrowLeft")
    moved = before.pieces[played[0]].start_seconds - 0.1
    assert cut().pieces[played[0]].start_seconds == pytest.approx(moved, abs=0.01)
    page.locator(handle).scroll_into_view_if_needed()
    spot = page.locator(handle).bounding_box()
    page.mouse.move(spot["x"] + spot["width"] / 2, spot["y"] + 30)
    page.mouse.down()
    with page.expect_response(lambda answer: answer.url.endswith("/film/cut")):
        page.mouse.move(spot["x"] + spot["width"] / 2 + 14, spot["y"] + 30)
        page.mouse.up()
    assert cut().pieces[played[0]].start_seconds == pytest.approx(moved + 1, abs=0.1)
    page.click("summary:has-text('as a table')")
    with page.expect_response(lambda answer: answer.url.endswith("/film/cut")):
        page.uncheck(f'input[name="keep {played[1]}"]')
    assert not cut().pieces[played[1]].keep
    assert page.get_attribute(f"#stretch-{played[1]}", "aria-pressed") == "false"


def test_the_prompter_is_driven_by_a_pedal_and_records_part_by_part(
    page: playwright.Page, studio: ServedStudio
) -> None:
    page.goto(studio.address + "/lessons/1/prompter")
    page.click("#pedal")
    page.keyboard.press("b")
    assert page.inner_text("#pedal-says") == "Moves on with: b"
    page.check("#record")
    page.wait_for_selector("#camera-says:has-text('ready')")
    page.click("#open")
    came = "#state.recording[data-bytes]:not([data-bytes='0'])"
    page.wait_for_selector("#state.recording")
    page.keyboard.press("p")
    page.wait_for_selector(came)
    assert page.inner_text("#where").startswith("1 of")
    first = page.inner_text(".said.now")
    page.keyboard.press("b")
    assert page.inner_text(".said.now") != first
    page.keyboard.press("c")
    page.wait_for_selector("#beat:has-text('2')")
    page.keyboard.press("c")
    page.keyboard.press("r")
    page.wait_for_selector("#state:has-text('take 2')")
    page.wait_for_selector(came)
    for _ in range(20):
        if page.inner_text("#where").startswith("2 of"):
            break
        page.keyboard.press("b")
        page.wait_for_timeout(100)
    page.wait_for_selector(came)
    page.keyboard.press("Escape")
    page.wait_for_selector("#takes:not([hidden])")
    kept = page.eval_on_selector_all("#take-list input", "boxes => boxes.map((one) => one.checked)")
    assert kept[:2] == [False, True]
    page.click("#line-up")
    page.wait_for_url("**/lessons/1/film")
    assert len(footage_of(studio.shelf.files, last(studio, 1)).films) == 1 + sum(kept)


@pytest.mark.parametrize(
    "address",
    [
        "/lessons/1?find=",
        "/lessons/2",
        "/lessons/1/film",
        "/lessons/2/film",
        "/lessons/1/prompter",
        "/lessons/1/versions",
    ],
)
def test_axe_finds_nothing_and_nothing_runs_out_of_the_page(
    page: playwright.Page, studio: ServedStudio, address: str
) -> None:
    page.goto(studio.address + address)
    assert_accessible_and_fitting(page)
