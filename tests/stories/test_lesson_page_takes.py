"""A take recorded by the lesson page itself, opened from the disk without a network, and answered."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from reedpath.jobs.answering import answer_recording
from reedpath.jobs.lesson_pages import lesson_page
from reedpath.lesson import make_lesson
from reedpath.signal import Samples, concatenated, decode, encode, silence
from reedpath.sound import lay_out
from support.browsers import NEEDS_BROWSER, SIZES, VIOLATIONS, started_browser
from support.built_routes import built_route
from support.glued_takes import RATE, Manner, glue, perform

pytestmark = NEEDS_BROWSER

ROUTE = built_route("2d:1 3d':1 4d:1 4b:1", key="C", bpm=140)
TITLE = 'Four steps: up/down "invented"'
# heights of the drawn lines' points, and of the sounds that are asked
DRAWN = """() => {
  const { heard, signs } = JSON.parse(document.getElementById('lesson').textContent);
  const lines = [...document.querySelectorAll('.heard path:not(.take_ground)')].map((one) => one.getAttribute('d'));
  return [signs.map((sign) => heard.signs[sign][0][1]),
    lines.flatMap((one) => one.slice(1).split('L').map((point) => point.split(' ').map(Number)))];
}"""


def test_a_take_is_recorded_drawn_saved_and_heard_by_the_teacher(tmp_path: Path) -> None:
    lesson = make_lesson(ROUTE, title=TITLE)
    page_file = tmp_path / "lesson.html"
    page_file.write_bytes(lesson_page(lesson))
    layout = lay_out(lesson, lesson.ladder[-1])
    manner = Manner(jitter=0.0, detuned=0.0, slur=0.0, slide=0.0)
    deeds = perform(ROUTE, np.random.default_rng(1), manner=manner, start=layout.zero_seconds)
    sound = glue(ROUTE, deeds, rng=np.random.default_rng(2)).samples
    microphone = tmp_path / "microphone.wav"
    played = concatenated([Samples(sound.array[:, :1], RATE), silence(2.0, rate=RATE)])
    microphone.write_bytes(encode(played, bits=16))
    width, height = SIZES["small phone"]
    with started_browser(microphone=microphone) as browser:
        context = browser.new_context(viewport={"width": width, "height": height}, offline=True, locale="en-GB")
        page, said = context.new_page(), []
        page.on("console", lambda message: said.append(message.text))
        page.on("pageerror", lambda error: said.append(str(error)))
        page.goto(page_file.as_uri())
        page.click(f"label[for=rung-{len(lesson.ladder) - 1}]")
        page.click("#record")
        page.wait_for_selector("#record[aria-pressed=true]")
        page.wait_for_selector("#save-take", state="visible")
        page.evaluate(pytest.importorskip("axe_playwright_python.base", reason="no axe-playwright-python").AXE_SCRIPT)
        assert page.evaluate(VIOLATIONS) == []
        with page.expect_download() as saved:
            page.click("#save-take")
        take = tmp_path / saved.value.suggested_filename
        saved.value.save_as(take)
        asked, points = page.evaluate(DRAWN)
        assert said == []
    assert take.name.startswith("Four steps up down invented")
    assert take.suffix == ".wav"
    assert decode(take.read_bytes()).channels == 1
    answer = answer_recording(take, lesson).answer
    assert answer.plays[answer.best].right_share == 1.0
    for y in asked:
        assert sum(abs(y - own) < 0.1 for _, own in points) >= 3
