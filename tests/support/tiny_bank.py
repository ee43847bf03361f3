"""A SoundFont 2 bank of a few zones, built byte by byte, for tests of what reads banks."""

from __future__ import annotations

import struct
from collections.abc import Sequence
from pathlib import Path

import numpy as np

RATE = 22_050
# points of silence that follow each sample (SoundFont 2.04, section 6.1)
SILENT_POINTS = 46


def _chunk(name: bytes, body: bytes) -> bytes:
    return name + struct.pack("<I", len(body)) + body + b"\0" * (len(body) & 1)


def _generators(zones: Sequence[dict[int, int]]) -> tuple[bytes, bytes]:
    """Bags and generators, the closing ones included."""
    bags, gens, count = b"", b"", 0
    for zone in zones:
        bags += struct.pack("<HH", count, 0)
        for oper, amount in zone.items():
            gens += struct.pack("<HH", oper, amount & 0xFFFF)
            count += 1
    return bags + struct.pack("<HH", count, 0), gens + struct.pack("<HH", 0, 0)


def tiny_bank(
    zones: Sequence[dict[int, int]],
    samples: Sequence[np.ndarray],
    *,
    preset_zones: Sequence[dict[int, int]] = ({},),
    program: int = 0,
    bank: int = 0,
    original_key: int = 60,
    correction: int = 0,
) -> bytes:
    """One preset with one instrument of these zones (generators by number; 53 is the sample's index).

    Each sample, in -1..1 at 22,050 Hz, loops over its middle half.
    """
    points, headers, at = b"", b"", 0
    for number, sample in enumerate(samples):
        length = len(sample)
        points += (sample * 32767).astype("<i2").tobytes() + bytes(2 * SILENT_POINTS)
        headers += struct.pack(
            "<20sIIIIIBbHH",
            f"sample {number}".encode(),
            at,
            at + length,
            at + length // 4,
            at + 3 * length // 4,
            RATE,
            original_key,
            correction,
            0,
            1,
        )
        at += length + SILENT_POINTS
    headers += struct.pack("<20sIIIIIBbHH", b"EOS", *[0] * 9)
    presets = [
        {**zone, 41: 0} if index == len(preset_zones) - 1 else dict(zone) for index, zone in enumerate(preset_zones)
    ]
    pbag, pgen = _generators(presets)
    ibag, igen = _generators(zones)
    phdr = struct.pack("<20sHHHIII", b"preset", program, bank, 0, 0, 0, 0)
    phdr += struct.pack("<20sHHHIII", b"EOP", 0, 0, len(presets), 0, 0, 0)
    inst = struct.pack("<20sH", b"instrument", 0) + struct.pack("<20sH", b"EOI", len(zones))
    pdta = b"pdta" + b"".join(
        _chunk(name, body)
        for name, body in (
            (b"phdr", phdr),
            (b"pbag", pbag),
            (b"pmod", bytes(10)),
            (b"pgen", pgen),
            (b"inst", inst),
            (b"ibag", ibag),
            (b"imod", bytes(10)),
            (b"igen", igen),
            (b"shdr", headers),
        )
    )
    body = (
        b"sfbk"
        + _chunk(b"LIST", b"INFO")
        + _chunk(b"LIST", b"sdta" + _chunk(b"smpl", points))
        + _chunk(b"LIST", pdta)
    )
    return b"RIFF" + struct.pack("<I", len(body)) + body


def sine(hz: float, *, periods: int = 400) -> np.ndarray:
    """A sine of whole periods, so that its middle half loops without a seam when periods is a multiple of 4."""
    length = round(periods * RATE / hz)
    return 0.5 * np.sin(2 * np.pi * hz * np.arange(length) / RATE)


def write_bank(folder: Path, data: bytes) -> Path:
    """The bank as a file of its own: banks once opened are kept by their path."""
    path = folder / f"tiny-{len(list(folder.iterdir()))}.sf2"
    path.write_bytes(data)
    return path
