"""The lesson page in a real browser, opened from the disk without a network, as a student has it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from reedpath.harp import make_harp, reed_targets
from reedpath.jobs import HarpChoice, LessonWishes, RouteRequest, read_source
from reedpath.jobs.lesson_pages import lesson_page
from reedpath.jobs.lessons import lesson_from
from reedpath.jobs.many_lessons import make_lesson_index
from reedpath.lesson import Lesson, encode_lesson
from reedpath.page import load_palette
from reedpath.page.takes import (
    CommonPlace,
    LastTime,
    TakesOverview,
    ToldTake,
    TriedLesson,
    UnansweredTake,
    encode_takes_page,
)
from reedpath.page.takes.overview import TakeChange, WhyUnanswered
from reedpath.page.web.assets import module_text
from reedpath.sound import lay_out
from reedpath.wording import load_catalogue
from support.browsers import NEEDS_BROWSER, SIZES, VIOLATIONS, playwright, started_browser, wait
from support.svg_contrast import BACKINGS, LOST

pytestmark = NEEDS_BROWSER

TUNE = """X:1
T:Stepping stones (invented for this test)
M:4/4
L:1/8
Q:1/4=120
K:G
P:A
G2 B2 d2 g2 | f2 d2 B2 z2 |
P:B
D2 G2 _B2 G2 | c2 _B2 G4 |
P:A
G2 B2 d2 g2 | f2 d2 B2 z2 |
"""
HOSTILE = "</script><script>window.stung = 1</script>\"'><img src=x onerror='window.stung=2'>{$title}&amp;\\u2028"


@dataclass
class Open:
    """A page that is open, and what it said or asked for."""

    page: playwright.Page
    said: list[str]
    asked: list[str]

    def tap(self, name: str) -> None:
        """Tap the button of that id."""
        self.page.click(f"#{name}")

    def choose(self, group: str, value: int | str) -> None:
        """Choose one of several, as a finger does."""
        self.page.click(f"label[for={group}-{value}]")

    def sound(self, name: str) -> float:
        """A property of the audio element."""
        return self.page.evaluate(f"document.getElementById('sound').{name}")

    def seek(self, seconds: float) -> None:
        """Put the sound at a time, as if it had come there by itself."""
        self.page.evaluate("t => { document.getElementById('sound').currentTime = t }", seconds)

    def wait(self, condition: str, *, seconds: float = 30.0) -> None:
        """Wait until a condition on the audio element, ``sound``, holds."""
        holds = f"(() => {{ const sound = document.getElementById('sound'); return {condition} }})()"
        wait(self.page, holds, seconds=seconds)

    def shown_event(self) -> int:
        """The event in the middle of attention."""
        return int(self.page.get_attribute(".strip", "aria-valuenow") or 0) - 1


@pytest.fixture(scope="module")
def lesson() -> Lesson:
    read = read_source(TUNE.encode(), name="stones.abc")
    return lesson_from(read, RouteRequest(harp=HarpChoice(key="C")), LessonWishes())


@pytest.fixture(scope="module")
def written(lesson, tmp_path_factory) -> str:
    path = tmp_path_factory.mktemp("page") / "lesson.html"
    path.write_bytes(lesson_page(lesson))
    return path.as_uri()


@pytest.fixture(scope="module")
def browser() -> Iterator[playwright.Browser]:
    with started_browser() as one:
        yield one


@pytest.fixture
def opened(browser, written) -> Iterator:
    """Open the page; when the test is over, it must not have complained, nor asked for anything outside itself."""
    pages: list[Open] = []

    def open_page(size: str = "small phone", *, address: str = written, **wishes: object) -> Open:
        width, height = SIZES[size]
        settings = {
            "locale": "en-GB",
            "offline": True,
            "has_touch": size != "desktop",
            "is_mobile": size != "desktop",
        }
        context = browser.new_context(viewport={"width": width, "height": height}, **(settings | wishes))
        one = Open(context.new_page(), [], [])
        one.page.on("console", lambda message: one.said.append(message.text))
        one.page.on("pageerror", lambda error: one.said.append(str(error)))
        one.page.on("request", lambda request: one.asked.append(request.url))
        one.page.goto(address)
        pages.append(one)
        return one

    yield open_page
    for one in pages:
        one.page.context.close()
        assert one.said == []
        assert [url for url in one.asked if not re.match(r"(file:///.*lesson\.html|blob:null/|data:)", url)] == []


# ------------------------------------------------------------------------------------------------ sound and light

WATCH = """async (seconds) => {
  const sound = document.getElementById('sound');
  const seen = [];
  const until = performance.now() + seconds * 1000;
  while (performance.now() < until) {
    await new Promise(requestAnimationFrame);
    const before = sound.currentTime;
    const lit = [...document.querySelectorAll('.strip .event')]
      .filter((one) => getComputedStyle(one.querySelector('.halos')).display !== 'none')
      .map((one) => Number(one.dataset.event));
    const holes = [...document.querySelectorAll('.harp .lit')]
      .filter((one) => getComputedStyle(one).display !== 'none').length;
    seen.push([before, lit, holes, document.querySelector('.strip').scrollLeft]);
  }
  return seen;
}"""
# seconds for which the light may lag behind the sound's clock: two frames of the screen and the browser's own
LAG = 0.06


@pytest.mark.parametrize("size", SIZES)
def test_signs_and_words_keep_apart_and_nothing_under_them_jumps(opened, lesson, size):
    one = opened(size, locale="fr-FR")
    seen = set()
    for _ in lesson.route.events:
        sign, said, ribbon = (one.page.locator(part).bounding_box() for part in (".current", ".said", ".ribbon"))
        is_beside = said["x"] >= sign["x"] + sign["width"]
        assert is_beside or sign["y"] + sign["height"] <= said["y"] + 1
        seen.add((ribbon["y"], ribbon["height"]))
        one.tap("next")
    assert len(seen) == 1


def test_what_is_lit_is_what_sounds(opened, lesson):
    one = opened()
    one.page.uncheck("#count-in")
    one.choose("rung", len(lesson.ladder) - 1)
    layout = lay_out(lesson, lesson.ladder[-1])
    spans = [(layout.zero_seconds + s.start_seconds, layout.zero_seconds + s.end_seconds) for s in layout.plan.spans]
    one.tap("play")
    seen = one.page.evaluate(WATCH, 4.0)
    judged = late = 0
    for (earlier, *_), (seconds, lit, holes, _) in pairwise(seen):
        # between two frames, however far apart a busy machine draws them, the same note or none is to be heard
        inside = [i for i, (start, end) in enumerate(spans) if start + LAG < earlier and seconds < end - LAG]
        silent = all(end + LAG < earlier or seconds < start - LAG for start, end in spans)
        if not inside and not silent:
            continue
        judged += 1
        if lit == inside:
            assert holes == len(lit)
        else:
            # nothing but what was to be heard just before, as where a busy machine lets the sound leap
            over = [i for i, (_, end) in enumerate(spans) if end <= seconds]
            assert lit in ([], over[-1:]), seconds
            late += 1
    assert judged >= 6
    assert late <= judged / 10
    assert len({lit[0] for _, lit, _, _ in seen if lit}) >= 6


def test_the_strip_runs_under_its_line_in_time(opened, lesson):
    one = opened()
    one.page.uncheck("#count-in")
    one.tap("play")
    seen = [(seconds, left) for seconds, lit, _, left in one.page.evaluate(WATCH, 3.0)]
    assert all(after[1] >= before[1] - 0.5 for before, after in pairwise(seen))
    assert len({left for _, left in seen}) > 40
    # a note's left edge passes the line as it begins
    layout = lay_out(lesson, lesson.ladder[0])
    starts = [layout.zero_seconds + span.start_seconds for span in layout.plan.spans]
    edges = one.page.evaluate(
        """() => { const line = document.querySelector('.line').getBoundingClientRect();
          const strip = document.querySelector('.strip');
          return [...strip.querySelectorAll('.event')].map((one) => strip.scrollLeft
            + one.querySelector('path.blow, path.draw').getBoundingClientRect().left - line.left - 2) }"""
    )
    for index in (1, 2):
        left = np.interp(starts[index], [s for s, _ in seen], [x for _, x in seen])
        assert left == pytest.approx(edges[index], abs=6)


HEAR = """async (wait) => {
  const sound = document.getElementById('sound');
  window.ear ??= (() => {
    const context = new AudioContext();
    const ear = context.createAnalyser();
    ear.fftSize = 8192;
    context.createMediaElementSource(sound).connect(ear);
    ear.connect(context.destination);
    return ear;
  })();
  await new Promise((done) => setTimeout(done, wait));
  const wave = new Float32Array(window.ear.fftSize);
  window.ear.getFloatTimeDomainData(wave);
  return [window.ear.context.sampleRate, sound.currentTime, [...wave]];
}"""


def heard_hz(rate: float, wave: list[float]) -> float:
    """Pitch of a wave by its autocorrelation, the shortest of the lags that are nearly best."""
    sound = np.asarray(wave) - np.mean(wave)
    spectrum = np.abs(np.fft.rfft(sound, 2 * len(sound))) ** 2
    likeness = np.fft.irfft(spectrum)[: len(sound)] / np.arange(len(sound), 0, -1)
    low, high = int(rate / 1500), int(rate / 150)
    lags = np.arange(low, high)
    peaks = lags[(likeness[lags] > likeness[lags - 1]) & (likeness[lags] >= likeness[lags + 1])]
    best = peaks[likeness[peaks] > 0.93 * likeness[peaks].max()][0]
    a, b, c = likeness[best - 1 : best + 2]
    return rate / (best + 0.5 * (a - c) / (a - 2 * b + c))


def cents_off(hz: float, midi: int) -> float:
    return 1200 * np.log2(hz / 440.0) - 100 * (midi - 69)


@pytest.mark.parametrize("slowest", [False, True], ids=["at its tempo", "slowed to 40 %"])
def test_the_sound_heard_is_the_note_that_is_lit(opened, lesson, slowest):
    """Through the browser's own decoder, after a jump to each note: neither the jump nor slowing moves the pitch."""
    one = opened()
    one.page.uncheck("#count-in")
    if slowest:
        one.page.evaluate("document.getElementById('slower').focus()")
        one.page.keyboard.press("End")
        assert one.sound("playbackRate") == 0.4
        assert one.sound("preservesPitch") is True
    one.tap("play")
    for index in (0, 3, 5, 8, 11):
        one.page.evaluate(f"document.querySelector('.strip .event[data-event=\"{index}\"]').dispatchEvent("
                          "new MouseEvent('click', {bubbles: true}))")  # fmt: skip
        rate, _, wave = one.page.evaluate(HEAR, 700 if slowest else 380)
        assert abs(cents_off(heard_hz(rate, wave), lesson.route.sounding_midi(index)[0])) < 30, index


