"""The pitch curve: pitch, confidence and level over time, by the likeliest course through each frame's candidates.

Viterbi's search over the candidates of each frame and one state of silence. The log likelihood of a candidate
is its salience against the best one's and the prior's at its pitch; that of sound against silence rises with
the level over a threshold that lies between the take's lead and its background (Otsu 1979 over the levels),
and with the salience. Costs are in natural log units.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import ceil

import numpy as np
import numpy.typing as npt

from reedpath.hear.frames import HOP_SECONDS, Float32
from reedpath.hear.observing import CANDIDATES, Observations, observe
from reedpath.signal.samples import Samples

Float64 = npt.NDArray[np.float64]

# Log units; fitted on the development half of bench/hear_accuracy.py, flat within a factor of two:
# weight of the logarithm of a candidate's salience
SALIENCE_WEIGHT = 5.0
# cost of turning between sound and silence
TURN_COST = 4.0
# cost of a leap, and cost for each semitone of a glide; what moves less than so many semitones in a frame glides
LEAP_COST, GLIDE_COST, GLIDE_SEMITONES = 4.0, 2.0, 0.6
# gain for each decibel over the threshold, and its bounds
LEVEL_WEIGHT, LEVEL_BOUNDS = 0.3, (-8.0, 4.0)
# gain for salience over that of noise, and its bounds
TONE_WEIGHT, NOISE_SALIENCE, TONE_BOUNDS = 30.0, 0.2, (-8.0, 1.5)
# salience from which a frame counts as tone when the lead's level is taken
TONAL = 0.25
# decibels from Otsu's parting of the levels up to the threshold, and the threshold's bounds under the lead
THRESHOLD_LIFT_DB, THRESHOLD_BOUNDS_DB = 4.0, (-30.0, -14.0)
# seconds over which the lead's level is taken, and decibels by which it may fall under that of the whole take
LEVEL_SECONDS, LOCAL_FALL_DB = 20.0, 12.0
# decibels between which levels are parted
LEVEL_RANGE_DB = (-50, 5)
# log prior under which a pitch is held impossible
IMPOSSIBLE = -30.0
# frames for which transitions are laid out at a time
_CHUNK = 4096


@dataclass(frozen=True, slots=True, eq=False)
class PitchCurve:
    """Pitch over time, one value every `HOP_SECONDS` (10 ms), each array of shape (frames,).

    seconds : time of the middle of each window.
    hz : pitch, NaN where unvoiced.
    confidence : 0 to 1, that the frame is voiced and its pitch is right.
    voiced : whether the frame belongs to the lead.
    energy : level of the sound in decibels under full scale.
    """

    seconds: Float64
    hz: Float64
    confidence: Float64
    voiced: npt.NDArray[np.bool_]
    energy: Float64

    @property
    def midi(self) -> Float64:
        """Pitch as MIDI numbers with their fraction at A4 = 440 Hz, NaN where unvoiced."""
        return np.asarray(69.0 + 12.0 * np.log2(self.hz / 440.0))

    def __len__(self) -> int:
        return len(self.seconds)

    def span(self, start_seconds: float, end_seconds: float) -> PitchCurve:
        """The curve from one time to another."""
        first, last = self.seconds.searchsorted((start_seconds, end_seconds))
        return self.frames(int(first), int(last))

    def frames(self, first: int, last: int) -> PitchCurve:
        """The curve from one frame to before another; shares its memory."""
        part = slice(first, last)
        return PitchCurve(
            self.seconds[part], self.hz[part], self.confidence[part], self.voiced[part], self.energy[part]
        )


def curve_of(seen: Observations, *, prior: npt.ArrayLike | None = None) -> PitchCurve:
    """The pitch curve of what was seen; the prior is that of `track_pitch`."""
    odds = voicing(seen)
    path = best_path(seen, prior=prior, odds=odds)
    voiced = path >= 0
    chosen = np.maximum(path, 0)[:, np.newaxis].astype(np.intp)
    midi = np.take_along_axis(seen.midi, chosen, axis=1)[:, 0].astype(np.float64)
    strength = np.take_along_axis(seen.strength, chosen, axis=1)[:, 0].astype(np.float64)
    best = np.maximum(seen.strength[:, 0].astype(np.float64), 1e-6)
    confidence = strength / best / (1.0 + np.exp(-odds))
    return PitchCurve(
        seconds=seen.seconds,
        hz=np.where(voiced, 440.0 * np.exp2((midi - 69.0) / 12.0), np.nan),
        confidence=np.where(voiced, confidence, 0.0),
        voiced=voiced,
        energy=seen.envelope_db[: 2 * seen.frames : 2].astype(np.float64),
    )


def track_pitch(sound: Samples | Iterable[Samples], *, prior: npt.ArrayLike | None = None) -> PitchCurve:
    """The pitch curve of a sound with one lead voice.

    Parameters
    ----------
    sound : whole, or in blocks, as `reedpath.signal.open_blocks` gives them.
    prior : what may be expected: shape (n, 2), rows of a MIDI number (with its fraction, cents / 100),
        ascending, and the natural logarithm of its weight. None for no preference.
    """
    return curve_of(observe(sound), prior=prior)


def _lead_level_db(seen: Observations) -> Float64:
    """Level of the lead round each frame: the energy-weighted mean of the tonal frames' levels."""
    from scipy.ndimage import uniform_filter1d

    power = np.where(seen.strength[:, 0] > TONAL, 10.0 ** (seen.level_db.astype(np.float64) / 10.0), 0.0)
    whole = np.square(power).sum() / max(power.sum(), 1e-30)
    width = max(1, round(LEVEL_SECONDS / HOP_SECONDS))
    near = uniform_filter1d(np.square(power), width, mode="constant") / np.maximum(
        uniform_filter1d(power, width, mode="constant"), 1e-30
    )
    lead = np.maximum(near, whole * 10.0 ** (-LOCAL_FALL_DB / 10.0))
    return np.asarray(10.0 * np.log10(np.maximum(lead, 1e-30)))


