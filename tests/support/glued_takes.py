"""Takes with a known truth, glued from recorded harmonica notes (`sample_bank`), faults put in at known places.

Each note is a recording read at the speed that gives its pitch, a time-varying speed for bends and vibrato, so
bent notes are bent recordings. How a route is played (jitter, slurs, glides) is told by `Manner`; `perform` gives
what is done and when, the faults of `faulted` change it, `glue` sounds it.

The truth of an event: its onset is where the recording comes within 20 dB of its peak, its pitch what was asked.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cache
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray
from scipy.signal import butter, fftconvolve, sosfilt

from reedpath.arrange import Route
from reedpath.harp import Alteration, Move, single_moves, sound_of
from reedpath.phrase import timing_of
from reedpath.signal import Samples, resampled
from support.sample_bank import read_harmonica
from support.sound_levels import normalized

RATE = 44_100
# factor of oversampling before a recording is read at a varying speed
OVERSAMPLING = 2
# seconds of fade at the end of a note; stillness before a reed that sounded sounds again
RELEASE, STOP = 0.03, 0.035
# share of its length by which a cycle of a vibrato varies (standard deviation; from memory), seconds after which it
# begins and in which it grows, and seconds that a note is long for it
CYCLE_VARIES, WAVER_AFTER, WAVER_LEAST = 0.06, 0.12, 0.45


@dataclass(frozen=True)
class Manner:
    """How a route is played.

    factor : of the written tempo. drift : share by which the tempo has grown at the end.
    jitter : seconds, standard deviation of onsets. detuned : cents, standard deviation of every pitch.
    slur : share of notes bound to the next. slide : share of bends slid into from the natural note.
    """

    factor: float = 1.0
    drift: float = 0.0
    jitter: float = 0.006
    detuned: float = 2.0
    slur: float = 0.5
    slide: float = 0.4
    gain_db: float = 6.0


@dataclass(frozen=True)
class Waver:
    """A vibrato of throat or hand: cycles a second, decibels from its loudest to its softest, cents either way.

    seed : of how unevenly it goes; a cycle is as long as the others to `CYCLE_VARIES` of its length.
    """

    hz: float
    decibels: float
    cents: float
    seed: int = 0

    def course(self, seconds: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Gain, and semitones, at times from the start of a note."""
        rng = np.random.default_rng(self.seed)
        cycles = max(1, int(seconds[-1] * self.hz * 2) + 2)
        turns = np.concatenate([[0.0], np.cumsum(1 / self.hz * np.maximum(0.5, rng.normal(1, CYCLE_VARIES, cycles)))])
        phase = 2 * np.pi * np.interp(seconds, turns, np.arange(cycles + 1))
        comes = np.clip((seconds - WAVER_AFTER) / WAVER_AFTER, 0, 1)
        gain = 10 ** (-self.decibels * comes * (1 - np.cos(phase)) / 2 / 20)
        return gain, comes * self.cents / 100 * np.cos(phase)


@dataclass(frozen=True)
class Deed:
    """One thing done: a move sounded.

    event : the route's event it stands for, None for what does not belong.
    start, end : seconds. cents : off the move's own pitch.
    offsets : (seconds from start, semitones), linear between, on top.
    reeds : what sounds, one by one; those of the move, all alike, for none.
    waver : a vibrato in level and pitch, if any.
    """

    event: int | None
    move: Move
    start: float
    end: float
    cents: float = 0.0
    offsets: tuple[tuple[float, float], ...] = ()
    vibrato: bool = False
    decibels: float = 0.0
    reeds: tuple[Reed, ...] = ()
    waver: Waver | None = None


@dataclass(frozen=True)
class Reed:
    """One reed that sounds in a deed: a move of one hole, decibels against the others, cents off its pitch."""

    move: Move
    decibels: float = 0.0
    cents: float = 0.0


class Kind(StrEnum):
    FLAT = "bend flat"
    WRONG = "wrong reed"
    MISSING = "missing"
    LATE = "late"
    TWICE = "struck twice"
    AGAIN = "played again"


