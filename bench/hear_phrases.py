"""Phrases with a known truth, glued from recorded notes, and what a room or a telephone does to them.

The glue: each note is a recording read at the speed that gives its pitch (a time-varying speed for bends,
slides, vibrato and hammer-ons), cut off by a short fade. The melodies are of our own making, random within
rules that say what a player of the instrument does. The truth of a note: its onset (where the recording
first comes within 20 dB of its peak), its end (half-way through the fade, or where the next note begins), and
the median of its pitch.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np
from scipy.signal import butter, fftconvolve, sosfilt

from hear_sound import RATE, Recording, bank_notes, loop_sound, open_strings
from reedpath.signal import Samples, resampled
from support.sound_levels import normalized

# seconds that a reed or string is still before the same one sounds again (a tongued stop; from memory)
STOP_SECONDS = 0.04
# semitones over the lowest of the notes struck together, and how often each is played; ours
STOPS = ((0,), (0, 3), (0, 4), (0, 5), (0, 7), (0, 8), (0, 9), (0, 10), (0, 12), (0, 4, 7), (0, 3, 7), (0, 5, 9))
STOP_ODDS = [0.25] + [0.75 / 11] * 11
# factor of oversampling before a recording is read at a varying speed
OVERSAMPLING = 4


@dataclass(frozen=True)
class TrueNote:
    start: float
    end: float
    midi: float


@dataclass(frozen=True)
class Specimen:
    """A sound with its truth. curve: rows of seconds and MIDI number, every 5 ms while a note sounds."""

    name: str
    samples: Samples
    notes: tuple[TrueNote, ...]
    curve: np.ndarray


@dataclass(frozen=True)
class Player:
    """How an instrument is played here: the lowest and highest MIDI number, and what it may do."""

    name: str
    notes: tuple[Recording, ...]
    low: int
    high: int
    release_seconds: float = 0.03
    ring_seconds: float = 0.0
    bends: str = ""
    legato: float = 0.0
    rests: float = 0.15
    shortest: float = 0.11


def players(*, held_back: bool) -> list[Player]:
    """The instruments: those that the tracker was tuned on, or those kept back for the test."""
    plucked = {"release_seconds": 0.04, "ring_seconds": 0.04, "rests": 0.15}
    if not held_back:
        return [
            Player("harmonica", bank_notes("Harmonica", side="left"), 55, 93, legato=0.6),
            Player("harmonica, bent", bank_notes("Harmonica", side="left"), 55, 86, legato=0.4, bends="breath"),
            Player("steel strings", bank_notes("Steel String Guitar"), 40, 79, **plucked),
            Player("steel strings, a guitar", open_strings("Wood"), 40, 69, **plucked),
            Player("steel strings, bent", bank_notes("Steel String Guitar"), 50, 76, bends="string", **plucked),
            Player("hollow guitar, bent", bank_notes("Jazz Guitar"), 45, 79, bends="string", **plucked),
            Player("reed organ", bank_notes("Reed Organ"), 54, 92, legato=0.6),
            Player("clarinet", bank_notes("Clarinet"), 52, 86, legato=0.6),
            Player("distorted guitar, bent", bank_notes("Distortion Guitar"), 45, 79, bends="string", **plucked),
        ]
    return [
        Player("harmonica", bank_notes("Harmonica", side="right"), 55, 96, legato=0.6),
        Player("harmonica, bent", bank_notes("Harmonica", side="right"), 55, 86, legato=0.4, bends="breath"),
        Player("accordion reeds", bank_notes("Accordian", side="right"), 60, 90, legato=0.6),
        Player("steel strings", open_strings("Carbon"), 40, 69, **plucked),
        Player("nylon strings", bank_notes("Nylon Guitar"), 40, 79, **plucked),
        Player("electric guitar, bent", bank_notes("Clean Guitar"), 45, 79, bends="string", **plucked),
        Player("overdriven guitar, bent", bank_notes("Overdrive Guitar"), 45, 79, bends="string", **plucked),
    ]


@dataclass
class Plan:
    """One note to be played: seconds from its start at which its pitch moves, and by how much."""

    start: float
    duration: float
    midi: int
    offsets: list[tuple[float, float]] = field(default_factory=list)  # (seconds, semitones), linear between
    vibrato_cents: float = 0.0
    tied: list[tuple[float, int]] = field(default_factory=list)  # hammer-ons: (seconds, MIDI number)
    decibels: float = 0.0


def _melody(player: Player, seconds: float, rng: np.random.Generator) -> list[Plan]:
    plans, at = [], 0.25
    midi = int(rng.integers(player.low + 5, player.high - 5))
    tempo = rng.uniform(70, 150)
    while at < seconds - 0.6:
        duration = max(player.shortest, 60 / tempo * rng.choice([0.25, 0.5, 0.5, 0.5, 1.0, 1.0, 1.5]))
        step = int(
            rng.choice([0, 1, 1, 2, 2, 3, 4, 5, 7, 12], p=[0.12, 0.14, 0.1, 0.16, 0.14, 0.1, 0.08, 0.06, 0.06, 0.04])
        )
        midi += step if rng.random() < 0.5 else -step
        while midi < player.low:
            midi += 12
        while midi > player.high:
            midi -= 12
        plan = Plan(at, duration * rng.uniform(0.85, 1.0), midi, decibels=rng.uniform(-8, 0))
        _decorate(plan, player, rng)
        plans.append(plan)
        at += duration
        if rng.random() < player.rests:
            at += rng.uniform(0.1, 0.6)
    for plan, following in pairwise(plans):
        if following.midi == plan.midi:
            plan.duration = min(plan.duration, following.start - plan.start - STOP_SECONDS)
    return plans


def _decorate(plan: Plan, player: Player, rng: np.random.Generator) -> None:
    if player.legato and rng.random() < player.legato:
        plan.duration /= 0.93
    if player.bends == "breath":
        _bend_by_breath(plan, rng)
    elif player.bends == "string":
        bend_a_string(plan, rng)
    if plan.duration > 0.5 and rng.random() < 0.4:
        plan.vibrato_cents = rng.uniform(10, 30)


def _bend_by_breath(plan: Plan, rng: np.random.Generator) -> None:
    depth, kind = float(rng.choice([1, 1, 2, 3])), rng.random()
    if plan.duration < 0.25 or kind < 0.3:
        return
    if kind < 0.65:  # the natural note is sounded first and bent down quickly, then held
        slow = min(0.15, plan.duration * 0.2)
        plan.offsets = [(0.0, 0.0), (0.03, 0.0), (0.03 + slow, -depth), (plan.duration, -depth)]
    elif kind < 0.85:  # scooped: attacked bent, let go
        slow = min(0.12, plan.duration * 0.2)
        plan.offsets = [(0.0, -min(depth, 1.5)), (0.02, -min(depth, 1.5)), (0.02 + slow, 0.0), (plan.duration, 0.0)]
    else:  # a bend held out of tune, as students do
        plan.offsets = [(0.0, -depth + rng.uniform(0.1, 0.4)), (plan.duration, -depth + rng.uniform(0.1, 0.4))]


def bend_a_string(plan: Plan, rng: np.random.Generator) -> None:
    kind = rng.random()
    if plan.duration < 0.25 or kind < 0.35:
        return
    if kind < 0.6:
        up, slow = float(rng.choice([1, 2, 2, 3])), min(0.15, plan.duration * 0.3)
        plan.offsets = [(0.0, -up), (0.03, -up), (0.03 + slow, 0.0), (plan.duration, 0.0)]
    elif kind < 0.8:  # a slide over frets, up or down into the note
        frets = int(rng.choice([-3, -2, 2, 3, 4]))
        each = 0.025
        plan.offsets = []
        for fret in range(abs(frets), -1, -1):
            at = (abs(frets) - fret) * each
            shift = -float(np.sign(frets) * fret)
            plan.offsets += [(at, shift), (at + each * 0.8, shift)]
        plan.offsets.append((plan.duration, 0.0))
    elif plan.duration > 0.35:  # a hammer-on or pull-off half-way
        plan.tied = [(plan.duration / 2, plan.midi + int(rng.choice([-3, -2, -1, 1, 2, 3])))]


def _pitch_of(plan: Plan, seconds: np.ndarray) -> np.ndarray:
    midi = np.full(seconds.shape, float(plan.midi))
    for at, other in plan.tied:
        midi = np.where(seconds >= at, float(other), midi)
    if plan.offsets:
        times, shifts = zip(*plan.offsets, strict=True)
        midi += np.interp(seconds, times, shifts)
    depth = np.clip((seconds - 0.2) / 0.15, 0, 1) * plan.vibrato_cents / 100
    return midi + depth * np.sin(2 * np.pi * 5.5 * seconds)


def _extended(recording: Recording, seconds: float) -> np.ndarray:
    """The recording made longer by going round its loop."""
    array = recording.samples.array[:, 0]
    wanted = int(seconds * RATE) + 1
    if recording.loop is None or len(array) >= wanted:
        return array
    start, end = recording.loop
    round_loop = array[start:end]
    turns = -(-(wanted - end) // len(round_loop))
    return np.concatenate([array[:end], np.tile(round_loop, max(turns, 0))])


_OVERSAMPLED: dict[tuple[str, int], np.ndarray] = {}


def _oversampled(recording: Recording) -> np.ndarray:
    key = (recording.name, id(recording))
    if key not in _OVERSAMPLED:
        source = Samples(_extended(recording, 6.0)[: 8 * RATE], RATE)
        _OVERSAMPLED[key] = resampled(source, RATE * OVERSAMPLING).array[:, 0]
    return _OVERSAMPLED[key]


def _played(player: Player, plan: Plan) -> tuple[np.ndarray, float, np.ndarray]:
    """The sound of one note, the seconds from its first frame to its onset, and its curve."""
    target = plan.midi + (plan.offsets[-1][1] if plan.offsets else 0)
    recording = min(player.notes, key=lambda note: abs(note.root_midi - target))
    length = plan.duration + player.ring_seconds + player.release_seconds
    seconds = np.arange(int(length * RATE)) / RATE
    ratio = 2 ** ((_pitch_of(plan, seconds) - recording.root_midi) / 12)
    place = np.concatenate([[0.0], np.cumsum(ratio)[:-1]])
    source = _oversampled(recording)
    sound = np.interp(place * OVERSAMPLING, np.arange(len(source)), source, right=0.0)
    fade = round(player.release_seconds * RATE)
    sound[len(sound) - fade :] *= np.cos(np.linspace(0, np.pi / 2, fade)) ** 2
    onset = int(np.argmax(np.abs(sound) > 0.1 * np.abs(sound).max())) / RATE
    curve_seconds = np.arange(onset, plan.duration, 0.005)
    own = np.interp(
        np.interp(curve_seconds, seconds, place / RATE),
        recording.contour_seconds,
        recording.contour_midi - recording.root_midi,
    )
    curve = np.column_stack([curve_seconds + plan.start, _pitch_of(plan, curve_seconds) + own])
    return sound * 10 ** (plan.decibels / 20), onset, curve


def _true_notes(plan: Plan, end: float, onset: float, curve: np.ndarray) -> list[TrueNote]:
    starts = [plan.start + onset, *(plan.start + at for at, _ in plan.tied)]
    ends = [*starts[1:], end]
    notes = []
    for start, end in zip(starts, ends, strict=True):
        inside = (curve[:, 0] >= start) & (curve[:, 0] < end)
        notes.append(TrueNote(start, end, float(np.median(curve[inside, 1]))))
    return notes


def glue(player: Player, plans: list[Plan], seconds: float, name: str) -> Specimen:
    """The plans as one sound with its truth."""
    array = np.zeros(int(seconds * RATE) + RATE)
    notes: list[TrueNote] = []
    curves = []
    for plan in plans:
        sound, onset, curve = _played(player, plan)
        at = round(plan.start * RATE)
        part = array[at : at + len(sound)]
        part += sound[: len(part)]
        rung = plan.start + plan.duration + player.ring_seconds + player.release_seconds / 2
        later = [other.start for other in plans if other.start > plan.start + 0.05]
        notes += _true_notes(plan, min([rung, *later]), onset, curve)
        curves.append(curve)
    samples = normalized(Samples(array, RATE), -6.0)
    return Specimen(name, samples, tuple(notes), np.concatenate(curves))


def melody(player: Player, *, seconds: float, seed: int) -> Specimen:
    """A random melody on one instrument."""
    rng = np.random.default_rng([seed, len(player.name), *player.name.encode()])
    return glue(player, _melody(player, seconds, rng), seconds, player.name)


def double_stops(player: Player, *, seconds: float, seed: int) -> Specimen:
    """Two or three notes at once, now and then one, on plucked strings."""
    rng = np.random.default_rng([seed, 77, *player.name.encode()])
    plans, at = [], 0.25
    while at < seconds - 0.8:
        duration = float(rng.choice([0.3, 0.4, 0.6, 0.8]))
        low = int(rng.integers(player.low, player.high - 12))
        for interval in STOPS[int(rng.choice(len(STOPS), p=STOP_ODDS))]:
            strum = rng.uniform(0, 0.012)
            plans.append(Plan(at + strum, duration * 0.95 - strum, low + interval, decibels=rng.uniform(-4, 0)))
        at += duration + (rng.uniform(0.1, 0.4) if rng.random() < player.rests else 0)
    return glue(player, plans, seconds, f"{player.name}, double stops")


def _mixed_at(sound: np.ndarray, other: np.ndarray, decibels: float) -> np.ndarray:
    """The other sound under the first, so many decibels below it by root mean square while it sounds."""
    loud = sound[np.abs(sound) > 0.01]
    level = np.sqrt(np.mean(loud**2)) * 10 ** (decibels / 20)
    own = np.sqrt(np.mean(other**2)) or 1.0
    return sound + other[: len(sound)] * (level / own)


def _pink(frames: int, rng: np.random.Generator) -> np.ndarray:
    spectrum = rng.normal(size=frames // 2 + 1) + 1j * rng.normal(size=frames // 2 + 1)
    return np.fft.irfft(spectrum / np.sqrt(np.arange(1, frames // 2 + 2)), frames)


def _room(sound: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """A small room: 0.3 s of reverberation 10 dB under the direct sound, and pink noise 26 dB under it."""
    tail = rng.normal(size=int(0.3 * RATE)) * np.exp(-6.9 * np.arange(int(0.3 * RATE)) / (0.3 * RATE))
    wet = fftconvolve(sound, tail)[: len(sound)]
    return _mixed_at(_mixed_at(sound, wet, -10.0), _pink(len(sound), rng), -26.0)


def _backing(sound: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """A band that bleeds in 20 dB under: recorded drums, bass and piano chords."""
    band = np.zeros(len(sound))
    drums = loop_sound(str(rng.choice(["loop_breakbeat", "loop_amen"]))).array[:, 0]
    band += np.resize(drums, len(band)) * 0.7
    bass, chords = bank_notes("Acoustic Bass"), bank_notes("Jazz Guitar")
    for beat in range(int(len(sound) / RATE / 0.5)):
        root = int(rng.choice([40, 45, 47]))
        players_and_notes = [(Player("bass", bass, 28, 60), root - 12)]
        if beat % 2 == 0:
            players_and_notes += [(Player("chords", chords, 40, 80), root + up) for up in (12, 16, 19)]
        for player, midi in players_and_notes:
            note, _, _ = _played(player, Plan(0.0, 0.45, midi))
            at = round(beat * 0.5 * RATE)
            band[at : at + len(note)] += note[: len(band) - at] * 0.5
    return _mixed_at(sound, band, -20.0)


def _hum(sound: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Mains hum: 50 Hz and its overtones, 26 dB under."""
    times = np.arange(len(sound)) / RATE
    hum = sum(np.sin(2 * np.pi * 50 * n * times + rng.uniform(0, 6)) / n**0.7 for n in range(1, 13))
    return _mixed_at(sound, hum, -26.0)


