"""Condition: what is to be said of a recording before its notes are believed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from reedpath.hear.observing import Observations
from reedpath.signal.samples import Samples

# share of full scale from which a value is held clipped, and how many such neighbours make a clip
CLIPPED_VALUE, CLIPPED_RUN = 0.999, 3
# share of clipped values from which it is worth a word: a thousandth is heard as a crackle; from memory
CLIPPED_SHARE = 1e-3
# decibels: under full scale, under which a sound is silence; under its loudest, over which a frame is loud
SILENCE_DB, LOUD_DB = -60.0, 25.0
# median salience of loud frames under which a sound is mostly drums, noise or many voices: recorded drum loops
# have 0.08 to 0.25, instruments in noise, under a band or by telephone 0.29 and more (bench/hear_accuracy.py)
LEAST_SALIENCE = 0.26
# hertz under which a recording has lost the higher overtones
LOW_RATE = 16_000


@dataclass(frozen=True, slots=True)
class Condition:
    """What a recording is like.

    duration_seconds : its length. rate : hertz, channels : as it came.
    peak : largest value, 1 is full scale. clipped_share : share of its values that are cut off.
    salience : median of the loud frames, 0 to 1: how well one pitch explains them.
    broken_off : whether its file holds less of it than it should.
    silent, clipped, without_pitch, low_rate : whether each is worth a word.
    """

    duration_seconds: float
    rate: int
    channels: int
    peak: float
    clipped_share: float
    salience: float
    broken_off: bool = False

    @property
    def silent(self) -> bool:
        """Whether there is nothing to hear."""
        return bool(self.peak < 10.0 ** (SILENCE_DB / 20.0))

    @property
    def clipped(self) -> bool:
        """Whether it was recorded too loud, its peaks cut off."""
        return self.clipped_share > CLIPPED_SHARE

    @property
    def without_pitch(self) -> bool:
        """Whether it is mostly drums, noise or many voices at once."""
        return not self.silent and self.salience < LEAST_SALIENCE

    @property
    def low_rate(self) -> bool:
        """Whether it has lost the higher overtones, as by telephone."""
        return 0 < self.rate < LOW_RATE


def _clipped_values(size: npt.NDArray[np.floating]) -> int:
    """About how many values lie in runs at full scale; shape (frames, channels)."""
    full = size >= CLIPPED_VALUE
    run = np.ones((max(0, len(full) - CLIPPED_RUN + 1), 1), dtype=bool)
    for shift in range(CLIPPED_RUN):
        run = run & full[shift : len(full) - CLIPPED_RUN + 1 + shift]
    return CLIPPED_RUN * int(run.sum())


class SourceTally:
    """Counts what a sound is like while its blocks pass.

    broken_off : whether its file broke off, which who reads it sets.
    """

    def __init__(self) -> None:
        self.broken_off = False
        self.rate = 0
        self.channels = 0
        self.peak = 0.0
        self._values = 0
        self._clipped = 0

    def passing(self, sound: Samples | Iterable[Samples]) -> Iterator[Samples]:
        """The blocks of the sound, counted."""
        for block in [sound] if isinstance(sound, Samples) else sound:
            self.rate, self.channels = block.rate, block.channels
            self._values += block.array.size
            peak = max(block.array.max(initial=0.0), -block.array.min(initial=0.0))
            if not np.isfinite(peak) or peak >= CLIPPED_VALUE:
                size = np.abs(np.nan_to_num(block.array))
                peak = size.max(initial=0.0)
                self._clipped += _clipped_values(size)
            self.peak = max(self.peak, float(peak))
            yield block

    @property
    def clipped_share(self) -> float:
        """Share of the values that are cut off, about."""
        return min(1.0, self._clipped / self._values) if self._values else 0.0


def condition_of(seen: Observations, tally: SourceTally) -> Condition:
    """The condition of a sound that was observed while the tally counted it."""
    level = seen.envelope_db[: 2 * seen.frames : 2]
    loud = level > max(SILENCE_DB, float(level.max(initial=-200.0)) - LOUD_DB)
    strength = seen.strength[: len(level), 0][loud]
    return Condition(
        duration_seconds=seen.duration_seconds,
        rate=tally.rate,
        channels=tally.channels,
        peak=tally.peak,
        clipped_share=tally.clipped_share,
        salience=float(np.median(strength)) if len(strength) else 0.0,
        broken_off=tally.broken_off,
    )
