"""A play-along in blocks, so that memory does not grow with its length.

Each block is cut out of a stretch that begins earlier by more than the room rings; all are brought to one loudness
(`reedpath.sound.levelling`). So the blocks put together are the whole sound, but for rounding.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from reedpath.signal import Samples
from reedpath.sound.levelling import levelled_blocks
from reedpath.sound.play_alongs import SOUND_RATE, PlayAlongLayout, sounded
from reedpath.sound.tones import Tone

# seconds by which a stretch begins earlier: the room (0.32), with air
AROUND_SECONDS = 0.75
# seconds that a tone may go on after its breath has stopped, and begin before; generous
RELEASE_SECONDS = 1.0


def tones_near(tones: Iterable[Tone], start_seconds: float, end_seconds: float) -> list[Tone]:
    """The tones that may be heard between two moments."""
    return [
        tone
        for tone in tones
        if tone.start_seconds - RELEASE_SECONDS < end_seconds and start_seconds < tone.end_seconds + RELEASE_SECONDS
    ]


def cut_blocks(
    seconds: float, rate: int, block_seconds: float, stretch: Callable[[int, int], Samples]
) -> Iterator[Samples]:
    """A sound in blocks, each cut out of the longer stretch between two frames that ``stretch`` gives."""
    frames, around = round(seconds * rate), round(AROUND_SECONDS * rate)
    step = max(1, round(block_seconds * rate))
    for begin in range(0, frames, step):
        end = min(begin + step, frames)
        first = max(0, begin - around)
        yield Samples(stretch(first, end).array[begin - first :], rate)


def sound_blocks(
    layout: PlayAlongLayout, *, mute_voice: bool = False, rate: int = SOUND_RATE, block_seconds: float = 20.0
) -> Iterator[Samples]:
    """
    What `play_along` gives for a layout, one block after the other.

    layout : as `lay_out` gives it, or one of your own.
    mute_voice : whether the harmonica is left out.
    block_seconds : length of a block; the last one is shorter.
    """
    tones = layout.plan.delayed(layout.zero_seconds).tones

    def mixed_blocks(heard: tuple[Tone, ...]) -> Iterator[Samples]:
        def stretch(first: int, last: int) -> Samples:
            start, seconds = first / rate, (last - first) / rate
            near = tones_near(heard, start, start + seconds)
            return sounded(near, layout.clicks, seconds=seconds, rate=rate, start_seconds=start)

        return cut_blocks(layout.seconds, rate, block_seconds, stretch)

    if mute_voice:
        return levelled_blocks(lambda: mixed_blocks(()), seconds=layout.seconds, by=lambda: mixed_blocks(tones))
    return levelled_blocks(lambda: mixed_blocks(tones), seconds=layout.seconds)
