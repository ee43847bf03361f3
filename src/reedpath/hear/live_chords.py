"""ChordFinder pitches at once, live: which of some sets of pitches sounds.

Each pitch of a set has harmonics that no other pitch of the set has. A set sounds while all of its pitches are strong
there, and so does nothing else: where one pitch alone is being followed, it is one of the set, or is as weak on the
harmonics of its own as the common root of a chord, which is none of its notes. An octave has no harmonic that its
lower note has not; sets that hold one are never found.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import isnan

import numpy as np
import numpy.typing as npt

from reedpath.hear.frames import SPECTRUM, Float32

# seconds of sound looked at: two reeds a third apart in the middle of a harmonica lie 68 Hz apart, and Hann's window
# of 48 ms parts them from 42 Hz on; hertz that a harmonic must lie off those of the others
WINDOW_SECONDS, APART_HZ = 0.048, 42.0
# harmonics looked at, the first of their own that count, and hertz over which a telephone has none
HARMONICS, COUNTED, TOP_HZ = 8, 4, 3800.0
# square root of the magnitude, as a share of the strongest, from which a pitch is there: on recorded reeds those that
# sound have 0.35 and more, those that do not under 0.2 (bench/listen_live.py --together)
# and what is enough for a set that was said already
LEAST_SHARE, KEEPING_SHARE = 0.3, 0.2
# values in a row for which a set must be there before it is said, and be gone before it is no longer said: the note
# before fades, and a room holds on to it
COMING, GOING = 8, 6
# semitones within which two pitches are one
SAME_SEMITONES = 0.5


def _hz(midi: npt.ArrayLike) -> npt.NDArray[np.float64]:
    return np.asarray(440.0 * np.exp2((np.asarray(midi, dtype=np.float64) - 69.0) / 12.0))


def _own_hz(midi: float, others: Sequence[float]) -> npt.NDArray[np.float64]:
    """The harmonics of a pitch that the others have not, at most `COUNTED`."""
    own = np.arange(1, HARMONICS + 1) * _hz(midi)
    theirs = np.outer(np.arange(1, 4 * HARMONICS), _hz(others)).ravel()
    apart = np.abs(own[:, np.newaxis] - theirs).min(axis=1) > APART_HZ
    return np.asarray(own[apart & (own < TOP_HZ)][:COUNTED])


class ChordFinder:
    """Finds which set of pitches sounds, if any, value by value.

    Parameters
    ----------
    sets : MIDI numbers with their fraction. rate : hertz.

    current : the set that sounds, () for none.
    """

    def __init__(self, sets: Sequence[Sequence[float]], rate: float) -> None:
        self._bin_hz = rate / SPECTRUM
        own = {
            tuple(pitches): [_own_hz(one, [o for o in pitches if o != one]) for one in pitches] for pitches in sets
        }
        self._own = {pitches: harmonics for pitches, harmonics in own.items() if all(len(one) for one in harmonics)}
        frames = min(SPECTRUM, round(WINDOW_SECONDS * rate))
        self._window = np.sin(np.pi * (np.arange(frames) + 0.5) / frames).astype(np.float32) ** 2
        self.current: tuple[float, ...] = ()
        self._coming: tuple[float, ...] = ()
        self._values = 0

    def heard(self, newest: Float32, midi: float) -> tuple[float, ...]:
        """The set that sounds, () for none; midi is the pitch that is being followed, NaN for silence."""
        found = () if isnan(midi) or not self._own else self._found(newest, midi)
        if found == self.current:
            self._values = 0
        elif found == self._coming:
            self._values += 1
        else:
            self._coming, self._values = found, 1
        if self._values >= (COMING if found else GOING):
            self.current, self._values = found, 0
        return self.current

    def _found(self, newest: Float32, midi: float) -> tuple[float, ...]:
        from scipy import fft

        magnitudes = np.sqrt(np.abs(fft.rfft(newest[len(newest) - len(self._window) :] * self._window, SPECTRUM)))
        strongest = float(magnitudes[: int(TOP_HZ / self._bin_hz)].max())
        there = []
        for pitches, own in self._own.items():
            least = strongest * (KEEPING_SHARE if pitches == self.current else LEAST_SHARE)
            is_there = all(self._strength(magnitudes, one) > least for one in own)
            if is_there and self._is_all(magnitudes, pitches, midi, LEAST_SHARE * strongest):
                there.append(pitches)
        return max(there, key=len, default=())

    def _strength(self, magnitudes: Float32, hz: npt.NDArray[np.float64]) -> float:
        """The second lowest of the magnitudes near some frequencies: one may lack (by telephone, the first)."""
        places = np.rint(hz / self._bin_hz).astype(np.intp)
        near = np.max([magnitudes[places - 1], magnitudes[places], magnitudes[places + 1]], axis=0)
        return float(np.sort(near)[1] if len(near) > 2 else near.max())

    def _is_all(self, magnitudes: Float32, pitches: tuple[float, ...], midi: float, least: float) -> bool:
        """Whether the pitch that is being followed is one of these, or their common root alone."""
        if min(abs(midi - one) for one in pitches) < SAME_SEMITONES:
            return True
        own = _own_hz(midi, pitches)
        return len(own) == 0 or self._strength(magnitudes, own) < least
