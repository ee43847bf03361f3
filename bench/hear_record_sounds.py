"""Records with a known lead line: a sampled lead guitar over drums, bass and a second guitar, mastered and coded.

All is invented here: lines, chords, drums. Each player is sounded from a bank that packages bring (FluidR3, MIT;
TimGM6mb of the pretty_midi wheel, GPL-2; sf_GMbank of Debian's csound-soundfont, LGPL; GeneralUser GS 1.47 of
Debian's minuet-data, free to use by its own licence), or from recordings (`hear_sound` names them). The lead's
bends, slides and vibrato are its notes read at a varying speed, as in `hear_phrases`, where its truth comes from
too. The mix is compressed, limited to a record's loudness, coded and decoded.

Two halves that share no bank, no voice and no drums: `DEVELOPMENT`, on which numbers may be set, and `HELD_OUT`.
"""

from __future__ import annotations

import importlib.util
import io
from dataclasses import dataclass, replace
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
from scipy.ndimage import maximum_filter1d, minimum_filter1d, uniform_filter1d
from scipy.signal import fftconvolve

from hear_phrases import Plan, Player, Specimen, bend_a_string, glue
from hear_sound import (
    BANK,
    CACHE,
    RATE,
    MissingSound,
    Recording,
    loop_sound,
    open_strings,
    patch_notes,
    played_notes,
    recording_of,
)
from reedpath.signal import Samples, decode
from reedpath.signal.coding import code_sound
from reedpath.sound.band.sampler import sample_note
from reedpath.sound.band.soundfont import open_bank
from reedpath.sound.loudness import loudness_lufs

# loudness of a finished record, LUFS, and the peak it is limited to; from memory
RECORD_LUFS, CEILING = -9.5, 10 ** (-1.0 / 20)
# thousand bits a second of the coded record
KBPS = 128
# decibels by which the room's reverberation lies under the dry sound, and its seconds
ROOM_DB, ROOM_SECONDS = -18.0, 0.5
# players' loudness against each other, decibels by root mean square
BASS_DB, COMPING_DB, DRUMS_DB = 0.0, -2.0, 0.0
# seconds in which a recorded note of the band fades once it is let go
RELEASE_SECONDS = 0.06
# semitones between the keys at which a bank's lead is recorded
LEAD_STEP = 3


@dataclass(frozen=True)
class Record:
    """What is played: tempo, key, chords, who plays.

    chords : of each bar, several parted by a comma: semitones over the tonic and a quality (M, m, 7).
    lead, bass, comping : bank and General MIDI program counted from 0; or recorded notes (`hear_sound`): one of
    `PLAYED` as ("played", name), a program of freepats as ("patch", program), a guitar of guitarsounds as
    ("strings", name).
    drums : bank and kit, or ("hits", "") of sonic-pi-samples, or ("loop", name) at its own tempo.
    feel : straight, shuffle or sixteenths. scale : of the lead. pan : of lead and comping, -1 left to 1 right.
    """

    name: str
    bpm: float
    tonic: int
    mode: str
    chords: str
    scale: tuple[int, ...]
    lead: tuple[str, int | str]
    bass: tuple[str, int | str]
    comping: tuple[str, int | str]
    drums: tuple[str, int | str]
    feel: str
    comping_style: str
    pan: tuple[float, float]
    coding: str
    seed: int
    bars: int = 12


MAJOR, MINOR = (0, 2, 4, 5, 7, 9, 11), (0, 2, 3, 5, 7, 8, 10)
MAJOR_FIVE, MINOR_FIVE, BLUES = (0, 2, 4, 7, 9), (0, 3, 5, 7, 10), (0, 3, 4, 5, 7, 10)
TWELVE_BAR = "0:7 5:7 0:7 0:7 5:7 5:7 0:7 0:7 7:7 5:7 0:7 7:7"
TURNS = "0:M 7:M 9:m 5:M"
FALLING = "0:m 10:M 8:M 7:M"
FIFTIES = "0:M 9:m 5:M 7:M"
THREE_CHORDS = "0:M 5:M 0:M 7:M"
DARK = "0:m 5:m 10:M 0:m"
JAZZ = "2:m 7:7 0:M 9:m"
ROCK = "0:M 10:M 5:M 0:M"

