"""Raw footage that is played on a low harp, under whose reeds the lesson's own harp has none."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from reedpath.data import replace
from reedpath.hear import HOP_SECONDS, SoundCourse, course_of, low_sound
from reedpath.jobs.footage_hearing import _lowest_hz
from reedpath.jobs.footage_plays import with_low_playing
from reedpath.lesson import Lesson
from reedpath.signal import Samples, encode
from support.pieces import porch
from support.raw_footage import RATE, Said, Still, Tried, needs_speech, raw_scene

LESSON = porch()


def lower(lesson: Lesson) -> Lesson:
    """The lesson an octave lower, on the low harp of its key."""
    harp = replace(lesson.route.harp, key_midi=lesson.route.harp.key_midi - 12)
    return replace(lesson, route=replace(lesson.route, harp=harp))


@pytest.mark.slow
@pytest.mark.parametrize("pause", [0.6, 1.5])
def test_what_is_played_on_a_low_harp_is_no_talk(tmp_path: Path, pause: float) -> None:
    """After a voice that holds its pitch, so that both seem one stretch, and with a pause between."""
    needs_speech()
    said = Said("Hello and welcome, it begins on the draw.", "flite:slt")
    scene = raw_scene(
        lower(LESSON), [Still(1.0), said, Still(pause), Tried(0, 7, 2), Still(1.5)], seed=1, recorded=False
    )
    sound = Samples(scene.samples.astype(np.float32), RATE)
    (tmp_path / "low.wav").write_bytes(encode(sound))
    low, lowest_hz = low_sound([sound]), _lowest_hz(LESSON)
    usual = course_of(low, lowest_hz=lowest_hz)
    found = with_low_playing(tmp_path / "low.wav", LESSON, usual, course_of(low, lowest_hz=lowest_hz / 2))

    def played(course: SoundCourse, number: int) -> float:
        done = scene.done[number].sounds
        inside = slice(round(done[0][0] / HOP_SECONDS), round(done[-1][1] / HOP_SECONDS))
        sounds = course.talk[inside] | course.tone[inside]
        return float(course.tone[inside].sum() / sounds.sum())

    assert played(usual, 3) < 0.9
    assert played(found, 3) > 0.97
    # what is said stays what it was
    assert played(found, 1) == played(usual, 1)
    assert not (found.talk & found.tone).any()
