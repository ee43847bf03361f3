"""What a file is and whether its end is missing, told from its bytes alone."""

from __future__ import annotations

import io
import struct

import numpy as np
import pytest

from reedpath.errors import SoundError
from reedpath.signal import Samples, encode, silence
from reedpath.signal.formats import HEAD_BYTES, SOUND_KINDS, breaks_off, sound_kind

SOUND = Samples(0.3 * np.sin(2 * np.pi * 440 * np.arange(22_050) / 22_050), 22_050)


@pytest.mark.parametrize(
    ("head", "kind"),
    [
        (b"RIFF....WAVEfmt ", "wav"),
        (b"RIFX....WAVEfmt ", "wav"),
        (b"RF64....WAVEds64", "wav"),
        (b"riff\x2e\x91\xcf\x11....", "w64"),
        (b"FORM....AIFFCOMM", "aiff"),
        (b"FORM....AIFCFVER", "aiff"),
        (b"fLaC\0\0\0\x22", "flac"),
        (b"OggS\0\x02......", "ogg"),
        (b"ID3\x04\0\0......", "mp3"),
        (b"\xff\xfb\x90\x00....", "mp3"),  # MPEG-1 layer III, 128 kb/s, 44,100 Hz
        (b"\xff\xfb\x90\x00", "mp3"),  # the header tells all by itself
        (b"\xff\xf3\x40\xc0....", "mp3"),  # MPEG-2 layer III
        (b"\xff\xf1\x50\x80....", "aac"),  # ADTS
        (b"caff\0\x01......", "caf"),
        (b".snd\0\0\0\x18....", "au"),
        (b"\0\0\0\x20ftypM4A ", "mp4"),
        (b"\0\0\0\x08widemdat", "mp4"),
        (b"\x1a\x45\xdf\xa3....", "matroska"),
        (b"\x30\x26\xb2\x75\x8e\x66\xcf\x11....", "asf"),
        (b"#!AMR\n\x3c......", "amr"),
        (b"#!AMR-WB\n\x44...", "amr"),
    ],
)
def test_sounds_are_known_by_their_first_bytes(head: bytes, kind: str) -> None:
    assert sound_kind(head) == kind
    assert kind in SOUND_KINDS


@pytest.mark.parametrize(
    ("head", "says"),
    [
        (b"MThd\0\0\0\6", "MIDI"),
        (b"%PDF-1.7", "PDF"),
        (b"PK\x03\x04....", "zip"),
        (b"\x89PNG\r\n\x1a\n", "PNG"),
        (b"RIFF\x10\0\0\0AVI LIST", "kind"),
        (b"\xff\xfb\xf0\x00....", "kind"),  # a bit rate that there is not
        (b"\xff\xfb\x9c\x00....", "kind"),  # nor such a rate
        (b"just words, whatever they are called", "text"),
        ("é".encode() * 40, "text"),
        (b"\xff\xfe" + "x".encode("utf-16-le") * 4, "text"),
    ],
)
def test_what_is_no_sound_is_called_what_it_is(head: bytes, says: str) -> None:
    with pytest.raises(SoundError, match=says):
        sound_kind(head)


class Counted(io.BytesIO):
    """A file that counts the bytes read of it."""

    def __init__(self, data: bytes) -> None:
        super().__init__(data)
        self.taken = 0

    def read(self, size: int | None = -1, /) -> bytes:
        data = super().read(size)
        self.taken += len(data)
        return data


def asked(data: bytes, kind: str) -> bool:
    """Whether the file breaks off; the place in it is kept."""
    file = Counted(data)
    file.seek(7)
    found = breaks_off(file, kind)
    assert file.tell() == 7
    return found


def wav(*chunks: tuple[bytes, int, int], order: str = "<") -> bytes:
    """A WAV file of chunks: name, length as told, bytes there."""
    body = b"".join(name + struct.pack(f"{order}I", told) + b"\1" * there for name, told, there in chunks)
    return (b"RIFX" if order == ">" else b"RIFF") + struct.pack(f"{order}I", len(body) + 4) + b"WAVE" + body