DEVELOPMENT = (
    Record("slow blues", 72, 9, "major", TWELVE_BAR, BLUES, ("fluid", 26), ("tim", 33), ("tim", 27), ("tim", 0),
           "shuffle", "chops", (0.0, 0.4), "mp3", 1, 8),
    Record("shuffle", 118, 4, "major", TWELVE_BAR, MINOR_FIVE, ("fluid", 30), ("tim", 34), ("tim", 26), ("tim", 8),
           "shuffle", "boogie", (0.0, -0.3), "aac", 2),
    Record("turns", 96, 7, "major", TURNS, MAJOR_FIVE, ("fluid", 25), ("tim", 32), ("tim", 27), ("tim", 16),
           "straight", "eighths", (0.15, -0.4), "mp3", 3),
    Record("falling", 104, 2, "minor", FALLING, MINOR, ("fluid", 30), ("tim", 33), ("tim", 29), ("tim", 0),
           "straight", "held", (0.0, 0.0), "mp3", 4),
    Record("fifties", 132, 0, "major", FIFTIES, MAJOR, ("fluid", 26), ("tim", 32), ("tim", 25), ("tim", 32),
           "straight", "offbeat", (-0.2, 0.3), "aac", 5),
    Record("three chords", 148, 5, "major", THREE_CHORDS, MAJOR_FIVE, ("fluid", 25), ("tim", 34), ("tim", 28),
           ("tim", 8), "straight", "eighths", (0.0, 0.0), "mp3", 6, 14),
    Record("dark", 84, 11, "minor", DARK, MINOR_FIVE, ("fluid", 26), ("tim", 33), ("tim", 26), ("tim", 16),
           "sixteenths", "chops", (0.1, -0.5), "mp3", 7, 9),
    Record("rock", 124, 9, "major", ROCK, BLUES, ("fluid", 30), ("tim", 34), ("tim", 30), ("tim", 0),
           "straight", "eighths", (0.0, 0.5), "aac", 8),
)  # fmt: skip

HELD_OUT = (
    Record("held-out slow blues", 78, 7, "major", TWELVE_BAR, BLUES, ("tim", 29), ("fluid", 33), ("fluid", 26),
           ("hits", ""), "shuffle", "chops", (0.0, 0.35), "mp3", 101, 8),
    Record("held-out boogie", 128, 0, "major", TWELVE_BAR, MINOR_FIVE, ("csound", 27), ("fluid", 34), ("fluid", 27),
           ("fluid", 0), "shuffle", "boogie", (0.0, 0.0), "aac", 102),
    Record("held-out turns", 104, 2, "major", TURNS, MAJOR_FIVE, ("strings", "Carbon"), ("csound", 33),
           ("csound", 25), ("hits", ""), "straight", "eighths", (0.1, -0.4), "mp3", 103),
    Record("held-out falling", 92, 4, "minor", FALLING, MINOR, ("tim", 27), ("fluid", 32), ("fluid", 25),
           ("fluid", 16), "sixteenths", "held", (0.0, 0.2), "mp3", 104, 10),
    Record("held-out fifties", 140, 10, "major", FIFTIES, MAJOR, ("csound", 29), ("fluid", 33), ("fluid", 24),
           ("hits", ""), "straight", "offbeat", (-0.2, 0.3), "aac", 105, 14),
    Record("held-out loop", 126.0, 9, "minor", DARK, MINOR_FIVE, ("tim", 26), ("csound", 34), ("csound", 27),
           ("loop", "loop_breakbeat"), "straight", "chops", (0.0, -0.3), "mp3", 106),
    Record("held-out ballad", 66, 5, "major", JAZZ, MAJOR, ("strings", "Carbon"), ("fluid", 35), ("fluid", 27),
           ("fluid", 32), "straight", "held", (0.0, 0.0), "mp3", 107, 8),
    Record("held-out rock", 112, 9, "major", ROCK, BLUES, ("tim", 29), ("csound", 33), ("csound", 30),
           ("fluid", 8), "straight", "eighths", (0.15, -0.5), "aac", 108),
)  # fmt: skip

