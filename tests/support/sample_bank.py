"""Reads recorded samples out of a SoundFont 2 bank at run time (SoundFont 2.04 specification, 2006)."""

from __future__ import annotations

import struct
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

# Debian's fluid-soundfont-gm, MIT licence; its harmonica notes are recordings of a real instrument
FLUID_BANK = Path("/usr/share/sounds/sf2/FluidR3_GM.sf2")
# bytes of one sample header; SoundFont 2.04, section 7.10
HEADER_BYTES = 46

# sample name -> sounding MIDI number. The names' octaves count one too low; found with two pitch trackers.
# "harmon_c2" is left out: it is the "harmnc_e3" recording played slower.
HARMONICA_NOTES = {
    "harmnc_e3": 64,
    "harmnc_g3": 67,
    "harmon_c4": 72,
    "harmnc_e4": 76,
    "harmnc_g4": 79,
    "harmon_c5": 84,
    "harmnc_e5": 88,
}


@dataclass(frozen=True, slots=True)
class Recorded:
    """One recorded note: mono samples in -1..1, and its rate."""

    midi: int
    samples: NDArray[np.float64]
    rate: int


def _chunks(data: bytes, start: int, end: int) -> Iterator[tuple[bytes, int, int]]:
    while start + 8 <= end:
        size = struct.unpack_from("<I", data, start + 4)[0]
        yield data[start : start + 4], start + 8, size
        start += 8 + size + (size & 1)


def _lists(data: bytes) -> dict[tuple[bytes, bytes], tuple[int, int]]:
    found = {}
    for name, start, size in _chunks(data, 12, len(data)):
        if name == b"LIST":
            kind = data[start : start + 4]
            for inner, at, length in _chunks(data, start + 4, start + size):
                found[kind, inner] = (at, length)
    return found


def read_harmonica(bank: Path = FLUID_BANK) -> list[Recorded]:
    """The recorded harmonica notes of the bank, both channels averaged, lowest first."""
    data = bank.read_bytes()
    lists = _lists(data)
    samples_at, (headers_at, headers_size) = lists[b"sdta", b"smpl"][0], lists[b"pdta", b"shdr"]
    sides: dict[str, list[NDArray[np.float64]]] = {}
    rates: dict[str, int] = {}
    for at in range(headers_at, headers_at + headers_size, HEADER_BYTES):
        raw, first, last, _, _, rate = struct.unpack_from("<20sIIIII", data, at)
        name = raw.split(b"\0")[0].decode("latin1").removesuffix("(L)").removesuffix("(R)")
        if name in HARMONICA_NOTES:
            pcm = np.frombuffer(data, "<i2", last - first, samples_at + 2 * first)
            sides.setdefault(name, []).append(pcm / 32768.0)
            rates[name] = rate
    return [Recorded(midi, np.mean(sides[name], axis=0), rates[name]) for name, midi in HARMONICA_NOTES.items()]


def harmonic_levels_db(samples: NDArray[np.floating], rate: int, hz: float, *, count: int) -> NDArray[np.float64]:
    """Level of each harmonic, dB, NaN above Nyquist: the highest point near each multiple of a windowed spectrum."""
    size = 1 << 18
    window = np.blackman(len(samples))
    spectrum = np.abs(np.fft.rfft(samples * window, size)) * 2 / window.sum()
    levels = np.full(count, np.nan)
    for index in range(count):
        centre = (index + 1) * hz
        low, high = (int(centre * edge * size / rate) for edge in (0.988, 1.012))
        if high < len(spectrum):
            levels[index] = 20 * np.log10(spectrum[low : high + 1].max() + 1e-9)
    return levels


def steady_part(samples: NDArray[np.floating]) -> NDArray[np.floating]:
    """The stretch after the attack and before the end."""
    return samples[int(len(samples) * 0.35) : int(len(samples) * 0.97)]
