"""SoundFont 2 banks, read: which stretch of which sample sounds for a key, and how ("SoundFont Technical
Specification", version 2.04, 2006; section numbers below are its).

Only what a small band needs is read: sample, key and velocity ranges, tuning, loop, attenuation, pan, the filter
and its sweep, and the volume envelope. Banks of version 3 are the same with samples in Ogg Vorbis, each a stream of
its own between two bytes of the sample data, its loop counted from its start (a custom without a standard, from
memory; the draft is "SoundFont3Format" in the wiki of FluidSynth).
"""

from __future__ import annotations

import mmap
import os
import struct
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
import numpy.typing as npt

from reedpath.errors import Clause, Place, SoundError
from reedpath.signal import decode

# bank number of percussion (General MIDI convention for SoundFonts)
DRUM_BANK = 128
# generators (section 8.1.2)
KEY_RANGE, VELOCITY_RANGE, INSTRUMENT, SAMPLE = 43, 44, 41, 53
OFFSETS = {"start": (0, 4), "end": (1, 12), "loop_start": (2, 45), "loop_end": (3, 50)}
FILTER_CENTS, SWEEP_CENTS, PAN, ATTENUATION = 8, 11, 17, 48
# delay, attack, hold and decay of the filter's sweep and of the volume; where each stays
SWEEP_STAGES, SWEEP_SUSTAIN = (25, 26, 27, 28), 29
VOLUME_STAGES, SUSTAIN, RELEASE = (33, 34, 35, 36), 37, 38
COARSE, FINE, MODES, SCALE, ROOT = 51, 52, 54, 56, 58
# what generators are where nothing says (section 8.1.3)
DEFAULTS = {FILTER_CENTS: 13_500, SCALE: 100, ROOT: -1, RELEASE: -12_000}
DEFAULTS |= dict.fromkeys((*SWEEP_STAGES, *VOLUME_STAGES), -12_000)
# generators that a preset may not add to (section 8.5)
NOT_ADDED = frozenset(
    {KEY_RANGE, VELOCITY_RANGE, INSTRUMENT, SAMPLE, MODES, ROOT, *(g for two in OFFSETS.values() for g in two)}
)
# points of a coarse address offset
COARSE_POINTS = 32_768
# hertz of absolute cents 0, and time of timecents 0, seconds (section 8.1.1)
CENTS_HZ, TIMECENTS_SECONDS = 8.176, 1.0
# bits of a sample's kind: in the memory of a synthesizer (section 7.10), and packed in Ogg Vorbis (version 3)
ROM_KIND, PACKED_KIND = 0x8000, 0x10
# programs of one family of instruments in General MIDI: pianos, guitars, basses and so on
FAMILY = 8


@dataclass(frozen=True, slots=True)
class Envelope:
    """A course in time: seconds of each stage, and where it stays.

    sustain : of a volume, decibels under the peak; of a sweep, the share of it that stays, 0 to 1.
    """

    delay: float
    attack: float
    hold: float
    decay: float
    sustain: float


@dataclass(frozen=True, slots=True)
class SampleZone:
    """A sample as one key sounds it.

    start, end : first point and one past the last, in the bank's sample data.
    loop_start, loop_end : the same of the loop. loops : whether it loops while held.
    rate : hertz of the sample. root_cents : MIDI number x 100 at which it sounds as recorded.
    scale : cents a key. attenuation_db, pan (-1 to 1).
    volume : its decay is the time to fall by 100 dB. release : seconds for the same once let go.
    filter_hz : low pass, None where it is open; sweep_cents : how far the sweep opens it.
    packed : bytes of the sample data that the sample is packed in; its points then count from 0.
    """

    start: int
    end: int
    loop_start: int
    loop_end: int
    loops: bool
    rate: int
    root_cents: float
    scale: float
    attenuation_db: float
    pan: float
    volume: Envelope
    release: float
    filter_hz: float | None
    sweep_cents: float
    sweep: Envelope
    packed: tuple[int, int] | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Bank:
    """A bank: its samples (16-bit, shape (points,)), their bytes, and its tables, by their names in the file."""

    path: Path
    samples: npt.NDArray[np.int16]
    sample_bytes: npt.NDArray[np.uint8]
    tables: Mapping[str, npt.NDArray[np.void]]


