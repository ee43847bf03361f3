"""Sounds to practise with: play-alongs with or without a band, whole ladders, looped spots, and slowed recordings."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path

from reedpath.errors import ReadError, ReedpathError, SettingsError
from reedpath.jobs.disk import read_bytes, with_file, write_file
from reedpath.jobs.progress import Progress, ProgressStep, silent
from reedpath.lesson import Drill, Lesson, Rung, lesson_from_data
from reedpath.signal import decode, encode, slowed
from reedpath.sound import (
    Backing,
    PlayAlong,
    encode_recording,
    ladder_name,
    play_along,
    play_along_name,
    play_ladder,
    play_spot,
    play_with_band,
    spot_name,
    with_band_name,
)

__all__ = ["PractiseWishes", "make_practice_sounds", "read_lesson", "slow_recording"]

# bytes; a lesson of thousands of notes stays under this
MOST_LESSON_BYTES = 64_000_000
# bytes; two hours of stereo WAV at 24 bits
MOST_SOUND_BYTES = 2_100_000_000


@dataclass(frozen=True, slots=True)
class PractiseWishes:
    """Which sounds are wanted.

    backing : the band's part; None for the harmonica and the click alone.
    along : the play-along's options where there is no band.
    as_one : the whole ladder in one file with chapters.
    spots : the lesson's spots too, looped.
    rungs : names of the tempos wanted ("slow", "full"), none for all.
    format : "wav", "flac", "mp3" or "opus".
    """

    backing: Backing | None = None
    along: PlayAlong = field(default_factory=PlayAlong)
    as_one: bool = False
    spots: bool = False
    rungs: tuple[str, ...] = ()
    format: str = "wav"


def read_lesson(folder: Path) -> Lesson:
    """The lesson of a lesson folder, from its ``lesson.json``.

    Raises
    ------
    ReadError
        When the folder holds no lesson, or its data do not hold.
    """
    path = folder / "lesson.json" if folder.is_dir() else folder
    data = read_bytes(path, most_bytes=MOST_LESSON_BYTES)
    try:
        return lesson_from_data(json.loads(data))
    except (UnicodeDecodeError, json.JSONDecodeError, RecursionError) as error:
        raise ReadError(f"this is not the data of a lesson: {error}", where=str(path)) from error
    except ReedpathError as error:
        raise with_file(path, error) from None


def _with_rungs(lesson: Lesson, names: tuple[str, ...]) -> Lesson:
    if not names:
        return lesson
    there = [rung.name for rung in lesson.ladder]
    unknown = [name for name in names if name not in there]
    if unknown:
        raise SettingsError(f"the ladder has no tempo {unknown[0]!r}", hint=f"it has {', '.join(there)}")
    return replace(lesson, ladder=tuple(rung for rung in lesson.ladder if rung.name in names))


@dataclass(frozen=True, slots=True)
class _Sound:
    """A file that is wanted: its name, what tells it apart, and what makes its bytes."""

    name: str
    detail: str
    make: Callable[[], bytes]


def _rung_sound(lesson: Lesson, rung: Rung, wishes: PractiseWishes) -> bytes:
    if wishes.backing is None:
        samples = play_along(lesson, rung, wishes.along)
    else:
        samples = play_with_band(lesson, rung, wishes.backing)
    return encode(samples, format=wishes.format, tags={"title": lesson.title})


def _recorded(lesson: Lesson, wishes: PractiseWishes, drill: Drill | None) -> bytes:
    recording = play_spot(lesson, drill) if drill else play_ladder(lesson, wishes.backing or wishes.along)
    return encode_recording(recording, format=wishes.format, tags={"title": lesson.title})


def _sounds(lesson: Lesson, wishes: PractiseWishes) -> Iterator[_Sound]:
    end, is_with_band = wishes.format, wishes.backing is not None
    if wishes.as_one:
        name = ladder_name(is_with_band=is_with_band, format=end)
        yield _Sound(name, "", partial(_recorded, lesson, wishes, None))
    else:
        named = with_band_name if is_with_band else play_along_name
        for rung in lesson.ladder:
            yield _Sound(named(rung, format=end), f"{rung.bpm:g}", partial(_rung_sound, lesson, rung, wishes))
    for number, drill in enumerate(lesson.drills if wishes.spots else (), start=1):
        yield _Sound(spot_name(number, format=end), "", partial(_recorded, lesson, wishes, drill))


def make_practice_sounds(
    folder: Path, wishes: PractiseWishes, out: Path, *, progress: Progress = silent
) -> tuple[str, ...]:
    """Make sounds from a lesson folder; each file appears whole or not at all. Returns the files' names."""
    lesson = _with_rungs(read_lesson(folder), wishes.rungs)
    sounds = list(_sounds(lesson, wishes))
    for done, sound in enumerate(sounds):
        progress(ProgressStep("sound", done, len(sounds), sound.detail or sound.name))
        write_file(out / sound.name, sound.make())
    return tuple(sound.name for sound in sounds)


def slow_recording(recording: Path, factor: float, out: Path) -> None:
    """Slow a recorded take or source down (1/3 to 1.5 of its speed) without a change of pitch."""
    end = out.suffix.lstrip(".").lower()
    data = read_bytes(recording, most_bytes=MOST_SOUND_BYTES)
    try:
        samples = decode(data)
    except ReedpathError as error:
        raise with_file(recording, error) from None
    write_file(out, encode(slowed(samples, factor), format=end))
