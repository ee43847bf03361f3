"""The workbench in a real browser: typed, settled, pinned, cut into parts, recorded, kept; and there again."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from reedpath.arrange import find_route
from reedpath.harp import make_harp
from reedpath.lesson import make_lesson
from reedpath.signal import encode
from reedpath.sound import PlayAlong, play_along
from support.browsers import NEEDS_BROWSER, playwright, started_browser
from support.built_phrases import line_of
from support.records import record
from support.studios import ServedStudio, assert_accessible_and_fitting, in_language, served_studio, studio_page

pytestmark = NEEDS_BROWSER

HEAD = "X:1\nT:Two Gates (invented)\nM:4/4\nL:1/8\nQ:1/4=96\nK:C\n"
TUNE = HEAD + "C2 E2 G2 c2 | B2 G2 E2 D2 | C2 DE F2 G2 | A2 G2 C4 |\n"


@pytest.fixture(scope="module")
def studio(tmp_path_factory) -> Iterator[ServedStudio]:
    with served_studio(tmp_path_factory.mktemp("studio") / "shelf.sqlite") as served:
        yield served


@pytest.fixture(scope="module")
def hummed(tmp_path_factory) -> Path:
    """A recording of four notes, which the browser takes for its microphone."""
    lesson = make_lesson(find_route(line_of("C4 E4 G4 E4", bpm=90.0), make_harp("C")))
    path = tmp_path_factory.mktemp("sound") / "hummed.wav"
    played = play_along(lesson, lesson.ladder[-1], PlayAlong(count_in_bars=0))
    path.write_bytes(encode(played, bits=16))  # as the browser's microphone of a file wants it
    return path


@pytest.fixture(scope="module")
def browser(hummed: Path) -> Iterator[playwright.Browser]:
    with started_browser(microphone=hummed) as opened:
        yield opened


@pytest.fixture
def page(studio: ServedStudio, browser: playwright.Browser) -> Iterator[playwright.Page]:
    with studio_page(studio, browser) as opened:
        begin(opened, studio)
        yield opened


def begin(page: playwright.Page, studio: ServedStudio) -> None:
    """An empty workbench, its scripts at work."""
    page.goto(studio.address + "/workbench")
    page.click("button:has-text('Put it on the workbench')")
    page.wait_for_selector(".bench[data-number]")


def typed(page: playwright.Page, text: str, notes: int) -> None:
    page.fill("#text", text)
    page.wait_for_selector(f".bench-tab [data-note='{notes - 1}']")


def moves(page: playwright.Page) -> list[str]:
    return page.locator(".bench-tab .note").all_inner_texts()


def under_the_staff(page: playwright.Page) -> list[str]:
    return page.locator("#staff .syl").all_text_contents()


def test_typed_marked_settled_pinned_cut_and_there_again(page: playwright.Page, studio: ServedStudio) -> None:
    typed(page, TUNE, 16)
    assert page.inner_text("#bench-title") == "Two Gates (invented)"
    page.fill("#text", TUNE.replace("A2 G2 C4", "[A2 G2 C4"))
    page.wait_for_selector("#text-problem .error")
    assert page.inner_text("#marks mark") == "|"
    assert "Close the chord" in page.inner_text("#text-problem")
    assert len(moves(page)) == 16
    page.fill("#text", TUNE)
    page.wait_for_selector("#text-problem .error", state="detached")
    page.select_option("[data-key=harp]", "C")
    page.wait_for_selector("text=C harp")
    page.select_option("[data-key=shift]", "0")
    page.wait_for_selector("[data-panel=facts] >> text=as written")
    # a note chosen on the ribbon is chosen on staff and tab; another way of it is pinned
    page.click("#ribbon [data-event='2']")
    page.wait_for_selector("#note h3:has-text('Note 3:')")
    page.wait_for_selector("#ribbon [data-event='2'].chosen")
    page.wait_for_selector("#staff #e2.chosen")
    before = moves(page)
    page.click("#note .ways button >> nth=0")
    page.wait_for_selector(".bench-tab [data-note='2'].held-pin")
    after = moves(page)
    assert {before[2], after[2]} == {"-2", "+3"}
    assert "played differently from before" in page.inner_text("[data-panel=facts]")
    changed = [index for index in range(16) if before[index] != after[index]]
    assert page.locator(".bench-tab .changed").count() >= len(changed) > 0
    assert under_the_staff(page) == after
    # notes are marked as a part by the keyboard
    page.focus(".bench-tab [data-note='2']")
    for _ in range(3):
        page.keyboard.press("Shift+ArrowRight")
    assert page.input_value("#mark-from") == "3"
    assert page.input_value("#mark-to") == "6"
    page.fill("[data-key='mark label']", "Gate")
    page.click("[data-key=mark]")
    page.wait_for_selector("[data-key='name 1']")
    assert page.input_value("[data-key='name 1']") == "Gate"
    page.wait_for_selector("#ribbon >> text=Gate")
    page.click("button:has-text('Keep on the shelf')")
    page.wait_for_selector("text=Two Gates (invented) is on the shelf.")
    page.reload()
    page.wait_for_selector(".bench[data-number]")
    assert moves(page) == after
    assert page.input_value("[data-key='name 1']") == "Gate"
    assert page.locator(".bench-tab .held-pin").count() == 1
    page.click("#undo")
    page.wait_for_selector("[data-key='name 1']", state="detached")


def test_what_a_switch_costs_is_said_and_the_harps_are_surveyed(page: playwright.Page) -> None:
    typed(page, TUNE.replace("F2 G2", "F2 ^F2"), 16)
    page.wait_for_selector(".survey tr.chosen")
    page.wait_for_selector(".trade .chosen")
    page.wait_for_selector("[data-panel=switches] small:has-text('point')", state="attached")
    page.click("[data-key='technique draw_bends']")
    page.wait_for_selector("[data-key='technique draw_bends'][aria-pressed=false]")
    page.click(".survey tbody tr:not(.chosen) button >> nth=0")
    page.wait_for_selector("[data-panel=facts] small:has-text('proposed')", state="detached")


def test_a_part_is_dragged_over_and_played(page: playwright.Page) -> None:
    typed(page, TUNE, 16)
    page.locator(".bench-tab").scroll_into_view_if_needed()
    first, last = (page.locator(f".bench-tab [data-note='{index}']").bounding_box() for index in (4, 7))
    assert first is not None
    assert last is not None
    page.mouse.move(first["x"] + 8, first["y"] + 8)
    page.mouse.down()
    page.mouse.move(last["x"] + 8, last["y"] + 8, steps=6)
    page.mouse.up()
    assert (page.input_value("#play-from"), page.input_value("#play-to")) == ("5", "8")
    page.fill("#play-bpm", "140")
    page.click("#play-form button")
    page.wait_for_selector("#sound[src*='/sounds/']")
    page.wait_for_selector(".bench-tab .sounds")


def test_what_the_microphone_heard_is_written_down_and_put_right(page: playwright.Page) -> None:
    page.click("#record")
    page.wait_for_selector("#record[aria-pressed=true]")
    page.wait_for_timeout(4000)
    page.click("#record")
    page.wait_for_selector("#wave")
    page.wait_for_selector(".bench[data-number]")
    page.click("#hear-form button:has-text('Write down')")
    page.wait_for_selector("#wave-notes rect", state="attached")
    heard = page.locator(".bench-tab .note").count()
    assert heard >= 3
    page.click(".bench-tab [data-note='1']")
    page.click("button:has-text('Not a note')")
    page.wait_for_selector(f".bench-tab [data-note='{heard - 1}']", state="detached")
    assert page.locator("#wave-notes rect").count() == heard - 1


@pytest.mark.slow
def test_the_lead_of_a_record_is_followed_and_what_is_doubtful_compared(
    page: playwright.Page, tmp_path: Path
) -> None:
    path = tmp_path / "a record.wav"
    path.write_bytes(encode(record(lead_gain=0.35), bits=16))  # so soft that some of its notes are doubtful
    page.set_input_files("#file", path)
    page.wait_for_selector("#wave")
    page.wait_for_selector(".bench[data-number]")
    page.check("#hear-lead")
    assert all(page.is_disabled(f"#hear-{name}") for name in ("harp", "chords", "octaves"))
    # stopped, nothing of it comes; begun again, it is told how far it is
    page.click("#hear-form button:has-text('Write down')")
    page.click("#hear-job button:has-text('Stop')")
    page.wait_for_selector("#hear-job", state="hidden")
    assert page.locator(".bench-tab .note").count() == 0
    page.click("#hear-form button:has-text('Write down')")
    page.wait_for_selector("#hear-job:has-text('Following the lead')")
    page.wait_for_selector(".bench-tab .note")
    page.wait_for_selector("#hear-job", state="hidden")
    doubtful = page.locator(".bench-tab .doubtful")
    count = doubtful.count()
    assert count >= 2
    assert page.locator("#wave-notes .doubtful").count() == count
    last = doubtful.last.get_attribute("data-note")
    assert "may be misheard" in (doubtful.last.get_attribute("aria-label") or "")
    doubtful.last.click()
    page.wait_for_selector(f"#note h3:has-text('Note {int(last or 0) + 1}:')")
    page.click("#note button:has-text('Listen to it in the recording')")
    page.wait_for_function("document.getElementById('source-audio').currentTime > 1")
    page.click("#note button:has-text('It is right as heard')")
    page.wait_for_selector(f".bench-tab [data-note='{last}']:not(.doubtful)")
    page.click("#note button:has-text('Next doubtful note')")
    page.wait_for_selector(".bench-tab .doubtful.chosen")
    page.wait_for_selector("#note .doubt")
    page.click("#note button:has-text('Half step up')")
    page.wait_for_selector(".bench-tab .doubtful.chosen", state="detached")
    assert doubtful.count() == count - 2
    assert page.is_checked("#hear-lead")
    assert_accessible_and_fitting(page)


@pytest.mark.parametrize("language", ["en", "fr"])
def test_axe_finds_nothing_and_nothing_runs_out_of_the_page(
    page: playwright.Page, studio: ServedStudio, language: str
) -> None:
    bench = page.url
    with in_language(page, studio, language):
        page.goto(bench)
        page.wait_for_selector(".bench[data-number]")
        typed(page, TUNE, 16)
        page.click(".bench-tab [data-note='3']")
        page.wait_for_selector("#note h3")
        page.wait_for_selector(".survey figure")
        assert_accessible_and_fitting(page)
        page.goto(studio.address + "/workbench")
        assert_accessible_and_fitting(page)


def test_the_workbench_works_before_any_script_runs(studio: ServedStudio, browser: playwright.Browser) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(studio.way_in())
    page.wait_for_url(studio.address + "/")
    page.goto(studio.address + "/workbench")
    page.fill("textarea", TUNE)
    page.click("button:has-text('Put it on the workbench')")
    assert len(moves(page)) == 16
    page.click(".bench-tab .note >> nth=2")
    assert "Note 3:" in page.inner_text("#note")
    page.select_option("select[name=harp]", "D")
    page.click("[data-panel=choose] button:has-text('Use this')")
    assert "D harp" in page.inner_text("[data-panel=facts]")
    context.close()