def test_a_part_is_looped_from_its_first_note_to_where_the_next_part_begins(opened, lesson):
    one = opened()
    one.page.uncheck("#count-in")
    one.choose("rung", len(lesson.ladder) - 1)
    part = lesson.parts[1]
    one.page.locator(".practise:visible").nth(1).click()
    layout = lay_out(lesson, lesson.ladder[-1])
    start = layout.zero_seconds + layout.plan.spans[part.first].start_seconds
    end = layout.zero_seconds + layout.plan.spans[part.last + 1].start_seconds
    assert one.page.get_attribute("#again", "aria-pressed") == "true"
    one.page.wait_for_timeout(300)
    for _ in range(2):  # two rounds, the middle of each passed over
        one.seek(end - 0.4)
        times = [seconds for seconds, *_ in one.page.evaluate(WATCH, 0.8)]
        assert start - 0.05 <= min(times) < start + 0.1
        assert max(times) < end + 0.15
        assert any(after < before for before, after in pairwise(times))
    assert one.sound("paused") is False


def test_the_count_in_comes_before_every_round_and_is_counted_in_figures(opened, lesson):
    one = opened()
    one.choose("rung", len(lesson.ladder) - 1)
    part = lesson.parts[1]
    one.page.locator(".practise:visible").nth(1).click()
    assert one.page.is_checked("#count-in")
    layout = lay_out(lesson, lesson.ladder[-1])
    start = layout.zero_seconds + layout.plan.spans[part.first].start_seconds
    count = """async () => { const seen = new Set(); const until = performance.now() + 1900;
      while (performance.now() < until) { await new Promise(requestAnimationFrame);
        seen.add(document.querySelector('.count').textContent) } return [...seen].filter(Boolean) }"""
    assert one.page.evaluate(count) == ["1", "2", "3", "4"]
    one.wait(f"sound.currentTime > {start - 0.05}")
    assert one.sound("currentTime") == pytest.approx(start, abs=0.35)
    one.seek(layout.zero_seconds + layout.plan.spans[part.last].end_seconds - 0.1)
    one.wait("sound.currentTime < 1")


