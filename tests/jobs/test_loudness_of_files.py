"""All files that are made to be heard are as loud as one another; those that keep every sample have as many bits."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
import soundfile
from msgspec.structs import replace

from reedpath.film import lay_out_film
from reedpath.film.lesson_film import sound_of
from reedpath.jobs import PractiseWishes, make_practice_sounds, write_lesson
from reedpath.jobs.lesson_pages import sounds_in_page
from reedpath.lesson import Lesson, Rung
from reedpath.pitch import Key
from reedpath.signal import decode
from reedpath.sound import TARGET_LUFS, Backing, Turns, loudness_lufs
from support.built_routes import built_lesson, built_route

pytestmark = pytest.mark.slow

# LU between any two files
APART = 0.5


@pytest.fixture(scope="module")
def lesson() -> Lesson:
    route = built_route("2d 3d' 4b 4d'! 4d:1~ r:1", key="A", bpm=120.0, swing=Fraction(2), music_key=Key(4))
    return replace(built_lesson(route), ladder=(Rung("slow", 0.5, 60.0), Rung("full", 1.0, 120.0)))


def lufs_of(path: Path) -> float:
    sound = decode(path)
    return loudness_lufs(sound.array, rate=sound.rate)


def test_all_files_are_as_loud_and_have_as_many_bits(lesson: Lesson, tmp_path: Path) -> None:
    write_lesson(lesson, tmp_path / "lesson")
    band, turns = Backing(form="one-chord", rounds=1), Turns.YOURS
    for number, wishes in enumerate(
        (
            PractiseWishes(band, rungs=("full",)),
            PractiseWishes(Backing(form="one-chord", rounds=1, turns=turns), rungs=("full",), format="flac"),
            PractiseWishes(as_one=True, format="flac"),
            PractiseWishes(as_one=True, format="mp3"),
            PractiseWishes(band, rungs=("full",), format="opus"),
        )
    ):
        make_practice_sounds(lesson, wishes, tmp_path / f"more-{number}")
    files = [one for ending in ("wav", "flac", "mp3", "opus") for one in sorted(tmp_path.rglob(f"*.{ending}"))]
    assert len(files) == 7
    assert {soundfile.info(one).subtype for one in files if one.suffix in (".wav", ".flac")} == {"PCM_16"}
    told = {str(one.relative_to(tmp_path)): lufs_of(one) for one in files}
    for small in sounds_in_page((tmp_path / "lesson" / "lesson.html").read_bytes()):
        sound = decode(small)
        # one channel, which both loudspeakers play
        told[f"page, {sound.duration_seconds:.1f} s"] = loudness_lufs(
            np.repeat(sound.array, 2, axis=1), rate=sound.rate
        )
    assert len(told) == 9
    assert max(told.values()) - min(told.values()) < APART, told
    assert min(told.values()) > TARGET_LUFS - APART, told


@pytest.mark.parametrize("play", [None, Backing(form="one-chord", rounds=1, turns=Turns.YOURS)])
def test_a_film_is_as_loud(lesson: Lesson, play: Backing | None) -> None:
    timeline = lay_out_film(lesson, with_steps=play is None, play=play)
    sound = np.concatenate([block.array for block in sound_of(timeline)])
    assert loudness_lufs(sound, rate=44_100) == pytest.approx(TARGET_LUFS, abs=APART)