@dataclass(frozen=True)
class Fault:
    kind: Kind
    event: int
    amount: float = 0.0
    move: Move | None = None


@dataclass(frozen=True)
class Take:
    """A sound with what was done in it; `onsets` are acoustic, one for each deed."""

    samples: Samples
    deeds: tuple[Deed, ...]
    onsets: tuple[float, ...]

    def onset_of(self, event: int) -> float | None:
        return next((at for deed, at in zip(self.deeds, self.onsets, strict=True) if deed.event == event), None)


def _glides(one, duration: float, rng: np.random.Generator, manner: Manner) -> tuple[tuple[float, float], ...]:
    """The pitch course of an event inside its move."""
    points: list[tuple[float, float]] = []
    attack, fall = one.choice.attack_semitones, one.choice.fall_semitones
    move = one.choice.move
    if attack:
        hold, slow = min(0.06, 0.15 * duration), min(0.1, 0.2 * duration)
        points += [(0.0, attack), (hold, attack), (hold + slow, 0.0)]
    elif move.alteration is Alteration.BEND and move.semitones and duration > 0.22 and rng.random() < manner.slide:
        slow = min(0.1, 0.25 * duration)
        points += [(0.0, -float(move.semitones)), (0.02, -float(move.semitones)), (0.02 + slow, 0.0)]
    if fall:
        slow = min(0.13, 0.25 * duration)
        points += [(duration - slow - 0.05, 0.0), (duration - 0.05, fall), (duration, fall)]
    return tuple(points)


def perform(
    route: Route,
    rng: np.random.Generator,
    *,
    manner: Manner = Manner(),
    start: float = 0.6,
    first: int = 0,
    last: int | None = None,
) -> list[Deed]:
    """What is done to play the events of a route from first to last, starting at a time."""
    timing = timing_of(route.phrase)
    events = route.events[first : None if last is None else last + 1]
    if not events:
        return []
    whole = max(timing.seconds_at(route.phrase.end), 1e-6)

    def at(beats: object) -> float:
        own = timing.seconds_at(beats)
        # tempo grows evenly from 1 to 1 + drift: time is the integral of its inverse
        warped = whole / manner.drift * np.log1p(manner.drift * own / whole) if manner.drift else own
        return warped / manner.factor

    zero = at(events[0].event.onset)
    deeds: list[Deed] = []
    for index, one in enumerate(events, start=first):
        if one.choice.move is None:
            continue
        on = start + at(one.event.onset) - zero + rng.normal(0, manner.jitter)
        off = start + at(one.event.end) - zero
        off = on + (off - on) * (1.0 if rng.random() < manner.slur else rng.uniform(0.8, 0.94))
        leads = [*one.choice.lead_in]
        each = min(0.075, 0.3 * (off - on) / max(1, len(leads)))
        for lead in leads:
            deeds.append(Deed(None, lead, on, on + each, rng.normal(0, manner.detuned)))
            on += each
        outs = [*one.choice.lead_out]
        each = min(0.075, 0.3 * (off - on) / max(1, len(outs)))
        main_end = off - each * len(outs)
        deeds.append(
            Deed(
                index,
                one.choice.move,
                on if not leads else on - 0.0,
                main_end,
                rng.normal(0, manner.detuned),
                _glides(one, main_end - on, rng, manner),
                one.event.ornaments.vibrato,
                rng.uniform(-manner.gain_db, 0),
            )
        )
        for number, lead in enumerate(outs):
            deeds.append(Deed(None, lead, main_end + number * each, main_end + (number + 1) * each))
    return deeds


