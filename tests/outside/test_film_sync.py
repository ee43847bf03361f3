"""The lit hole and the sound, measured in films that were made, decoded again by ffmpeg's libraries (av).

The onset of each note is measured in the decoded sound by its level alone, the lit hole in the decoded pictures by
their light alone; neither knows the timeline but for where about to look. The aim, one frame, is the issue's.
"""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from reedpath.film import FilmWishes, Timeline, film_lesson
from reedpath.film.screens import load_screen
from reedpath.lesson import Lesson
from reedpath.pitch import Key
from reedpath.sound import Backing, Turns
from support.built_routes import built_lesson, built_route
from support.films import ReadFilm, lit_holes, onsets_of, read_film

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

    highlights = [one for scene in timeline.scenes for one in scene.highlights]
    changes = _changes(lit_holes(film.lights, 10), film.times)
    holes = [frozenset(lesson.route.events[one.event].choice.move.holes) for one in highlights]
    assert [now for _, now in changes] == holes

    heard = onsets_of(film.sound, film.rate, [one.start_seconds for one in highlights], lead=0.1)
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
    first = timeline.scenes[0].highlights[0]
    dark = max(time for time, now in zip(film.times, lit, strict=True) if now == {2}) + 1 / 30
    assert dark == pytest.approx(first.end_seconds, abs=1 / 30)
    # a hole that sounds twice in a row is seen to do so
    assert [now for _, now in _changes(lit, film.times)] == [{2}, {4}, {4}]


# ------------------------------------------------------------------------------------------------------ with a band

EVERYBODY = frozenset({"drums", "bass", "guitar", "piano"})


def _with_band(folder: Path, lesson: Lesson, name: str, backing: Backing) -> tuple[Timeline, ReadFilm]:
    path = folder / f"{name}.mp4"
    timeline = film_lesson(lesson, path, FilmWishes(with_steps=False, play=backing))
    harp = load_screen("landscape").harp
    assert harp is not None
    return timeline, read_film(path, zone=harp)


def test_with_a_band_lit_hole_and_sound_agree_within_a_frame(tmp_path: Path) -> None:
    """The harmonica is heard alone where the film with the band alone is taken from the film with both."""
    lesson = built_lesson(built_route(APART, key="A", bpm=97.0, music_key=Key(4)), factors=(1.0,))
    backing = Backing(form="one-chord", rounds=2)
    timeline, both = _with_band(tmp_path, lesson, "both", backing)
    _, alone = _with_band(tmp_path, lesson, "alone", Backing(form="one-chord", rounds=2, turns=Turns.YOURS))
    length = min(len(both.sound), len(alone.sound))
    scene = timeline.scenes[0]
    # both films are as loud as each other, so that the band, which is alone in the count-in, is louder in one of them
    count_in = slice(0, round(scene.highlights[0].start_seconds * both.rate))
    louder = (both.sound[count_in] @ alone.sound[count_in]) / (alone.sound[count_in] @ alone.sound[count_in])
    harmonica = both.sound[:length] - louder * alone.sound[:length]

    count = len(lesson.route.events)
    assert [one.event for one in scene.highlights] == [*range(count), *range(count)]
    changes = _changes(lit_holes(both.lights, 10), both.times)
    moves = [lesson.route.events[one.event].choice.move for one in scene.highlights]
    assert [now for _, now in changes] == [frozenset(move.holes) for move in moves]
    # what the student is to play is lit at the same moments
    assert [shown for shown, _ in _changes(lit_holes(alone.lights, 10), alone.times)] == [at for at, _ in changes]

    heard = onsets_of(harmonica, both.rate, [one.start_seconds for one in scene.highlights], lead=0.1)
    apart = np.array([shown for shown, _ in changes]) - np.array(heard)
    assert np.abs(apart).max() <= 1 / 30, f"{np.round(apart * 1000)} ms"


def test_the_harmonica_alone_in_a_band_s_rounds(tmp_path: Path) -> None:
    """With all players left out, a pickup, a swing and call and response: heard in the first and third round only."""
    route = built_route(APART, key="A", bpm=110.0, music_key=Key(4), swing=Fraction(2), pickup=Fraction(1))
    lesson = built_lesson(route, factors=(1.0,))
    backing = Backing(form="one-chord", rounds=3, turns=Turns.CALL, without=EVERYBODY)
    timeline, film = _with_band(tmp_path, lesson, "call", backing)
    scene = timeline.scenes[0]
    assert [one.is_yours for one in scene.rounds] == [False, True, False]
    yours = scene.rounds[1]
    played = [one for one in scene.highlights if not yours.start_seconds <= one.start_seconds < yours.end_seconds]
    assert len(played) == 2 * len(lesson.route.events)
    changes = dict.fromkeys(shown for shown, _ in _changes(lit_holes(film.lights, 10), film.times))
    assert len(changes) == 3 * len(lesson.route.events)

    heard = onsets_of(film.sound, film.rate, [one.start_seconds for one in played], lead=0.1)
    shown = np.array(list(changes))
    apart = [np.abs(shown - at).min() for at in heard]
    assert max(apart) <= 1 / 30, f"{np.round(np.array(apart) * 1000)} ms"
    quiet = film.sound[round((yours.start_seconds + 0.5) * film.rate) : round((yours.end_seconds - 0.5) * film.rate)]
    assert np.abs(quiet).max() < 0.01 * np.abs(film.sound).max()


def test_the_band_comes_in_where_the_count_ends(tmp_path: Path) -> None:
    """Four knocks a beat apart, and the band's first beat a beat after the last one."""
    lesson = built_lesson(built_route("r:2 4b:1 r 5d:1 4d:2", key="A", bpm=90.0, music_key=Key(4)), factors=(1.0,))
    backing = Backing(form="one-chord", rounds=1, turns=Turns.YOURS, click_through=True)
    timeline, film = _with_band(tmp_path, lesson, "count", backing)
    counts = timeline.scenes[0].counts
    assert [one.number for one in counts] == [1, 2, 3, 4]
    starts = [*(one.start_seconds for one in counts), counts[-1].start_seconds + 60 / 90]
    level = np.abs(film.sound)
    for start in starts:
        near = level[round((start - 0.1) * film.rate) : round((start + 0.1) * film.rate)]
        at = start - 0.1 + float(np.argmax(near > 0.3 * near.max())) / film.rate
        assert at == pytest.approx(start, abs=0.02)
