"""A lesson with a band in blocks, as a play-along alone is (`reedpath.sound.blocks`).

Apart from these, so that what makes play-alongs need not enter the room of the band.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from reedpath.signal import Samples
from reedpath.sound.backing import BackingLayout, BackingPiece, mixed_backing
from reedpath.sound.band import part_gain
from reedpath.sound.blocks import RELEASE_SECONDS, cut_blocks, tones_near
from reedpath.sound.levelling import levelled_blocks
from reedpath.sound.play_alongs import SOUND_RATE
from reedpath.sound.tones import Tone


def _tones_near(layout: BackingLayout, start: float, end: float, *, of_all: bool) -> list[Tone]:
    """The tones heard between two moments; only rounds that reach into them are looked at.

    of_all : also of the rounds that are the student's.
    """
    near = []
    for one in layout.rounds:
        first, last = one.zero_seconds - RELEASE_SECONDS, one.zero_seconds + layout.plan.seconds + RELEASE_SECONDS
        if (one.played or of_all) and first < end and start < last:
            near += tones_near(layout.plan.delayed(one.zero_seconds).tones, start, end)
    return near


def backing_blocks(
    layout: BackingLayout, *, rate: int = SOUND_RATE, block_seconds: float = 20.0, bank: Path | None = None
) -> Iterator[Samples]:
    """
    What `play_with_band` gives for a layout, one block after the other.

    layout : as `lay_out_backing` gives it.
    block_seconds : length of a block; the last one is shorter.
    bank : a General MIDI sound bank; None for the layout's own, else the one that is installed.
    """
    a4_hz = layout.route.harp.a4_hz
    played = bank or layout.bank
    gains = {
        part.name: part_gain(part, seconds=layout.seconds, rate=rate, a4_hz=a4_hz, bank=played)
        for part in layout.parts
    }

    def mixed_blocks(*, of_all: bool) -> Iterator[Samples]:
        def stretch(first: int, last: int) -> Samples:
            start, seconds = first / rate, (last - first) / rate
            near = _tones_near(layout, start, start + seconds, of_all=of_all)
            return mixed_backing(BackingPiece(layout, near, seconds, rate, bank, start, gains))

        return cut_blocks(layout.seconds, rate, block_seconds, stretch)

    return levelled_blocks(
        lambda: mixed_blocks(of_all=False),
        seconds=layout.seconds,
        by=(lambda: mixed_blocks(of_all=True)) if layout.has_only_clicks else None,
    )