_RECORDS: Mapping[str, list[tuple[str, str]]] = {
    "phdr": [("name", "S20"), ("preset", "<u2"), ("bank", "<u2"), ("bag", "<u2"), ("more", "V12")],
    "pbag": [("gen", "<u2"), ("mod", "<u2")],
    "pgen": [("oper", "<u2"), ("amount", "<i2")],
    "inst": [("name", "S20"), ("bag", "<u2")],
    "ibag": [("gen", "<u2"), ("mod", "<u2")],
    "igen": [("oper", "<u2"), ("amount", "<i2")],
    "shdr": [
        ("name", "S20"),
        ("start", "<u4"),
        ("end", "<u4"),
        ("loop_start", "<u4"),
        ("loop_end", "<u4"),
        ("rate", "<u4"),
        ("key", "u1"),
        ("correction", "i1"),
        ("link", "<u2"),
        ("kind", "<u2"),
    ],
}


def _damaged(path: Path, key: str, **values: str) -> SoundError:
    return SoundError("sound.damaged_bank", where=Place(file=str(path)), problem=Clause(key, **values))


def _chunks(data: mmap.mmap, path: Path, start: int, end: int) -> Iterator[tuple[str, int, int]]:
    while start + 8 <= end:
        name, size = struct.unpack_from("<4sI", data, start)
        if start + 8 + size > end:
            raise _damaged(path, "sound.bank_short")
        yield name.decode("latin-1"), start + 8, size
        start += 8 + size + (size & 1)


def _found(data: mmap.mmap, path: Path) -> dict[str, tuple[int, int]]:
    """Where the parts of a bank lie, and how long each is."""
    if data[:4] != b"RIFF" or data[8:12] != b"sfbk":
        raise _damaged(path, "sound.bank_other")
    places: dict[str, tuple[int, int]] = {}
    for name, at, size in _chunks(data, path, 12, len(data)):
        if name == "LIST":
            places |= {inner: (place, length) for inner, place, length in _chunks(data, path, at + 4, at + size)}
    for name in (*_RECORDS, "smpl"):
        if name not in places:
            raise _damaged(path, "sound.bank_lacks", name=name)
    return places


# table, its column, and the table whose rows that counts in ascending order (sections 7.2 to 7.8)
_COUNTED = (
    ("phdr", "bag", "pbag"),
    ("pbag", "gen", "pgen"),
    ("inst", "bag", "ibag"),
    ("ibag", "gen", "igen"),
)
# table, its generator, and the table that its amount names a row of; the last row only closes it (section 8.1.2)
_NAMED = (("pgen", INSTRUMENT, "inst"), ("igen", SAMPLE, "shdr"))


def _hold_together(tables: Mapping[str, npt.NDArray[np.void]]) -> bool:
    """Whether each row that a table names is there."""
    if any(len(tables[name]) == 0 for name in _RECORDS):
        return False
    for name, column, counted in _COUNTED:
        rows = tables[name][column].astype(np.int64)
        most = len(tables[counted]) - (counted in {"pbag", "ibag"})
        if np.any(np.diff(rows) < 0) or rows[-1] > most:
            return False
    for name, generator, named in _NAMED:
        amounts = tables[name]["amount"][tables[name]["oper"] == generator].astype(np.uint16)
        if np.any(amounts >= len(tables[named]) - 1):
            return False
    return True


