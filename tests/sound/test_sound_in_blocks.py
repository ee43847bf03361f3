"""The same sound in blocks as in one piece."""

import numpy as np
import pytest

from reedpath.sound import PlayAlong, Turns, lay_out, play_along, sound_blocks
from support.built_routes import built_lesson, built_route

LESSON = built_lesson(built_route("2d''! 2d 3d' 4b:1 (4 5)d:1! r:1/2 6bo:1/4 4d:1/2^1 [1 4]b:1 2d:2~", bpm=100.0))


@pytest.mark.parametrize("block_seconds", [0.7, 2.0, 60.0])
@pytest.mark.parametrize("mute_voice", [False, True])
def test_blocks_are_the_whole(block_seconds: float, mute_voice: bool) -> None:
    options = PlayAlong(turns=Turns.YOURS if mute_voice else Turns.TOGETHER)
    whole = play_along(LESSON, LESSON.ladder[0], options)
    layout = lay_out(LESSON, LESSON.ladder[0], options)
    blocks = list(sound_blocks(layout, mute_voice=mute_voice, block_seconds=block_seconds))
    joined = np.concatenate([block.array for block in blocks])
    assert joined.shape == whole.array.shape
    assert np.abs(whole.array).max() > 0.05
    assert np.abs(joined - whole.array).max() < 2e-4
    assert all(block.frames <= round(block_seconds * block.rate) for block in blocks)
