"""Drums: the beats of a record from what strikes in it, in three bands of frequency.

Candidates for the tempo and beats as in `hear.beats` (Ellis, J. New Music Research 36(1), 2007), on the flux of
the whole sound. Which candidate is the beat is told by clues of drums: what strikes low and high on it and
between, how the back beat alternates (bass drum on one, snare on the next), how alike the sound is two and four
beats later. The odds are their weighted sum (a choice model, McFadden 1974), fitted on invented
records (how, is told in docs/listening.md).
"""

from __future__ import annotations

import msgspec
import numpy as np
import numpy.typing as npt

from reedpath.hear.beats import SAME_OCTAVES, Beats, beat_periods, extended_beats, laid_beats
from reedpath.hear.frames import HOP_SECONDS, RATE, SPECTRUM, Float32
from reedpath.hear.lead.stereo import PIECE, frame_count, short_frames
from reedpath.hear.weights import Weight, read_weights

Float64 = npt.NDArray[np.float64]

# hertz of the bands: bass drum; voices and snare; cymbals
BANDS_HZ = ((20.0, 160.0), (200.0, 1500.0), (2500.0, 8000.0))
# by how much magnitudes over their mean are compressed
COMPRESSION = 10.0
# quarter notes a minute from which octaves are counted: the usual tempo of records; from memory
MIDDLE_BPM = 105.0
# frames within which a stroke falls on a beat
ON_BEAT = 2
# beats over which the beats' distances are evened out: a record's drummer keeps time
EVENED_BEATS = 9
# seconds under which no beat is told
LEAST_SECONDS = 3.0


class DrumWeights(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Log odds of a tempo for each clue, in the order of `drum_clues`."""

    octaves: Weight
    octaves_squared: Weight
    low_on_beat: Weight
    middle_on_beat: Weight
    high_on_beat: Weight
    on_half: Weight
    on_second_third: Weight
    on_first_third: Weight
    on_quarter: Weight
    low_alternates: Weight
    high_alternates: Weight
    back_beat: Weight
    alike_after_four: Weight
    alike_after_two: Weight
    alike_after_one: Weight
    alike_after_three: Weight
    unevenness: Weight


def struck_bands(array: Float32) -> Float64:
    """How much each band grows in each frame, against its mean; shape (3, frames)."""
    power, frames = 0.0, 0
    parts = []
    hz = np.arange(SPECTRUM // 2 + 1) * RATE / SPECTRUM
    total = frame_count(array)
    for start in range(0, total, PIECE):
        own = short_frames(array, start, min(PIECE, total - start))[0]
        power, frames = power + float(np.square(own).sum()), frames + own.size
        parts.append(own)
    scale = np.float32(COMPRESSION / (np.sqrt(power / max(frames, 1)) + 1e-9))
    grown = []
    for low, high in BANDS_HZ:
        band = (hz >= low) & (hz < high)
        loud = np.concatenate([np.log1p(scale * part[:, band]) for part in parts])
        rise = np.zeros(len(loud))
        rise[1:-1] = np.maximum(loud[2:] - loud[:-2], 0.0).mean(axis=1)
        grown.append(rise / (rise.mean() + 1e-9))
    return np.array(grown)


def drum_candidates(struck: Float64) -> list[Float64]:
    """Beats, in seconds, at each tempo that is tried."""
    curve = struck.mean(axis=0)
    return [beats for beats in (laid_beats(curve, period) for period in beat_periods(curve)) if len(beats) > 3]


def _at(seconds: Float64, curve: Float64) -> float:
    """The mean of what strikes near some moments."""
    frames = np.rint(seconds / HOP_SECONDS).astype(int)
    frames = frames[(frames > ON_BEAT) & (frames < len(curve) - ON_BEAT - 1)]
    if not len(frames):
        return 0.0
    return float(np.max([curve[frames + shift] for shift in range(-ON_BEAT, ON_BEAT + 1)], axis=0).mean())


def _alike(curve: Float64, seconds: float) -> float:
    """The autocorrelation of the curve at a distance, 1 at none."""
    around = round(seconds / HOP_SECONDS)
    power = float(np.square(curve).mean()) + 1e-9
    lags = [lag for lag in (around - 1, around, around + 1) if 0 < lag < len(curve) - 10]
    return max((float((curve[:-lag] * curve[lag:]).mean()) / power for lag in lags), default=0.0)


def _period(beats: Float64) -> float:
    """Seconds from beat to beat."""
    return float(np.polyfit(np.arange(len(beats)), beats, 1)[0])


def drum_clues(beats: Float64, struck: Float64) -> Float64:
    """The clues for some beats, in the order of `DrumWeights`."""
    curve, (low, middle, high) = struck.mean(axis=0), struck
    gaps = np.diff(beats)
    period = _period(beats)
    even, odd = beats[::2], beats[1::2]
    low_turns = _at(even, low) - _at(odd, low)
    high_turns = _at(even, middle + high) - _at(odd, middle + high)
    octaves = float(np.log2(60.0 / period / MIDDLE_BPM))
    return np.array(
        [
            octaves,
            octaves**2,
            *(_at(beats, band) for band in struck),
            *(_at(beats[:-1] + gaps * part, curve) for part in (1 / 2, 2 / 3, 1 / 3, 1 / 4)),
            abs(low_turns),
            abs(high_turns),
            -low_turns * high_turns,
            *(_alike(curve, count * period) for count in (4, 2, 1, 3)),
            float(np.std(gaps)) / period,
        ]
    )


def _evened(beats: Float64) -> Float64:
    from scipy.ndimage import uniform_filter1d

    line = np.polyval(np.polyfit(np.arange(len(beats)), beats, 1), np.arange(len(beats)))
    return np.asarray(line + uniform_filter1d(beats - line, min(EVENED_BEATS, len(beats)), mode="nearest"))


def drum_beats(array: Float32) -> Beats | None:
    """The beats of a record (see `stereo_at_rate`); None where nothing strikes."""
    if len(array) < LEAST_SECONDS * RATE:
        return None
    struck = struck_bands(array)
    candidates = drum_candidates(struck) if struck.any() else []
    if not candidates:
        return None
    weights = read_weights("drums.toml", DrumWeights, room="reedpath.hear.lead")
    odds = np.array([float(drum_clues(beats, struck) @ weights) for beats in candidates])
    periods = np.array([_period(beats) for beats in candidates])
    best = int(odds.argmax())
    share = np.exp(odds - odds.max())
    octaves = np.log2(periods / periods[best])
    alike = np.abs((octaves + 0.5) % 1.0 - 0.5) < SAME_OCTAVES
    beats = extended_beats(_evened(candidates[best]), 0.0, len(array) / RATE)
    confidence = float(share[alike].sum() / share.sum())
    return Beats(tuple(float(beat) for beat in beats), 60.0 / float(periods[best]), confidence)