def relative_level(seen: Observations) -> Float64:
    """Level of each frame against the lead's, in decibels; very low where nothing is tonal at all."""
    if not np.any(seen.strength[:, 0] > TONAL):
        return np.full(seen.frames, float(LEVEL_RANGE_DB[0]))
    return np.asarray(seen.level_db - _lead_level_db(seen))


def _parting_db(levels: Float64) -> float:
    """The level that parts loud from soft best (Otsu, IEEE Trans. SMC 9(1), 1979)."""
    low, high = LEVEL_RANGE_DB
    counts, edges = np.histogram(np.clip(levels, low, high), bins=high - low, range=(low, high))
    middles = (edges[1:] + edges[:-1]) / 2
    below, moment = np.cumsum(counts), np.cumsum(counts * middles)
    above = below[-1] - below
    both = (below > 0) & (above > 0)
    if not both.any():
        return THRESHOLD_BOUNDS_DB[0]
    spread = np.square(moment[-1] * below / below[-1] - moment)[both] / (below * above)[both]
    return float(middles[both][np.argmax(spread)])


def voicing(seen: Observations) -> Float64:
    """Log odds of each frame to belong to the lead rather than to silence or a background."""
    level = relative_level(seen)
    threshold = float(np.clip(_parting_db(level) + THRESHOLD_LIFT_DB, *THRESHOLD_BOUNDS_DB))
    tone = TONE_WEIGHT * (seen.strength[:, 0] - NOISE_SALIENCE)
    return np.asarray(np.clip(LEVEL_WEIGHT * (level - threshold), *LEVEL_BOUNDS) + np.clip(tone, *TONE_BOUNDS))


def prior_at(prior: npt.ArrayLike | None, midi: npt.NDArray[np.floating]) -> Float64 | float:
    """The log prior at pitches, interpolated.

    Parameters
    ----------
    prior : shape (n, 2), rows of a MIDI number (fractions are cents / 100), ascending, and the natural
        logarithm of its weight; None for no preference. Outside the first and last row nothing is possible.
    """
    if prior is None:
        return 0.0
    table = np.asarray(prior, dtype=np.float64)
    if table.ndim != 2 or table.shape[1] != 2 or len(table) < 2 or np.any(np.diff(table[:, 0]) <= 0):
        raise ValueError("a prior over pitch has the shape (n, 2), n at least 2, MIDI numbers ascending")
    weights = np.maximum(table[:, 1], IMPOSSIBLE)
    return np.asarray(np.interp(midi, table[:, 0], weights, left=IMPOSSIBLE, right=IMPOSSIBLE))


