"""Live: pitch while the sound is being made, step by step, within 30 ms.

Every step of 4 ms the salience of each pitch is taken from the newest sound alone (`reedpath.hear.live_salience`),
and added to that of the steps before in a search for the likeliest course (Viterbi's, going forward only): clear
sound changes the pitch at once, doubtful sound waits for more. The pitch is then measured as exactly as for a whole
recording, in a window that begins with the note and grows to 32 ms. Since all is done in steps of one size, the
values are the same to the last bit whatever the size of the blocks.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from reedpath.hear.frames import SPECTRUM, Float32
from reedpath.hear.live_chords import ChordFinder
from reedpath.hear.live_salience import PERIODS, PITCH_HZ, PITCH_MIDI, PITCH_STEP, LiveSalience
from reedpath.hear.pitch_curve import prior_at
from reedpath.hear.spectrum import Spectra, refined_midi

# hertz near which the sound is looked at; seconds between values
NEAR_RATE, STEP_SECONDS = 16_000, 0.004
# taps of the filter before the rate is lowered, for each part it is lowered by: 0.5 ms of delay
TAPS = 16
# seconds of the window in which a pitch is measured: just begun, and held
SHORTEST_SECONDS, LONGEST_SECONDS = 0.012, 0.032
# semitones between two values beyond which it is another note; a glide goes a tenth of it in a step
LEAP_SEMITONES = 0.7
# seconds over which the level is taken
LEVEL_SECONDS = 0.012
# natural log units, set on the tuning takes of bench/listen_live.py, flat within a factor of 1.5: weight of the
# logarithm of a salience, and the least salience told apart; of the prior; cost of a leap, and of a glide for each
# semitone
SALIENCE_WEIGHT, LEAST_SALIENCE, PRIOR_WEIGHT, LEAP_COST, GLIDE_COST = 4.0, 0.02, 0.8, 4.0, 1.0
# steps of the grid that a glide may go in a step of time
GLIDE_STEPS = 2
# salience of noise, and log odds of sound for salience beyond it
NOISE_SALIENCE, TONE_WEIGHT = 0.25, 30.0
# decibels: under the lead at which sound is as likely background; for each of them so many log units; a second
# takes so many off the lead's level; the softest lead believed (full scale is 0)
BACKGROUND_DB, LEVEL_WEIGHT, FADE_DB, SOFTEST_DB = -22.0, 0.3, 1.0, -55.0
# log odds from which a pitch is given: noise before the first note, when no lead's level is known, reaches 1.2
# and from which it goes on being given
LEAST_ODDS, KEEPING_ODDS = 1.5, 0.5
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

    seconds : since the tracker began, of the middle of the window in which the pitch was measured; it grows from
        value to value, by less than a step while a note begins and by more at its start.
    hz : pitch, NaN for silence or noise. confidence : 0 to 1, that there is a lead of this pitch.
    level_db : level of the sound, full scale is 0.
    age_seconds : how long the note has been heard, glides included; 0 for silence.
    together : the set of pitches that sound at once, MIDI numbers, of those that the tracker listens for; or ().
    """

    seconds: float
    hz: float
    confidence: float
    level_db: float
    age_seconds: float = 0.0
    together: tuple[float, ...] = ()

    @property
    def midi(self) -> float:
        """Pitch as a MIDI number with its fraction, NaN for silence."""
        return float(69.0 + 12.0 * np.log2(self.hz / 440.0))


class _Steps:
    """Cuts blocks of any size into steps of one size, at a lower rate; gives the newest `SPECTRUM` frames at each."""

    def __init__(self, rate: int) -> None:
        self._factor = max(1, round(rate / NEAR_RATE))
        self.rate = rate / self._factor
        self.frames = round(self.rate * STEP_SECONDS)
        taps = TAPS * self._factor + 1 if self._factor > 1 else 1
        self._filter = _low_pass(taps, 0.9 / self._factor) if self._factor > 1 else np.ones(1, np.float32)
        self.delay_seconds = (taps - 1) / 2 / rate
        self._waiting: Float32 = np.zeros(taps - 1, dtype=np.float32)
        self._needed = taps - 1 + self.frames * self._factor
        self._newest: Float32 = np.zeros(SPECTRUM, dtype=np.float32)

    def feed(self, block: Float32) -> Iterator[Float32]:
        self._waiting = np.concatenate([self._waiting, block])
        while len(self._waiting) >= self._needed:
            step = np.convolve(self._waiting[: self._needed], self._filter, "valid")[:: self._factor][: self.frames]
            self._waiting = self._waiting[self.frames * self._factor :]
            self._newest = np.concatenate([self._newest[self.frames :], step])
            yield self._newest


class _PitchSearch:
    """The likeliest course through the pitches up to now."""

    def __init__(self, prior: npt.ArrayLike | None) -> None:
        self._prior = np.asarray(PRIOR_WEIGHT * prior_at(prior, PITCH_MIDI))
        self._score = np.zeros(len(PITCH_MIDI))

    def follow(self, salience: Float32) -> int:
        """Take in the salience of each pitch; the place of the pitch at which the best course now is."""
        before = self._score
        score = np.maximum(before, before.max() - LEAP_COST)
        for steps in range(1, GLIDE_STEPS + 1):
            glided = before - GLIDE_COST * PITCH_STEP * steps
            np.maximum(score[steps:], glided[:-steps], out=score[steps:])
            np.maximum(score[:-steps], glided[steps:], out=score[:-steps])
        score += SALIENCE_WEIGHT * np.log(np.maximum(salience, LEAST_SALIENCE)) + self._prior
        self._score = score - score.max()
        return int(np.argmax(score))