def test_the_student_plays_alone_or_in_turn_with_the_harmonica(opened, lesson):
    one = opened()
    one.choose("rung", len(lesson.ladder) - 1)
    layout = lay_out(lesson, lesson.ladder[-1])
    start, end = (layout.zero_seconds + layout.plan.spans[index].start_seconds for index in (0, -1))
    one.choose("turns", "yours")
    one.tap("play")
    one.wait("sound.currentTime > 0.3")
    assert one.sound("muted") is False  # the count-in is heard
    one.wait(f"sound.currentTime > {start + 0.1}")
    assert one.sound("muted") is True
    one.page.wait_for_selector(".turn", state="visible", timeout=2000)
    assert one.page.inner_text(".turn") == "Your turn"
    one.tap("play")
    assert one.sound("muted") is False
    one.page.wait_for_selector(".turn", state="hidden", timeout=2000)
    one.page.uncheck("#count-in")
    one.choose("turns", "call")
    assert one.page.get_attribute("#again", "aria-pressed") == "true"
    one.tap("restart")
    one.tap("play")
    for is_muted in (False, True, False):
        one.wait(f"sound.currentTime > {start + 0.05} && sound.currentTime < {end}")
        one.page.wait_for_timeout(60)
        assert one.sound("muted") is is_muted
        one.seek(layout.zero_seconds + layout.plan.spans[-1].end_seconds - 0.1)
        one.page.wait_for_timeout(400)


def test_a_stretch_of_ones_own_is_played_once_and_stops(opened, lesson):
    one = opened()
    one.page.uncheck("#count-in")
    one.choose("rung", len(lesson.ladder) - 1)
    for _ in range(2):
        one.tap("next")
    one.tap("from-here")
    one.tap("next")
    one.tap("to-here")
    assert one.page.is_checked("#stretch-" + str(one.page.locator("input[name=stretch]").count() - 1))
    assert "4 draw" in one.page.inner_text("#own-place").lower()
    one.tap("restart")
    one.tap("play")
    one.wait("sound.paused", seconds=6)
    layout = lay_out(lesson, lesson.ladder[-1])
    start = layout.zero_seconds + layout.plan.spans[2].start_seconds
    assert one.sound("currentTime") == pytest.approx(start, abs=0.06)
    assert one.shown_event() == 2


