"""Raw footage of a teacher, made for tests: talk of a speech synthesiser, takes with faults at known places, cameras.

The talk is of Debian's espeak-ng (GPL-3) or flite (its own free licence). The takes are `glued_takes` of recorded
notes, or the same deeds in the program's own reed voice. All that is said and played is invented.
"""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.signal import butter, fftconvolve, sosfilt

from reedpath.harp import sound_of
from reedpath.lesson import Lesson
from reedpath.phrase import timing_of
from reedpath.signal import Samples, decode, resampled
from reedpath.sound.plan import unbent_hz
from reedpath.sound.tones import Contour, Tone
from reedpath.sound.voice import render_tones
from support.glued_takes import RATE, Deed, Fault, Kind, Manner, faulted, glue, perform, wrong_moves

Sound = NDArray[np.float64]

# programs that speak, with the package that brings each
SPEAKERS = {"espeak-ng": "espeak-ng", "flite": "flite"}
# recordings of people: Debian's asterisk-core-sounds-en-wav and -fr-wav
PEOPLE = Path("/usr/share/asterisk/sounds")
# times full scale of talk at its peak, and of playing
TALK_PEAK, PLAY_PEAK = 0.25, 0.4


def needs_speech() -> None:
    """Skip a test where nothing speaks, and say what to install."""
    missing = [package for program, package in SPEAKERS.items() if shutil.which(program) is None]
    if missing:
        pytest.skip(f"install the system package {' '.join(missing)}")


@dataclass(frozen=True)
class Said:
    """Something said.

    voice : "espeak-ng:NAME" or "flite:NAME"; "people:SEED" for recordings of people who say something else, as many
        words. rate : words a minute, of espeak-ng.
    """

    text: str
    voice: str = "espeak-ng:en-us"
    rate: int = 165


@dataclass(frozen=True)
class Tried:
    """A stretch of the lesson played.

    first, last : indexes of its events. rung : index of the ladder's tempo.
    faults : kinds of faults, put at places that the scene's seed says.
    stops : index of the event after which it is broken off.
    counted_by : the voice that counts four beats before it, "" for none (see `Said`).
    """

    first: int
    last: int
    rung: int
    faults: tuple[Kind, ...] = ()
    stops: int | None = None
    counted_by: str = ""


@dataclass(frozen=True)
class Noodled:
    """Notes that are not of the lesson."""

    count: int = 6


@dataclass(frozen=True)
class Still:
    """Nobody plays or talks."""

    seconds: float


@dataclass(frozen=True)
class Knocked:
    """A knock at the table, a chair moved."""

    seconds: float = 0.4


Doing = Said | Tried | Noodled | Still | Knocked


@dataclass(frozen=True)
class Done:
    """Where a doing lies in a scene.

    sounds : seconds of each note or stretch of speech without a pause.
    """

    what: Doing
    start: float
    end: float
    sounds: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True)
class RawScene:
    """A scene as it sounds where it is: mono at `RATE`."""

    samples: Sound
    done: tuple[Done, ...]

    @property
    def seconds(self) -> float:
        return len(self.samples) / RATE


def people_files() -> list[Path]:
    """Recorded announcements of people, none where the packages are missing."""
    return sorted(PEOPLE.glob("*/*.wav"))


