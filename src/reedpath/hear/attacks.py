"""Attacks: how strongly the sound changes, and how loud it is, every 5 ms.

The change is the rise of a logarithmic spectrum, in bands of a semitone, against the loudest of the
neighbouring bands a little earlier, so that a vibrato is no attack (Böck & Widmer, "Maximum filter vibrato
suppression for onset detection", DAFx 2013).
"""

from __future__ import annotations

from functools import cache

import numpy as np

from reedpath.hear.frames import RATE, Float32, FrameCutter
from reedpath.hear.spectrum import hann
from reedpath.hear.stretched import StretchedMatrix

# frames from one short window to the next (5 ms), and in one (32 ms)
ATTACK_HOP, ATTACK_WINDOW = 80, 512
ATTACK_HOP_SECONDS = ATTACK_HOP / RATE
# bands: lowest and highest hertz, and bands in an octave; Böck & Widmer use 24 from 27.5 Hz to 16 kHz
BAND_LOW_HZ, BAND_HIGH_HZ, BANDS_PER_OCTAVE = 80.0, 7600.0, 12
# bands before which they are parted: the low ones have few bins; by trial, for speed only
PARTED = (40, 60)
# windows back to which a spectrum is compared
LAG = 3
# how strongly the spectrum is compressed
COMPRESSION = 20.0
# windows looked at together, as in `observing`
AT_ONCE = 500
# decibels, full scale is 0: level to which the lead is brought before the compression, and the softest one that is
# believed; by how much the lead may fall from block to block
LEAD_DB, SOFTEST_DB, FADE_DB = -16.0, -75.0, 3.0


@cache
def _bands() -> Float32:
    """Triangular bands, shape (bins, bands); each at least two bins wide."""
    hz = np.fft.rfftfreq(ATTACK_WINDOW, 1 / RATE)
    octaves = np.log2(BAND_HIGH_HZ / BAND_LOW_HZ)
    centres = BAND_LOW_HZ * np.exp2(np.linspace(0, octaves, int(octaves * BANDS_PER_OCTAVE)))
    width = np.maximum(centres * (2 ** (1 / BANDS_PER_OCTAVE) - 1), RATE / ATTACK_WINDOW)
    bands = np.maximum(1 - np.abs(hz[:, np.newaxis] - centres) / width, 0.0)
    return np.asarray(bands / np.maximum(bands.sum(axis=0), 1e-9), dtype=np.float32)


@cache
def _parted_bands() -> StretchedMatrix:
    return StretchedMatrix(_bands(), PARTED)


def _loudness(windows: Float32) -> tuple[Float32, Float32]:
    """Power of each window, 1 for a full square wave, and magnitudes in its bands."""
    from scipy import fft

    under_hann = windows * hann(ATTACK_WINDOW)
    power = np.einsum("ij,ij->i", under_hann, under_hann) / np.float32(0.375 * ATTACK_WINDOW)
    return power, _parted_bands().under(np.abs(fft.rfft(under_hann, axis=1)))


def _spread(bands: Float32) -> Float32:
    """The loudest of each band and its neighbours."""
    wide = bands.copy()
    np.maximum(wide[:, 1:], bands[:, :-1], out=wide[:, 1:])
    np.maximum(wide[:, :-1], bands[:, 1:], out=wide[:, :-1])
    return wide


class AttackFinder:
    """Collects the attack strength and the level of a sound that comes in blocks."""

    def __init__(self) -> None:
        self._cutter = FrameCutter(hop=ATTACK_HOP, window=ATTACK_WINDOW)
        self._before = np.zeros((LAG, _bands().shape[1]), dtype=np.float32)
        self._attack: list[Float32] = []
        self._level: list[Float32] = []
        self._lead_db = SOFTEST_DB

    def feed(self, block: Float32) -> None:
        """Take in a block at `RATE`."""
        self._look(self._cutter.feed(block))

    def finish(self) -> tuple[Float32, Float32]:
        """Attack strengths and levels in decibels of the whole, both of shape (half frames,)."""
        self._look(self._cutter.finish())
        nothing = [np.zeros(0, dtype=np.float32)]
        return np.concatenate(nothing + self._attack), np.concatenate(nothing + self._level)

    def _look(self, windows: Float32) -> None:
        if len(windows) == 0:
            return
        parts = [_loudness(windows[at : at + AT_ONCE]) for at in range(0, len(windows), AT_ONCE)]
        power = np.concatenate([power for power, _ in parts])
        level = (10.0 * np.log10(np.maximum(power, 1e-12))).astype(np.float32)
        scale = np.float32(COMPRESSION * 4 / ATTACK_WINDOW * self._gain(level))
        loudness = np.concatenate([self._before, *(bands for _, bands in parts)])
        bands = np.log1p(scale * loudness)
        self._attack.append(np.maximum(bands[LAG:] - _spread(bands[: len(windows)]), 0.0).mean(axis=1))
        self._level.append(level)
        self._before = loudness[len(loudness) - LAG :]

    def _gain(self, level: Float32) -> float:
        """What brings the lead, the loudest of late, to `LEAD_DB`: a soft recording has the attacks of a loud one."""
        power = np.power(10.0, level / 10.0, dtype=np.float64)
        lead = 10.0 * np.log10(float(np.square(power).sum()) / float(power.sum()))
        self._lead_db = max(lead, self._lead_db - FADE_DB, SOFTEST_DB)
        return float(10.0 ** ((LEAD_DB - self._lead_db) / 20.0))
