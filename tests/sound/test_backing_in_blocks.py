"""The band under a lesson in blocks as in one piece."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from reedpath.pitch import Key
from reedpath.sound import Backing, Turns, backing_blocks, lay_out_backing, play_with_band
from support.built_routes import built_lesson, built_route

pytestmark = pytest.mark.slow

LESSON = built_lesson(built_route("2d 3d' 4b 4d:1~ r 5d 4d:1 r:1", bpm=120.0, music_key=Key(4)), factors=(1.0,))


@pytest.mark.parametrize("block_seconds", [3.1, 60.0])
@pytest.mark.parametrize("turns", [Turns.TOGETHER, Turns.CALL])
def test_blocks_are_the_whole(block_seconds: float, turns: Turns) -> None:
    backing = Backing(form="one-chord", rounds=3, turns=turns, chords="both")
    whole = play_with_band(LESSON, LESSON.ladder[0], backing)
    layout = lay_out_backing(LESSON, LESSON.ladder[0], backing)
    blocks = list(backing_blocks(layout, block_seconds=block_seconds))
    joined = np.concatenate([block.array for block in blocks])
    assert joined.shape == whole.array.shape
    assert np.abs(whole.array).max() > 0.05
    assert np.abs(joined - whole.array).max() < 1e-3
    assert all(block.frames <= round(block_seconds * block.rate) for block in blocks)


def test_a_round_s_beats_last_as_long_as_a_round() -> None:
    layout = lay_out_backing(LESSON, LESSON.ladder[0], Backing(form="twelve-bar", rounds=2))
    assert layout.round_beats == 48
    first, second = layout.rounds
    assert second.zero_seconds - first.zero_seconds == pytest.approx(48 * 60 / 120)
    assert [one.choice for one in layout.route.events] == [one.choice for one in LESSON.route.events]


def test_a_pickup_does_not_sound_over_the_end_of_the_round_before() -> None:
    full = built_route("2d:1 4b:4 4d:4", music_key=Key(4), pickup=Fraction(1))
    layout = lay_out_backing(built_lesson(full, factors=(1.0,)), LESSON.ladder[0], Backing(form="one-chord"))
    first, second = layout.spans
    assert first[-1].end_seconds <= second[0].start_seconds
    short = built_route("2d:1 4b:4 4d:3", music_key=Key(4), pickup=Fraction(1))
    layout = lay_out_backing(built_lesson(short, factors=(1.0,)), LESSON.ladder[0], Backing(form="one-chord"))
    assert layout.round_beats == 8
