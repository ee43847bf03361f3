"""Chapters in sound files, read back by other readers than the writer."""

from __future__ import annotations

import io
import struct

import numpy as np
import pytest

from reedpath.errors import SoundError
from reedpath.signal import Chapter, Samples, decode, encode, encode_chaptered

av = pytest.importorskip("av")

CHAPTERS = [Chapter(0.0, "slow, 60"), Chapter(1.5, "un peu plus vite"), Chapter(2.25, "full – 100")]
TAGS = {"title": "Shuffle in E", "artist": "reedpath", "comment": "invented"}


@pytest.fixture(scope="module")
def sound() -> Samples:
    times = np.arange(3 * 44_100) / 44_100
    left = 0.4 * np.sin(2 * np.pi * 330 * times)
    return Samples(np.stack([left, 0.5 * left], axis=1).astype(np.float32), 44_100)


def chapters_by_av(data: bytes) -> list[tuple[float, str]]:
    with av.open(io.BytesIO(data)) as file:
        return [(float(one["start"] * one["time_base"]), one["metadata"]["title"]) for one in file.chapters()]


@pytest.mark.parametrize("format", ["mp3", "opus", "flac"])
def test_another_reader_finds_the_chapters(sound: Samples, format: str) -> None:
    data = encode_chaptered(sound, CHAPTERS, format=format, tags=TAGS)
    assert chapters_by_av(data) == [(one.start_seconds, one.title) for one in CHAPTERS]


@pytest.mark.parametrize("format", ["wav", "mp3", "opus", "flac"])
def test_tags_are_kept(sound: Samples, format: str) -> None:
    data = encode_chaptered(sound, CHAPTERS, format=format, tags=TAGS)
    with av.open(io.BytesIO(data)) as file:
        found = {**file.metadata, **file.streams.audio[0].metadata}
    lower = {key.lower(): value for key, value in found.items()}
    assert lower["title"] == TAGS["title"]
    assert lower["artist"] == TAGS["artist"]


@pytest.mark.parametrize("format", ["wav", "flac", "mp3", "opus"])
def test_the_sound_is_as_long_and_as_loud_as_before(sound: Samples, format: str) -> None:
    back = decode(encode_chaptered(sound, CHAPTERS, format=format))
    assert back.duration_seconds == pytest.approx(3.0, abs=0.06)
    energy, before = (
        np.sum(np.square(one.array, dtype=np.float64)) / one.rate / one.channels for one in (back, sound)
    )
    assert energy**0.5 == pytest.approx(before**0.5, rel=0.04)  # LAME itself is 0.3 dB softer


@pytest.mark.parametrize("format", ["wav", "flac"])
def test_lossless_sound_is_untouched(sound: Samples, format: str) -> None:
    assert decode(encode_chaptered(sound, CHAPTERS, format=format)) == decode(encode(sound, format=format))


def riff_chunks(data: bytes) -> dict[bytes, bytes]:
    assert data[:4] == b"RIFF"
    assert struct.unpack_from("<I", data, 4)[0] == len(data) - 8
    at, found = 12, {}
    while at < len(data):
        name, size = data[at : at + 4], struct.unpack_from("<I", data, at + 4)[0]
        found[name + (data[at + 8 : at + 12] if name == b"LIST" else b"")] = data[at + 8 : at + 8 + size]
        at += 8 + size + (size & 1)
    return found


def test_a_wav_file_has_cue_points_with_labels(sound: Samples) -> None:
    chunks = riff_chunks(encode_chaptered(sound, CHAPTERS))
    count = struct.unpack_from("<I", chunks[b"cue "])[0]
    points = [struct.unpack_from("<II4sIII", chunks[b"cue "], 4 + 24 * index) for index in range(count)]
    assert [point[5] for point in points] == [0, 66_150, 99_225]
    assert b"un peu plus vite\0" in chunks[b"LISTadtl"]


def test_no_chapters_give_a_plain_file(sound: Samples) -> None:
    assert encode_chaptered(sound, [], format="flac") == encode(sound, format="flac")


@pytest.mark.parametrize(
    "chapters", [[Chapter(1.0, "b"), Chapter(0.0, "a")], [Chapter(9.0, "late")], [Chapter(-1.0, "")]]
)
def test_chapters_out_of_order_or_place_are_refused(sound: Samples, chapters: list[Chapter]) -> None:
    with pytest.raises(SoundError, match="they ascend within the sound's 3 s"):
        encode_chaptered(sound, chapters)


def test_a_format_without_chapters_is_refused(sound: Samples) -> None:
    with pytest.raises(SoundError, match="chapters cannot be written into 'ogg'"):
        encode_chaptered(sound, CHAPTERS, format="ogg")


@pytest.mark.parametrize("format", ["wav", "mp3"])
def test_an_unknown_tag_is_refused(sound: Samples, format: str) -> None:
    with pytest.raises(SoundError, match="there is no tag named 'mood'"):
        encode_chaptered(sound, CHAPTERS, format=format, tags={"mood": "blue"})


def test_a_chapter_may_begin_where_the_sound_ends(sound: Samples) -> None:
    last = [Chapter(0.0, "all of it"), Chapter(sound.duration_seconds, "nothing more")]
    assert encode_chaptered(sound, last, format="wav").startswith(b"RIFF")
