"""Candidates: in each frame of a record the pitches that may be the lead's, and what speaks for each.

Salience as everywhere in `hear`, of magnitudes from which is taken what lies under the lead's lowest note (a
high-pass) and what lies elsewhere in the stereo picture (a soft mask over the panning of each bin, as in
Avendano, "Frequency-domain source identification and manipulation in stereo mixes", WASPAA 2003).

The clues of a candidate are those by which melody is told from accompaniment (Salamon and Gómez, "Melody
extraction from polyphonic music signals using pitch contour characteristics", IEEE TASLP 20(6), 2012; Bittner and
others, "Melody extraction by contour classification", ISMIR 2015): salience, level, range, place, steadiness,
timbre.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, fields

import numpy as np
import numpy.typing as npt

from reedpath.hear.frames import RATE, SPECTRUM, Float32
from reedpath.hear.lead.bass import BassLine
from reedpath.hear.lead.stereo import Piece, StereoFrames
from reedpath.hear.salience import peaks_of, salience
from reedpath.hear.spectrum import refined_midi

Float64 = npt.NDArray[np.float64]

# candidates in a frame; the truth is among them in 95 to 100 % of the frames of the development half at 0 dB
COUNT = 8
# hertz from bin to bin, and bins
BIN_HZ, BINS = RATE / SPECTRUM, SPECTRUM // 2 + 1
# harmonics by which levels and timbre are taken
HARMONICS = 10
# share of the lead's lowest note from which the high-pass lets through, and its steepness (of a fourth order)
PASS_SHARE, PASS_ORDER = 0.8, 8
# half width of the mask in the stereo picture; a voice in a coded mix wanders by a tenth
PLACE_WIDTH = 0.35
# semitones within which candidates of neighbouring frames are one sound; frames looked at for it
SAME, NEIGHBOURS = 0.4, (-6, -4, -3, -2, -1, 1, 2, 3, 4, 6)
# frames over which the lead's level is taken (20 s), decibels it may lie under that of the whole, least salience
LEVEL_FRAMES, FALL_DB, TONAL = 2000, 12.0, 0.2

# semitones from the bass at which a candidate is no longer it; those of the harmonics that a bass is strong in;
# octaves from it beyond which nothing more is told, and those that are told where no bass is followed
NEAR_BASS, OVER_BASS, BASS_OCTAVES, UNKNOWN_APART = 1.0, (12.0, 19.02, 24.0, 27.86), (-1.0, 3.0), 2.0

CLUE_NAMES = (
    "relative", "salience", "level", "faintness", "astray", "below", "above", "off_middle", "steadiness",
    "octave_under", "octave_over", "contrast", "roundness", "brightness", "brightness_off", "roundness_off", "first",
    "loudest", "height", "depth", "on_bass", "bass_strength", "over_bass", "bass_apart",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Whereabouts:
    """Where a lead is: lowest and highest MIDI number, place in the stereo picture, timbre.

    brightness, roundness : as of its candidates, None where not known yet. masked : whether the place is.
    """

    low: float = 50.0
    high: float = 80.0
    place: float = 0.0
    brightness: float | None = None
    roundness: float | None = None
    masked: bool = False
    pass_hz: float = 110.0

    @property
    def middle(self) -> float:
        """The middle of the range."""
        return (self.low + self.high) / 2


@dataclass(frozen=True, slots=True, eq=False)
class LeadCandidates:
    """Candidates of each frame, each array of shape (frames, `COUNT`).

    midi, strength : pitch and salience. level_db : of its comb. place : in the stereo picture. contrast : of its
    harmonics against what lies between them. brightness, roundness : its upper harmonics against its lower ones, its
    first two against all. steadiness : share of the neighbouring frames that have it too.
    """

    midi: Float64
    strength: Float32
    level_db: Float32
    place: Float32
    contrast: Float32
    brightness: Float32
    roundness: Float32
    steadiness: Float32

    def part(self, frames: slice) -> LeadCandidates:
        """Those of some frames."""
        return LeadCandidates(*(getattr(self, each.name)[frames] for each in fields(self)))


class HarmonicBins:
    """Where the harmonics of pitches lie: bins of the harmonics, bins between them, and which count.

    midi : any shape; the arrays have one axis more.
    """

    def __init__(self, midi: Float64, pass_hz: float, *, count: int = HARMONICS, share: float = 0.9) -> None:
        numbers = np.arange(1, count + 1)
        self.hz = (440.0 * np.exp2((midi - 69.0) / 12.0))[..., np.newaxis]
        places = self.hz * numbers / BIN_HZ
        self.numbers = numbers
        self.counts = (places < BINS - 3) & (self.hz * numbers > share * pass_hz)
        self.at = np.clip(np.rint(places).astype(np.intp), 2, BINS - 3)
        self.between = np.clip(np.rint(self.hz * (numbers - 0.5) / BIN_HZ).astype(np.intp), 1, BINS - 2)


def _high_pass(hz: float) -> Float32:
    bins = np.arange(BINS) * BIN_HZ
    return np.asarray(1.0 / np.sqrt(1.0 + (hz / np.maximum(bins, 1e-3)) ** PASS_ORDER), dtype=np.float32)


def masked(magnitudes: Float32, place: Float32, where: Whereabouts) -> Float32:
    """Magnitudes with what lies elsewhere in the stereo picture taken away."""
    if not where.masked:
        return magnitudes
    return np.asarray(magnitudes * np.exp(-0.5 * np.square((place - where.place) / PLACE_WIDTH)), dtype=np.float32)


def _sought_in(seen: StereoFrames, where: Whereabouts) -> Float32:
    magnitudes = seen.middle.magnitudes
    if where.masked:
        both = np.sqrt((np.square(seen.left) + np.square(seen.right)) / 2).astype(np.float32)
        magnitudes = masked(both, seen.place, where)
    return np.asarray(magnitudes * _high_pass(where.pass_hz), dtype=np.float32)


def _steadiness(midi: Float64, strength: Float32) -> Float32:
    total = np.zeros(midi.shape, dtype=np.float32)
    for shift in NEIGHBOURS:
        other, weight = np.roll(midi, shift, axis=0), np.roll(strength, shift, axis=0)
        alike = np.abs(midi[:, :, np.newaxis] - other[:, np.newaxis, :]) < SAME
        total += (alike & (weight[:, np.newaxis, :] > 0.5 * strength[:, :, np.newaxis])).any(axis=-1)
    return np.asarray(total / len(NEIGHBOURS), dtype=np.float32)


def _of_piece(seen: StereoFrames, where: Whereabouts) -> LeadCandidates:
    rows, loudness = salience(_sought_in(seen, where))
    midi, strength = peaks_of(rows, COUNT)
    midi = refined_midi(seen.middle, midi)
    level = 40.0 * np.log10(np.maximum(strength * loudness[:, np.newaxis], 1e-6))
    bins = HarmonicBins(midi, where.pass_hz)
    frames = np.arange(len(seen))[:, np.newaxis, np.newaxis]
    logs = np.log(seen.middle.magnitudes + 1e-4)
    peaks = np.maximum(np.maximum(logs[frames, bins.at - 1], logs[frames, bins.at]), logs[frames, bins.at + 1])
    contrast = np.where(bins.counts, np.clip(peaks - logs[frames, bins.between], -1.0, 4.0), 0.0).sum(axis=-1)
    power = np.exp(2.0 * peaks) * bins.counts
    weights = np.sqrt(power) + 1e-9
    upper, lower = power[..., 4:].sum(axis=-1), power[..., :4].sum(axis=-1)
    return LeadCandidates(
        midi=midi,
        strength=strength,
        level_db=level.astype(np.float32),
        place=((seen.place[frames, bins.at] * weights).sum(axis=-1) / weights.sum(axis=-1)).astype(np.float32),
        contrast=(contrast / np.maximum(bins.counts.sum(axis=-1), 1)).astype(np.float32),
        brightness=np.clip(np.log((upper + 1e-6) / (lower + 1e-6)), -8.0, 3.0).astype(np.float32),
        roundness=np.clip(np.log(power[..., :2].sum(axis=-1) / (power.sum(axis=-1) + 1e-9) + 1e-3), -6.0, 0.0).astype(
            np.float32
        ),
        steadiness=_steadiness(midi, strength),
    )


def candidates_of(pieces: Iterable[Piece], where: Whereabouts) -> LeadCandidates:
    """The candidates of a sound (see `pieces_of`), looked for where the lead is thought to be."""
    made = [(_of_piece(seen, where), part) for _, part, seen in pieces]
    columns = [
        np.concatenate([getattr(one, each.name)[part] for one, part in made]) for each in fields(LeadCandidates)
    ]
    return LeadCandidates(*columns)


def _lead_level_db(found: LeadCandidates) -> Float64:
    """Level of the lead round each frame: the energy-weighted mean of the best candidates' levels."""
    from scipy.ndimage import uniform_filter1d

    power = np.where(found.strength[:, 0] > TONAL, 10.0 ** (found.level_db[:, 0].astype(np.float64) / 10.0), 0.0)
    near = uniform_filter1d(np.square(power), LEVEL_FRAMES, mode="constant")
    near /= np.maximum(uniform_filter1d(power, LEVEL_FRAMES, mode="constant"), 1e-30)
    whole = float(np.square(power).sum()) / max(float(power.sum()), 1e-30)
    return np.asarray(10.0 * np.log10(np.maximum(near, whole * 10.0 ** (-FALL_DB / 10.0)) + 1e-30))