def wrong_moves(route: Route, index: int) -> list[Move]:
    """Single moves near an event's own that sound something else: the slips a player makes."""
    move = route.events[index].choice.move
    own = sound_of(route.harp, move)
    found = []
    for other in single_moves(route.harp.tuning):
        near = abs(other.holes[0] - move.holes[0]) <= 1
        heard = sound_of(route.harp, other)
        apart = abs(heard.midi[0] - own.midi[0]) * 100
        if near and not other.is_dip and not other.alteration.is_overbend and apart >= 100:
            same_hole = other.holes == move.holes
            if other.alteration is Alteration.NATURAL or same_hole:
                found.append(other)
    return found


def wavering(
    deeds: Iterable[Deed],
    rng: np.random.Generator,
    *,
    decibels: tuple[float, float] = (4.0, 10.0),
    hz: tuple[float, float] = (3.5, 7.0),
    cents: tuple[float, float] = (0.0, 20.0),
) -> list[Deed]:
    """The deeds with a vibrato on every long note: the player's own rate, other depths from note to note."""
    rate = rng.uniform(*hz)
    done = []
    for deed in deeds:
        waver = Waver(
            rate * rng.uniform(0.92, 1.08), rng.uniform(*decibels), rng.uniform(*cents), int(rng.integers(1 << 30))
        )
        done.append(replace(deed, waver=waver) if deed.end - deed.start > WAVER_LEAST else deed)
    return done


def _moved(deeds: Iterable[Deed], seconds: float) -> list[Deed]:
    return [replace(one, start=one.start + seconds, end=one.end + seconds) for one in deeds]


def faulted(deeds: Sequence[Deed], fault: Fault) -> list[Deed]:
    """The deeds with one fault put in."""
    place = next(i for i, one in enumerate(deeds) if one.event == fault.event)
    before, deed, after = list(deeds[:place]), deeds[place], list(deeds[place + 1 :])
    length = deed.end - deed.start
    if fault.kind is Kind.FLAT:
        return [*before, replace(deed, cents=deed.cents - fault.amount), *after]
    if fault.kind is Kind.WRONG:
        return [*before, replace(deed, move=fault.move, offsets=(), vibrato=False), *after]
    if fault.kind is Kind.MISSING:
        return [*before, *after]
    if fault.kind is Kind.LATE:
        return [*before, replace(deed, start=deed.start + fault.amount), *after]
    if fault.kind is Kind.TWICE:
        half = length / 2
        first = replace(deed, end=deed.start + half - STOP)
        second = replace(deed, event=None, start=deed.start + half, offsets=())
        return [*before, first, second, *after]
    again = replace(deed, event=None, start=deed.start + length + STOP, end=deed.end + length + STOP)
    return [*before, deed, again, *_moved(after, length + STOP)]


def _seamless(samples: NDArray[np.float64], midi: float, seconds: float) -> NDArray[np.float64]:
    """The recording held longer: its last part goes round, faded into itself, a whole number of periods long."""
    period = RATE / (440.0 * 2 ** ((midi - 69) / 12))
    fade = round(0.03 * RATE)
    end = len(samples) - round(0.01 * RATE)
    length = round(round(0.15 * RATE / period) * period)
    lags = range(length - round(period), length + round(period))
    tail = samples[end - fade : end]
    length = max(lags, key=lambda lag: float(tail @ samples[end - fade - lag : end - lag]))
    ramp = np.linspace(0, 1, fade)
    turn = samples[end - length : end].copy()
    turn[-fade:] = tail * (1 - ramp) + samples[end - length - fade : end - length] * ramp
    turns = max(1, int(seconds * RATE / length))
    return np.concatenate([samples[: end - length], np.tile(turn, turns)])


# recorded notes that can be held long, each with its pitch as a MIDI number, at `OVERSAMPLING` times `RATE`
Voice: TypeAlias = tuple[tuple[float, NDArray[np.float64]], ...]


def held_voice(notes: Iterable[tuple[float, NDArray[np.float64], int]]) -> Voice:
    """A voice from recorded notes: MIDI number, samples of one channel, hertz."""
    found = []
    for midi, samples, rate in notes:
        own = samples if rate == RATE else resampled(Samples(samples, rate), RATE).array[:, 0]
        held = _seamless(np.asarray(own, dtype=np.float64), midi, 10.0)
        found.append((midi, resampled(Samples(held, RATE), RATE * OVERSAMPLING).array[:, 0]))
    return tuple(found)