# General MIDI programs of the bank's voices for leads that numbers are fitted on, and of the other bank's players
FITTED_LEADS, FITTED_BASSES = (24, 25, 26, 27, 29, 30), (32, 33, 34)
FITTED_COMPING, FITTED_KITS = (24, 25, 26, 27, 29), (0, 8, 16, 32)
PROGRESSIONS = (
    (TWELVE_BAR, "major", BLUES), (TURNS, "major", MAJOR_FIVE), (FALLING, "minor", MINOR), (FIFTIES, "major", MAJOR),
    (THREE_CHORDS, "major", MAJOR), (DARK, "minor", MINOR_FIVE), (JAZZ, "major", MAJOR), (ROCK, "major", BLUES),
)  # fmt: skip
# more ways of chords, common practice, on which the weights for keys are fitted too: all but one of those above begin
# on the tonic
MORE_CHORDS = (
    ("0:M 9:m 2:m 7:7", "major"), ("2:m 7:7 0:M 0:M", "major"), ("5:M 7:M 0:M 9:m", "major"),
    ("5:M 0:M 7:M 0:M", "major"), ("7:M 5:M 0:M 0:M", "major"), ("0:M 2:m 5:M 0:M", "major"),
    ("0:M 4:m 5:M 7:M", "major"), ("0:M 5:M 9:m 7:M", "major"), ("0:M 0:M 5:M 7:M", "major"),
    ("0:7 5:7 0:7 7:7", "major"), ("0:7 7:7 5:7 5:7 0:7 7:7 0:7 7:7", "major"), ("0:M 10:M 5:M 5:M", "major"),
    ("0:m 8:M 3:M 10:M", "minor"), ("0:m 5:m 7:m 0:m", "minor"), ("0:m 5:m 7:7 0:m", "minor"),
    ("0:m 0:m 0:m 0:m 5:m 5:m 0:m 0:m 8:M 7:7 0:m 7:7", "minor"), ("0:m 10:M 8:M 10:M", "minor"),
    ("5:m 7:7 0:m 0:m", "minor"), ("0:m 8:M 7:7 0:m", "minor"), ("0:m 5:m 0:m 7:7", "minor"),
)  # fmt: skip
# number of the first record that is drawn with them
MORE_FROM = 8000


def drawn_record(number: int) -> Record:
    """A record of the development half's banks, drawn by lot, for fitting on."""
    rng = np.random.default_rng([number, 5])
    chords, mode, scale = PROGRESSIONS[int(rng.integers(len(PROGRESSIONS)))]
    feel = str(rng.choice(["straight", "straight", "shuffle", "sixteenths"]))
    bpm = float(rng.integers(66, 160 if feel != "sixteenths" else 100))
    return Record(
        f"drawn {number}", bpm, int(rng.integers(12)), mode, chords, scale,
        ("fluid", int(rng.choice(FITTED_LEADS))), ("tim", int(rng.choice(FITTED_BASSES))),
        ("tim", int(rng.choice(FITTED_COMPING))), ("tim", int(rng.choice(FITTED_KITS))), feel,
        str(rng.choice(["chops", "eighths", "held", "offbeat", "boogie"])),
        (float(rng.choice([-0.2, 0.0, 0.0, 0.0, 0.15])), float(rng.choice([-0.5, -0.3, 0.0, 0.0, 0.3]))),
        str(rng.choice(["mp3", "aac"])), 1000 + number, max(6, round(bpm / 12)),
    )  # fmt: skip