FACES = """async (seconds) => {
  const seen = [];
  const until = performance.now() + seconds * 1000;
  while (performance.now() < until) {
    await new Promise(requestAnimationFrame);
    const lit = document.querySelector('.strip .event.sounding');
    const said = document.querySelector('.said').textContent;
    seen.push([document.querySelector('.count').textContent, said, lit ? Number(lit.dataset.event) : -1]);
  }
  return seen;
}"""


def test_after_the_count_in_no_other_note_is_shown_than_the_one_to_begin_with(opened, lesson):
    """Also where the note before goes on to the very moment: a jump lands a little early, and it is not lit."""
    one, begun = opened(), 4
    one.choose("rung", len(lesson.ladder) - 1)
    before, event = lesson.route.events[begun - 1].event, lesson.route.events[begun].event
    assert before.end == event.onset
    for _ in range(begun):
        one.tap("next")
    asked = one.page.inner_text(".said")
    assert one.page.get_attribute(".strip", "aria-valuenow") == str(begun + 1)
    one.tap("play")
    seen = one.page.evaluate(FACES, 2.6)
    first = next(index for index, (_, _, lit) in enumerate(seen) if lit >= 0)
    assert {said for _, said, _ in seen[: first + 1]} == {asked}
    assert seen[first][2] == begun
    one.tap("play")
    one.page.locator(".practise:visible").nth(1).click()
    assert one.page.get_attribute(".strip", "aria-valuenow") == str(lesson.parts[1].first + 1)


def test_practising_on_a_phone_keeps_a_sign_the_count_and_the_marked_step_in_view(opened, lesson):
    one, part = opened(locale="en-GB", reduced_motion="reduce"), lesson.parts[1]
    one.page.set_viewport_size({"width": 360, "height": 640})
    assert one.page.is_hidden(".brief")
    one.choose("rung", len(lesson.ladder) - 1)
    one.page.locator(".practise:visible").nth(1).click()
    one.page.wait_for_selector(".brief", state="visible")
    one.wait("document.querySelector('.brief-count').textContent === '2'")
    layout = lay_out(lesson, lesson.ladder[-1])
    for index in (part.first, part.last, part.first):
        span = layout.plan.spans[index]
        one.seek(layout.zero_seconds + span.start_seconds + 0.05)
        one.page.wait_for_selector(f'.strip .event.sounding[data-event="{index}"]', state="attached")
        boxes = [one.page.locator(name).bounding_box() for name in (".step.sounding:visible", ".brief")]
        assert boxes[0]["y"] >= 0
        assert boxes[0]["y"] + boxes[0]["height"] <= boxes[1]["y"]
        assert boxes[1]["y"] + boxes[1]["height"] <= 640
        shown = one.page.evaluate(
            "[...document.querySelectorAll('.said, .brief-said')].map((one) => one.textContent)"
        )
        assert shown[0] == shown[1] != ""
        links = """[...document.querySelectorAll('.brief use, .current use, .coming use')]
          .map((one) => one.getAttribute('href'))"""
        large, *following, small, near, far = one.page.evaluate(links)
        assert [small, near, far] == [large, *following[:2]]
    # whoever scrolls away is left where they are
    one.page.evaluate("scrollTo(0, 0)")
    one.seek(layout.zero_seconds + layout.plan.spans[part.last].start_seconds + 0.05)
    one.page.wait_for_selector(f'.strip .event.sounding[data-event="{part.last}"]', state="attached")
    assert one.page.evaluate("scrollY") == 0
    one.page.wait_for_selector(".brief", state="hidden")


def test_how_much_slower_it_is_played_is_told_as_a_tempo(opened, lesson):
    one = opened("desktop")
    one.page.focus("#slower")
    for _ in range(3):
        one.page.keyboard.press("ArrowRight")
    tempo = f"{lesson.ladder[0].bpm * 0.85:g}"
    for told in (one.page.get_attribute("#slower", "aria-valuetext"), one.page.inner_text("#announced")):
        assert f"= {tempo} " in (told or "")
        assert "85" in (told or "")
    # what those hear whose browser does not tell the text: by how many percent it is slower
    assert one.page.input_value("#slower") == "15"


def test_a_refused_microphone_is_told_with_what_to_do(opened):
    one, french = opened(locale="fr-FR"), load_catalogue("fr")
    assert one.page.get_attribute("#record", "aria-describedby") == "record-told"
    assert one.page.inner_text("#record-told") == french.say("web.record_about")
    for name, told in (("NotFoundError", "record_unable"), ("NotAllowedError", "record_refused")):
        one.page.evaluate(
            "name => { navigator.mediaDevices.getUserMedia = () => Promise.reject(new DOMException('', name)) }", name
        )
        one.tap("record")
        one.wait(f"document.getElementById('announced').textContent === {french.say(f'web.{told}')!r}")
        assert one.page.inner_text("#record-told") == french.say(f"web.{told}")
        assert one.page.get_attribute("#record", "aria-pressed") == "false"
        assert one.page.is_hidden("#save-take")
        assert one.sound("paused") is True


