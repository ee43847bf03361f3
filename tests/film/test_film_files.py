"""Film files: what is in them, and that nothing is left where they cannot be finished."""

from __future__ import annotations

import tracemalloc
from pathlib import Path

import av
import numpy as np
import pytest

from reedpath.errors import FilmError
from reedpath.film import FilmWishes, chapter_cues, film_lesson
from reedpath.film.encode import FilmShape, encode_film
from reedpath.film.planes import Frame
from reedpath.film.screens import Zone
from reedpath.lesson import make_lesson
from reedpath.signal import Samples
from reedpath.sound import PlayAlong, Turns
from reedpath.wording import load_catalogue
from support.built_routes import built_lesson, built_route
from support.films import read_film

pytestmark = pytest.mark.slow

SHORT = built_lesson(built_route("2d:1 4b:1", bpm=160.0), factors=(1.0,))
ALONE = FilmWishes(with_steps=False, play=PlayAlong(count_in_bars=0))


def _frames(count: int, width: int = 64, height: int = 48) -> object:
    frame = Frame(width, height)
    for number in range(count):
        frame.array[:] = 16 + number % 200
        yield frame.array


def _noise(seconds: float, rate: int = 44_100, channels: int = 2) -> list[Samples]:
    random = np.random.default_rng(3)
    return [Samples(0.1 * random.standard_normal((round(seconds * rate), channels)).astype(np.float32), rate)]


@pytest.mark.slow
def test_a_film_of_one_note(tmp_path: Path) -> None:
    lesson = make_lesson(built_route("4b:1"))
    path = tmp_path / "one.mp4"
    timeline = film_lesson(lesson, path, FilmWishes(rungs=("full",)))
    film = read_film(path)
    assert film.lights.shape[1:] == (720, 1280)
    assert film.times[-1] == pytest.approx(timeline.seconds, abs=0.05)


def test_what_a_film_says_of_itself(tmp_path: Path) -> None:
    path = tmp_path / "film.mp4"
    timeline = film_lesson(SHORT, path, ALONE)
    with av.open(str(path)) as film:
        video, audio = film.streams.video[0], film.streams.audio[0]
        assert film.metadata["title"] == SHORT.title
        assert video.codec_context.name == "h264"
        assert audio.codec_context.name == "aac"
        assert (video.start_time, audio.start_time) == (0, 0)
        assert video.average_rate == 30
        assert (video.codec_context.colorspace, video.codec_context.color_range) == (1, 1)
        assert audio.metadata.get("language") == "eng"
        chapters = [(one["metadata"]["title"], one["start"], one["end"]) for one in film.chapters()]
    cues = chapter_cues(SHORT, timeline, load_catalogue("en"))
    assert chapters == [
        (cue.lines[0], round(cue.start_seconds * 1000), pytest.approx(cue.end_seconds * 1000, abs=2)) for cue in cues
    ]
    # the index comes before the pictures, so that a page can play the film while it loads
    data = path.read_bytes()
    assert 0 < data.index(b"moov") < data.index(b"mdat")


def test_every_frame_and_the_sound_are_kept(tmp_path: Path) -> None:
    path = tmp_path / "film.mp4"
    sound = _noise(2.0)
    told: list[tuple[int, int]] = []
    encode_film(
        path,
        FilmShape(64, 48, 25, 50),
        _frames(50),
        sound,
        rate=44_100,
        progress=lambda done, total: told.append((done, total)),
    )
    film = read_film(path)
    assert np.allclose(film.times, np.arange(50) / 25)
    assert np.abs(film.lights.mean(axis=(1, 2)) - (16 + np.arange(50))).max() < 2
    assert told == [(number, 50) for number in range(1, 51)]
    # the sound begins where it began: where two noises match best
    wanted = sound[0].array.mean(axis=1)[:40_000]
    found = np.correlate(film.sound[:42_000], wanted[2000:38_000], mode="valid").argmax()
    assert abs(int(found) - 2000) <= 1


def test_mono_sound_is_taken(tmp_path: Path) -> None:
    path = tmp_path / "film.mp4"
    encode_film(path, FilmShape(64, 48, 25, 25), _frames(25), _noise(1.0, channels=1), rate=44_100)
    assert len(read_film(path).sound) == pytest.approx(44_100, abs=2100)


