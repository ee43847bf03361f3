"""Rehearsing in a real browser whose microphone is a sound file: a lesson played along with, a bend held."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext
from pathlib import Path
from typing import TypeAlias

import numpy as np
import pytest

from reedpath.jobs.shelves import shelf_at
from reedpath.lesson import encode_lesson, make_lesson
from reedpath.shelf import LessonToKeep, add_lesson_version
from reedpath.signal import Samples, concatenated, decode, encode, silence
from support.browsers import NEEDS_BROWSER, playwright, started_browser, wait
from support.built_routes import built_route
from support.glued_takes import RATE, Manner, glue, perform
from support.studios import ServedStudio, assert_accessible_and_fitting, served_studio, studio_page

pytestmark = NEEDS_BROWSER

ROUTE = built_route("2d:1 3d':1 4d:1 4b:1", key="C", bpm=140)
# seconds of silence before the notes: they go round and round, fast enough to be played twice while it is recorded
BEFORE = 0.5


def played(route, *, before: float) -> Samples:
    """A route on recorded notes, after a silence."""
    manner = Manner(jitter=0.0, detuned=0.0, slur=0.0, slide=0.0)
    deeds = perform(route, np.random.default_rng(1), manner=manner, start=0.1)
    sound = glue(route, deeds, rng=np.random.default_rng(2)).samples
    return concatenated([silence(before, rate=RATE), Samples(sound.array[:, :1], RATE)])


@pytest.fixture(scope="module")
def studio(tmp_path_factory) -> Iterator[ServedStudio]:
    path = tmp_path_factory.mktemp("studio") / "shelf.sqlite"
    lesson = make_lesson(ROUTE, title="Four steps (invented)")
    with shelf_at(path, make=True) as shelf, shelf.step("add"):
        add_lesson_version(shelf, LessonToKeep(lesson.title, encode_lesson(lesson)))
    with served_studio(path) as served:
        yield served


@pytest.fixture(scope="module")
def driver() -> Iterator[playwright.Playwright]:
    with playwright.sync_playwright() as one:
        yield one


@pytest.fixture(scope="module")
def refusing(driver: playwright.Playwright) -> Iterator[playwright.Browser]:
    """A browser that refuses its microphone."""
    with started_browser(driver=driver) as browser:
        yield browser


Opened: TypeAlias = Callable[..., AbstractContextManager[playwright.Page]]


@pytest.fixture
def opened(studio: ServedStudio, driver: playwright.Playwright, refusing: playwright.Browser) -> Opened:
    """A page of a browser with a file as its microphone; None for a browser that refuses it."""

    @contextmanager
    def page_of(microphone: Path | None, *, locale: str = "en-GB", before: str = "") -> Iterator[playwright.Page]:
        hearing = (
            nullcontext(refusing) if microphone is None else started_browser(microphone=microphone, driver=driver)
        )
        with hearing as browser, studio_page(studio, browser, before=before, locale=locale) as page:
            yield page

    return page_of


def test_a_lesson_is_played_along_with_and_answered(opened: Opened, studio: ServedStudio, tmp_path: Path) -> None:
    microphone = tmp_path / "take.wav"
    microphone.write_bytes(encode(played(ROUTE, before=BEFORE), bits=16))
    with opened(microphone) as page:
        page.goto(studio.address + "/rehearse/lessons/1?rung=slow&harmonica=no&click=yes")
        page.click("#begin")
        page.wait_for_selector("#stop:not([hidden])")
        wait(page, "document.getElementById('cents').textContent !== ''")
        page.wait_for_selector("#answer:not([hidden])")
        assert page.get_attribute("#answer", "data-right") == "4"
        assert "4 of 4 notes are as asked" in page.inner_text("#answer")
        wait(page, "document.getElementById('answer-picture').naturalWidth > 100")
        assert float(page.get_attribute("#delay", "data-count") or 0) > 100
        assert page.is_hidden("#changed")  # what browsers do to speech is off


GATE = """async () => {
  const { Gate } = await import("/static/rehearse/line.js");
  const gate = new Gate();
  const at = [[0, 0], [11, 0], [12, 0], [8, 0], [5, 0], [4, 0], [0, 99999], [0, 5000], [0, 4000]];
  return [at.map(([waiting, bytes]) => gate.letsPass(waiting, bytes)), gate.dropped];
}"""
TAKE = """async () => {
  const { Take } = await import("/static/rehearse/recording.js");
  const take = new Take(48000);
  for (let block = 0; block < 10; block += 1) take.add(new Float32Array(256).fill(block / 10 - 0.5));
  take.add(new Float32Array(256).fill(7));
  return [...new Uint8Array(await take.file().arrayBuffer())];
}"""


def test_what_is_late_is_dropped_until_the_line_is_clear_and_the_take_keeps_all(
    opened: Opened, studio: ServedStudio
) -> None:
    with opened(None) as page:
        passes, dropped = page.evaluate(GATE)
        assert passes == [True, True, False, False, False, True, False, False, True]
        assert dropped == 5
        sound = decode(bytes(page.evaluate(TAKE)))
    assert (sound.rate, sound.frames) == (48_000, 11 * 256)
    assert np.allclose(sound.array[::256, 0], [*np.arange(-0.5, 0.45, 0.1), 1.0], atol=1e-4)


def test_a_bend_is_held_in_tune(opened: Opened, studio: ServedStudio, tmp_path: Path) -> None:
    microphone = tmp_path / "bend.wav"
    held = built_route("3d'':6", key="A", bpm=120)
    microphone.write_bytes(encode(played(held, before=1.0), bits=16))
    with opened(microphone) as page:
        page.goto(studio.address + "/rehearse/long-notes?harp=A&move=-3''")
        page.click("#begin")
        page.wait_for_selector("#longest[data-seconds]")
        page.wait_for_selector("#sitting li", state="attached")
        assert 0.5 < float(page.get_attribute("#longest", "data-seconds") or 0) < 3.6
        wait(page, "document.getElementById('heard').textContent === \"-3''\"")
        page.click("#stop")
        page.wait_for_selector("#begin:not([hidden])")


def test_a_refused_microphone_is_told_with_what_to_do(opened: Opened, studio: ServedStudio) -> None:
    with opened(None, locale="fr-FR") as page:
        page.goto(studio.address + "/rehearse/long-notes")
        page.click("#begin")
        page.wait_for_selector("#wrong:not([hidden])")
        assert "micro" in page.inner_text("#wrong").lower()
        assert page.is_visible("#begin")


def test_what_the_browser_does_to_the_sound_and_a_microphone_that_is_gone_are_told(
    opened: Opened, studio: ServedStudio, tmp_path: Path
) -> None:
    microphone = tmp_path / "silence.wav"
    microphone.write_bytes(encode(silence(1.0, rate=RATE), bits=16))
    before = """
      const settings = MediaStreamTrack.prototype.getSettings;
      MediaStreamTrack.prototype.getSettings = function () {
        globalThis.track = this;
        return { ...settings.call(this), noiseSuppression: true };
      };
    """
    with opened(microphone, before=before) as page:
        page.goto(studio.address + "/rehearse/long-notes")
        page.click("#begin")
        page.wait_for_selector("#stop:not([hidden])")
        assert "noise suppression" in page.inner_text("#changed")
        page.evaluate("track.dispatchEvent(new Event('ended'))")
        page.wait_for_selector("#wrong:not([hidden])")
        assert "gone" in page.inner_text("#wrong")
        assert page.is_visible("#begin")


@pytest.mark.parametrize(
    ("error", "told"),
    [
        ("NotFoundError", "No microphone was found"),
        ("NotReadableError", "another program"),
        ("Strange", "in an up-to-date browser"),
    ],
)
def test_why_there_is_no_microphone_is_told(opened: Opened, studio: ServedStudio, error: str, told: str) -> None:
    before = f"""
      const error = Object.assign(new Error("no"), {{ name: "{error}" }});
      navigator.mediaDevices.getUserMedia = () => Promise.reject(error);
    """
    with opened(None, before=before) as page:
        page.goto(studio.address + "/rehearse/lessons/1?rung=full")
        page.click("#begin")
        page.wait_for_selector("#wrong:not([hidden])")
        assert told in page.inner_text("#wrong")


@pytest.mark.parametrize("address", ["/rehearse", "/rehearse/lessons/1?rung=full", "/rehearse/long-notes"])
def test_axe_finds_nothing_and_nothing_runs_out_of_the_page(
    opened: Opened, studio: ServedStudio, address: str
) -> None:
    with opened(None) as page:
        page.goto(studio.address + address)
        page.wait_for_selector("meta[http-equiv]", state="detached")
        assert_accessible_and_fitting(page)