# values of a tone of some swings with its overtones, in Python's order of arguments
TONES = """async ([source, tones, rate]) => {
  const { swingsOf } = await import('data:text/javascript,' + encodeURIComponent(source));
  const over = (hz, at) => (sum, loud, index) =>
    sum + 0.1 * loud * Math.sin((2 * Math.PI * hz * (index + 1) * at) / rate + index);
  const value = (hz, at) => (hz ? [1, 0.6, 0.4, 0.3].reduce(over(hz, at), 0) : 0.1 * Math.sin(at * at * 12.9898));
  const wave = (hz, size) => Float32Array.from({ length: size }, (_, at) => value(hz, at));
  return [...tones, 0].map((hz) => swingsOf(wave(hz, 2048), rate, 80, 3600));
}"""


def test_the_pitch_of_known_tones_is_found(browser):
    """The reeds of a low, a middle and a high harp; and none where there is only noise."""
    harps = (make_harp("Low F"), make_harp("C"), make_harp("F#"))
    tones = sorted({one.hz for harp in harps for one in reed_targets(harp)})
    page = browser.new_page()
    *found, noise = page.evaluate(TONES, [module_text("pitch"), tones, 48_000])
    page.close()
    assert max(abs(1200 * np.log2(hz / tone)) for hz, tone in zip(found, tones, strict=True)) < 5
    assert noise == 0


def test_what_comes_after_a_looped_parts_end_is_its_beginning(opened, lesson):
    one, last = opened(), lesson.parts[0].last
    signs = one.page.evaluate("JSON.parse(document.getElementById('lesson').textContent).signs")
    shown = "[...document.querySelectorAll('.coming use')].map((one) => one.getAttribute('href'))"
    for _ in range(last):
        one.tap("next")
    one.page.wait_for_timeout(60)
    assert one.page.evaluate(shown) == [f"#sign-{signs[last + step]}" for step in (1, 2, 3)]
    one.choose("stretch", 1)
    one.tap("again")
    one.page.wait_for_timeout(60)
    assert one.page.evaluate(shown) == [f"#sign-{signs[step]}" for step in (0, 1, 2)]


def test_a_step_can_be_heard_alone(opened, lesson):
    one = opened()
    step = one.page.locator(".step:visible").nth(2)
    step.click()
    layout = lay_out(lesson, lesson.ladder[0])
    span = layout.plan.spans[2]
    times = [seconds for seconds, *_ in one.page.evaluate(WATCH, span.end_seconds - span.start_seconds + 0.4)]
    assert min(times) >= layout.zero_seconds + span.start_seconds - 0.1
    assert max(times) < layout.zero_seconds + layout.plan.spans[3].start_seconds + 0.15
    assert one.sound("paused") is True


def test_another_tempo_goes_on_at_the_same_place(opened, lesson):
    one = opened()
    one.page.uncheck("#count-in")
    one.tap("play")
    one.page.wait_for_timeout(1500)
    before = one.page.evaluate("document.querySelector('.strip').scrollLeft")
    one.choose("rung", len(lesson.ladder) - 1)
    one.page.wait_for_timeout(250)
    after = one.page.evaluate("document.querySelector('.strip').scrollLeft")
    assert one.sound("paused") is False
    assert 0 <= after - before < 120
    assert one.sound("duration") < 20


# --------------------------------------------------------------------------------------------- keys and languages


def test_everything_can_be_done_with_keys(opened, lesson):
    one = opened("desktop")
    keys = one.page.keyboard
    keys.press("c")
    assert one.page.is_checked("#count-in") is False
    keys.press("Space")
    one.page.wait_for_timeout(200)
    assert one.sound("paused") is False
    keys.press("Space")
    assert one.sound("paused") is True
    for _ in range(3):
        keys.press("ArrowRight")
    keys.press("ArrowLeft")
    assert one.shown_event() == 2
    keys.press("a")
    keys.press("ArrowRight")
    keys.press("b")
    assert one.page.locator("input[name=stretch]").last.is_checked()
    keys.press("Home")
    assert one.shown_event() == 2
    keys.press("3")
    assert one.page.is_checked("#rung-2")
    keys.press("-")
    keys.press("-")
    assert one.sound("playbackRate") == 0.9
    keys.press("+")
    assert one.sound("playbackRate") == 0.95
    keys.press("l")
    assert one.page.get_attribute("#again", "aria-pressed") == "true"
    keys.press("w")
    assert one.page.is_checked("#turns-call")
    keys.press("t")
    assert one.page.get_attribute("html", "data-letters") == "large"


def test_keys_are_told_on_the_page_and_can_be_switched_off(opened):
    one = opened("desktop")
    one.page.click(".keyboard summary")
    assert one.page.locator("kbd").count() >= 12
    one.page.uncheck("#keys-on")
    one.page.evaluate("document.activeElement.blur()")
    one.page.keyboard.press("Space")
    one.page.keyboard.press("l")
    assert one.sound("paused") is True
    assert one.page.get_attribute("#again", "aria-pressed") == "false"
    one.page.focus(".strip")
    one.page.keyboard.press("ArrowUp")  # a slider that has the focus is moved nevertheless
    assert one.shown_event() == 1


