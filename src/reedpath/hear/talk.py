"""Talk told from playing: what sounds at each moment of a recording in which somebody talks and plays a harmonica.

A voice-activity detector for telephony takes a reed for a voice (docs/film.md has the figures), so this one asks what
parts the two. A reed holds its pitch: the strongest partial stands still for a tenth of a second and more (steady
bars of the spectrogram tell music in speech: Seyerlehner, Pohle, Schedl & Widmer, "Automatic music detection in
television productions", DAFx 2007), and its spectrum changes little, while speech runs through its sounds (spectral
flux: Scheirer & Slaney, "Construction and evaluation of a robust multifeature speech/music discriminator", ICASSP
1997). From both, frame by frame, the likeliest course is found (Viterbi's search; Rabiner, "A tutorial on hidden
Markov models", Proceedings of the IEEE 77, 1989); turning from one to the other is dear while something sounds, and
cheap in a pause. What is short and no reed may be a word or a knock: a voice comes again after its own period, which
its autocorrelation, over that of the window, tells (Boersma, "Accurate short-term analysis of the fundamental
frequency", IFA Proceedings 17, 1993). The titles are from memory.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from reedpath.hear.frames import HOP_SECONDS, Float32
from reedpath.signal.resample import BlockResampler
from reedpath.signal.samples import Samples

Bools = npt.NDArray[np.bool_]

# hertz; telephones have as much, and a voice and a reed are told apart by it
LOW_RATE = 8_000
# frames of sound in a window (64 ms) and from one window to the next
WINDOW, HOP = 512, round(LOW_RATE * HOP_SECONDS)
# windows looked at together
AT_ONCE = 2_000
# hertz between which is looked: mains hum lies below
LOWEST_HZ, HIGHEST_HZ = 150.0, 3_900.0
# bands of the spectrum whose change is measured, and over how many windows; ours
BANDS, APART = 24, 4
# cents that the strongest partial may move from window to window, and windows for which it must stand; ours
STILL_CENTS, STILL_WINDOWS = 25.0, 10
# cents under an instrument's lowest note that are still its own: a harp may be tuned low; ours
LOWER_CENTS = 70.0
# decibels over what is heard in the softest tenth of a recording, from which something sounds, and under full scale,
# below which nothing does; ours
OVER_DB, LEAST_DB, SOFTEST = 12.0, -55.0, 0.1
# share under which a recording's loud levels lie; share of full scale from which a frame is cut off, of a recording
# that may be, and decibels that it costs; ours
LOUDEST, FULL, MOST_CUT_OFF, CUT_OFF_DB = 0.95, 0.985, 0.0005, 20.0
# natural logs of how much likelier talk is than playing: where the partial moves, where it stands, and for each unit
# of change over (of log amplitude, root mean square over bands) where both are alike; and the share of it that a
# window tells anew, since windows overlap. Fitted on the tuning scenes of bench/footage.py
MOVES, STANDS = 2.5, -1.8
CHANGE_WEIGHT, CHANGE_ALIKE = 3.0, 1.42
NEW_SHARE = 0.12
# cost of turning from talk to playing while something sounds, and in a pause of so many windows or more; ours
TURN_COST, PAUSE_TURN_COST, PAUSE_WINDOWS = 8.0, 1.0, 12
# seconds up to which talk in playing, or playing in talk, without a pause between, is none; ours
SHORT_SECONDS = 0.6
# hertz between which voices speak, common practice, no source; seconds of talk from which nobody asks whether it is
# a voice; share of itself that a voice is again after a period; and seconds of it that make a word: knocks had 0.08 s
# at most, words of up to 0.4 s had 0.13 s at least (eleven voices of two synthesisers)
# a tone as long as that may be a voice that stands, where it is more like itself by so much after a period below the
# instrument's lowest: 0.45 of talk and more was, of what is played 0.1 at most (two of the scenes held out)
ASKED_TONE_SECONDS, LOWER = 2.5, 0.1
VOICE_HZ, ASKED_SECONDS, VOICED, SHORTEST_VOICE = (70.0, 400.0), 0.5, 0.6, 0.1
# decibels of the level's zero
FULL_SCALE_DB = 10 * np.log10(WINDOW**2 * 3 / 32)


@dataclass(frozen=True, slots=True, eq=False)
class SoundCourse:
    """What sounds, one value every `HOP_SECONDS`; each array of shape (windows,).

    level_db : under full scale, of a window that is centred there.
    talk : whether somebody talks. tone : whether something is played. Neither in silence.
    voiced : where what is short has a voice's period; a knock has none, and a tone its own.
    cut_off : share of the frames of sound that are at full scale, where the recording was too loud.
    """

    level_db: Float32
    talk: Bools
    tone: Bools
    voiced: Bools
    cut_off: float = 0.0

    def voiced_seconds(self, first: int, stop: int) -> float:
        """How long a voice's period is heard between two values, where it is asked for."""
        return float(self.voiced[first:stop].sum()) * HOP_SECONDS

    @property
    def margin_db(self) -> float:
        """How far what is loud lies over what is soft; less where it is cut off."""
        if not len(self.level_db):
            return 0.0
        soft, loud = np.quantile(self.level_db, (SOFTEST, LOUDEST))
        return float(loud - soft) - (CUT_OFF_DB if self.cut_off > MOST_CUT_OFF else 0.0)


