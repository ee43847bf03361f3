"""What a file is, told from its bytes, whatever it is called.

The signs are those of the formats' own specifications (RIFF/WAVE, RFC 9639 FLAC, RFC 3533 Ogg, ISO/IEC
11172-3 and 13818-7 audio frames, ID3v2, AIFF, ISO/IEC 14496-12 files, RFC 8794 EBML, RFC 4867 AMR).
"""

from __future__ import annotations

import os
import struct
from typing import BinaryIO

from reedpath.errors import SoundError, Term

# bytes of a file that tell what it is
HEAD_BYTES = 4096
# kinds read without, and with, the film library
PLAIN_KINDS = frozenset({"wav", "w64", "flac", "ogg", "mp3", "aiff", "au", "caf"})
FILM_KINDS = frozenset({"mp4", "matroska", "aac", "asf", "amr"})
SOUND_KINDS = PLAIN_KINDS | FILM_KINDS
# data sizes that a recorder writes when it does not know the length yet, bytes; common practice, no source
UNKNOWN_WAV_SIZES = frozenset({0, 0xFFFFFFFF, 0x7FFFFFFF, 0x7FFFF000, 0xFFFFF000})
# most chunks looked at before the data of a WAV file
MAX_WAV_CHUNKS = 1000
# bytes; the longest Ogg page is 65,307 (RFC 3533), so the last one starts within so many
OGG_TAIL_BYTES = 65_536
# bytes by which an encoder's own count may be off (tags at the end, counted or not)
MP3_SLACK_BYTES = 512

_STARTS = (
    (b"fLaC", "flac"),
    (b"OggS", "ogg"),
    (b"ID3", "mp3"),
    (b"caff", "caf"),
    (b".snd", "au"),
    (b"riff\x2e\x91\xcf\x11", "w64"),
    (b"\x1a\x45\xdf\xa3", "matroska"),
    (b"\x30\x26\xb2\x75\x8e\x66\xcf\x11", "asf"),
    (b"#!AMR\n", "amr"),
    (b"#!AMR-WB\n", "amr"),
)
# how other files start, and the terms for them
_NOT_SOUND = (
    (b"MThd", "a-midi-file"),
    (b"%PDF", "a-pdf-document"),
    (b"\x89PNG", "a-png-picture"),
    (b"\xff\xd8\xff", "a-jpeg-picture"),
    (b"GIF8", "a-gif-picture"),
    (b"PK\x03\x04", "a-zip-archive"),
    (b"\x1f\x8b", "a-gzip-archive"),
    (b"\x7fELF", "a-program"),
    (b"MZ", "a-program"),
    (b"SQLite format 3", "a-database"),
)


def _framed_kind(head: bytes) -> str | None:
    """The kind of a bare stream of MPEG frames, told from its first header; None for anything else."""
    if len(head) < 4 or head[0] != 0xFF or head[1] & 0xE0 != 0xE0:
        return None
    layer = head[1] >> 1 & 0x03
    if layer == 0:  # ADTS marks itself by a layer of 0 (ISO/IEC 13818-7)
        return "aac" if head[1] & 0xF0 == 0xF0 else None
    bit_rate, rate = head[2] >> 4, head[2] >> 2 & 0x03
    return "mp3" if layer < 3 and 0 < bit_rate < 15 and rate < 3 else None


def _boxed_kind(head: bytes) -> str | None:
    if head[:4] in (b"RIFF", b"RIFX", b"RF64"):
        return "wav" if head[8:12] == b"WAVE" else None
    if head[:4] == b"FORM" and head[8:12] in (b"AIFF", b"AIFC"):
        return "aiff"
    if head[4:8] in (b"ftyp", b"moov", b"mdat", b"wide"):
        return "mp4"
    return None


def _looks_like_text(head: bytes) -> bool:
    if b"\x00" in head:
        return head[:2] in (b"\xff\xfe", b"\xfe\xff")
    try:
        head.decode("utf-8")
    except UnicodeDecodeError as error:
        return error.start > len(head) - 4  # a character cut in two by our reading only the head
    return True