@cache
def _harmonica() -> Voice:
    return held_voice((note.midi, note.samples, note.rate) for note in read_harmonica())


def _sounded(
    deed: Deed, midi: float, voice: Voice, *, second_best: bool = False
) -> tuple[NDArray[np.float64], float]:
    """The sound of one reed of a deed, and seconds from its first frame to its onset.

    second_best : whether the recording next nearest in pitch is read, so that the same reed has another tone.
    """
    length = deed.end - deed.start + RELEASE
    seconds = np.arange(max(64, int(length * RATE))) / RATE
    course = np.full(len(seconds), midi + deed.cents / 100)
    if deed.offsets:
        times, shifts = zip(*deed.offsets, strict=True)
        course += np.interp(seconds, times, shifts)
    if deed.vibrato:
        course += np.clip((seconds - 0.15) / 0.15, 0, 1) * 0.15 * np.sin(2 * np.pi * 5.2 * seconds)
    gain = 1.0
    if deed.waver:
        gain, bent = deed.waver.course(seconds)
        course += bent
    root, source = sorted(voice, key=lambda one: abs(one[0] - midi))[1 if second_best else 0]
    place = np.concatenate([[0.0], np.cumsum(2 ** ((course - root) / 12))[:-1]]) * OVERSAMPLING
    sound = np.interp(place, np.arange(len(source)), source, right=0.0) * gain
    fade = min(len(sound), round(RELEASE * RATE))
    sound[len(sound) - fade :] *= np.cos(np.linspace(0, np.pi / 2, fade)) ** 2
    onset = int(np.argmax(np.abs(sound) > 0.1 * np.abs(sound).max())) / RATE
    return sound * 10 ** (deed.decibels / 20), onset


# share of the reeds of chord takes that are read from the recording next nearest
OTHER_TONE = 0.3


def _holes(deed: Deed) -> set[int]:
    """The holes that sound in a deed."""
    return {hole for reed in deed.reeds for hole in reed.move.holes} or set(deed.move.holes)


def _pitches(route: Route, deed: Deed, rng: np.random.Generator) -> Iterable[tuple[float, float, bool]]:
    """Pitch and decibels of every reed of a deed, and whether it has another tone than it mostly has."""
    if not deed.reeds:
        heard = sound_of(route.harp, deed.move)
        return [(midi + cents / 100, 0.0, False) for midi, cents in zip(heard.midi, heard.cents, strict=True)]
    found = []
    for reed in deed.reeds:
        heard = sound_of(route.harp, reed.move)
        pitch = heard.midi[0] + (heard.cents[0] + reed.cents) / 100
        found.append((pitch, reed.decibels, bool(rng.random() < OTHER_TONE)))
    return found


def glue(
    route: Route, deeds: Sequence[Deed], rng: np.random.Generator, *, after: float = 0.8, voice: Voice | None = None
) -> Take:
    """The deeds as one sound; in another voice than the harmonica's, if one is given."""
    voice = voice or _harmonica()
    ordered = sorted(deeds, key=lambda one: one.start)
    total = max((one.end for one in ordered), default=0.0) + after
    array = np.zeros(int(total * RATE) + RATE)
    onsets = []
    for index, deed in enumerate(ordered):
        following = ordered[index + 1] if index + 1 < len(ordered) else None
        if following is not None and _holes(following) & _holes(deed):
            deed = replace(deed, end=max(deed.start + 0.03, min(deed.end, following.start - STOP)))
        delay = 0.0
        for number, (midi, decibels, second_best) in enumerate(_pitches(route, deed, rng)):
            own = deed if number == 0 else replace(deed, offsets=())
            sound, onset = _sounded(own, midi, voice, second_best=second_best)
            sound = sound * 10 ** (decibels / 20)
            delay = onset if number == 0 else min(delay, onset)
            at = round(deed.start * RATE)
            part = array[at : at + len(sound)]
            part += sound[: len(part)]
        onsets.append(deed.start + delay)
    return Take(normalized(Samples(array[: int(total * RATE)], RATE), -6.0), tuple(ordered), tuple(onsets))


