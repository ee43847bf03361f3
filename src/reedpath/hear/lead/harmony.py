"""Harmony: the key of a record, from its bass and its chords.

Pitch class profiles of the spectral peaks (Gómez, "Tonal description of polyphonic audio for music content
processing", INFORMS J. Computing 18(3), 2006), of the bass and of the whole, are held against the profiles of
keys (see `phrase.keyfinding`), beside the tonic that the bass begins on, and what the chords are and how they move
(see `chords`). The odds of the 24 keys are a weighted sum of these clues (a choice model, McFadden 1974), fitted on
invented records (how, is told in docs/listening.md).
"""

from __future__ import annotations

import msgspec
import numpy as np
import numpy.typing as npt

from reedpath.hear.frames import HOP_SECONDS, RATE, Float32, windows_of
from reedpath.hear.lead.chords import chord_stretches, key_chord_clues
from reedpath.hear.lead.stereo import LOW_RATE, low_middle
from reedpath.hear.weights import Weight, read_weights
from reedpath.phrase import KeyGuess, load_key_profiles
from reedpath.pitch import Key

Float64 = npt.NDArray[np.float64]

# frames at `LOW_RATE` in a window (half a second, so that bass notes stand apart), from one to the next, and of the
# spectrum
WINDOW, STEP, PADDED = 2048, 500, 4096
# hertz between which peaks count, up to which they are bass, and from which they are chords
LOWEST_HZ, HIGHEST_HZ, BASS_HZ, CHORDS_HZ = 38.0, 1000.0, 180.0, 110.0
# windows at the start that tell on what the music begins
BEGINNING = slice(2, 10)
# windows looked at together
AT_ONCE = 200
# frames of a voice that sound in a window, and semitones from its harmonics that are still it
BESIDE_FRAMES, BESIDE_SEMITONES = range(-20, 21, 4), 0.6
# major keys from C up, then minor ones
KEYS = tuple(Key(tonic, mode) for mode in ("major", "minor") for tonic in range(12))
# windows under which there is no telling
FEWEST = 16
# share of the log odds of a part that are added to those of the whole round it: for where a key changes; set on
# records of bench/hear_record_fit.py joined two by two (docs/accuracy.md)
PART_SHARE = 0.25


