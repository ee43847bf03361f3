"""Live: pitch while the sound is being made, block by block, within 30 ms.

The same combs as for a whole recording, on windows half as long (32 ms), with what is known so far in place
of what the whole tells: the lead's level is the loudest of the last seconds, fading, and of near-equal
candidates the one next to the last pitch is taken. A value is ready half a window, 16 ms, after its moment.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from reedpath.hear.frames import Float32
from reedpath.hear.path import prior_at
from reedpath.hear.salience import peaks_of, salience
from reedpath.hear.spectrum import Spectra, refined_midi

__all__ = ["LivePitch", "Tracker"]

# hertz near which the sound is looked at, and frames of a window there: 32 ms; seconds between values
NEAR_RATE, WINDOW, STEP_SECONDS = 16_000, 512, 0.01
# taps of the filter before the rate is lowered, for each part it is lowered by: 0.5 ms of delay
TAPS = 16
# candidates compared
CANDIDATES = 5
# natural log units: weight of a salience's logarithm; what nearness to the last pitch is worth, and how near
# in semitones; ours
SALIENCE_WEIGHT, NEARNESS, NEAR_SEMITONES = 5.0, 1.0, 0.7
# salience of noise, and of a frame as likely voiced as not beyond it
NOISE_SALIENCE, TONE_WEIGHT = 0.25, 30.0
# decibels: under the lead at which sound is as likely background; for each of them so many log units; a second
# takes so many off the lead's level; the softest lead believed (full scale is 0)
BACKGROUND_DB, LEVEL_WEIGHT, FADE_DB, SOFTEST_DB = -22.0, 0.3, 1.0, -55.0
# log odds from which a pitch is given: a click alone reaches 0.1
LEAST_ODDS = 0.5
# bounds of each of the two log odds
BOUNDS = (-8.0, 3.0)


def _low_pass(taps: int, cutoff: float) -> Float32:
    """A windowed-sinc filter (Hamming's window) of unit gain; the cutoff is a share of half the rate."""
    places = np.arange(taps) - (taps - 1) / 2
    shape = np.sinc(cutoff * places) * np.hamming(taps)
    return np.asarray(shape / shape.sum(), dtype=np.float32)


@dataclass(frozen=True, slots=True)
class LivePitch:
    """A pitch at a moment.

    seconds : since the tracker began, of the middle of the window.
    hz : pitch, NaN for silence or noise. confidence : 0 to 1, that there is a lead of this pitch.
    level_db : level of the sound, full scale is 0.
    """

    seconds: float
    hz: float
    confidence: float
    level_db: float

    @property
    def midi(self) -> float:
        """Pitch as a MIDI number with its fraction, NaN for silence."""
        return float(69.0 + 12.0 * np.log2(self.hz / 440.0))


class Tracker:
    """Follows the pitch of a sound that is being made.

    Parameters
    ----------
    rate : of the blocks, hertz, at least 8000.
    prior : what pitches may be expected, as for `reedpath.hear.track_pitch`.

    >>> tracker = Tracker(48000)
    >>> tone = np.sin(2 * np.pi * 440 * np.arange(4800) / 48000).astype(np.float32)
    >>> round(tracker.feed(tone)[-1].hz)
    440
    """

    def __init__(self, rate: int, *, prior: npt.ArrayLike | None = None) -> None:
        if rate < 8000:
            raise ValueError(f"a rate is at least 8000 Hz, not {rate}")
        self._prior = prior
        self._factor = max(1, round(rate / NEAR_RATE))
        self._rate = rate / self._factor
        taps = TAPS * self._factor + 1
        wide = self._factor > 1
        self._filter = _low_pass(taps, 0.9 / self._factor) if wide else np.ones(1, np.float32)
        self._raw: Float32 = np.zeros(len(self._filter) - 1, dtype=np.float32)
        self._kept: Float32 = np.zeros(WINDOW // 2, dtype=np.float32)
        self._hop = round(self._rate * STEP_SECONDS)
        self._delay_seconds = (len(self._filter) - 1) / 2 / rate
        self._windows = 0
        self._lead_db = SOFTEST_DB
        self._last_midi = np.nan

    def feed(self, block: npt.ArrayLike) -> tuple[LivePitch, ...]:
        """Take in a block of one channel, shape (frames,); what is new since the last one."""
        sound = np.nan_to_num(np.asarray(block, dtype=np.float32).ravel())
        self._kept = np.concatenate([self._kept, self._lowered(sound)])
        count = max(0, (len(self._kept) - WINDOW) // self._hop + 1)
        if count == 0:
            return ()
        windows = np.lib.stride_tricks.sliding_window_view(self._kept, WINDOW)[:: self._hop][:count]
        found = self._pitches(windows)
        self._kept = self._kept[count * self._hop :]
        return found

    def _lowered(self, sound: Float32) -> Float32:
        """The block at the lower rate."""
        if self._factor == 1:
            return sound
        raw = np.concatenate([self._raw, sound])
        taps = len(self._filter)
        count = max(0, (len(raw) - taps) // self._factor + 1)
        if count == 0:
            self._raw = raw
            return np.zeros(0, dtype=np.float32)
        views = np.lib.stride_tricks.sliding_window_view(raw, taps)[:: self._factor][:count]
        self._raw = raw[count * self._factor :]
        return np.asarray(views @ self._filter, dtype=np.float32)

    def _pitches(self, windows: Float32) -> tuple[LivePitch, ...]:
        spectra = Spectra(windows, rate=self._rate)
        rows, _ = salience(spectra.magnitudes, self._rate)
        midi, strength = peaks_of(rows, CANDIDATES)
        midi = refined_midi(spectra, midi)
        fit = SALIENCE_WEIGHT * np.log(np.maximum(strength, 1e-3)) + prior_at(self._prior, midi)
        level = 10.0 * np.log10(np.maximum(2.0 * spectra.energy / WINDOW, 1e-12))
        return tuple(self._one(midi[row], strength[row], fit[row], float(level[row])) for row in range(len(windows)))

    def _one(
        self,
        midi: npt.NDArray[np.float64],
        strength: Float32,
        fit: npt.NDArray[np.float64],
        level: float,
    ) -> LivePitch:
        near = np.abs(midi - self._last_midi) < NEAR_SEMITONES
        best = int(np.argmax(fit + NEARNESS * near))
        tone = TONE_WEIGHT * (float(strength[best]) - NOISE_SALIENCE)
        self._lead_db = max(self._lead_db - FADE_DB * STEP_SECONDS, SOFTEST_DB)
        if tone > 0:
            self._lead_db = max(self._lead_db, level)
        loud = LEVEL_WEIGHT * (level - self._lead_db - BACKGROUND_DB) if level > SOFTEST_DB else BOUNDS[0]
        odds = float(np.clip(tone, *BOUNDS) + np.clip(loud, *BOUNDS))
        voiced = odds > LEAST_ODDS
        self._last_midi = float(midi[best]) if voiced else np.nan
        seconds = self._windows * self._hop / self._rate - self._delay_seconds
        self._windows += 1
        return LivePitch(
            seconds=seconds,
            hz=440.0 * 2.0 ** ((float(midi[best]) - 69.0) / 12.0) if voiced else float("nan"),
            confidence=1.0 / (1.0 + float(np.exp(-odds))),
            level_db=level,
        )