def low_sound(sound: Iterable[Samples]) -> Float32:
    """A recording in one channel at `LOW_RATE`, shape (frames,)."""

    def parts() -> Iterator[Float32]:
        resampler: BlockResampler | None = None
        for block in sound:
            resampler = resampler or BlockResampler(block.rate, LOW_RATE)
            yield resampler.feed(np.ascontiguousarray(block.array.mean(axis=1), dtype=np.float32))
        if resampler is not None:
            yield resampler.finish()

    found = [np.asarray(part, dtype=np.float32) for part in parts()]
    return np.concatenate(found) if found else np.zeros(0, dtype=np.float32)


def _windows(sound: Float32) -> Iterator[Float32]:
    """Windows centred on every `HOP_SECONDS`, some at a time, shape (some, `WINDOW`)."""
    half = WINDOW // 2
    padded = np.pad(sound, (half, half))
    cut = np.lib.stride_tricks.sliding_window_view(padded, WINDOW)[::HOP]
    for at in range(0, len(cut), AT_ONCE):
        yield cut[at : at + AT_ONCE] * np.hanning(WINDOW).astype(np.float32)


def _strongest_hz(power: Float32) -> Float32:
    """The strongest partial of each window, by a parabola through the logarithms of three neighbours."""
    best = power[:, 1:-1].argmax(axis=1) + 1
    rows = np.arange(len(best))
    below, at, above = (np.log(power[rows, best + step] + 1e-15) for step in (-1, 0, 1))
    bow = below - 2 * at + above
    off = 0.5 * (below - above) / np.where(np.abs(bow) > 1e-9, bow, np.inf)
    return np.asarray((best + np.clip(off, -0.5, 0.5)) * LOW_RATE / WINDOW, dtype=np.float32)


def _seen(sound: Float32) -> tuple[Float32, Float32, Float32]:
    """Level in decibels, strongest partial in hertz and logarithms of bands of each window."""
    hertz = np.fft.rfftfreq(WINDOW, 1 / LOW_RATE)
    edges = np.searchsorted(hertz, np.geomspace(LOWEST_HZ, HIGHEST_HZ, BANDS + 1))
    levels, partials, bands = [], [], []
    for some in _windows(sound):
        power = np.abs(np.fft.rfft(some)) ** 2
        power[:, hertz < LOWEST_HZ] = 0.0
        levels.append(10 * np.log10(2 * power.sum(axis=1) / WINDOW + 1e-9) - FULL_SCALE_DB + 10 * np.log10(WINDOW))
        partials.append(_strongest_hz(power))
        bands.append(np.log(np.add.reduceat(power, edges[:-1], axis=1) + 1e-9))
    if not levels:
        nothing = np.zeros(0, dtype=np.float32)
        return nothing, nothing, np.zeros((0, BANDS), dtype=np.float32)
    return np.concatenate(levels), np.concatenate(partials), np.concatenate(bands)


def levels_in_bands(sound: Float32) -> Float32:
    """Logarithms of the power in `BANDS` bands, shape (windows, `BANDS`)."""
    return _seen(sound)[2]