class HarmonyWeights(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Log odds of a key for each clue, in the order of `harmony_clues`."""

    temperley: Weight
    krumhansl: Weight
    bass_profile: Weight
    bass_on_tonic: Weight
    begins_on_tonic: Weight
    major: Weight
    chords_of_key: Weight
    on_tonic: Weight
    on_other_tonic: Weight
    from_dominant: Weight
    from_minor_dominant: Weight
    from_subdominant: Weight
    from_tone_below: Weight
    to_fifth: Weight


def _peaks(windows: Float32) -> tuple[npt.NDArray[np.intp], Float64, Float64]:
    """Row, MIDI number and magnitude of each spectral peak of some windows."""
    from scipy import fft

    spectra = np.abs(fft.rfft(windows * np.hanning(WINDOW).astype(np.float32), PADDED, axis=1))
    inner = spectra[:, 1:-1]
    rows, bins = np.nonzero((inner > spectra[:, :-2]) & (inner >= spectra[:, 2:]))
    bins += 1
    left, middle, right = (spectra[rows, bins + shift].astype(np.float64) for shift in (-1, 0, 1))
    hz = (bins + 0.5 * (left - right) / (left - 2 * middle + right - 1e-12)) * LOW_RATE / PADDED
    kept = (hz > LOWEST_HZ) & (hz < HIGHEST_HZ)
    return rows[kept], 69.0 + 12.0 * np.log2(hz[kept] / 440.0), middle[kept]


def _profiles(windows: Float32) -> tuple[Float64, Float64]:
    """Share of each pitch class in the bass and in the whole of each window, shape (windows, 12)."""
    rows, midi, magnitude = _peaks(windows)
    whole = np.rint(midi)
    classes, tuned = whole.astype(int) % 12, np.cos(np.pi * (midi - whole)) ** 2
    found = []
    for inside, weights in (
        (midi < 69.0 + 12.0 * np.log2(BASS_HZ / 440.0), magnitude),
        (midi > 69.0 + 12.0 * np.log2(CHORDS_HZ / 440.0), np.sqrt(magnitude)),
    ):
        table = np.zeros((len(windows), 12))
        np.add.at(table, (rows[inside], classes[inside]), (weights * tuned)[inside])
        found.append(table / (table.sum(axis=1, keepdims=True) + 1e-9))
    return found[0], found[1]


def _chroma(array: Float32) -> tuple[Float64, Float64]:
    low = np.pad(low_middle(array), WINDOW // 2)
    windows = windows_of(low, WINDOW, STEP)
    made = [_profiles(windows[at : at + AT_ONCE]) for at in range(0, len(windows), AT_ONCE)]
    return np.concatenate([bass for bass, _ in made]), np.concatenate([whole for _, whole in made])


def share_beside(array: Float32, midi: Float64) -> float:
    """Share of the spectral peaks' magnitude that is no harmonic of a voice.

    array : the sound (see `stereo_at_rate`). midi : the voice's pitch every 10 ms, NaN where it rests.
    """
    low = np.pad(low_middle(array), WINDOW // 2)
    windows = windows_of(low, WINDOW, STEP)
    own = total = 0.0
    for start in range(0, len(windows), AT_ONCE):
        rows, heard, magnitude = _peaks(windows[start : start + AT_ONCE])
        middle = np.rint((rows + start) * STEP / LOW_RATE / HOP_SECONDS).astype(np.intp)
        explained = np.zeros(len(heard), dtype=bool)
        for shift in BESIDE_FRAMES:
            ratio = np.exp2((heard - midi[np.clip(middle + shift, 0, len(midi) - 1)]) / 12.0)
            number = np.maximum(1.0, np.rint(ratio))
            explained |= np.abs(12.0 * np.log2(np.maximum(ratio, 0.1) / number)) < BESIDE_SEMITONES
        own, total = own + float(magnitude[explained].sum()), total + float(magnitude.sum())
    return 1.0 - own / total if total > 0 else 0.0


def _like(found: Float64, profile: tuple[float, ...]) -> float:
    return float(np.corrcoef(found, profile)[0, 1]) if found.std() > 0 else 0.0


def harmony_clues(array: Float32) -> Float64 | None:
    """The clues for each key of `KEYS`, shape (24, clues); None where too little sounds (see `stereo_at_rate`)."""
    if len(array) < FEWEST * STEP * RATE // LOW_RATE:
        return None
    bass, whole = _chroma(array)
    return _key_clues(bass, whole) if whole.any() else None


def _key_clues(bass: Float64, whole: Float64) -> Float64:
    temperley, krumhansl = load_key_profiles("temperley"), load_key_profiles("krumhansl-kessler")
    chords, begins = chord_stretches(bass, whole), bass[BEGINNING].mean(axis=0)
    rows = []
    for key in KEYS:
        own, deep = (np.roll(one.mean(axis=0), -key.tonic) for one in (whole, bass))
        profile, other = (getattr(one, key.mode) for one in (temperley, krumhansl))
        rows.append(
            [
                _like(own, profile),
                _like(own, other),
                _like(deep, profile),
                deep[0],
                begins[key.tonic],
                float(key.mode == "major"),
                *key_chord_clues(chords, key.tonic, key.mode),
            ]
        )
    return np.array(rows)


def harmony_key(array: Float32, part: slice | None = None) -> KeyGuess:
    """The key of a record, and how sure that is.

    part : frames of the sound, in which the key is asked for; the rest is what surrounds them. None for all.
    """
    clues = harmony_clues(array)
    if clues is None:
        return KeyGuess(None)
    weights = read_weights("harmony.toml", HarmonyWeights, room="reedpath.hear.lead")
    odds = clues @ weights
    own = None if part is None else harmony_clues(array[part])
    if own is not None:
        odds += PART_SHARE * (own @ weights)
    chances = np.exp(odds - odds.max())
    chances /= chances.sum()
    first, second = np.argsort(-chances)[:2]
    return KeyGuess(KEYS[int(first)], float(chances[first]), KEYS[int(second)])