def test_space_on_a_button_presses_it_once(opened):
    one = opened("desktop")
    one.page.focus("#play")
    one.page.keyboard.press("Space")
    one.page.wait_for_timeout(150)
    assert one.sound("paused") is False
    one.page.focus("#next")
    one.page.keyboard.press("Space")
    assert one.sound("paused") is False


def test_everything_is_reached_by_the_tabulator_and_shows_its_focus(opened):
    one = opened("desktop")
    reached = set()
    for _ in range(60):
        one.page.keyboard.press("Tab")
        found = one.page.evaluate(
            """() => { const one = document.activeElement;
              const outline = getComputedStyle(one.matches('.row > input') ? one.nextElementSibling : one);
              const name = one.id || one.className || one.localName;
              return [name, outline.outlineStyle, parseFloat(outline.outlineWidth)] }"""
        )
        if found[0] == "body":  # once round
            continue
        assert found[1] == "solid", found
        assert found[2] >= 2, found
        reached.add(found[0])
    wanted = {"play", "restart", "previous", "next", "again", "slower", "from-here", "to-here", "count-in", "strip",
              "skip", "rung-0", "stretch-0", "turns-together"}  # fmt: skip
    assert wanted <= reached


def test_the_page_speaks_french_when_asked(opened):
    one, french = opened(), load_catalogue("fr")
    one.page.click(".languages button[lang=fr]")
    assert one.page.get_attribute("html", "lang") == "fr"
    assert one.page.get_attribute("#next", "aria-label") == french.say("web.next")
    wrong = one.page.evaluate(
        """() => { const words = JSON.parse(document.getElementById('lesson').textContent).words.fr;
          const at = (path) => path.split('.').reduce((found, key) => found[key], words);
          return [...document.querySelectorAll('[data-say]')].filter((one) => one.textContent !== at(one.dataset.say))
            .map((one) => one.dataset.say) }"""
    )
    assert wrong == []
    seen = one.page.evaluate("document.body.innerText")
    assert "aspiré" in seen
    for english in ("draw", "Tempo ladder", "Step by step", "Take care", "Practise"):
        assert not re.search(rf"\b{english}\b", seen)
    assert "aspiré" in one.page.get_attribute(".strip", "aria-valuetext")
    assert "aspiré" in one.page.locator(".systems .event title").first.text_content()
    one.page.reload()
    assert one.page.get_attribute("html", "lang") == "fr"


def test_the_browsers_own_language_is_taken_first(opened):
    assert opened(locale="fr-CA").page.get_attribute("html", "lang") == "fr"
    assert opened(locale="de-DE").page.get_attribute("html", "lang") == "en"


# ------------------------------------------------------------------------------------------- for every eye and hand


@pytest.mark.parametrize(
    ("size", "light"), [*((size, "light") for size in SIZES), ("small phone", "dark"), ("desktop", "dark")]
)
def test_axe_finds_nothing(opened, size, light):
    """axe-core of Deque Systems (MPL-2.0): WCAG 2.0 to 2.2, A and AA, and its own advice."""
    axe = pytest.importorskip("axe_playwright_python.base", reason="no axe-playwright-python").AXE_SCRIPT
    one = opened(size, color_scheme=light)
    one.page.evaluate(axe)
    assert one.page.evaluate(VIOLATIONS) == []
    one.page.click(".languages button[lang=fr]")
    one.page.evaluate("document.querySelectorAll('details').forEach((one) => (one.open = true))")
    one.choose("letters", "largest")
    one.tap("play")
    one.page.wait_for_timeout(300)
    assert one.page.evaluate(VIOLATIONS) == []
    one.tap("play")
    assert one.page.evaluate(LOST, BACKINGS)[1] == []


@pytest.mark.parametrize("size", SIZES)
def test_everything_to_be_tapped_is_at_least_44_pixels(opened, size):
    """WCAG 2.2, success criterion 2.5.5 (AAA): 44 by 44 CSS pixels."""
    one = opened(size)
    one.page.evaluate("document.querySelectorAll('details').forEach((one) => (one.open = true))")
    small = one.page.evaluate(
        """() => [...document.querySelectorAll('button, label, summary, input[type=range], .strip')]
          .filter((one) => one.checkVisibility() && !one.matches('.slower label'))
          .map((one) => [one.id || one.className || one.textContent, one.getBoundingClientRect()])
          .filter(([, box]) => box.width < 43.9 || box.height < 43.9)
          .map(([name, box]) => [name, box.width, box.height])"""
    )
    assert small == []


@pytest.mark.parametrize("letters", ["normal", "largest"])
def test_nothing_sticks_out_at_the_side(opened, letters):
    one = opened()
    one.page.evaluate("document.querySelectorAll('details').forEach((one) => (one.open = true))")
    one.page.evaluate(f"document.getElementById('letters-{letters}').click()")
    for width in (320, 360, 390, 600, 740, 1024, 1280):
        one.page.set_viewport_size({"width": width, "height": 640})
        out = one.page.evaluate(
            """() => [...document.querySelectorAll('body *')].filter((one) => one.checkVisibility()
              && !one.closest('.strip, pre, .unseen, svg, .facts dt, .skip') && one.getBoundingClientRect().width
              && (one.getBoundingClientRect().right > innerWidth + 1 || one.getBoundingClientRect().left < -1))
              .map((one) => one.id || one.className || one.tagName)"""
        )
        assert out == [], width
        assert one.page.evaluate("document.documentElement.scrollWidth <= innerWidth"), width


