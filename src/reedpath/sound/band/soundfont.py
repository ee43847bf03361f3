"""SoundFont 2 banks, read: which stretch of which sample sounds for a key, and how ("SoundFont Technical
Specification", version 2.04, 2006; section numbers below are its).

Only what a small band needs is read: sample, key and velocity ranges, tuning, loop, attenuation, pan, the filter
and its sweep, and the volume envelope.
"""

from __future__ import annotations

import mmap
import struct
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
import numpy.typing as npt

from reedpath.errors import Place, SoundError

__all__ = ["DRUM_BANK", "Bank", "Envelope", "SampleZone", "open_bank", "zones_of"]

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
# largest bank believed, bytes; not a musical bound
MOST_BYTES = 4 << 30


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


@dataclass(frozen=True, slots=True, eq=False)
class Bank:
    """A bank: its samples (16-bit, shape (points,)) and its tables, by their names in the file."""

    path: Path
    samples: npt.NDArray[np.int16]
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


def _chunks(data: mmap.mmap, start: int, end: int) -> Iterator[tuple[str, int, int]]:
    while start + 8 <= end:
        name, size = struct.unpack_from("<4sI", data, start)
        if start + 8 + size > end:
            raise ValueError(f"chunk {name!r} runs past its list")
        yield name.decode("latin-1"), start + 8, size
        start += 8 + size + (size & 1)


def _found(data: mmap.mmap) -> dict[str, tuple[int, int]]:
    if data[:4] != b"RIFF" or data[8:12] != b"sfbk":
        raise ValueError("no RIFF file of kind sfbk")
    places: dict[str, tuple[int, int]] = {}
    for name, at, size in _chunks(data, 12, len(data)):
        if name == "LIST":
            places |= {inner: (place, length) for inner, place, length in _chunks(data, at + 4, at + size)}
    return places


@lru_cache(maxsize=2)
def open_bank(path: Path) -> Bank:
    """The bank of a file, whose samples stay on the disk until they are used; a damaged one is an error."""
    try:
        with path.open("rb") as file:
            data = mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ)
        places = _found(data)
        tables = {
            name: np.frombuffer(data, np.dtype(fields), size // np.dtype(fields).itemsize, at)
            for name, fields in _RECORDS.items()
            for at, size in (places[name],)
        }
        at, size = places["smpl"]
        return Bank(path, np.frombuffer(data, "<i2", size // 2, at), tables)
    except (OSError, ValueError, KeyError, struct.error) as error:
        raise SoundError("sound.damaged_bank", where=Place(file=path.name), problem=str(error)) from error


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


def _zone(bank: Bank, g: Mapping[int, int]) -> SampleZone:
    sample = bank.tables["shdr"][g[SAMPLE]]
    moved = {
        name: int(sample[name]) + g.get(fine, 0) + COARSE_POINTS * g.get(coarse, 0)
        for name, (fine, coarse) in OFFSETS.items()
    }
    value = {name: g.get(name, default) for name, default in DEFAULTS.items()}
    root = value[ROOT] if 0 <= value[ROOT] <= 127 else int(sample["key"])
    tuned = 100 * root - 100 * g.get(COARSE, 0) - g.get(FINE, 0) - int(sample["correction"])
    hz = CENTS_HZ * 2.0 ** (value[FILTER_CENTS] / 1200.0)
    return SampleZone(
        **moved,
        loops=g.get(MODES, 0) & 1 == 1 and moved["loop_end"] - moved["loop_start"] > 1,
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
    )


def _instrument_zones(bank: Bank, preset: Mapping[int, int], key: int, velocity: int) -> Iterator[SampleZone]:
    bags = bank.tables["inst"]["bag"]
    number = preset[INSTRUMENT]
    for own in _of_key(bank, "i", int(bags[number]), int(bags[number + 1]), SAMPLE, key, velocity):
        total = dict(own)
        for generator, amount in preset.items():
            if generator not in NOT_ADDED:
                total[generator] = total.get(generator, DEFAULTS.get(generator, 0)) + amount
        yield _zone(bank, total)


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