# number of the first record with a low lead that is drawn for fitting on, and of the first with other banks
LOW_FROM, OTHERS_FROM = 6000, 9000
# the other banks' leads, basses, comping guitars and drums: no bank has the same part in two rows, so that each row
# can be kept out of a fit
OTHER_BANKS = (
    ([("played", name) for name in ("guitar-acoustic", "guitar-electric", "guitar-nylon")],
     [("patch", program) for program in (32, 33, 35)],
     [("patch", program) for program in (24, 25, 26, 27, 30)], "tim"),
    ([("general", program) for program in (24, 25, 26, 27, 29, 30)],
     [("played", "bass-electric")],
     [("played", name) for name in ("guitar-acoustic", "guitar-electric", "guitar-nylon")], "tim"),
    ([("patch", program) for program in (24, 25, 26, 27, 29, 30)],
     [("general", program) for program in (32, 33, 34, 35)],
     [("general", program) for program in (24, 25, 26, 27, 29, 30)], "general"),
)  # fmt: skip
# lead's lowest and highest MIDI number; an octave lower for a low lead
RANGE, LOW_RANGE = (55, 79), (43, 64)
STRINGS_RANGE, LOW_STRINGS_RANGE = (52, 74), (40, 62)

# General MIDI keys of the drums, and the hits of sonic-pi-samples
KICK, SNARE, HAT, OPEN_HAT, RIDE, CRASH, TOM = 36, 38, 42, 46, 51, 49, 45
HITS = {
    KICK: "drum_bass_hard", SNARE: "drum_snare_hard", HAT: "drum_cymbal_closed", OPEN_HAT: "drum_cymbal_open",
    RIDE: "drum_cymbal_soft", CRASH: "drum_splash_hard", TOM: "drum_tom_mid_hard",
}  # fmt: skip


# banks of Debian's packages csound-soundfont and minuet-data: folder and file
INSTALLED_BANKS = {
    "csound": ("/usr/share/sounds/sf2", "sf_GMbank.sf2"),
    "general": ("/usr/share/minuet/soundfonts", "GeneralUser-v1.47.sf2"),
}
# what reads recorded notes
RECORDED = {"strings": open_strings, "played": played_notes, "patch": patch_notes}


@cache
def bank_file(name: str) -> Path:
    if name == "fluid":
        found = BANK
    elif name == "tim":
        wheel = importlib.util.find_spec("pretty_midi")
        found = Path(wheel.submodule_search_locations[0]) / "TimGM6mb.sf2" if wheel else Path("TimGM6mb.sf2")
    else:
        folder, file = INSTALLED_BANKS[name]
        found = next((place for place in (Path(folder) / file, CACHE / file) if place.exists()), CACHE / file)
    if not found.exists():
        raise MissingSound(
            f"{found} is missing: install Debian's fluid-soundfont-gm, csound-soundfont, minuet-data, or pretty_midi"
        )
    return found


@cache
def lead_notes(bank: str, program: int | str) -> tuple[Recording, ...]:
    """A voice's notes as recordings, every few semitones, each with its pitch as measured."""
    if bank in RECORDED:
        return RECORDED[bank](program)
    opened, notes = open_bank(bank_file(bank)), []
    for midi in range(LOW_RANGE[0] - 3, RANGE[1] + 4, LEAD_STEP):
        sound = sample_note(opened, int(program), midi, 100, 6000, rate=RATE).sound.sum(axis=1)
        notes.append(recording_of(f"{bank} {program} {midi}", Samples(sound, RATE), midi, None))
    return tuple(notes)


def _clock(record: Record):
    """Seconds of a counted beat; offbeats come late where the feel is a shuffle."""

    def second(beat: float) -> float:
        whole, part = divmod(beat + 1e-9, 1.0)
        if record.feel == "shuffle":
            part = part * 4 / 3 if part < 0.5 else 2 / 3 + (part - 0.5) * 2 / 3
        return 0.15 + (whole + part) * 60.0 / record.bpm

    return second


CELLS = (
    (0.5, 0.5), (1.0,), (0.5, 0.5), (0.25, 0.25, 0.5), (1.5, 0.5), (0.5, 1.0, 0.5), (2.0,), (0.75, 0.25), (1.0, 1.0),
    (0.5, 0.5, 0.5, 0.5),
)  # fmt: skip


