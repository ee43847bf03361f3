"""Recordings and films: short ones of every kind, whose headers, indexes and samples are hurt."""

from __future__ import annotations

import io
import os
import random
import struct
import tempfile
from collections.abc import Callable, Sequence
from contextlib import suppress
from fractions import Fraction
from functools import cache
from pathlib import Path

import numpy as np

from fuzzing.kinds import Target
from fuzzing.mutation import CHUNKS
from reedpath.errors import ReedpathError
from reedpath.film.film_reader import TeacherFilm
from reedpath.jobs import HearingChoice, write_down_recording
from reedpath.jobs.practising import slow_recording
from reedpath.signal import Samples, decode, encode, open_blocks
from reedpath.sound.band.sampler import sample_note
from reedpath.sound.band.soundfont import open_bank, zones_of

RATE = 16_000
SECONDS = 0.3
# seconds of a recording that are heard at most
HEARD_SECONDS = 5.0
# pictures of a film that are looked at
PICTURES = 10
# kinds that the plain library writes, and those of the film library: container, sound, picture
PLAIN_KINDS = {
    "flac": ("FLAC", "PCM_16"),
    "ogg": ("OGG", "VORBIS"),
    "opus": ("OGG", "OPUS"),
    "mp3": ("MP3", "MPEG_LAYER_III"),
    "aiff": ("AIFF", "PCM_16"),
    "au": ("AU", "PCM_16"),
    "caf": ("CAF", "PCM_16"),
    "w64": ("W64", "PCM_16"),
}
FILM_KINDS = {
    "m4a": ("ipod", "aac", None),
    "mp4": ("mp4", "aac", "mpeg4"),
    "aac": ("adts", "aac", None),
    "webm": ("webm", "libopus", "libvpx"),
    "mkv": ("matroska", "libmp3lame", "mpeg4"),
    "asf": ("asf", "libmp3lame", "msmpeg4"),
}


@cache
def tone() -> Samples:
    times = np.arange(round(SECONDS * RATE)) / RATE
    return Samples((0.4 * np.sin(2 * np.pi * 440.0 * times)).astype(np.float32), RATE)


def plain(container: str, coding: str) -> bytes:
    import soundfile

    sink = io.BytesIO()
    soundfile.write(sink, tone().array, RATE, format=container, subtype=coding)
    return sink.getvalue()


def film(container: str, sound: str, picture: str | None) -> bytes:
    import av

    sink = io.BytesIO()
    with av.open(sink, "w", format=container) as out:
        rate = 48_000 if sound == "libopus" else RATE
        stream = out.add_stream(sound, rate=rate, layout="mono")
        shown = out.add_stream(picture, rate=10) if picture else None
        if shown is not None:
            shown.width, shown.height, shown.pix_fmt = 32, 32, "yuv420p"
            for number in range(4):
                frame = av.VideoFrame.from_ndarray(np.full((48, 32), 40 * number, dtype=np.uint8), format="yuv420p")
                frame.pts = number
                out.mux(shown.encode(frame))
            out.mux(shown.encode(None))
        converter = av.AudioResampler(
            format=stream.format, layout="mono", rate=rate, frame_size=stream.codec_context.frame_size or 1024
        )
        frame = av.AudioFrame.from_ndarray(np.ascontiguousarray(tone().array.T), format="fltp", layout="mono")
        frame.sample_rate, frame.pts, frame.time_base = RATE, 0, Fraction(1, RATE)
        for made in (*converter.resample(frame), *converter.resample(None)):
            out.mux(stream.encode(made))
        out.mux(stream.encode(None))
    return sink.getvalue()


@cache
def place() -> Path:
    """A file of this process's own, for libraries that want one."""
    return Path(tempfile.mkdtemp(prefix="reedpath-fuzz-")) / "source"


def in_file(data: bytes) -> Path:
    """The input as a file; each time another one, since a bank that was opened is kept by its name."""
    path = place().with_name(f"source-{os.getpid()}-{len(data)}")
    path.unlink(missing_ok=True)
    path.write_bytes(data)
    return path


def read_sound(data: bytes) -> float:
    """Seconds of a sound file, read block by block to its end."""
    path = in_file(data)
    try:
        with open_blocks(path) as blocks:
            return sum(block.duration_seconds for block in blocks)
    finally:
        path.unlink()


