"""The watch over a recording: what is wrong with the sound itself, told while it is read.

watch = SoundWatch()
seen = observe(watch.through(blocks))
notices = watch.notices()
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from enum import StrEnum

import numpy as np

from reedpath.signal.samples import Samples

__all__ = ["Notice", "SoundWatch"]

# full scale; samples this near it in a row are cut off
FULL_SCALE = 0.995
# such samples in a row that count as cut off, and seconds of them in a minute that are told; from memory
CUT_OFF_ROW, CUT_OFF_PER_MINUTE = 3, 0.05
# decibels under full scale that the loudest tenth of a second must pass to be worth hearing; from memory
QUIET_DB = -50.0
# hertz; rates under it leave out overtones (and above it nothing is gained)
NARROW_RATE_HZ = 16_000
# seconds from which a recording is told to be long
LONG_SECONDS = 20 * 60.0


class Notice(StrEnum):
    """Something to be said of a recording."""

    EMPTY = "empty"  # there is no sound in it at all
    SILENT = "silent"  # nothing but silence
    QUIET = "quiet"  # too soft
    CLIPPED = "clipped"  # too loud: cut off
    NARROW = "narrow"  # a rate that leaves out overtones
    LONG = "long"  # very long
    NO_PITCH = "no pitch"  # sound, but no tone: drums, noise
    OTHER = "other music"  # tones, but not the lesson's phrase
    NOTHING_ASKED = "nothing asked"  # the lesson has nothing to play


class SoundWatch:
    """Looks at the blocks of a recording as they pass."""

    def __init__(self) -> None:
        self.frames = 0
        self.rate = 0
        self._cut_off = 0
        self._loudest = 0.0

    def through(self, sound: Samples | Iterable[Samples]) -> Iterator[Samples]:
        """The same blocks, looked at."""
        for block in [sound] if isinstance(sound, Samples) else sound:
            self._look(block)
            yield block

    def _look(self, block: Samples) -> None:
        self.rate = block.rate
        self.frames += block.frames
        if not block.frames:
            return
        level = np.abs(np.nan_to_num(block.array, nan=0.0, posinf=1.0, neginf=1.0)).max(axis=1)
        over = level >= FULL_SCALE
        if over.any():
            row = np.convolve(over, np.ones(CUT_OFF_ROW), mode="valid") >= CUT_OFF_ROW
            self._cut_off += int(row.sum())
        width = max(1, block.rate // 10)
        whole = len(level) // width * width
        parts = level[:whole].reshape(-1, width) if whole else level[np.newaxis, :]
        self._loudest = max(self._loudest, float(np.sqrt(np.square(parts, dtype=np.float64).mean(axis=1)).max()))

    @property
    def duration_seconds(self) -> float:
        """Length of what has passed."""
        return self.frames / self.rate if self.rate else 0.0

    def notices(self) -> tuple[Notice, ...]:
        """What is to be said of the sound that has passed."""
        if not self.frames:
            return (Notice.EMPTY,)
        if self._loudest < 1e-5:
            return (Notice.SILENT,)
        minutes = max(self.duration_seconds / 60.0, 1 / 60.0)
        said = {
            Notice.QUIET: 20.0 * np.log10(self._loudest) < QUIET_DB,
            Notice.CLIPPED: self._cut_off / self.rate > CUT_OFF_PER_MINUTE * minutes,
            Notice.NARROW: self.rate < NARROW_RATE_HZ,
            Notice.LONG: self.duration_seconds > LONG_SECONDS,
        }
        return tuple(notice for notice, holds in said.items() if holds)