@pytest.mark.parametrize("locale", ["en-GB", "fr-FR"])
def test_what_matters_is_on_a_small_phones_first_screen(opened, locale):
    one = opened(locale=locale)
    one.page.set_viewport_size({"width": 360, "height": 640})
    bar = one.page.locator(".dock").bounding_box()
    for part in (".current", ".said", ".strip", ".harp"):
        box = one.page.locator(part).bounding_box()
        assert box["y"] + box["height"] <= bar["y"] + 2, part
    sizes = one.page.evaluate(
        """() => [document.querySelector('.current svg'), document.querySelector('.strip .event text')]
          .map((one) => one.getBoundingClientRect().height)"""
    )
    assert sizes[0] > 75
    assert sizes[1] > 12


def test_letters_grow_with_the_readers_own_size(opened):
    one = opened()
    before = one.page.evaluate("parseFloat(getComputedStyle(document.querySelector('.said')).fontSize)")
    one.page.evaluate("document.documentElement.style.fontSize = '200%'")
    assert one.page.evaluate("parseFloat(getComputedStyle(document.querySelector('.said')).fontSize)") == 2 * before


def test_with_reduced_motion_the_strip_stands_still_between_jumps(opened):
    one = opened(reduced_motion="reduce")
    one.page.uncheck("#count-in")
    one.tap("play")
    lefts = [left for *_, left in one.page.evaluate(WATCH, 3.5)]
    assert len(set(lefts)) <= 3
    assert one.sound("currentTime") > 3


def test_dark_is_chosen_by_the_device_or_by_hand(opened):
    ground = "getComputedStyle(document.documentElement).backgroundColor"
    blown = "getComputedStyle(document.querySelector('.strip path.blow')).fill"
    light, dark = opened(), opened(color_scheme="dark")
    assert light.page.evaluate(ground) == "rgb(255, 255, 255)"
    assert dark.page.evaluate(ground) == "rgb(20, 23, 26)"
    assert light.page.evaluate(blown) != dark.page.evaluate(blown)
    chart = "getComputedStyle(document.querySelector('.chart rect.ground')).fill"
    assert dark.page.evaluate(chart) == "rgb(20, 23, 26)"
    inks = {
        f"rgb({', '.join(str(int(ink[i : i + 2], 16)) for i in (1, 3, 5))})"
        for ink in load_palette("night").inks.values()
    }
    drawn = """[...document.querySelectorAll('svg :is(path, rect, text, circle)')]
      .filter((one) => !one.closest('.icon, [id^=icon]'))
      .flatMap((one) => [getComputedStyle(one).fill, getComputedStyle(one).stroke])"""
    assert set(dark.page.evaluate(drawn)) <= inks | {"none"}
    light.page.click(".display summary")
    light.choose("light", "dark")
    assert light.page.evaluate(ground) == "rgb(20, 23, 26)"
    assert light.page.evaluate(blown) == dark.page.evaluate(blown)


def test_nothing_is_read_out_over_the_music(opened):
    one = opened()
    one.page.uncheck("#count-in")
    one.tap("play")
    changes = one.page.evaluate(
        """async () => { let count = 0; const watch = new MutationObserver((all) => (count += all.length));
          watch.observe(document.getElementById('announced'), {childList: true, characterData: true, subtree: true});
          watch.observe(document.querySelector('.strip'), {attributes: true, attributeFilter: ['aria-valuetext']});
          await new Promise((done) => setTimeout(done, 2500)); return count }"""
    )
    assert changes == 0
    one.tap("play")
    assert one.page.inner_text("#announced").startswith("Paused at bar")
    one.tap("next")
    assert re.search(r"\b(blow|draw)\b", one.page.inner_text("#announced"))


# ------------------------------------------------------------------------------------------------ other ways to read


def test_without_script_it_can_be_read_and_heard(opened, lesson):
    one = opened(java_script_enabled=False)
    assert one.page.locator(".plain audio[controls]").count() == len(lesson.ladder)
    assert one.page.locator(".plain audio").first.is_visible()
    assert one.page.locator(".step:visible").count() > 10
    assert one.page.locator("[lang=fr]:visible").count() == 0
    assert not one.page.locator(".dock").is_visible()
    assert one.page.locator(".systems svg").first.is_visible()


def test_on_paper_there_are_steps_and_ribbon_but_no_buttons(opened):
    one = opened("desktop")
    one.page.emulate_media(media="print")
    assert not one.page.locator(".dock").is_visible()
    assert not one.page.locator(".practise").first.is_visible()
    assert one.page.locator(".step:visible").count() > 10
    assert one.page.locator(".systems svg").first.is_visible()
    fill = one.page.evaluate("getComputedStyle(document.querySelector('.systems path.blow')).fill")
    assert fill == "rgb(26, 26, 26)"