def _phone(sound: np.ndarray, rng: np.random.Generator, lowest_hz: float = 300.0) -> np.ndarray:
    """A telephone: 300 to 3400 Hz, 8 kHz, 8-bit mu-law (ITU-T G.711's curve), noise 30 dB under."""
    narrow = sosfilt(butter(6, [lowest_hz, 3400], "bandpass", fs=RATE, output="sos"), sound)
    low = resampled(Samples(narrow, RATE), 8000).array[:, 0]
    low = low / (np.abs(low).max() or 1)
    coded = np.round(np.sign(low) * np.log1p(255 * np.abs(low)) / np.log(256) * 127) / 127
    decoded = np.sign(coded) * np.expm1(np.abs(coded) * np.log(256)) / 255
    wide = resampled(Samples(decoded, 8000), RATE).array[:, 0].astype(float)
    wide = np.resize(np.pad(wide, (0, max(0, len(sound) - len(wide)))), len(sound))
    return _mixed_at(wide, _pink(len(wide), rng), -30.0)


CONDITIONS = {
    "clean": lambda sound, rng: sound,
    "room": _room,
    "backing": _backing,
    "hum": _hum,
    "phone": _phone,
}


def under(specimen: Specimen, condition: str, *, seed: int) -> Specimen:
    """The specimen as it would be recorded under a condition of `CONDITIONS`; its truth is unchanged."""
    rng = np.random.default_rng([seed, *condition.encode()])
    array = CONDITIONS[condition](specimen.samples.array[:, 0].astype(float), rng)
    return replace(specimen, name=f"{specimen.name} | {condition}", samples=normalized(Samples(array, RATE), -3.0))


def by_phone_from(specimen: Specimen, lowest_hz: float, *, seed: int) -> Specimen:
    """The specimen by a telephone, or a small loudspeaker, that passes nothing lower than so many hertz."""
    rng = np.random.default_rng([seed, *b"phone"])
    array = _phone(specimen.samples.array[:, 0].astype(float), rng, lowest_hz)
    name = f"{specimen.name} | from {lowest_hz:.0f} Hz"
    return replace(specimen, name=name, samples=normalized(Samples(array, RATE), -3.0))
