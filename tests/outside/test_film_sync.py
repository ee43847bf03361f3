"""The lit hole and the sound, measured in films that were made, decoded again by ffmpeg's libraries (av).

The onset of each note is measured in the decoded sound by its level alone, the lit hole in the decoded pictures by
their light alone; neither knows the timeline but for where about to look. The aim, one frame, is the issue's.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from reedpath.film import FilmWishes, film_lesson
from reedpath.film.screens import load_screen
from reedpath.lesson import Lesson
from support.built_routes import built_lesson, built_route
from support.films import lit_holes, onsets_of, read_film

pytestmark = pytest.mark.outside

# every breath, bends, an overblow, a chord and a split, each after a rest
APART = "2d:1/2 r:1/2 4b:1 r:1 3d'':1/2 r:1/2 6bo:1/2 r:1/2 (4 5)d:1 r:1/2 [1 4]b:1/2 r:1/2 10b':1/2 r:1/4 1d:3/4"


def _lesson(text: str = APART, *, bpm: float = 97.0) -> Lesson:
    return built_lesson(built_route(text, key="C", bpm=bpm), factors=(1.0,))


def _changes(lit: list[frozenset[int]], times: np.ndarray) -> list[tuple[float, frozenset[int]]]:
    """When the lit holes change to some that are lit."""
    return [
        (float(time), now)
        for before, now, time in zip([frozenset(), *lit], lit, times, strict=False)
        if now and now != before
    ]


@pytest.mark.parametrize(
    ("screen", "rate", "with_steps"), [("landscape", 30, False), ("upright", 30, False), ("landscape", 25, True)]
)
def test_lit_hole_and_sound_agree_within_a_frame(tmp_path: Path, screen: str, rate: int, with_steps: bool) -> None:
    lesson = _lesson()
    path = tmp_path / "film.mp4"
    wishes = FilmWishes(screen=screen, frames_per_second=rate, with_steps=with_steps)
    timeline = film_lesson(lesson, path, wishes)
    harp = load_screen(screen).harp
    assert harp is not None
    film = read_film(path, zone=harp)

    assert np.allclose(film.times, np.arange(len(film.times)) / rate, atol=1e-3)
    assert len(film.times) == pytest.approx(timeline.seconds * rate, abs=1)
    assert len(film.sound) / film.rate == pytest.approx(timeline.seconds, abs=0.05)

    soundings = [one for scene in timeline.scenes for one in scene.soundings]
    changes = _changes(lit_holes(film.lights, 10), film.times)
    holes = [frozenset(lesson.route.events[one.event].choice.move.holes) for one in soundings]
    assert [now for _, now in changes] == holes

    heard = onsets_of(film.sound, film.rate, [one.start_seconds for one in soundings], lead=0.1)
    apart = np.array([shown for shown, _ in changes]) - np.array(heard)
    assert np.abs(apart).max() <= 1 / rate, f"{np.round(apart * 1000)} ms"
    assert abs(np.median(apart)) < 0.5 / rate


def test_the_hole_goes_dark_with_its_note(tmp_path: Path) -> None:
    lesson = _lesson("2d:1 r:2 4b:1 4b:1 r:1")
    path = tmp_path / "film.mp4"
    timeline = film_lesson(lesson, path, FilmWishes(with_steps=False))
    harp = load_screen("landscape").harp
    assert harp is not None
    film = read_film(path, zone=harp)
    lit = lit_holes(film.lights, 10)
    first = timeline.scenes[0].soundings[0]
    dark = max(time for time, now in zip(film.times, lit, strict=True) if now == {2}) + 1 / 30
    assert dark == pytest.approx(first.end_seconds, abs=1 / 30)
    # a hole that sounds twice in a row is seen to do so
    assert [now for _, now in _changes(lit, film.times)] == [{2}, {4}, {4}]