def _strength_at(found: LeadCandidates, *intervals: float) -> Float64:
    """Strength of the best candidate of the frame that lies at an interval from each."""
    apart = found.midi[:, np.newaxis, :] - found.midi[:, :, np.newaxis]
    near = np.any([np.abs(apart - interval) < SAME for interval in intervals], axis=0)
    return np.asarray(np.where(near, found.strength[:, np.newaxis, :], 0.0).max(axis=-1), dtype=np.float64)


def clue_table(found: LeadCandidates, where: Whereabouts, bass: BassLine) -> Float32:
    """The clues of each candidate, shape (frames, `COUNT`, `CLUE_NAMES`)."""
    apart = found.midi - bass.midi[: len(found.midi), np.newaxis]
    on_bass = np.nan_to_num(np.maximum(0.0, 1.0 - np.abs(apart) / NEAR_BASS))
    best = np.maximum(found.strength[:, :1], 1e-6)
    level = np.clip((found.level_db - _lead_level_db(found)[:, np.newaxis]) / 10.0, -4.0, 1.0)
    nothing = np.zeros(found.midi.shape)
    known = where.brightness is not None and where.roundness is not None
    clues = {
        "relative": np.log(np.maximum(found.strength, 1e-3) / best),
        "salience": found.strength,
        "level": level,
        "faintness": np.minimum(0.0, level + 1.0),
        "astray": np.abs(found.place - where.place),
        "below": np.clip(where.low - found.midi, 0.0, 12.0) / 6.0,
        "above": np.clip(found.midi - where.high, 0.0, 12.0) / 6.0,
        "off_middle": np.abs(found.midi - where.middle) / 12.0,
        "steadiness": found.steadiness,
        "octave_under": _strength_at(found, -12.0, -19.02) / best,
        "octave_over": _strength_at(found, 12.0) / best,
        "contrast": found.contrast,
        "roundness": found.roundness,
        "brightness": found.brightness,
        "brightness_off": np.abs(found.brightness - (where.brightness or 0.0)) if known else nothing,
        "roundness_off": np.abs(found.roundness - (where.roundness or 0.0)) if known else nothing,
        "first": nothing + (np.arange(found.midi.shape[1]) == 0),
        "loudest": nothing + level[:, :1],
        "height": (found.midi - 60.0) / 12.0,
        "depth": np.minimum(0.0, found.midi - 52.0) / 12.0,
        "on_bass": on_bass,
        "bass_strength": on_bass * bass.strength[: len(found.midi), np.newaxis],
        "over_bass": np.any([np.abs(apart - interval) < SAME for interval in OVER_BASS], axis=0),
        "bass_apart": np.clip(np.nan_to_num(apart / 12.0, nan=UNKNOWN_APART), *BASS_OCTAVES),
    }
    return np.stack([clues[name] for name in CLUE_NAMES], axis=-1).astype(np.float32)