@pytest.mark.parametrize("order", ["<", ">"])
def test_a_wav_file_breaks_off_where_its_data_are_fewer_than_told(order: str) -> None:
    fmt = (b"fmt ", 16, 16)
    assert not asked(wav(fmt, (b"data", 100, 100), order=order), "wav")
    assert asked(wav(fmt, (b"data", 100, 99), order=order), "wav")
    # a chunk of odd length has one byte more, which its length does not count
    assert not asked(wav(fmt, (b"LIST", 3, 4), (b"data", 10, 10), order=order), "wav")
    assert asked(wav(fmt, (b"LIST", 3, 4), (b"data", 10, 9), order=order), "wav")
    # what is there of a chunk that is not the sound's does not count, only that the sound never comes
    assert asked(wav(fmt, (b"LIST", 4, 4), order=order), "wav")
    assert asked(wav(fmt, (b"LIST", 400, 4), order=order), "wav")


@pytest.mark.parametrize("told", [0, 0xFFFFFFFF, 0x7FFFFFFF, 0x7FFFF000, 0xFFFFF000])
def test_a_length_that_no_recorder_completed_promises_nothing(told: int) -> None:
    assert not asked(wav((b"fmt ", 16, 16), (b"data", told, 50)), "wav")


def test_so_many_chunks_before_the_data_are_no_sign() -> None:
    chunks = [(b"junk", 0, 0)] * 999
    assert asked(wav(*chunks, (b"data", 10, 9)), "wav")
    assert not asked(wav(*chunks, (b"junk", 0, 0), (b"data", 10, 9)), "wav")


def test_an_ogg_file_breaks_off_where_its_last_page_is_missing_or_cut() -> None:
    data = encode(SOUND, format="ogg")
    last = data.rfind(b"OggS")
    assert not asked(data, "ogg")
    assert asked(data[:-1], "ogg")
    assert asked(data[:last], "ogg")
    assert asked(data[: last + 20], "ogg")
    assert asked(data[: last + 27], "ogg")
    assert asked(b"no page at all", "ogg")
    assert not asked(b"\0" * 200_000 + data, "ogg")


def framed(length: int, *, flags: int = 3, sign: bytes = b"Xing", size: int = 5_000, tag: int = 0) -> bytes:
    """The start of an MP3 file whose first frame counts so many bytes; ``tag``: bytes of an ID3 tag before."""
    count = sign + struct.pack(">III", flags, 10, length)
    sound = (b"\xff\xfb\x90\x00" + b"\0" * 32 + count).ljust(size, b"\0")
    where = bytes(tag >> shift & 0x7F for shift in (21, 14, 7, 0))
    return (b"ID3\3\0\0" + where + b"\0" * tag if tag else b"") + sound


@pytest.mark.parametrize("sign", [b"Xing", b"Info"])
@pytest.mark.parametrize("tag", [0, 100, 20_000])
def test_an_mp3_file_breaks_off_where_it_is_shorter_than_its_first_frame_counts(sign: bytes, tag: int) -> None:
    assert not asked(framed(5_000, sign=sign, tag=tag), "mp3")
    assert not asked(framed(5_512, sign=sign, tag=tag), "mp3")  # tags at the end may be counted
    assert asked(framed(5_513, sign=sign, tag=tag), "mp3")


def test_an_mp3_file_that_counts_nothing_promises_nothing() -> None:
    assert not asked(framed(9_000, sign=b"LAME"), "mp3")
    assert not asked(framed(9_000, flags=1), "mp3")
    assert not asked(framed(9_000, flags=2), "mp3")
    assert not asked(framed(1 << 31), "mp3")
    assert not asked(framed(0), "mp3")
    assert not asked(framed(9_000)[:50], "mp3")


@pytest.mark.parametrize("tag", [0, 3_000_000])
def test_a_long_mp3_file_is_not_read_whole_for_that(tag: int) -> None:
    file = Counted(framed(6_000_000, size=4_000_000, tag=tag))
    assert breaks_off(file, "mp3")
    assert file.taken <= 2 * HEAD_BYTES


def test_other_kinds_show_it_only_when_they_are_decoded() -> None:
    assert not breaks_off(io.BytesIO(encode(SOUND, format="flac")[:-50]), "flac")
    assert not asked(encode(SOUND), "wav")
    assert not asked(encode(silence(0.5, rate=44_100), format="mp3"), "mp3")