@pytest.mark.parametrize("stop", [KeyboardInterrupt, RuntimeError])
def test_interruption_leaves_no_file(tmp_path: Path, stop: type[BaseException]) -> None:
    path = tmp_path / "film.mp4"

    def interrupt(done: int, total: int) -> None:
        if done == 40:
            assert path.exists()
            raise stop

    with pytest.raises(stop):
        film_lesson(SHORT, path, ALONE, progress=interrupt)
    assert list(tmp_path.iterdir()) == []


def test_a_place_that_cannot_be_written(tmp_path: Path) -> None:
    with pytest.raises(FilmError, match=r"film\.mp4: the film cannot be written"):
        film_lesson(SHORT, tmp_path / "no" / "such" / "film.mp4", ALONE)


@pytest.mark.parametrize("rate", [5, 61])
def test_a_rate_that_cannot_be(tmp_path: Path, rate: int) -> None:
    with pytest.raises(FilmError, match=f"{rate} frames a second; 10 to 60"):
        film_lesson(SHORT, tmp_path / "film.mp4", FilmWishes(frames_per_second=rate))


def test_the_sound_can_be_given(tmp_path: Path) -> None:
    path = tmp_path / "film.mp4"

    def quiet(scene: object) -> list[Samples]:
        seconds = scene.end_seconds - scene.start_seconds  # type: ignore[attr-defined]
        return [Samples(np.zeros((round(seconds * 44_100), 1), dtype=np.float32), 44_100)]

    film_lesson(SHORT, path, ALONE, sound=quiet)
    assert np.abs(read_film(path).sound).max() < 1e-3


def test_a_given_sound_begins_after_the_card(tmp_path: Path) -> None:
    """A film without the steps says first what is played; nothing is heard under it."""
    path, rate = tmp_path / "film.mp4", 44_100

    def tone(scene: object) -> list[Samples]:
        frames = round((scene.end_seconds - scene.start_seconds) * rate)  # type: ignore[attr-defined]
        wave = 0.3 * np.sin(np.arange(frames) * 2 * np.pi * 440 / rate)
        return [Samples(np.stack([wave, wave], axis=1).astype(np.float32), rate)]

    wishes = FilmWishes(with_steps=False, frames_per_second=10)
    timeline = film_lesson(SHORT, path, wishes, sound=tone)
    film = read_film(path, zone=Zone(0, 0, 2, 2))
    assert timeline.title_seconds >= 2.5
    assert timeline.scenes[0].start_seconds == timeline.title_seconds
    assert np.abs(film.sound[: round((timeline.title_seconds - 0.05) * film.rate)]).max() < 0.01
    after = film.sound[round((timeline.title_seconds + 0.1) * film.rate) :]
    assert np.abs(after[: film.rate // 2]).max() > 0.2


def test_a_muted_film_is_silent_without_a_count_in_too(tmp_path: Path) -> None:
    path = tmp_path / "film.mp4"
    film_lesson(SHORT, path, FilmWishes(with_steps=False, play=PlayAlong(count_in_bars=0, turns=Turns.YOURS)))
    assert np.abs(read_film(path).sound).max() < 1e-3


@pytest.mark.slow
def test_memory_does_not_grow_with_length(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Python's own memory, in the halves of 43 seconds; bench/film_speed.py measures the encoder's as well."""
    monkeypatch.setattr("reedpath.film.encode._DRAWN", (30, "ultrafast"))
    lesson = built_lesson(built_route("2d 3d' 4b 4d 5d 4d 3d' 2d " * 17, bpm=100.0), factors=(1.0,))
    peaks = []

    def half_done(done: int, total: int) -> None:
        if done in (total // 2, total):
            peaks.append(tracemalloc.get_traced_memory()[1])
            tracemalloc.reset_peak()

    tracemalloc.start()
    wishes = FilmWishes(with_steps=False, frames_per_second=10)
    timeline = film_lesson(lesson, tmp_path / "film.mp4", wishes, progress=half_done)
    tracemalloc.stop()
    assert timeline.seconds > 42.0  # more than two blocks of sound
    assert peaks[1] < peaks[0] + 25e6