def _line(record: Record, low: int, high: int, rng: np.random.Generator) -> list[Plan]:
    """The lead line: phrases of one to two bars in the scale, rests between them."""
    second, plans, beat, last = _clock(record), [], 0.0, record.bars * 4.0
    steps = [midi for midi in range(low, high + 1) if (midi - record.tonic) % 12 in record.scale]
    place = len(steps) // 2
    cells = [cell for cell in CELLS if min(cell) * 60 / record.bpm > 0.105]
    if record.feel == "shuffle":
        cells = [cell for cell in cells if all((2 * one) % 1 == 0 for one in cell)]
    while beat < last - 1:
        until = min(beat + float(rng.choice([3, 4, 6, 7])), last)
        while beat < until:
            for length in cells[int(rng.integers(len(cells)))]:
                if beat >= until:
                    break
                place = int(np.clip(place + rng.choice([-3, -2, -1, -1, 0, 1, 1, 2, 3]), 0, len(steps) - 1))
                start, end = second(beat), second(beat + length)
                start += float(rng.normal(0, 0.006))
                plan = Plan(max(0.05, start), (end - start) * float(rng.uniform(0.85, 0.98)), steps[place])
                plan.decibels = float(rng.uniform(-6, 0))
                bend_a_string(plan, rng)
                if plan.duration > 0.4 and rng.random() < 0.5:
                    plan.vibrato_cents = float(rng.uniform(10, 35))
                plans.append(plan)
                beat += length
        beat += float(rng.choice([0.5, 1, 2, 3]))
    for plan, following in pairwise(plans):
        if following.midi == plan.midi:
            plan.duration = min(plan.duration, following.start - plan.start - 0.04)
    return plans


def _chords(record: Record) -> list[tuple[int, str]]:
    names = record.chords.split()
    bars = [names[bar % len(names)] for bar in range(record.bars)]
    return [((record.tonic + int(one.split(":")[0])) % 12, one.split(":")[1]) for one in bars]


def _strum(root: int, quality: str) -> list[int]:
    third = 3 if quality == "m" else 4
    tones = {root, (root + third) % 12, (root + 7) % 12}
    if quality == "7":
        tones.add((root + 10) % 12)
    return sorted(52 + (tone - 52) % 12 for tone in tones)


COMPING = {
    "chops": [(1.0, 0.3), (3.0, 0.3)],
    "boogie": [(0.0, 0.4), (0.5, 0.4), (1.0, 0.4), (1.5, 0.4), (2.0, 0.4), (2.5, 0.4), (3.0, 0.4), (3.5, 0.4)],
    "eighths": [(0.0, 0.9), (1.0, 0.4), (1.5, 0.4), (2.5, 0.4), (3.0, 0.4), (3.5, 0.4)],
    "held": [(0.0, 1.9), (2.0, 1.9)],
    "offbeat": [(0.5, 0.3), (1.5, 0.3), (2.5, 0.3), (3.5, 0.3)],
}


def _comping(record: Record, rng: np.random.Generator) -> list[tuple[float, float, int, int]]:
    """Start, seconds, MIDI number and force of each note."""
    second, notes = _clock(record), []
    for bar, (root, quality) in enumerate(_chords(record)):
        for place, length in COMPING[record.comping_style]:
            start = second(bar * 4 + place) + rng.normal(0, 0.005)
            tones = _strum(root, quality)
            if record.comping_style == "boogie":
                low = 45 + (root - 45) % 12
                tones = [low, low + (9 if place % 2 == 1 else 7)]
            seconds = second(bar * 4 + place + length) - start
            notes += [(start + 0.008 * i, seconds, midi, int(rng.integers(70, 95))) for i, midi in enumerate(tones)]
    return notes


