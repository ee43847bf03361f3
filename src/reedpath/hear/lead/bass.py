"""The bass line of a record: the pitch of the bass in each frame, so that it is not taken for a low lead.

Melody and bass are followed apart, each in a range of frequencies of its own (Goto, "A real-time music-scene-
description system: predominant-F0 estimation for detecting melody and bass lines in real-world audio signals",
Speech Communication 43(4), 2004; Salamon and Gómez, "A chroma-based salience function for melody and bass line
estimation from music audio signals", Proc. SMC 2009). Here: the salience of `hear.salience` up to 600 Hz, in windows
long enough to part the partials of the lowest string, and the likeliest course through it (Viterbi's search).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt

from reedpath.hear.frames import HOP_SECONDS, Float32, windows_of
from reedpath.hear.lead.courses import likeliest_course
from reedpath.hear.lead.stereo import LOW_RATE, frame_count, low_middle
from reedpath.hear.salience import comb_table

Float64 = npt.NDArray[np.float64]

# frames at `LOW_RATE` from one window to the next (10 ms), in a window (a quarter of a second: ten periods of the
# lowest string) and in its spectrum; bins looked at (up to 600 Hz: over that a bass has little, and the lead its own)
HOP, WINDOW, PADDED, BINS = round(LOW_RATE * HOP_SECONDS), 1024, 2048, 308
# MIDI numbers of the pitches tried: from under a bass's low E to two octaves over it
PITCH_MIDI = np.arange(26.0, 55.01, 0.25)
# harmonics in a comb; half width of a lobe and where combs begin, hertz
HARMONICS, LOBE_HZ, FLOOR_HZ = 10, 10.0, 36.0
# log odds for salience, against the median loudness; price of a leap; from which MIDI number on a pitch is less
# likely a bass's, and by how much salience for each octave. Set on drawn records with a low lead (docs/accuracy.md),
# where the pitch is right in 84 % of the frames in which it sounds
SALIENCE_ODDS, LEAP_COST, USUAL_UP_TO, FALL = 20.0, 4.0, 45.0, 0.3
# MIDI number of a guitar's lowest string, and the share of the time that a bass is lower at least: a line that stays
# over it may be the lead itself, alone
GUITAR_LOW, LOWER_SHARE = 40.0, 0.25
# windows looked at together
AT_ONCE = 1000


@cache
def _combs() -> Float32:
    hz = 440.0 * np.exp2((PITCH_MIDI - 69.0) / 12.0)
    return comb_table(BINS, LOW_RATE / PADDED, hz, harmonics=HARMONICS, lobe_hz=LOBE_HZ, floor_hz=FLOOR_HZ)


def _saliences(array: Float32) -> Iterator[tuple[Float32, Float32]]:
    """Salience of each pitch in some frames, and their loudness, which is not divided out."""
    from scipy import fft

    low, total = low_middle(array), frame_count(array)
    low = np.pad(low, (WINDOW // 2, max(0, total * HOP + WINDOW - len(low))))
    windows = windows_of(low, WINDOW, HOP)[:total]
    hann = np.hanning(WINDOW).astype(np.float32)
    for start in range(0, total, AT_ONCE):
        spectra = np.sqrt(np.abs(fft.rfft(windows[start : start + AT_ONCE] * hann, PADDED, axis=1)))
        loudness = np.sqrt(np.square(spectra).sum(axis=1))
        yield spectra[:, :BINS] @ _combs(), loudness


@dataclass(frozen=True, slots=True, eq=False)
class BassLine:
    """The bass in each frame, both of shape (frames,).

    midi : its pitch, NaN where there is no bass. strength : salience, against the median loudness of the frames.
    """

    midi: Float64
    strength: Float64


def bass_line(array: Float32) -> BassLine:
    """The bass of a sound (see `stereo_at_rate`), in all frames or in none."""
    total = frame_count(array)
    nothing = BassLine(np.full(total, np.nan), np.zeros(total))
    if not total or not array.any():
        return nothing
    made = list(_saliences(array))
    loudness = np.concatenate([loud for _, loud in made])
    salience = np.concatenate([rows for rows, _ in made])
    salience /= np.float32(np.median(loudness) + 1e-9)
    salience -= (FALL / 12.0 * np.maximum(0.0, PITCH_MIDI - USUAL_UP_TO)).astype(np.float32)
    course = likeliest_course(np.float32(SALIENCE_ODDS) * salience, LEAP_COST)
    line = PITCH_MIDI[course]
    if (line < GUITAR_LOW - 0.5).mean() < LOWER_SHARE:
        return nothing
    return BassLine(line, salience[np.arange(total), course].astype(np.float64))