def _mixed_at(sound: NDArray[np.float64], other: NDArray[np.float64], decibels: float) -> NDArray[np.float64]:
    """The other sound under the first, so many decibels below it by root mean square while it sounds."""
    loud = sound[np.abs(sound) > 0.01]
    level = np.sqrt(np.mean(loud**2)) * 10 ** (decibels / 20)
    own = np.sqrt(np.mean(other**2)) or 1.0
    return sound + np.resize(other, len(sound)) * (level / own)


def _pink(frames: int, rng: np.random.Generator) -> NDArray[np.float64]:
    spectrum = rng.normal(size=frames // 2 + 1) + 1j * rng.normal(size=frames // 2 + 1)
    return np.fft.irfft(spectrum / np.sqrt(np.arange(1, frames // 2 + 2)), frames)


def room(sound: NDArray[np.float64], rng: np.random.Generator) -> NDArray[np.float64]:
    """A small room: 0.3 s of reverberation 10 dB under the direct sound, and pink noise 26 dB under it."""
    tail = rng.normal(size=int(0.3 * RATE)) * np.exp(-6.9 * np.arange(int(0.3 * RATE)) / (0.3 * RATE))
    wet = fftconvolve(sound, tail)[: len(sound)]
    return _mixed_at(_mixed_at(sound, wet, -10.0), _pink(len(sound), rng), -26.0)


def hum(sound: NDArray[np.float64], rng: np.random.Generator) -> NDArray[np.float64]:
    """Mains hum: 50 Hz and its overtones, 26 dB under."""
    times = np.arange(len(sound)) / RATE
    own = sum(np.sin(2 * np.pi * 50 * n * times + rng.uniform(0, 6)) / n**0.7 for n in range(1, 13))
    return _mixed_at(sound, own, -26.0)


def phone(sound: NDArray[np.float64], rng: np.random.Generator) -> NDArray[np.float64]:
    """A telephone: 300 to 3400 Hz, 8 kHz, 8-bit mu-law (ITU-T G.711's curve), noise 30 dB under."""
    narrow = sosfilt(butter(6, [300, 3400], "bandpass", fs=RATE, output="sos"), sound)
    low = resampled(Samples(narrow, RATE), 8000).array[:, 0]
    low = low / (np.abs(low).max() or 1)
    coded = np.round(np.sign(low) * np.log1p(255 * np.abs(low)) / np.log(256) * 127) / 127
    decoded = np.sign(coded) * np.expm1(np.abs(coded) * np.log(256)) / 255
    wide = resampled(Samples(decoded, 8000), RATE).array[:, 0].astype(float)
    return _mixed_at(
        np.resize(np.pad(wide, (0, max(0, len(sound) - len(wide)))), len(sound)), _pink(len(sound), rng), -30.0
    )


def backing(loop: NDArray[np.float64], chords: NDArray[np.float64]):
    """A condition: a quiet band under the take, 20 dB down; the band's sounds are given."""

    def under(sound: NDArray[np.float64], rng: np.random.Generator) -> NDArray[np.float64]:
        return _mixed_at(sound, np.resize(loop, len(sound)) * 0.7 + np.resize(chords, len(sound)), -20.0)

    return under


def clean(sound: NDArray[np.float64], rng: np.random.Generator) -> NDArray[np.float64]:
    return sound


def under(take: Take, condition, rng: np.random.Generator) -> Take:
    """The take as it would be recorded under a condition; its truth is unchanged."""
    array = condition(take.samples.array[:, 0].astype(float), rng)
    return replace(take, samples=normalized(Samples(array, RATE), -3.0))