class _Voicing:
    """Whether the newest sound is a lead: loud against the loudest of the last seconds, fading, and a tone."""

    def __init__(self) -> None:
        self._lead_db = SOFTEST_DB

    def log_odds(self, level_db: float, salience: float) -> float:
        tone = TONE_WEIGHT * (salience - NOISE_SALIENCE)
        self._lead_db = max(self._lead_db - FADE_DB * STEP_SECONDS, SOFTEST_DB)
        if tone > 0:
            self._lead_db = max(self._lead_db, level_db)
        loud = LEVEL_WEIGHT * (level_db - self._lead_db - BACKGROUND_DB) if level_db > SOFTEST_DB else BOUNDS[0]
        least, most = BOUNDS
        return min(max(tone, least), most) + min(max(loud, least), most)


class Tracker:
    """Follows the pitch of a sound that is being made.

    Parameters
    ----------
    rate : of the blocks, hertz, at least 8000.
    prior : what pitches may be expected, as for `reedpath.hear.track_pitch`.
    together : sets of pitches that may sound at once, MIDI numbers with their fraction; sets with an octave in them
        are never found.

    >>> tracker = Tracker(48000)
    >>> tone = np.sin(2 * np.pi * 440 * np.arange(4800) / 48000).astype(np.float32)
    >>> round(tracker.feed(tone)[-1].hz)
    440
    """

    def __init__(
        self, rate: int, *, prior: npt.ArrayLike | None = None, together: Sequence[Sequence[float]] = ()
    ) -> None:
        if rate < 8000:
            raise ValueError(f"a rate is at least 8000 Hz, not {rate}")
        self._steps = _Steps(rate)
        self._rate = self._steps.rate
        self._salience, self._search, self._voicing = LiveSalience(self._rate), _PitchSearch(prior), _Voicing()
        self._chords = ChordFinder(together, self._rate)
        self._window = round(LONGEST_SECONDS * self._rate)
        self._heard = 0
        self._place: int | None = None
        self._age_seconds = 0.0

    def feed(self, block: npt.ArrayLike) -> tuple[LivePitch, ...]:
        """Take in a block of one channel, shape (frames,); what is new since the last one, every 4 ms."""
        sound = np.nan_to_num(np.asarray(block, dtype=np.float32).ravel(), nan=0.0, posinf=0.0, neginf=0.0)
        return tuple(self._value(newest) for newest in self._steps.feed(sound))

    def _value(self, newest: Float32) -> LivePitch:
        salience = self._salience.salience(newest)
        place = self._search.follow(salience)
        sound = newest[SPECTRUM - round(LEVEL_SECONDS * self._rate) :]
        level = 10.0 * float(np.log10(max(2.0 * float(sound @ sound) / len(sound), 1e-12)))
        tone = NOISE_SALIENCE if self._chords.current else 0.0  # pitches that are heard together hide one another
        odds = self._voicing.log_odds(level, max(float(salience[place]), tone))
        self._note(place if odds > (LEAST_ODDS if self._place is None else KEEPING_ODDS) else None)
        self._heard += self._steps.frames
        midi = float("nan") if self._place is None else self._measured(newest, self._place)
        return LivePitch(
            seconds=(self._heard - self._window / 2) / self._rate - self._steps.delay_seconds,
            hz=float(440.0 * 2.0 ** ((midi - 69.0) / 12.0)),
            confidence=1.0 / (1.0 + float(np.exp(-odds))),
            level_db=level,
            age_seconds=self._age_seconds,
            together=self._chords.heard(newest, midi),
        )

    def _note(self, place: int | None) -> None:
        """Tell a new note from the one before; the window begins anew with it, or grows by what is new."""
        window = self._window + self._steps.frames
        longest = LONGEST_SECONDS
        self._age_seconds += STEP_SECONDS
        if place is not None:
            periods = PERIODS / PITCH_HZ[place]
            longest = max(longest, periods)
            if self._place is None or abs(PITCH_MIDI[place] - PITCH_MIDI[self._place]) > LEAP_SEMITONES:
                window = round(max(SHORTEST_SECONDS, periods) * self._rate)
                self._age_seconds = 0.0
        else:
            self._age_seconds = 0.0
        self._window = min(window, round(longest * self._rate), SPECTRUM)
        self._place = place

    def _measured(self, newest: Float32, place: int) -> float:
        """The pitch near a place of the grid, a MIDI number with its fraction."""
        spectra = Spectra(newest[np.newaxis, SPECTRUM - self._window :], rate=self._rate)
        near = self._salience.place_near(place, spectra.magnitudes[0])
        return float(refined_midi(spectra, PITCH_MIDI[np.newaxis, [near]])[0, 0])
