"""Making a film of a lesson alone: laid out, drawn, sounded and encoded in one go."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from itertools import chain
from pathlib import Path
from typing import Protocol

from reedpath.errors import FilmError
from reedpath.film.captions import Cue, chapter_cues
from reedpath.film.encode import FilmProgress, FilmShape, encode_film
from reedpath.film.frames import FramePainter
from reedpath.film.layout import lay_out_film
from reedpath.film.planes import Bytes
from reedpath.film.screens import Screen, load_screen
from reedpath.film.timeline import Scene, SceneKind, Timeline
from reedpath.lesson import Lesson, rungs_named
from reedpath.signal import Samples, silence
from reedpath.sound import PlayAlong, Turns, backing_blocks, sound_blocks
from reedpath.wording import load_catalogue

# frames of sound a second, hertz, as the play-alongs have
RATE = 44_100
# frames of picture a second that may be asked for; players and phones know all of them
LEAST_RATE, MOST_RATE = 10, 60


@dataclass(frozen=True, slots=True)
class FilmWishes:
    """How a film is to be.

    screen : "landscape" or "upright"; see ``film.toml``.
    palette : "night" on a dark ground, "paper" in colour on white, "ink" in black alone.
    language : of headings and captions in the picture; the lesson's first where empty.
    rungs : names of the tempos; none for the whole ladder.
    with_steps : whether the phrase is gone through step by step first; a card says title, harp and tempo where it is
        not.
    frames_per_second : 10 to 60.
    play : how it is counted in and played at each tempo; a backing for a band to play under it.
    """

    screen: str = "landscape"
    palette: str = "night"
    language: str = ""
    rungs: tuple[str, ...] = ()
    with_steps: bool = True
    frames_per_second: int = 30
    play: PlayAlong = field(default_factory=PlayAlong)


class _Painter(Protocol):
    """What draws a film."""

    @property
    def timeline(self) -> _Lasting: ...

    def draw(self, seconds: float) -> Bytes: ...


class _Lasting(Protocol):
    """What has a length."""

    @property
    def seconds(self) -> float: ...


def check_frame_rate(rate: int) -> None:
    """A FilmError for a rate that not every player knows."""
    if not LEAST_RATE <= rate <= MOST_RATE:
        raise FilmError("film.frame_rate", rate=rate, least=LEAST_RATE, most=MOST_RATE)


def _frame_count(timeline: _Lasting, frames_per_second: int) -> int:
    return math.ceil(timeline.seconds * frames_per_second)


def shape_of(
    painter: _Painter, screen: Screen, wishes: FilmWishes, *, title: str, language: str, chapters: tuple[Cue, ...]
) -> FilmShape:
    """The shape of a drawn film."""
    rate = wishes.frames_per_second
    frames = _frame_count(painter.timeline, rate)
    return FilmShape(screen.width, screen.height, rate, frames, title=title, language=language, chapters=chapters)


def frames_of(painter: _Painter, frames_per_second: int) -> Iterator[Bytes]:
    """Every frame of a timeline; each shows the middle of its time, so that none is late by more than half of it."""
    for number in range(_frame_count(painter.timeline, frames_per_second)):
        yield painter.draw((number + 0.5) / frames_per_second)


def _silent_title(timeline: Timeline, rate: int) -> Iterator[Samples]:
    """The silence under the card with the title."""
    if timeline.title_seconds:
        yield silence(timeline.title_seconds, rate=rate, channels=2)


def sound_of(timeline: Timeline, *, mute_voice: bool = False, rate: int = RATE) -> Iterator[Samples]:
    """The sound of a timeline in blocks, scene after scene; ``mute_voice`` where it is played and no band plays."""
    yield from _silent_title(timeline, rate)
    for scene in timeline.scenes:
        if scene.backing is not None:
            yield from backing_blocks(scene.backing, rate=rate)
        elif scene.layout is not None:
            is_muted = mute_voice and scene.kind is SceneKind.PLAY
            yield from sound_blocks(scene.layout, mute_voice=is_muted, rate=rate)


def film_lesson(
    lesson: Lesson,
    path: Path,
    wishes: FilmWishes | None = None,
    *,
    sound: Callable[[Scene], Iterable[Samples]] | None = None,
    progress: FilmProgress | None = None,
) -> Timeline:
    """Write the film of a lesson as an MP4 file, and give its timeline, which captions are made from.

    Whatever goes wrong, interruption included, leaves no file. Memory does not grow with the film's length.

    path : of the file, which is written over.
    sound : what a scene sounds like, in blocks of 44,100 frames a second; the harmonica alone when left out.
    progress : called with the frames done and the frames in all.

    Raises `FilmError` for nothing to film, wishes that cannot be, a file that cannot be written. Raises `SoundError`
    or `SettingsError` for a band that cannot play this.
    """
    wanted = wishes or FilmWishes()
    rate = wanted.frames_per_second
    check_frame_rate(rate)
    words = load_catalogue(wanted.language or lesson.languages[0])
    timeline = lay_out_film(
        lesson,
        rungs=rungs_named(lesson.ladder, wanted.rungs),
        with_steps=wanted.with_steps,
        with_title=not wanted.with_steps,
        play=wanted.play,
    )
    screen = load_screen(wanted.screen)
    painter = FramePainter(lesson, timeline, screen, words, palette=wanted.palette, frames_per_second=rate)
    chapters = chapter_cues(lesson, timeline, words)
    shape = shape_of(painter, screen, wanted, title=lesson.title, language=words.name, chapters=chapters)
    blocks = (
        sound_of(timeline, mute_voice=wanted.play.turns is Turns.YOURS)
        if sound is None
        else chain(_silent_title(timeline, RATE), (block for scene in timeline.scenes for block in sound(scene)))
    )
    encode_film(path, shape, frames_of(painter, rate), blocks, rate=RATE, progress=progress)
    return timeline