def _bass(record: Record, rng: np.random.Generator) -> list[tuple[float, float, int, int]]:
    second, notes = _clock(record), []
    walking = record.feel == "shuffle"
    for bar, (root, quality) in enumerate(_chords(record)):
        low = 28 + (root - 28) % 12
        third = 3 if quality == "m" else 4
        if walking:
            steps = [(0, 0), (1, third), (2, 7), (3, 9 if quality != "m" else 10)]
        elif record.feel == "sixteenths":
            steps = [(0, 0), (0.75, 0), (1.5, 7), (2, 0), (2.75, 12), (3.5, 7)]
        else:
            steps = [(0, 0), (1.5, 0), (2, 0), (3, 7), (3.5, 0)]
        places = [place for place, _ in steps] + [4]
        for (place, up), following in zip(steps, places[1:], strict=True):
            start = second(bar * 4 + place) + rng.normal(0, 0.004)
            seconds = (second(bar * 4 + following) - start) * 0.9
            notes.append((start, seconds, low + up, int(rng.integers(85, 110))))
    return notes


def _drums(record: Record, rng: np.random.Generator) -> list[tuple[float, float, int, int]]:
    second, notes = _clock(record), []
    for bar in range(record.bars):
        rows = [(KICK, 0, 110), (SNARE, 1, 105), (KICK, 2, 105), (SNARE, 3, 108)]
        if bar % 2:
            rows.append((KICK, 2.5, 90))
        step = 0.25 if record.feel == "sixteenths" else 0.5
        for index in range(int(4 / step)):
            at = index * step
            if record.feel == "shuffle":
                rows.append((RIDE if bar % 4 > 1 else HAT, at, 85 if at % 1 == 0 else 65))
            else:
                rows.append((OPEN_HAT if index == int(3.5 / step) else HAT, at, 90 if at % 1 == 0 else 65))
        if bar % 4 == 3:
            rows += [(TOM, 3, 95), (TOM, 3.5, 100), (SNARE, 3.75 if record.feel != "shuffle" else 3.5, 80)]
        if bar % 4 == 0 and bar:
            rows.append((CRASH, 0, 100))
        notes += [
            (max(0.0, second(bar * 4 + at) + rng.normal(0, 0.004)), 0.3, key, int(force + rng.integers(-8, 8)))
            for key, at, force in rows
        ]
    return notes


