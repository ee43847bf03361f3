"""A lesson with a band in blocks, so that memory does not grow with the rounds.

As in `blocks`, each block is cut out of a stretch that is longer on both sides.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path

from reedpath.signal import Samples
from reedpath.sound.backing import BackingLayout
from reedpath.sound.band import part_gain, sound_part
from reedpath.sound.blocks import AROUND_SECONDS, RELEASE_SECONDS
from reedpath.sound.click import Click, render_clicks
from reedpath.sound.ladder import CLICK_DB, RATE, VOICE_DB
from reedpath.sound.mix import Track, mixed_down
from reedpath.sound.room import placed_in_room
from reedpath.sound.tones import Tone
from reedpath.sound.voice import render_tones

__all__ = ["backing_blocks"]


def _tones_near(layout: BackingLayout, start: float, end: float) -> list[Tone]:
    """The tones heard between two moments; only rounds that reach into them are looked at."""
    near = []
    for one in layout.rounds:
        first, last = one.zero_seconds - RELEASE_SECONDS, one.zero_seconds + layout.plan.seconds + RELEASE_SECONDS
        if one.played and first < end and start < last:
            near += [
                tone
                for tone in layout.plan.delayed(one.zero_seconds).tones
                if tone.start_seconds - RELEASE_SECONDS < end and start < tone.end_seconds + RELEASE_SECONDS
            ]
    return near


def _tracks(
    layout: BackingLayout, gains: Mapping[str, float], start: float, seconds: float, rate: int, bank: Path | None
) -> Iterator[Track]:
    clicks = [Click(click.seconds - start, click.first) for click in layout.clicks]
    yield Track(render_clicks(clicks, seconds=seconds, rate=rate), CLICK_DB)
    a4_hz = layout.route.harp.a4_hz
    for part in layout.parts:
        sound = sound_part(
            part, seconds=seconds, rate=rate, a4_hz=a4_hz, bank=bank, start_seconds=start, gain=gains[part.name]
        )
        yield Track(sound)
    if tones := _tones_near(layout, start, start + seconds):
        dry = render_tones(tones, seconds=seconds, start_seconds=start, rate=rate)
        yield Track(placed_in_room(dry, rate=rate), VOICE_DB)


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
    frames, around = round(layout.seconds * rate), round(AROUND_SECONDS * rate)
    a4_hz = layout.route.harp.a4_hz
    gains = {
        part.name: part_gain(part, seconds=layout.seconds, rate=rate, a4_hz=a4_hz, bank=bank) for part in layout.parts
    }
    step = max(1, round(block_seconds * rate))
    for begin in range(0, frames, step):
        end = min(begin + step, frames)
        first, last = max(0, begin - around), min(frames, end + around)
        tracks = _tracks(layout, gains, first / rate, (last - first) / rate, rate, bank)
        wide = mixed_down(tracks, seconds=(last - first) / rate, rate=rate)
        yield Samples(wide.array[begin - first : end - first], rate)
