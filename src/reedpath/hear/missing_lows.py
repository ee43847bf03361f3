"""Missing lows: low pitches in a sound that a telephone or a small loudspeaker has taken the lowest partials from.

Of a low string only partials far up the comb are left, some of which a high pitch explains as well. But the wave
still repeats at the low pitch's period, and better than at the high one's; where the high pitch is the true one it
repeats at both alike. How well a wave repeats is its autocorrelation over that of the window (Boersma, Proc. Inst.
Phonetic Sciences Amsterdam 17, 1993).

It is only asked where a sound has neither lows nor highs: elsewhere, with the fundamental there, the combs go wrong
less than the autocorrelation.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import numpy.typing as npt

from reedpath.hear.frames import RATE, SPECTRUM, WINDOW, Float32
from reedpath.hear.spectrum import hann

Float64 = npt.NDArray[np.float64]

# hertz between which lows lie (a telephone passes 300 to 3400 Hz, ITU-T G.712), and from which highs do
LOWS_HZ, HIGHS_HZ = (47.0, 235.0), 3800.0
# share of the power under which there are none of them: so are all stretches of 2.5 s by telephone, and one in twenty
# of the others (clarinet, hollow guitar) of the development half of bench/hear_accuracy.py
LOWS_SHARE, HIGHS_SHARE = 10.0**-1.2, 10.0**-2.5
# windows from one that is looked at for that to the next
EVERY = 8
# MIDI number under which a candidate is low, and semitones that it lies under the best at least; ours
LOW_MIDI, UNDER_BEST = 60.0, 3.0
# by how much more the wave must repeat at the low pitch, salience gained for each 1 over that, and how many times
# the best one's it may become; set on the development half (bench/hear_accuracy.py --low-strings), flat within a
# factor of two
MORE, GAIN, MOST = 0.03, 1.0, 1.5


def lacks_lows(magnitudes: Float32) -> bool:
    """Whether a stretch of sound has neither lows nor highs.

    Parameters
    ----------
    magnitudes : of spectra of `SPECTRUM` frames at `RATE`, shape (windows, bins).
    """
    power = np.square(magnitudes[::EVERY]).sum(axis=0)
    first, last, high = (round(hz * SPECTRUM / RATE) for hz in (*LOWS_HZ, HIGHS_HZ))
    total = float(power.sum())
    return bool(power[first:last].sum() < LOWS_SHARE * total and power[high:].sum() < HIGHS_SHARE * total)


@cache
def _window_repeats() -> Float64:
    """Autocorrelation of Hann's window at each lag, 1 at none."""
    window = hann(WINDOW).astype(np.float64)
    whole = np.correlate(window, window, "full")[WINDOW - 1 :]
    return np.asarray(whole / whole[0])


def _repeats(power: Float32, midi: Float32) -> Float64:
    """How well the wave of each row repeats at the period of each of its pitches, 1 for wholly; shape as pitches."""
    lags = RATE / (440.0 * np.exp2((midi.astype(np.float64) - 69.0) / 12.0))
    turns = np.arange(power.shape[1], dtype=np.float32) * np.float32(2 * np.pi / SPECTRUM)
    total = np.maximum(power.sum(axis=1), np.float32(1e-20))
    products = [np.einsum("ij,ij->i", power, np.cos(np.outer(lag.astype(np.float32), turns))) for lag in lags.T]
    own = np.stack(products, axis=1) / total[:, np.newaxis]
    return np.asarray(own / np.interp(lags, np.arange(WINDOW), _window_repeats()))


def strengthened_lows(
    magnitudes: Float32, midi: Float32, strength: Float32, worth: npt.NDArray[np.bool_]
) -> tuple[Float32, Float32]:
    """Candidates with more salience for low ones at whose period the wave repeats better, best first again.

    Parameters
    ----------
    magnitudes : as for `lacks_lows`.
    midi, strength : pitch and salience of the candidates, shape (windows, candidates), best first.
    worth : which of them are asked; same shape.
    """
    low = worth & (midi < LOW_MIDI) & (midi < midi[:, :1] - UNDER_BEST) & (strength > 0)
    rows = np.flatnonzero(low.any(axis=1))
    if not len(rows):
        return midi, strength
    repeats = _repeats(np.square(magnitudes[rows]), midi[rows])
    gain = GAIN * np.maximum(repeats - repeats[:, :1] - MORE, 0.0) * low[rows]
    own = strength[rows]
    raised = np.maximum(own, np.minimum(own + gain, MOST * own[:, :1]))
    order = np.argsort(-raised, axis=1, kind="stable")
    midi, strength = midi.copy(), strength.copy()
    midi[rows] = np.take_along_axis(midi[rows], order, axis=1)
    strength[rows] = np.take_along_axis(raised, order, axis=1)
    return midi, strength