def test_a_hostile_title_is_only_a_title(opened, tmp_path):
    hostile = TUNE.replace("Stepping stones (invented for this test)", HOSTILE).replace("P:B", f"P:{HOSTILE}")
    read = read_source(hostile.encode(), name="hostile.abc")
    made = lesson_from(read, RouteRequest(harp=HarpChoice(key="C")), LessonWishes(title=HOSTILE))
    path = tmp_path / "lesson.html"
    path.write_bytes(lesson_page(made))
    one = opened(address=path.as_uri())
    one.page.wait_for_timeout(200)
    assert one.page.evaluate("window.stung") is None
    assert one.page.inner_text("h1") == " ".join(HOSTILE.split())
    assert one.page.locator("img").count() == 0
    one.page.click(".languages button[lang=fr]")
    assert one.page.locator(".strip .event").count() == len(made.route.events)


def test_a_strip_that_is_dragged_takes_the_place_along(opened):
    one = opened()
    place = one.page.evaluate(
        """async () => { const strip = document.querySelector('.strip');
          strip.dispatchEvent(new PointerEvent('pointerdown', {bubbles: true}));
          const left = (one) => one.getBoundingClientRect().left;
          const note = strip.querySelectorAll('.event')[4].querySelector('path.blow, path.draw');
          strip.scrollLeft += left(note) - left(document.querySelector('.line')) + 4;
          await new Promise((done) => setTimeout(done, 400)); return strip.getAttribute('aria-valuenow') }"""
    )
    assert place == "5"
    assert one.page.locator('.strip .event.sounding[data-event="4"]').count() == 1


@pytest.mark.parametrize(("size", "light"), [("small phone", "light"), ("desktop", "light"), ("desktop", "dark")])
def test_an_index_of_lessons_opens_the_lesson(browser, lesson, written, tmp_path, size, light):
    """Seen without a network, without complaint, and nothing for axe-core to find."""
    axe = pytest.importorskip("axe_playwright_python.base", reason="no axe-playwright-python").AXE_SCRIPT
    folder = tmp_path / "week 1"
    folder.mkdir()
    (folder / "lesson.json").write_bytes(encode_lesson(lesson))
    (folder / "lesson.html").write_bytes(Path(written.removeprefix("file://")).read_bytes())
    make_lesson_index(tmp_path, language="en")
    width, height = SIZES[size]
    context = browser.new_context(viewport={"width": width, "height": height}, offline=True, color_scheme=light)
    page, said = context.new_page(), []
    page.on("console", lambda message: said.append(message.text))
    page.goto((tmp_path / "index.html").as_uri())
    page.evaluate(axe)
    assert page.evaluate(VIOLATIONS) == []
    assert page.evaluate(LOST, BACKINGS)[1] == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.click("h2 a")
    page.wait_for_selector("#player")
    assert said == []
    context.close()


@pytest.mark.parametrize(("size", "light"), [("small phone", "light"), ("desktop", "dark")])
def test_an_overview_of_takes_is_for_everybody(browser, tmp_path, size, light):
    """Seen without a network, without complaint, and nothing for axe-core to find."""
    axe = pytest.importorskip("axe_playwright_python.base", reason="no axe-playwright-python").AXE_SCRIPT
    last = LastTime("2026-11-18", 15, 18, 80)
    takes = [
        ToldTake(
            student=name, recorded="2026-11-25", file=f"{name}.m4a", lesson="Stepping stones", folder=name,
            files=("answer.txt", "take.svg"), right=17, notes=18, bpm=84, tempo_percent=90,
            change=TakeChange.BETTER, last=last, better_in="bar 2", worse_in="bar 4",
            say=("Well.", "Now this.", "Next."),
        )
        for name in ("", "Anna", "Bo")
    ]  # fmt: skip
    overview = TakesOverview(
        language="en", first_day="2026-11-25", last_day="2026-11-25", takes=tuple(takes),
        unanswered=(UnansweredTake("cy.m4a", "Cy", WhyUnanswered.NO_LESSON, (TriedLesson("Stepping stones", 4),)),),
        common=(CommonPlace("Stepping stones", "bar 4", "3 draw", ("Anna", "Bo")),), others=("list.txt",),
    )  # fmt: skip
    (tmp_path / "overview.html").write_bytes(encode_takes_page(overview, load_catalogue("en")))
    width, height = SIZES[size]
    context = browser.new_context(viewport={"width": width, "height": height}, offline=True, color_scheme=light)
    page, said = context.new_page(), []
    page.on("console", lambda message: said.append(message.text))
    page.goto((tmp_path / "overview.html").as_uri())
    page.evaluate(axe)
    assert page.evaluate(VIOLATIONS) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.emulate_media(media="print", color_scheme=light)
    ink = page.evaluate("getComputedStyle(document.body).color.match(/\\d+/g).map(Number)")
    assert max(ink) < 80, "dark letters on paper, whatever the screen's light"
    assert said == []
    context.close()