def runs_of(flags: Bools) -> list[tuple[int, int]]:
    """First and last but one of each run of what holds."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], flags.astype(np.int8), [0]])))
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))


def _stands(hz: Float32, sounds: Bools, lowest_hz: float) -> Bools:
    """Whether the strongest partial stands still, where an instrument can sound it."""
    cents = 1200 * np.log2(np.maximum(hz, 1.0))
    still = (
        sounds
        & (hz > lowest_hz * 2 ** (-LOWER_CENTS / 1200))
        & (np.abs(np.diff(cents, append=cents[-1:])) < STILL_CENTS)
    )
    found = np.zeros(len(hz), dtype=bool)
    for first, stop in runs_of(still):
        found[first:stop] = stop - first >= STILL_WINDOWS
    return found


def _change(bands: Float32) -> Float32:
    """How much the shape of the spectrum has changed, natural logs."""
    shape = bands - bands.mean(axis=1, keepdims=True)
    change = np.zeros(len(bands), dtype=np.float32)
    change[APART:] = np.sqrt(np.mean((shape[APART:] - shape[:-APART]) ** 2, axis=1))
    return change


def _likeliest(evidence: npt.NDArray[np.float64], turn_cost: npt.NDArray[np.float64]) -> Bools:
    """Whether talk is likelier, at each moment; ``evidence`` for talk, and what turning costs there."""
    scores = np.zeros(2)
    came = np.zeros((len(evidence), 2), dtype=np.int8)
    for index, (gain, cost) in enumerate(zip(evidence.tolist(), turn_cost.tolist(), strict=True)):
        playing, talking = scores[0], scores[1]
        came[index, 0] = talking - cost > playing
        came[index, 1] = not playing - cost > talking
        scores = np.array([max(playing, talking - cost), max(talking, playing - cost) + gain])
    state = int(scores[1] > scores[0])
    talk = np.zeros(len(evidence), dtype=bool)
    for index in range(len(evidence) - 1, -1, -1):
        talk[index] = bool(state)
        state = int(came[index, state])
    return talk


def _settled(talk: Bools, sounds: Bools) -> Bools:
    """Talk, without what is short beside the other: nobody brings a harp to the mouth so fast."""
    settled = talk.copy()
    near = sounds.copy()
    for first, stop in runs_of(~sounds):
        near[first:stop] = stop - first < PAUSE_WINDOWS
    for first, stop in runs_of(near):
        inside = sounds[first:stop]
        said = int((talk[first:stop] & inside).sum())
        played = int(inside.sum()) - said
        if min(said, played) * HOP_SECONDS < SHORT_SECONDS:
            settled[first:stop] = said > played
    return settled


def _like_itself(sound: Float32, first: int, stop: int, longest: int) -> npt.NDArray[np.float64]:
    """How far each value's window is like itself so many frames later, of the whole: shape (values, frames)."""
    shape = np.hanning(WINDOW)
    of_shape = np.fft.irfft(np.abs(np.fft.rfft(shape, 2 * WINDOW)) ** 2)[: longest + 1]
    around = np.pad(sound[max(0, first * HOP - WINDOW) : stop * HOP + WINDOW], (max(0, WINDOW - first * HOP), WINDOW))
    some = np.stack([around[WINDOW // 2 + at * HOP :][:WINDOW] for at in range(stop - first)])
    some = (some - some.mean(axis=1, keepdims=True)) * shape
    again = np.fft.irfft(np.abs(np.fft.rfft(some, 2 * WINDOW)) ** 2)[:, : longest + 1] / of_shape
    return np.asarray(again / np.maximum(again[:, :1], 1e-12))


def _voiced(sound: Float32, talk: Bools, tone: Bools, lowest_hz: float) -> Bools:
    """Where what is short is a voice: like itself after a period of one, and, of tones, not after a shorter one that
    the instrument has.
    """
    found = np.zeros(len(talk), dtype=bool)
    shortest, longest = (round(LOW_RATE / hz) for hz in reversed(VOICE_HZ))
    for first, stop in runs_of(talk):
        if (stop - first) * HOP_SECONDS < ASKED_SECONDS:
            again = _like_itself(sound, first, stop, longest)
            found[first:stop] = again[:, shortest:].max(axis=1) > VOICED
    own = round(LOW_RATE / (lowest_hz * 2 ** (-LOWER_CENTS / 1200))) + 2 if lowest_hz else longest
    for first, stop in runs_of(tone) if own < longest else ():
        if (stop - first) * HOP_SECONDS < ASKED_TONE_SECONDS:
            again = _like_itself(sound, first, stop, longest)
            lower = again[:, own:].max(axis=1)
            found[first:stop] = (lower > VOICED) & (
                lower > again[:, round(LOW_RATE / HIGHEST_HZ) + 2 : own].max(axis=1) + LOWER
            )
    return found


def course_of(sound: Float32, *, lowest_hz: float = 0.0) -> SoundCourse:
    """What sounds when in a recording, as `low_sound` gives it.

    lowest_hz : of the instrument that is played; what stands still lower is a voice.
    """
    level, hz, bands = _seen(sound)
    if not len(sound):
        nothing = np.zeros(0, dtype=bool)
        return SoundCourse(level[:0], nothing, nothing, nothing)
    floor = float(np.quantile(level, SOFTEST))
    sounds = level > max(floor + OVER_DB, LEAST_DB)
    told = np.where(_stands(hz, sounds, lowest_hz), STANDS, MOVES) + CHANGE_WEIGHT * (_change(bands) - CHANGE_ALIKE)
    pause = np.zeros(len(level), dtype=bool)
    for first, stop in runs_of(~sounds):
        pause[first:stop] = stop - first >= PAUSE_WINDOWS
    talk = _likeliest(np.where(sounds, NEW_SHARE * told, 0.0), np.where(pause, PAUSE_TURN_COST, TURN_COST))
    talk = _settled(talk, sounds)
    talk, tone = talk & sounds, ~talk & sounds
    return SoundCourse(
        level, talk, tone, _voiced(sound, talk, tone, lowest_hz), float(np.mean(np.abs(sound) >= FULL))
    )