def _placed(notes, bank: str, program: int, frames: int, *, drums: bool = False) -> np.ndarray:
    opened, out = open_bank(bank_file(bank)), np.zeros((frames, 2))
    for start, seconds, midi, force in notes:
        made = sample_note(opened, program, midi, force // 8 * 8, round(seconds * 50) * 20, drums=drums, rate=RATE)
        at = max(0, round((start - made.delay_seconds) * RATE))
        part = out[at : at + len(made.sound)]
        part += made.sound[: len(part)]
    return out


def _sounded(notes, bank: str, program: int | str, frames: int) -> np.ndarray:
    """Notes of a bank, or recorded ones read at the speed of their pitch; shape (frames, 2)."""
    if bank not in RECORDED:
        return _placed(notes, bank, int(program), frames)
    out, fade = np.zeros(frames), np.linspace(1, 0, round(RELEASE_SECONDS * RATE))
    for start, seconds, midi, force in notes:
        recording = min(RECORDED[bank](program), key=lambda note: abs(note.root_midi - midi))
        source = recording.samples.array[:, 0]
        places = np.arange(round(seconds * RATE) + len(fade)) * 2 ** ((midi - recording.root_midi) / 12)
        places = places[places < len(source) - 1]
        whole = places.astype(int)
        sound = source[whole] + (places - whole) * (source[whole + 1] - source[whole])
        sound[-len(fade) :] *= fade[-len(sound) :]
        part = out[max(0, round(start * RATE)) :]
        part[: len(sound)] += sound[: len(part)] * (force / 127) ** 2
    return np.repeat(out[:, np.newaxis], 2, axis=1)


def _hits(notes, frames: int) -> np.ndarray:
    out = np.zeros((frames, 2))
    for start, _, midi, force in notes:
        sound = loop_sound(HITS[midi]).array[:, 0]
        at = round(start * RATE)
        part = out[at : at + len(sound)]
        part += (sound[: len(part)] * (force / 127) ** 2)[:, np.newaxis]
    return out


def _loop(record: Record, frames: int) -> np.ndarray:
    """A loop of four beats at its own tempo, which is the record's, from the record's first beat on."""
    sound = loop_sound(str(record.drums[1])).array[:, 0]
    beat = 60.0 / record.bpm
    out = np.zeros((frames, 2))
    for turn in range(record.bars):
        at = round((0.15 + 4 * beat * turn) * RATE)
        part = out[at : at + min(len(sound), round(4 * beat * RATE))]
        part += sound[: len(part), np.newaxis]
    return out


def _rms(sound: np.ndarray) -> float:
    loud = sound[np.abs(sound).max(axis=1) > 0.01 * np.abs(sound).max()]
    return float(np.sqrt(np.mean(loud**2))) if len(loud) else 1.0


def _panned(sound: np.ndarray, pan: float) -> np.ndarray:
    angle = (pan + 1) * np.pi / 4
    mono = sound if sound.ndim == 1 else sound.sum(axis=1)
    return mono[:, np.newaxis] * np.array([np.cos(angle), np.sin(angle)])


def _band(record: Record, frames: int, rng: np.random.Generator) -> np.ndarray:
    bass = _panned(_sounded(_bass(record, rng), *record.bass, frames), 0.0)
    comping = _panned(_sounded(_comping(record, rng), *record.comping, frames), record.pan[1])
    kind, which = record.drums
    if kind == "hits":
        drums = _hits(_drums(record, rng), frames)
    elif kind == "loop":
        drums = _loop(record, frames)
    else:
        drums = _placed(_drums(record, rng), kind, int(which), frames, drums=True)
    parts = ((bass, BASS_DB), (comping, COMPING_DB), (drums, DRUMS_DB))
    return sum(part / _rms(part) * 10 ** (decibels / 20) for part, decibels in parts)


def _in_a_room(sound: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    length = int(ROOM_SECONDS * RATE)
    tail = rng.normal(size=(length, 2)) * np.exp(-6.9 * np.arange(length) / length)[:, np.newaxis]
    wet = fftconvolve(sound, tail, axes=0)[: len(sound)]
    return sound + wet * (_rms(sound) / _rms(wet) * 10 ** (ROOM_DB / 20))


def _compressed(sound: np.ndarray, threshold_db: float = -18.0, ratio: float = 3.0) -> np.ndarray:
    """Both channels by one gain, attack 10 ms and release 150 ms; full scale is the loudest."""
    step = RATE // 1000
    sound = sound / np.abs(sound).max()
    level = uniform_filter1d(np.square(sound).max(axis=1), 5 * step)[::step]
    over = np.maximum(10 * np.log10(level + 1e-10) - threshold_db, 0) * (1 - 1 / ratio)
    held, gains = 0.0, []
    for wanted in over.tolist():
        held += (wanted - held) * (0.1 if wanted > held else 1 / 150)
        gains.append(held)
    gain = np.interp(np.arange(len(sound)), np.arange(len(gains)) * step, gains)
    return sound * 10 ** (-gain / 20)[:, np.newaxis]


def _limited(sound: np.ndarray) -> np.ndarray:
    reach = RATE // 200
    peak = maximum_filter1d(np.abs(sound).max(axis=1), reach)
    gain = np.minimum(1.0, CEILING / np.maximum(peak, 1e-9))
    gain = uniform_filter1d(minimum_filter1d(gain, reach), reach)
    return np.clip(sound * gain[:, np.newaxis], -CEILING, CEILING)


def mastered(sound: np.ndarray) -> np.ndarray:
    """Compressed, and limited at a record's loudness."""
    sound = _compressed(sound)
    for _ in range(3):
        sound = _limited(sound * 10 ** ((RECORD_LUFS - loudness_lufs(sound, rate=RATE)) / 20))
    return sound


# container, encoder and its options by name
CODINGS = {"mp3": ("mp3", "libmp3lame", {"compression_level": "7"}), "aac": ("mp4", "aac", {})}


def coded(sound: np.ndarray, coding: str) -> Samples:
    """A sound as it comes back from a file of `KBPS`: mp3 or aac."""
    samples = Samples(sound.astype(np.float32), RATE)
    import av

    container, encoder, options = CODINGS[coding]
    sink = io.BytesIO()
    with av.open(sink, "w", format=container) as file:
        stream = file.add_stream(encoder, rate=RATE, options=options)
        code_sound(file, stream, samples, form="fltp", bits_per_second=KBPS * 1000)
    return decode(sink.getvalue())


def lead_line(record: Record, *, low: bool = False) -> Specimen:
    """The lead of a record alone, with its truth."""
    if record.lead[0] == "strings":
        bounds = LOW_STRINGS_RANGE if low else STRINGS_RANGE
    else:
        bounds = LOW_RANGE if low else RANGE
    rng = np.random.default_rng([record.seed, int(low)])
    player = Player(record.name, lead_notes(*record.lead), *bounds, release_seconds=0.04, ring_seconds=0.04)
    plans = _line(record, *bounds, rng)
    return glue(player, plans, record.bars * 240.0 / record.bpm + 0.3, record.name)


def made_record(record: Record, lead_db: float | None, *, low: bool = False) -> Specimen:
    """A record as it comes from its file, the lead so many decibels over the band; None for the lead alone."""
    alone = lead_line(record, low=low)
    rng = np.random.default_rng([record.seed, 7])
    lead = _panned(alone.samples.array[:, 0].astype(float), record.pan[0])
    sound = lead / _rms(lead)
    if lead_db is not None:
        band = _band(record, len(lead), rng)
        sound = sound + band * (10 ** (-lead_db / 20) / _rms(band))
    sound = mastered(_in_a_room(sound, rng))
    return Specimen(record.name, coded(sound, record.coding), alone.notes, alone.curve)


def drawn(number: int) -> tuple[Record, Specimen]:
    """A record for fitting on, drawn by lot, and its sound: the lead 0 to 12 dB over the band, two in five low."""
    rng = np.random.default_rng([number, 99])
    record = drawn_record(number)
    low, lead_db = bool(rng.random() < 0.4), float(rng.choice([0, 0, 2, 4, 7, 12]))
    return record, made_record(record, lead_db, low=low)


def drawn_low(number: int) -> tuple[Record, Specimen]:
    """A record with a low lead for fitting on, drawn by lot: the lead 0 to 4 dB over the band."""
    record = drawn_record(LOW_FROM + number)
    lead_db = float(np.random.default_rng([LOW_FROM + number, 77]).choice([0, 0, 0, 2, 4]))
    return record, made_record(record, lead_db, low=True)


def drawn_others(number: int) -> tuple[Record, Specimen]:
    """A record of `OTHER_BANKS`, row by row, for fitting on: the lead 0 to 12 dB over the band, three in five low."""
    rng = np.random.default_rng([OTHERS_FROM + number, 41])
    leads, basses, comping, drums = OTHER_BANKS[number % len(OTHER_BANKS)]
    parts = [bank[int(rng.integers(len(bank)))] for bank in (leads, basses, comping)]
    record = drawn_record(OTHERS_FROM + number)
    record = replace(record, lead=parts[0], bass=parts[1], comping=parts[2], drums=(drums, record.drums[1]))
    low = bool(rng.random() < 0.6)
    lead_db = float(rng.choice([0, 0, 0, 2, 4, 7] if low else [0, 0, 2, 4, 7, 12]))
    return record, made_record(record, lead_db, low=low)


def drawn_harmony(number: int) -> tuple[Record, Specimen]:
    """A record with other ways of chords, drawn by lot, for fitting keys on: the lead as in `drawn`."""
    rng = np.random.default_rng([number, 123])
    chords, mode = MORE_CHORDS[number % len(MORE_CHORDS)]
    seven, five = (MAJOR, MAJOR_FIVE) if mode == "major" else (MINOR, MINOR_FIVE)
    scale = five if rng.random() < 0.4 else seven
    if chords.startswith("0:7"):
        scale = BLUES
    record = replace(drawn_record(MORE_FROM + number), chords=chords, mode=mode, scale=scale)
    low, lead_db = bool(rng.random() < 0.4), float(rng.choice([0, 0, 2, 4, 7, 12]))
    return record, made_record(record, lead_db, low=low)