def _what_else(head: bytes) -> str:
    """The term for what starts with these bytes."""
    for start, what in _NOT_SOUND:
        if head.startswith(start):
            return what
    if _looks_like_text(head):
        return "text-whatever-its-name"
    return "no-known-kind-of-sound"


def sound_kind(head: bytes) -> str:
    """The kind of sound file that starts with these bytes (at least 12, better `HEAD_BYTES`).

    Raises `SoundError` for an empty file, and for anything else that is not sound, saying what it is.

    >>> sound_kind(b"fLaC" + bytes(20))
    'flac'
    """
    if not head:
        raise SoundError("signal.empty")
    kind = next((kind for start, kind in _STARTS if head.startswith(start)), None)
    kind = kind or _boxed_kind(head) or _framed_kind(head)
    if kind is None:
        raise SoundError("signal.not_sound", what=Term(_what_else(head)))
    return kind


def _size_of(file: BinaryIO) -> int:
    here = file.tell()
    size = file.seek(0, os.SEEK_END)
    file.seek(here)
    return size


def wav_breaks_off(file: BinaryIO) -> bool:
    """Whether a WAV file holds less sound than its header promises; the place in the file is kept.

    A header that a recorder never completed (a length of nothing, or the largest there is) promises nothing.
    """
    here, size = file.tell(), _size_of(file)
    try:
        file.seek(0)
        order = ">" if file.read(4) == b"RIFX" else "<"
        place = 12
        for _ in range(MAX_WAV_CHUNKS):
            file.seek(place)
            chunk = file.read(8)
            if len(chunk) < 8:
                return True
            length = int(struct.unpack(order + "I", chunk[4:])[0])
            if chunk[:4] == b"data":
                return length not in UNKNOWN_WAV_SIZES and place + 8 + length > size
            place += 8 + length + length % 2
        return False
    finally:
        file.seek(here)


def ogg_breaks_off(file: BinaryIO) -> bool:
    """Whether an Ogg file lacks the page that ends its stream (RFC 3533); the place in the file is kept."""
    here, size = file.tell(), _size_of(file)
    try:
        file.seek(max(0, size - OGG_TAIL_BYTES))
        tail = file.read()
    finally:
        file.seek(here)
    last = tail.rfind(b"OggS")
    page = tail[last:] if last >= 0 else b""
    if len(page) < 27 or not page[5] & 0x04:
        return True
    segments = page[26]
    return len(page) < 27 + segments or len(page) < 27 + segments + sum(page[27 : 27 + segments])


def mp3_breaks_off(file: BinaryIO) -> bool:
    """Whether an MP3 file holds fewer bytes than its first frame counts; the place in the file is kept.

    The count is the one that encoders put behind the sign Xing or Info (common practice, no standard); a
    file without it promises nothing.
    """
    here, size = file.tell(), _size_of(file)
    try:
        file.seek(0)
        head = file.read(HEAD_BYTES)
        skipped = 0
        if head[:3] == b"ID3" and len(head) >= 10:
            skipped = 10 + sum((byte & 0x7F) << shift for byte, shift in zip(head[6:10], (21, 14, 7, 0), strict=True))
            file.seek(skipped)
            head = file.read(HEAD_BYTES)
    finally:
        file.seek(here)
    sign = max(head.find(b"Xing", 0, 64), head.find(b"Info", 0, 64))
    if sign < 0 or len(head) < sign + 16:
        return False
    flags, _, length = struct.unpack(">III", head[sign + 4 : sign + 16])
    told = flags & 0x03 == 0x03 and 0 < length < 1 << 31
    return bool(told and size - skipped < length - MP3_SLACK_BYTES)


_BREAKS_OFF = {"wav": wav_breaks_off, "ogg": ogg_breaks_off, "mp3": mp3_breaks_off}


def breaks_off(file: BinaryIO, kind: str) -> bool:
    """Whether a file of this kind shows, without being decoded, that its end is missing."""
    test = _BREAKS_OFF.get(kind)
    return test is not None and test(file)