def _of_people(said: Said, seed: int) -> Sound:
    """Recorded announcements, one after the other, about as many seconds as the text would take."""
    rng = np.random.default_rng([seed, len(said.text)])
    parts, wanted = [], 0.35 * len(said.text.split())
    # eight thousand frames a second, of two bytes
    files = [one for one in people_files() if one.stat().st_size < 16_000 * max(1.0, 1.3 * wanted)]
    while sum(len(one) for one in parts) < wanted * RATE:
        own = decode(files[int(rng.integers(len(files)))].read_bytes())
        parts += [resampled(own, RATE).array[:, 0].astype(float), np.zeros(RATE // 8)]
    return np.concatenate(parts)


@cache
def spoken(said: Said) -> Sound:
    """What is said, mono at `RATE`."""
    program, _, voice = said.voice.partition(":")
    if program == "people":
        return _trimmed(_of_people(said, int(voice)))
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "said.wav"
        command = {
            "espeak-ng": ["espeak-ng", "-v", voice, "-s", str(said.rate), "-w", str(path), said.text],
            "flite": ["flite", "-voice", voice, "-t", said.text, "-o", str(path)],
        }[program]
        subprocess.run(command, check=True, capture_output=True)
        own = decode(path.read_bytes())
    return _trimmed(resampled(own, RATE).array[:, 0].astype(float))


def _trimmed(sound: Sound) -> Sound:
    """From its first sound to its last, as loud as talk is."""
    loud = np.flatnonzero(np.abs(sound) > 0.01 * np.abs(sound).max())
    sound = sound[loud[0] : loud[-1] + 1]
    return sound * TALK_PEAK / np.abs(sound).max()


def _stretches(sound: Sound, *, pause: float = 0.25) -> list[tuple[float, float]]:
    """Where speech sounds without a pause."""
    hop = RATE // 100
    level = np.abs(sound[: len(sound) // hop * hop]).reshape(-1, hop).max(axis=1)
    on = np.flatnonzero(level > 0.03 * level.max())
    if not len(on):
        return []
    breaks = np.flatnonzero(np.diff(on) > pause * 100)
    starts, ends = [on[0], *on[breaks + 1]], [*on[breaks], on[-1]]
    return [(start / 100, (end + 1) / 100) for start, end in zip(starts, ends, strict=True)]


def _tone(route, deed: Deed, hz: float, reed_hz: float, number: int) -> Tone:
    times, shifts = zip(*(deed.offsets or ((0.0, 0.0),)), strict=True)
    pitches = tuple(hz * 2 ** ((deed.cents / 100 + shift) / 12) for shift in shifts)
    contour = Contour(tuple(deed.start + time for time in times), pitches)
    force = 0.75 + deed.decibels / 30
    return Tone(deed.start, deed.end, contour, max(reed_hz, hz), deed.move.breath, force, seed=number)


def _voiced(route, deeds: Sequence[Deed]) -> tuple[Sound, list[tuple[float, float]]]:
    """Deeds in the program's own reed voice."""
    tones = []
    ordered = sorted(deeds, key=lambda one: one.start)
    for number, deed in enumerate(ordered):
        if number + 1 < len(ordered):
            deed = replace(deed, end=max(deed.start + 0.05, min(deed.end, ordered[number + 1].start - 0.03)))
        heard = sound_of(route.harp, deed.move)
        for hz, own in zip(heard.hz, unbent_hz(route.harp, deed.move), strict=True):
            tones.append(_tone(route, deed, hz, own, number))
    seconds = max(one.end for one in deeds) + 0.4
    sound = render_tones(tones, seconds=seconds).astype(float)
    return sound, [(one.start, one.end) for one in ordered]


def _fault(route, deeds: Sequence[Deed], kind: Kind, event: int, rng: np.random.Generator) -> Fault:
    if kind is Kind.WRONG:
        moves = wrong_moves(route, event)
        return Fault(kind, event, move=moves[int(rng.integers(len(moves)))])
    return Fault(kind, event, {Kind.LATE: 0.2, Kind.FLAT: 60.0}.get(kind, 0.0))


def _played(lesson: Lesson, tried: Tried, rng: np.random.Generator, *, recorded: bool) -> tuple[Sound, list]:
    route = lesson.route
    manner = Manner(factor=lesson.ladder[tried.rung].factor * float(rng.uniform(0.98, 1.02)), jitter=0.005)
    stop = tried.last if tried.stops is None else tried.stops
    deeds = perform(route, rng, manner=manner, start=0.2, first=tried.first, last=stop)
    places = rng.permutation(np.arange(tried.first + 1, stop))[: len(tried.faults)]
    for kind, event in zip(tried.faults, places, strict=True):
        deeds = faulted(deeds, _fault(route, deeds, kind, int(event), rng))
    if recorded:
        take = glue(route, deeds, rng)
        sound = take.samples.array[:, 0].astype(float)
        ends = [one.end for one in take.deeds]
        notes = [(start, max(start + 0.05, end)) for start, end in zip(take.onsets, ends, strict=True)]
    else:
        sound, notes = _voiced(route, deeds)
    return sound * PLAY_PEAK / np.abs(sound).max(), notes


def _counted_in(lesson: Lesson, tried: Tried, sound: Sound, notes: list) -> tuple[Sound, list]:
    """What is played with four words on the beats before its first note."""
    phrase = lesson.route.phrase
    onset = phrase.events[tried.first].onset
    beat = 60.0 / (timing_of(phrase).bpm_at(onset) * lesson.ladder[tried.rung].factor)
    # the last beat before the note, which may lie between two
    last = float(onset % 1) * beat or beat
    before = 3 * beat + last - notes[0][0]
    whole = np.concatenate([np.zeros(max(0, round(before * RATE))), sound])
    words = []
    for number, word in enumerate(("One.", "Two.", "Three.", "Four.")):
        # who counts fast makes the words short
        said = spoken(Said(word, tried.counted_by))[: round(0.75 * beat * RATE)].copy()
        said[-RATE // 50 :] *= np.linspace(1, 0, RATE // 50)
        at = max(0, round((before + notes[0][0] - last - (3 - number) * beat) * RATE))
        whole[at : at + len(said)] += said
        words.append((at / RATE, (at + len(said)) / RATE))
    return whole, [*words, *((start + before, end + before) for start, end in notes)]


def _noodled(lesson: Lesson, noodled: Noodled, rng: np.random.Generator, *, recorded: bool) -> tuple[Sound, list]:
    """Notes in no order and no time."""
    moves = [one.choice.move for one in lesson.route.events if one.choice.move is not None]
    deeds, at = [], 0.2
    for _ in range(noodled.count):
        length = float(rng.uniform(0.15, 0.6))
        deeds.append(Deed(None, moves[int(rng.integers(len(moves)))], at, at + length))
        at += length + 0.05
    if recorded:
        sound = glue(lesson.route, deeds, rng).samples.array[:, 0].astype(float)
    else:
        sound, _ = _voiced(lesson.route, deeds)
    return sound * PLAY_PEAK / np.abs(sound).max(), [(one.start, one.end) for one in deeds]


def _knocked(knocked: Knocked, rng: np.random.Generator) -> Sound:
    count = round(knocked.seconds * RATE)
    noise = sosfilt(butter(2, [60, 900], "bandpass", fs=RATE, output="sos"), rng.normal(size=count))
    sound = noise * np.exp(-np.arange(count) / (0.05 * RATE))
    return 0.3 * sound / np.abs(sound).max()


def raw_scene(
    lesson: Lesson, doings: Sequence[Doing], *, seed: int, recorded: bool, noise_db: float = -62
) -> RawScene:
    """A teacher at work: what she does, one thing after the other, in a room.

    recorded : whether the harmonica is of recorded notes, or the program's own voice.
    noise_db : of the room, under full scale.
    """
    rng = np.random.default_rng([seed, 77])
    parts, done, at = [], [], 0.0
    for what in doings:
        sounds: list[tuple[float, float]] = []
        if isinstance(what, Said):
            part = spoken(what)
            sounds = _stretches(part)
        elif isinstance(what, Tried):
            part, sounds = _played(lesson, what, rng, recorded=recorded)
            if what.counted_by:
                part, sounds = _counted_in(lesson, what, part, sounds)
        elif isinstance(what, Noodled):
            part, sounds = _noodled(lesson, what, rng, recorded=recorded)
        elif isinstance(what, Knocked):
            part = _knocked(what, rng)
        else:
            part = np.zeros(round(what.seconds * RATE))
        seconds = len(part) / RATE
        done.append(Done(what, at, at + seconds, tuple((at + start, at + end) for start, end in sounds)))
        parts.append(part)
        at += seconds
    sound = np.concatenate(parts)
    tail = rng.normal(size=int(0.25 * RATE)) * np.exp(-6.9 * np.arange(int(0.25 * RATE)) / (0.25 * RATE))
    wet = fftconvolve(sound, tail)[: len(sound)]
    wet *= 10 ** (-14 / 20) * np.sqrt(np.mean(sound**2) / np.mean(wet**2))
    return RawScene(sound + wet + 10 ** (noise_db / 20) * rng.normal(size=len(sound)), tuple(done))


def as_camera(
    scene: RawScene, *, starts: float = 0.0, ends: float | None = None, drift_ppm: float = 0.0, seed: int = 1,
    gain_db: float = 0.0, noise_db: float = -58.0,
) -> Sound:  # fmt: skip
    """What a second camera records of a scene: from another place, at another gain, by a clock of its own.

    starts, ends : seconds of the scene. drift_ppm : by how many millionths its clock is too fast.
    """
    rng = np.random.default_rng([seed, 5])
    tail = np.zeros(int(0.12 * RATE))
    tail[0] = 1.0
    places = rng.integers(200, len(tail), size=40)
    tail[places] += rng.normal(size=40) * 0.25 * np.exp(-places / (0.05 * RATE))
    heard = fftconvolve(scene.samples, tail)[: len(scene.samples)]
    heard = sosfilt(butter(2, [120, 9000], "bandpass", fs=RATE, output="sos"), heard) * 10 ** (gain_db / 20)
    stop = scene.seconds if ends is None else ends
    count = int((stop - starts) * RATE * (1 + drift_ppm * 1e-6))
    places = starts * RATE + np.arange(count) / (1 + drift_ppm * 1e-6)
    heard = np.interp(places, np.arange(len(heard)), heard)
    return heard + 10 ** (noise_db / 20) * rng.normal(size=len(heard))


def stereo(sound: Sound) -> NDArray[np.float32]:
    """Mono as films have it, shape (frames, 2)."""
    return np.repeat(np.clip(sound, -1, 1)[:, np.newaxis], 2, axis=1).astype(np.float32)


def cut_sounds(scene: RawScene, moments: Sequence[float], *, slack: float = 0.02) -> list[tuple[float, Done]]:
    """Moments of a scene that lie inside a note or a word, with what is done there."""
    return [
        (at, one)
        for at in moments
        for one in scene.done
        if any(start + slack < at < end - slack for start, end in one.sounds)
    ]


__all__ = [
    "Done",
    "Knocked",
    "Noodled",
    "RawScene",
    "Said",
    "Samples",
    "Still",
    "Tried",
    "as_camera",
    "cut_sounds",
    "needs_speech",
    "people_files",
    "raw_scene",
    "spoken",
    "stereo",
]