def follow_sound(_seconds: float, data: bytes, draw: random.Random) -> None:
    """A recording that was read to its end is written down and slowed, or said to be none."""
    path = in_file(data)
    try:
        with suppress(ReedpathError):
            decode(path, limit_seconds=HEARD_SECONDS)
        with suppress(ReedpathError):
            write_down_recording(path, HearingChoice(until_seconds=HEARD_SECONDS, chords=draw.random() < 0.3))
        with suppress(ReedpathError):
            slow_recording(path, 0.5, path.with_suffix(".wav"), end_seconds=1.0, replace=True)
    finally:
        path.unlink()


def read_film(data: bytes) -> int:
    """Pictures of a film, up to ten."""
    path = in_file(data)
    try:
        with TeacherFilm(path) as teacher:
            return sum(1 for _, one in zip(range(PICTURES), teacher.read(64, 48), strict=False) if one)
    finally:
        path.unlink()


def _bank() -> bytes:
    """A SoundFont of one short sample."""
    samples = (tone().array[:400, 0] * 30_000).astype("<i2").tobytes() + bytes(92)

    def chunk(name: bytes, body: bytes) -> bytes:
        return name + struct.pack("<I", len(body)) + body + b"\0" * (len(body) & 1)

    header = struct.pack("<20sIIIIIBbHH", b"tone", 0, 400, 100, 300, RATE, 60, 0, 0, 1)
    tables = (
        (
            b"phdr",
            struct.pack("<20sHHHIII", b"preset", 0, 0, 0, 0, 0, 0)
            + struct.pack("<20sHHHIII", b"EOP", 0, 0, 1, 0, 0, 0),
        ),
        (b"pbag", struct.pack("<HHHH", 0, 0, 1, 0)),
        (b"pmod", bytes(10)),
        (b"pgen", struct.pack("<HHHH", 41, 0, 0, 0)),
        (b"inst", struct.pack("<20sH20sH", b"one", 0, b"EOI", 1)),
        (b"ibag", struct.pack("<HHHH", 0, 0, 3, 0)),
        (b"imod", bytes(10)),
        (b"igen", struct.pack("<HHHHHHHH", 43, 0x7F00, 54, 1, 53, 0, 0, 0)),
        (b"shdr", header + struct.pack("<20sIIIIIBbHH", b"EOS", *[0] * 9)),
    )
    body = b"sfbk" + chunk(b"LIST", b"INFO") + chunk(b"LIST", b"sdta" + chunk(b"smpl", samples))
    body += chunk(b"LIST", b"pdta" + b"".join(chunk(name, table) for name, table in tables))
    return b"RIFF" + struct.pack("<I", len(body)) + body


def read_bank(data: bytes) -> bool:
    """Whether a bank sounds a note."""
    path = in_file(data)
    try:
        open_bank.cache_clear()
        zones_of.cache_clear()
        bank = open_bank(path)
        return bool(zones_of(bank, 0, 60, 90))
    finally:
        path.unlink()


def follow_bank(_sounds: bool, data: bytes, draw: random.Random) -> None:
    """A note of a bank that was read is sounded."""
    path = in_file(data)
    try:
        open_bank.cache_clear()
        zones_of.cache_clear()
        sample_note.cache_clear()
        sample_note(open_bank(path), 0, draw.choice((0, 60, 127)), 90, draw.choice((1, 300)))
    finally:
        path.unlink()


def _sound(name: str, make: Callable[[], Sequence[bytes]]) -> Target:
    return Target(name, make, CHUNKS, read_sound, follow_sound, share=0.03)


TARGETS = (
    _sound(
        "wav",
        lambda: (encode(tone(), bits=16), plain("WAV", "FLOAT"), plain("WAV", "DOUBLE"), plain("RF64", "PCM_24")),
    ),
    *(_sound(name, lambda kind=kind: (plain(*kind),)) for name, kind in PLAIN_KINDS.items()),
    *(_sound(name, lambda kind=kind: (film(*kind),)) for name, kind in FILM_KINDS.items()),
    Target(
        "teacher's film",
        lambda: tuple(film(*FILM_KINDS[name]) for name in ("mp4", "webm", "mkv")),
        CHUNKS,
        read_film,
        lambda *_: None,
    ),
    Target("sound bank", lambda: (_bank(),), CHUNKS, read_bank, follow_bank, share=0.3),
)