def _transitions(before: Float32, after: Float32) -> Float32:
    """Log likelihood of going from each state to each, shape (frames, states, states); silence is last."""
    apart = np.abs(after[:, np.newaxis, :] - before[:, :, np.newaxis])
    table = np.full((len(apart), CANDIDATES + 1, CANDIDATES + 1), -TURN_COST, dtype=np.float32)
    table[:, :-1, :-1] = -np.where(apart < GLIDE_SEMITONES, apart * GLIDE_COST, LEAP_COST)
    table[:, -1, -1] = 0.0
    return table


def likeliest_before(steps: Float32, score: Float32) -> tuple[npt.NDArray[np.int8], Float32]:
    """From which state each state is best come to at each step, and the score of each after the last.

    The steps are cut into stretches as many as each is long, which are gone through side by side: first from each
    state that a stretch may begin with, then, when it is known what that is worth, once more.

    Parameters
    ----------
    steps : what each gains from each state to each, shape (steps, states, states).
    score : of each state before the first.

    Returns
    -------
    Shapes (steps, states) and (states,), the scores less what a long way adds up to, which is the same for all.
    """
    count, states = len(steps), steps.shape[1]
    length = ceil(count**0.5)
    stretches = ceil(count / length)
    stay = np.where(np.eye(states, dtype=bool), np.float32(0.0), np.float32(-np.inf))
    filled = np.concatenate([steps, np.broadcast_to(stay, (stretches * length - count, states, states))])
    beside = np.ascontiguousarray(filled.reshape(stretches, length, states, states).transpose(1, 2, 3, 0))
    whole = beside[0]
    for step in beside[1:]:
        whole = np.maximum.reduce(whole[:, :, np.newaxis] + step, axis=1)
    now = np.empty((states, stretches), dtype=np.float32)
    for stretch in range(stretches):
        now[:, stretch] = score - score.max()
        score = (now[:, stretch, np.newaxis] + whole[:, :, stretch]).max(axis=0)
    back = np.empty((length, states, stretches), dtype=np.int8)
    for place, step in enumerate(beside):
        totals = now[:, np.newaxis] + step
        back[place] = totals.argmax(axis=0)
        now = np.maximum.reduce(totals, axis=0)
    return back.transpose(2, 0, 1).reshape(-1, states)[:count], score


def _search(midi: Float32, states: Float32) -> npt.NDArray[np.int8]:
    frames, count = states.shape
    back = np.zeros((frames, count), dtype=np.int8)
    score = states[0]
    for start in range(1, frames, _CHUNK):
        end = min(start + _CHUNK, frames)
        steps = _transitions(midi[start - 1 : end - 1], midi[start:end])
        steps += states[start:end, np.newaxis]
        back[start:end], score = likeliest_before(steps, score)
    state = int(score.argmax())
    path = [state]
    for froms in back[:0:-1].tolist():
        state = froms[state]
        path.append(state)
    return np.array(path[::-1], dtype=np.int8)


def best_path(
    seen: Observations, *, prior: npt.ArrayLike | None = None, odds: Float64 | None = None
) -> npt.NDArray[np.int8]:
    """Index of the candidate of each frame, -1 for silence, shape (frames,).

    odds : as `voicing` gives them, where they are known.
    """
    if seen.frames == 0:
        return np.zeros(0, dtype=np.int8)
    strength = np.maximum(seen.strength, 1e-3)
    fit = SALIENCE_WEIGHT * np.log(strength / strength[:, :1]) + prior_at(prior, seen.midi)
    states = np.zeros((seen.frames, CANDIDATES + 1), dtype=np.float32)
    states[:, :-1] = fit + (voicing(seen) if odds is None else odds)[:, np.newaxis]
    states[:, :-1][seen.strength <= 0] = IMPOSSIBLE
    path = _search(seen.midi, states)
    return np.where(path < CANDIDATES, path, np.int8(-1))
