"""Spectra: magnitudes of windows, the exact frequency behind each bin, and the tone of the room.

The exact frequency is Auger and Flandrin's reassignment (IEEE Trans. Signal Processing 43(5), 1995): the
spectrum under the window's derivative, over the spectrum under the window, tells how far a partial lies from
its bin. For a steady partial it is exact; no interpolation between bins comes near it.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import numpy.typing as npt

from reedpath.hear.frames import RATE, SPECTRUM, Float32

Complex64 = npt.NDArray[np.complex64]
Float64 = npt.NDArray[np.float64]
Intp = npt.NDArray[np.intp]

# harmonics from which a pitch is measured
REFINING_HARMONICS = 12
# semitones by which a partial may miss its place and still be counted; half of the smallest interval
REFINING_TOLERANCE = 0.5
# power of a partial's number by which it counts, beside its magnitude. The peak of the autocorrelation, the
# period of the wave, weighs by the squares of both; noise speaks for less trust in the high and faint. For steady
# tones of a reed all are alike, for stiff strings the partials disagree by some cents; set on the development half
# of bench/hear_accuracy.py
NUMBER_POWER = 1.5
# share of the windows of a block, the quietest, from which the room is learnt, and the fewest
QUIET_SHARE, FEWEST_QUIET = 0.025, 5
# decibels by which they must lie under the energy-weighted mean level to count as pauses
PAUSE_DEPTH_DB = 15.0


@cache
def hann(length: int) -> Float32:
    """Hann's window of so many frames, such that windows half of it apart add up to one; only to be read."""
    return np.asarray(0.5 - 0.5 * np.cos(2 * np.pi * np.arange(length) / length), dtype=np.float32)


@cache
def _slope(length: int) -> Float32:
    """The slope of Hann's window of so many frames."""
    return np.asarray(np.pi / length * np.sin(2 * np.pi * np.arange(length) / length), dtype=np.float32)


def _energies(windows: Float32) -> Float64:
    return np.asarray(np.einsum("ij,ij->i", windows, windows), dtype=np.float64)


class Spectra:
    """Spectra of windows of at most `SPECTRUM` frames: under Hann's window, under its slope, their magnitudes.

    plain, sloped : complex. magnitudes : of plain. All of shape (windows, `SPECTRUM` / 2 + 1).
    bin_hz : hertz from bin to bin.
    """

    __slots__ = ("bin_hz", "magnitudes", "plain", "rate", "sloped")

    def __init__(self, windows: Float32, *, rate: float = RATE) -> None:
        from scipy import fft

        length = windows.shape[1]
        self.rate = rate
        self.bin_hz = rate / SPECTRUM
        padded = np.empty((len(windows), SPECTRUM), dtype=np.float32)
        padded[:, length:] = 0.0
        part = padded[:, :length]
        np.multiply(windows, hann(length), out=part)
        self.plain: Complex64 = fft.rfft(padded, axis=1)
        np.multiply(windows, _slope(length), out=part)
        self.sloped: Complex64 = fft.rfft(padded, axis=1)
        self.magnitudes: Float32 = np.abs(self.plain)


class RoomTone:
    """What a recording sounds like in its pauses (noise, mains hum), learnt block by block.

    A sound without pauses has none: nothing is taken from a tone that is held all through.
    """

    def __init__(self) -> None:
        self._magnitudes: Float32 | None = None
        self._energy = np.inf

    def learn(self, windows: Float32) -> None:
        """Look for pauses in a block of windows; the quieter of these and the old ones is kept."""
        energy = _energies(windows)
        count = max(FEWEST_QUIET, int(len(energy) * QUIET_SHARE))
        total = float(energy.sum())
        if len(energy) <= count or total <= 0:
            return
        quiet = np.argpartition(energy, count)[:count]
        loudness = float(np.square(energy).sum()) / total
        loudest = float(energy[quiet].max())
        if loudest < loudness * 10 ** (-PAUSE_DEPTH_DB / 10) and loudest < 2 * self._energy:
            self._energy = loudest
            rows = Spectra(windows[quiet]).magnitudes
            self._magnitudes = (0.5 * np.median(rows, axis=0) + 0.5 * rows.mean(axis=0)).astype(np.float32)

    def taken_from(self, magnitudes: Float32) -> Float32:
        """The magnitudes with the room's taken away, not below nothing."""
        if self._magnitudes is None:
            return magnitudes
        left: Float32 = magnitudes - self._magnitudes
        np.maximum(left, np.float32(0.0), out=left)
        return left


def _peaks_near(spectra: Spectra, rows: Intp, bins: Intp) -> tuple[Float32, Float32]:
    """Exact hertz and magnitude of the highest of each bin and its neighbours, shape (numbers, pitches).

    rows : window of each pitch. bins : shape (numbers, pitches).
    """
    starts = rows * spectra.magnitudes.shape[1]
    magnitudes, at = spectra.magnitudes.ravel(), starts + bins
    below, there, above = (magnitudes.take(at + shift) for shift in (-1, 0, 1))
    magnitude = np.maximum(np.maximum(below, there), above)
    moves = magnitude > there
    at += moves
    at -= 2 * (moves & (magnitude == below))
    plain, sloped = spectra.plain.ravel().take(at), spectra.sloped.ravel().take(at)
    at -= starts
    turn = (sloped.imag * plain.real - sloped.real * plain.imag) / (np.square(magnitude) + np.float32(1e-20))
    bin_hz = np.float32(spectra.bin_hz)
    return at.astype(np.float32) * bin_hz - turn * np.float32(spectra.rate / (2 * np.pi)), magnitude


def refined_midi(spectra: Spectra, midi: Float64, worth: npt.NDArray[np.bool_] | None = None) -> Float64:
    """Pitches measured exactly from the partials near their harmonics.

    Parameters
    ----------
    midi : pitches to be refined, shape (windows, candidates).
    worth : which of them; the others stay as they are. None for all.
    """
    rows, columns = np.ones(midi.shape, dtype=np.bool_).nonzero() if worth is None else worth.nonzero()
    hz = (440.0 * np.exp2((midi[rows, columns] - 69.0) / 12.0)).astype(np.float32)
    numbers = np.arange(1, REFINING_HARMONICS + 1, dtype=np.float32)[:, np.newaxis]
    bins = np.rint(hz * (numbers / np.float32(spectra.bin_hz)))
    top = SPECTRUM // 2 - 1
    partials, magnitude = _peaks_near(spectra, rows, np.clip(bins, np.float32(1), np.float32(top)).astype(np.intp))
    off = partials / numbers - hz
    near = (bins < top) & (np.abs(off) < hz * np.float32(np.exp2(REFINING_TOLERANCE / 12.0) - 1.0))
    weights = near * magnitude * numbers ** np.float32(NUMBER_POWER)
    total = weights.sum(axis=0)
    shift = (weights * off).sum(axis=0) / np.where(total > 0, total, np.float32(1.0))
    refined = midi.copy()
    refined[rows, columns] = 69.0 + 12.0 * np.log2((hz + shift).astype(np.float64) / 440.0)
    return refined
