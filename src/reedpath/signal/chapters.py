"""Sound files with chapters, each in its format's own way.

    wav   cue points with labels (RIFF, "Multimedia Programming Interface and Data Specifications 1.0", 1991)
    flac  CHAPTERnnn comments, as Vorbis comments are used for chapters (wiki.xiph.org, "Chapter Extension")
    opus  the same comments, in Ogg
    mp3   CHAP frames ("ID3v2 Chapter Frame Addendum", 2005)

The last two are written by the av library.
"""

from __future__ import annotations

import io
import struct
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from reedpath.errors import SoundError
from reedpath.signal.coding import code_sound
from reedpath.signal.files import encode
from reedpath.signal.resample import resampled
from reedpath.signal.samples import Samples

# formats that can hold chapters
CHAPTER_FORMATS = ("wav", "flac", "mp3", "opus")
# container, coding, sample form, bits a second and rate of what av writes; transparent for one instrument and a
# small band (common practice, no source)
_LOSSY: Mapping[str, tuple[str, str, str, int, int]] = {
    "mp3": ("mp3", "libmp3lame", "fltp", 192_000, 44_100),
    "opus": ("ogg", "libopus", "flt", 128_000, 48_000),
}
# bytes of FLAC's marker, and the number of its comment block (FLAC format, xiph.org)
FLAC_MARKER, FLAC_COMMENTS = b"fLaC", 4


@dataclass(frozen=True, slots=True)
class Chapter:
    """A stretch of a sound with a title, up to the next one's start.

    start_seconds : at least 0.
    title : any text.
    """

    start_seconds: float
    title: str


def _chunk(name: bytes, body: bytes) -> bytes:
    return name + struct.pack("<I", len(body)) + body + b"\0" * (len(body) & 1)


def _wav_with(data: bytes, chapters: Sequence[Chapter], rate: int) -> bytes:
    """The WAV file with a cue point and a label for each chapter after its sound."""
    points = b"".join(
        struct.pack("<II4sIII", number, frame, b"data", 0, 0, frame)
        for number, frame in enumerate((round(one.start_seconds * rate) for one in chapters), start=1)
    )
    labels = b"".join(
        _chunk(b"labl", struct.pack("<I", number) + one.title.encode("utf-8") + b"\0")
        for number, one in enumerate(chapters, start=1)
    )
    more = _chunk(b"cue ", struct.pack("<I", len(chapters)) + points) + _chunk(b"LIST", b"adtl" + labels)
    body = data[8:] + b"\0" * (len(data) & 1) + more
    return b"RIFF" + struct.pack("<I", len(body)) + body


def _comments(chapters: Sequence[Chapter]) -> list[str]:
    found = []
    for number, one in enumerate(chapters):
        minutes, seconds = divmod(one.start_seconds, 60.0)
        hours, minutes = divmod(int(minutes), 60)
        found += [
            f"CHAPTER{number:03d}={hours:02d}:{minutes:02d}:{seconds:06.3f}",
            f"CHAPTER{number:03d}NAME={one.title}",
        ]
    return found


def _flac_blocks(data: bytes) -> Iterator[tuple[int, bytes, int]]:
    """Kind, body and end of each metadata block of a FLAC file."""
    at, last = len(FLAC_MARKER), False
    while not last:
        last, kind = bool(data[at] & 0x80), data[at] & 0x7F
        size = int.from_bytes(data[at + 1 : at + 4], "big")
        yield kind, data[at + 4 : at + 4 + size], at + 4 + size
        at += 4 + size


def _with_comments(body: bytes, more: Sequence[str]) -> bytes:
    """A Vorbis comment block with further comments at its end."""
    vendor = struct.unpack_from("<I", body)[0]
    count = struct.unpack_from("<I", body, 4 + vendor)[0]
    added = b"".join(struct.pack("<I", len(one.encode())) + one.encode() for one in more)
    head = body[: 4 + vendor] + struct.pack("<I", count + len(more))
    return head + body[8 + vendor :] + added


def _flac_with(data: bytes, chapters: Sequence[Chapter]) -> bytes:
    blocks, sound_at = [], 0
    for kind, body, end in _flac_blocks(data):
        blocks.append((kind, body))
        sound_at = end
    if all(kind != FLAC_COMMENTS for kind, _ in blocks):
        blocks.insert(1, (FLAC_COMMENTS, struct.pack("<II", 0, 0)))
    written = [
        (kind, _with_comments(body, _comments(chapters)) if kind == FLAC_COMMENTS else body) for kind, body in blocks
    ]
    out = FLAC_MARKER
    for index, (kind, body) in enumerate(written):
        last = 0x80 if index == len(written) - 1 else 0
        out += bytes([kind | last]) + len(body).to_bytes(3, "big") + body
    return out + data[sound_at:]


def _av() -> Any:
    try:
        import av
    except ImportError as error:
        raise SoundError("signal.av_for_chapters") from error
    return av


def _av_chapters(chapters: Sequence[Chapter], seconds: float) -> list[dict[str, Any]]:
    starts = [round(one.start_seconds * 1000) for one in chapters]
    ends = [*starts[1:], round(seconds * 1000)]
    return [
        {"id": index, "start": start, "end": end, "time_base": Fraction(1, 1000), "metadata": {"title": one.title}}
        for index, (one, start, end) in enumerate(zip(chapters, starts, ends, strict=True))
    ]


def _lossy_with(samples: Samples, chapters: Sequence[Chapter], format: str, tags: Mapping[str, str]) -> bytes:
    av = _av()
    container, coding, form, bits, rate = _LOSSY[format]
    sound = resampled(samples.with_channels(min(samples.channels, 2)), rate)
    sink = io.BytesIO()
    with av.open(sink, "w", format=container) as file:
        file.metadata.update(tags)
        if format == "opus":
            # av rounds the seconds of such comments wrongly when it makes them itself (1.5 s becomes 2.5 s)
            file.metadata.update(one.split("=", 1) for one in _comments(chapters))
        else:
            file.set_chapters(_av_chapters(chapters, sound.duration_seconds))
        code_sound(file, file.add_stream(coding, rate=rate), sound, form=form, bits_per_second=bits)
    return sink.getvalue()


def _checked(samples: Samples, chapters: Sequence[Chapter]) -> None:
    starts = [one.start_seconds for one in chapters]
    if starts != sorted(starts) or any(not 0 <= start <= samples.duration_seconds for start in starts):
        raise SoundError("signal.chapters_ascend", starts=starts, seconds=samples.duration_seconds)


def encode_chaptered(
    samples: Samples,
    chapters: Sequence[Chapter],
    *,
    format: str = "wav",
    bits: int = 24,
    tags: Mapping[str, str] | None = None,
) -> bytes:
    """
    A sound file with chapters.

    chapters : in order of their start; none gives what `encode` gives.
    format : "wav", "flac", "mp3" or "opus".
    bits, tags : as for `encode`.

    Raises `SoundError` for a format that holds no chapters, chapters out of order, or what `encode` refuses.
    """
    if format not in CHAPTER_FORMATS:
        raise SoundError("signal.no_chapters", format=format, known=CHAPTER_FORMATS)
    _checked(samples, chapters)
    if chapters and format in _LOSSY:
        encode(samples.span(0.0, 0.0), format="wav", tags=tags)
        return _lossy_with(samples, chapters, format, tags or {})
    data = encode(samples, format=format, bits=bits, tags=tags)
    if not chapters:
        return data
    return _wav_with(data, chapters, samples.rate) if format == "wav" else _flac_with(data, chapters)