@lru_cache(maxsize=2)
def open_bank(path: Path) -> Bank:
    """The bank of a file, whose samples stay on the disk until they are used.

    Raises `SoundError` for a file that cannot be opened, is another kind of file, or is damaged.
    """
    try:
        if not path.is_file():  # neither a folder nor a pipe, which might never end
            raise SoundError("sound.bank_missing", where=Place(file=str(path)))
        with path.open("rb") as file:
            if not os.fstat(file.fileno()).st_size:
                raise _damaged(path, "sound.bank_other")
            data = mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ)
    except (OSError, ValueError) as error:
        problem = getattr(error, "strerror", None) or str(error)
        raise SoundError("sound.bank_unreadable", where=Place(file=str(path)), why=problem) from error
    places = _found(data, path)
    tables = {
        name: np.frombuffer(data, np.dtype(fields), size // np.dtype(fields).itemsize, at)
        for name, fields in _RECORDS.items()
        for at, size in (places[name],)
    }
    if not _hold_together(tables):
        raise _damaged(path, "sound.bank_tables")
    at, size = places["smpl"]
    return Bank(path, np.frombuffer(data, "<i2", size // 2, at), np.frombuffer(data, np.uint8, size, at), tables)


@lru_cache(maxsize=256)
def _unpacked(bank: Bank, first: int, last: int) -> npt.NDArray[np.int16]:
    """The points of a sample that is packed between two bytes of the sample data."""
    try:
        sound = decode(bank.sample_bytes[first:last].tobytes(), mono=True)
    except SoundError as error:
        raise _damaged(bank.path, "sound.bank_sample") from error
    return np.asarray(np.clip(np.rint(sound.array[:, 0] * 32768.0), -32768, 32767), dtype=np.int16)


def points_of(bank: Bank, zone: SampleZone) -> npt.NDArray[np.int16]:
    """What the places of a zone count in, shape (points,)."""
    return bank.samples if zone.packed is None else _unpacked(bank, *zone.packed)


def _generators(bank: Bank, kind: str, bag: int) -> dict[int, int]:
    bags, table = bank.tables[f"{kind}bag"], bank.tables[f"{kind}gen"]
    first, last = int(bags["gen"][bag]), int(bags["gen"][bag + 1])
    return {int(oper): int(amount) for oper, amount in table[first:last]}


def _holds(generators: Mapping[int, int], kind: int, value: int) -> bool:
    bounds = generators.get(kind, 0x7F00) & 0xFFFF
    return bounds & 0xFF <= value <= bounds >> 8


def _of_key(
    bank: Bank, kind: str, first: int, last: int, wanted: int, key: int, velocity: int
) -> Iterator[dict[int, int]]:
    """Generators, the global zone's included, of each zone that sounds for a key and velocity."""
    shared: dict[int, int] = {}
    for bag in range(first, last):
        own = _generators(bank, kind, bag)
        if wanted not in own:
            shared = own if bag == first else shared
            continue
        together = {**shared, **own}
        if _holds(together, KEY_RANGE, key) and _holds(together, VELOCITY_RANGE, velocity):
            yield together


def _seconds(timecents: int) -> float:
    return 0.0 if timecents <= -12_000 else float(TIMECENTS_SECONDS * 2.0 ** (timecents / 1200.0))


def _envelope(value: Mapping[int, int], stages: tuple[int, ...], sustain: float) -> Envelope:
    delay, attack, hold, decay = (_seconds(value[stage]) for stage in stages)
    return Envelope(delay, attack, hold, decay, sustain)


def _placed_sample(
    bank: Bank, sample: np.void, g: Mapping[int, int]
) -> tuple[dict[str, int], tuple[int, int] | None] | None:
    """Where a sample and its loop lie, and what bytes it is packed in; None for one that is not in the bank."""
    kind = int(sample["kind"])
    packed = (int(sample["start"]), int(sample["end"])) if kind & PACKED_KIND else None
    if kind & ROM_KIND or not sample["rate"]:
        return None
    if packed is not None and not packed[0] < packed[1] <= len(bank.sample_bytes):
        return None
    points = bank.samples if packed is None else _unpacked(bank, *packed)
    own = {name: int(sample[name]) for name in OFFSETS}
    if packed is not None:
        own |= {"start": 0, "end": len(points)}
    moved = {
        name: own[name] + g.get(fine, 0) + COARSE_POINTS * g.get(coarse, 0)
        for name, (fine, coarse) in OFFSETS.items()
    }
    return (moved, packed) if 0 <= moved["start"] < moved["end"] <= len(points) else None


def _zone(bank: Bank, g: Mapping[int, int]) -> SampleZone | None:
    """A zone from its generators; None where its sample is not in the bank, which may be (section 7.10)."""
    sample = bank.tables["shdr"][g[SAMPLE] & 0xFFFF]
    placed = _placed_sample(bank, sample, g)
    if placed is None:
        return None
    moved, packed = placed
    value = {name: g.get(name, default) for name, default in DEFAULTS.items()}
    root = value[ROOT] if 0 <= value[ROOT] <= 127 else int(sample["key"])
    tuned = 100 * root - 100 * g.get(COARSE, 0) - g.get(FINE, 0) - int(sample["correction"])
    hz = CENTS_HZ * 2.0 ** (value[FILTER_CENTS] / 1200.0)
    has_loop = moved["start"] <= moved["loop_start"] < moved["loop_end"] - 1 < moved["end"]
    return SampleZone(
        **moved,
        loops=g.get(MODES, 0) & 1 == 1 and has_loop,
        rate=int(sample["rate"]),
        root_cents=float(tuned),
        scale=float(value[SCALE]),
        attenuation_db=g.get(ATTENUATION, 0) / 10.0,
        pan=min(1.0, max(-1.0, g.get(PAN, 0) / 500.0)),
        volume=_envelope(value, VOLUME_STAGES, min(100.0, max(0.0, g.get(SUSTAIN, 0) / 10.0))),
        release=_seconds(value[RELEASE]),
        filter_hz=float(hz) if value[FILTER_CENTS] < DEFAULTS[FILTER_CENTS] else None,
        sweep_cents=float(g.get(SWEEP_CENTS, 0)),
        sweep=_envelope(value, SWEEP_STAGES, 1.0 - min(1.0, max(0.0, g.get(SWEEP_SUSTAIN, 0) / 1000.0))),
        packed=packed,
    )


def _instrument_zones(bank: Bank, preset: Mapping[int, int], key: int, velocity: int) -> Iterator[SampleZone]:
    bags = bank.tables["inst"]["bag"]
    number = preset[INSTRUMENT] & 0xFFFF
    for own in _of_key(bank, "i", int(bags[number]), int(bags[number + 1]), SAMPLE, key, velocity):
        total = dict(own)
        for generator, amount in preset.items():
            if generator not in NOT_ADDED:
                total[generator] = total.get(generator, DEFAULTS.get(generator, 0)) + amount
        zone = _zone(bank, total)
        if zone is not None:
            yield zone


@lru_cache(maxsize=4096)
def zones_of(bank: Bank, program: int, key: int, velocity: int, *, drums: bool = False) -> tuple[SampleZone, ...]:
    """What sounds for a key of a program (counted from 0), perhaps nothing; of drums the key is the drum."""
    presets = bank.tables["phdr"]
    wanted = DRUM_BANK if drums else 0
    for index in range(len(presets) - 1):
        if presets["bank"][index] == wanted and presets["preset"][index] == program:
            first, last = int(presets["bag"][index]), int(presets["bag"][index + 1])
            return tuple(
                zone
                for preset in _of_key(bank, "p", first, last, INSTRUMENT, key, velocity)
                for zone in _instrument_zones(bank, preset, key, velocity)
            )
    return ()


def program_in(bank: Bank, program: int, *, drums: bool = False) -> int | None:
    """The program of a bank that comes nearest: itself, else of its family, of drums any kit; None for none."""
    presets = bank.tables["phdr"][:-1]
    found = presets["preset"][presets["bank"] == (DRUM_BANK if drums else 0)].astype(int).tolist()
    like = [one for one in found if drums or one // FAMILY == program // FAMILY]
    return min(like, key=lambda one: (abs(one - program), one), default=None)
