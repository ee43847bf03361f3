"""A lesson with a band in blocks, so that memory does not grow with the rounds.

As in `blocks`, each block is cut out of a stretch that is longer on both sides.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from reedpath.signal import Samples
from reedpath.sound.backing import BackingLayout, backing_tracks
from reedpath.sound.band import part_gain
from reedpath.sound.blocks import RELEASE_SECONDS, cut_blocks, tones_near
from reedpath.sound.ladder import RATE
from reedpath.sound.mix import mixed_down
from reedpath.sound.tones import Tone

__all__ = ["backing_blocks"]


def _tones_near(layout: BackingLayout, start: float, end: float) -> list[Tone]:
    """The tones heard between two moments; only rounds that reach into them are looked at."""
    near = []
    for one in layout.rounds:
        first, last = one.zero_seconds - RELEASE_SECONDS, one.zero_seconds + layout.plan.seconds + RELEASE_SECONDS
        if one.played and first < end and start < last:
            near += tones_near(layout.plan.delayed(one.zero_seconds).tones, start, end)
    return near


def backing_blocks(
    layout: BackingLayout, *, rate: int = RATE, block_seconds: float = 20.0, bank: Path | None = None
) -> Iterator[Samples]:
    """
    What `play_with_band` gives for a layout, one block after the other.

    Parameters
    ----------
    layout : as `lay_out_backing` gives it.
    block_seconds : length of a block; the last one is shorter.
    bank : a General MIDI sound bank; None for the one that is installed.
    """
    a4_hz = layout.route.harp.a4_hz
    gains = {
        part.name: part_gain(part, seconds=layout.seconds, rate=rate, a4_hz=a4_hz, bank=bank) for part in layout.parts
    }

    def stretch(first: int, last: int) -> Samples:
        start, seconds = first / rate, (last - first) / rate
        near = _tones_near(layout, start, start + seconds)
        tracks = backing_tracks(layout, near, seconds=seconds, rate=rate, bank=bank, start_seconds=start, gains=gains)
        return mixed_down(tracks, seconds=seconds, rate=rate)

    return cut_blocks(layout.seconds, rate, block_seconds, stretch)
