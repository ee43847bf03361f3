"""Practice sounds made one by one: how far each is, and what is written into it."""

from __future__ import annotations

import io

import numpy as np
import pytest
import soundfile
from msgspec.structs import replace

from reedpath.jobs.practising import PractiseWishes, _blocks, sound_practice_rung
from reedpath.lesson import Rung, make_lesson
from reedpath.sound import PlayAlong
from support.built_routes import built_route

LESSON = replace(make_lesson(built_route("2d:1 3d:1 4b:2", key="A", bpm=240.0)), title="Three (invented)")
RUNG = Rung("full", 1.0, 240.0)


@pytest.mark.parametrize("format", ["wav", "flac"])
def test_a_tempo_is_written_block_by_block_and_tells_how_far_it_is(format: str) -> None:
    wishes = PractiseWishes(PlayAlong(count_in_bars=1), format=format)
    seconds, blocks = _blocks(LESSON, RUNG, wishes.play)
    lengths = [one.duration_seconds for one in blocks]
    written, told = io.BytesIO(), []
    sound_practice_rung(LESSON, wishes, RUNG, put=written.write, report=told.append)
    assert told == pytest.approx(np.minimum(1.0, np.cumsum(lengths) / seconds))
    assert told[-1] == 1.0
    with soundfile.SoundFile(io.BytesIO(written.getvalue())) as sound:
        assert (sound.channels, sound.title) == (2, "Three (invented)")
        assert sound.frames / sound.samplerate == pytest.approx(sum(lengths), abs=0.01)


def test_a_format_of_another_rate_is_written_at_once() -> None:
    written = io.BytesIO()
    sound_practice_rung(LESSON, PractiseWishes(format="opus"), RUNG, put=written.write, report=pytest.fail)
    with soundfile.SoundFile(io.BytesIO(written.getvalue())) as sound:
        assert (sound.samplerate, sound.title) == (48_000, "Three (invented)")
