"""The jobs that make films: a lesson folder in, a film with captions and chapters out, together or not at all."""

from __future__ import annotations

from pathlib import Path

import av
import pytest

from reedpath.errors import FilmError, ReadError
from reedpath.film import FilmWishes, TakeWishes
from reedpath.jobs.films import make_film, make_take_film
from reedpath.jobs.folder_plans import LIST
from reedpath.jobs.lesson_folders import read_lesson
from reedpath.jobs.progress import ProgressStep
from reedpath.lesson import encode_lesson, make_lesson
from support.built_routes import built_route
from support.teacher_films import teacher_film
from support.webvtt_grammar import read_webvtt

pytestmark = pytest.mark.slow

LESSON = make_lesson(built_route("2d:1 3d:1 4b:1 4d:1 5d:1 4d:1/2 4b:1/2 3d':1 2d:2", key="C", bpm=120.0))
ENDS = (".chapters.vtt", ".srt", ".txt", ".vtt")
BESIDE = ["film.png", *(f"film.{language}{end}" for language in ("en", "fr") for end in ENDS)]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("lesson")
    (folder / "lesson.json").write_bytes(encode_lesson(LESSON))
    return folder


def test_a_film_with_its_captions(folder: Path, tmp_path: Path) -> None:
    told: list[ProgressStep] = []
    wishes = FilmWishes(screen="upright", rungs=("full",), with_steps=False, frames_per_second=15)
    names = make_film(read_lesson(folder), wishes, tmp_path / "out" / "film.mp4", progress=told.append).files
    assert names == tuple(sorted([*BESIDE, "film.mp4"]))
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == sorted([*names, LIST])
    with av.open(str(tmp_path / "out" / "film.mp4")) as film:
        titles = [one["metadata"]["title"] for one in film.chapters()]
    cues = read_webvtt((tmp_path / "out" / "film.en.chapters.vtt").read_bytes(), chapters=True)
    assert [cue.text for cue in cues] == titles
    assert told[-1].done == told[-1].total
    assert {step.name for step in told} == {"film"}


def test_a_teachers_film_is_heard_and_filmed(folder: Path, tmp_path: Path) -> None:
    film = teacher_film(tmp_path / "lesson.mp4", LESSON, size=(320, 180), fps=15)
    names = make_take_film(read_lesson(folder), film.path, TakeWishes(), tmp_path / "film.mp4", overlay="runs").files
    assert names == tuple(sorted([*BESIDE, "film.mp4", "film.strip.mov"]))
    chapters = read_webvtt((tmp_path / "film.en.chapters.vtt").read_bytes(), chapters=True)
    tempos = [cue.text.rpartition(": ")[2] for cue in chapters]
    assert any("slow" in tempo for tempo in tempos)
    assert any("full tempo" in tempo for tempo in tempos)
    # every note's caption begins where the note does in the film
    captions = read_webvtt((tmp_path / "film.en.vtt").read_bytes())
    starts = [cue.start for cue in captions if cue.text.startswith("-2 ")]
    for play in film.plays:
        assert min(abs(start - play.events[0].start_seconds) for start in starts) < 0.08


def test_interruption_leaves_nothing(folder: Path, tmp_path: Path) -> None:
    def interrupt(step: ProgressStep) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        make_film(read_lesson(folder), FilmWishes(with_steps=False), tmp_path / "film.mp4", progress=interrupt)
    assert list(tmp_path.iterdir()) == []


def test_a_film_made_before_is_kept_until_the_new_one_is_there(folder: Path, tmp_path: Path) -> None:
    out = tmp_path / "film.mp4"
    out.write_bytes(b"before")

    def interrupt(step: ProgressStep) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        make_film(read_lesson(folder), FilmWishes(with_steps=False), out, progress=interrupt)
    assert out.read_bytes() == b"before"


def test_what_cannot_be(folder: Path, tmp_path: Path) -> None:
    with pytest.raises(FilmError, match=r"ends in \.mp4"):
        make_film(read_lesson(folder), FilmWishes(), tmp_path / "film.avi")
    with pytest.raises(ReadError, match="no such file"):
        make_film(read_lesson(tmp_path / "none"), FilmWishes(), tmp_path / "film.mp4")
    text = tmp_path / "text.mp4"
    text.write_text("no film")
    with pytest.raises(FilmError, match=r"text\.mp4: this film cannot be read"):
        make_take_film(read_lesson(folder), text, TakeWishes(), tmp_path / "film.mp4")
    silent = teacher_film(tmp_path / "silent.mov", LESSON, size=(320, 180), fps=15, sound="pcm_s16le")
    with pytest.raises(FilmError, match=r"ends in \.mov"):
        make_take_film(read_lesson(folder), silent.path, TakeWishes(), tmp_path / "film.mp4")
