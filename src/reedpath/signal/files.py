"""Sound files, in and out.

Reading tells the format by the bytes, never by the name. WAV, FLAC, Ogg, Opus, MP3, AIFF, AU and CAF go
through soundfile, here alone; the sound of films through av (`films`). Both are read block by block, so that
memory does not grow with length unless the whole is asked for.

soundfile is given files of the system, not objects of Python: a request to end that came while it called one back
would be lost in the library, and a half-written sound would pass for a whole one.
"""

from __future__ import annotations

import io
import os
import struct
import tempfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import AbstractContextManager, contextmanager, nullcontext
from functools import partial
from pathlib import Path
from typing import Any, BinaryIO, TypeAlias

import numpy as np

from reedpath.errors import Place, SoundError, system_words
from reedpath.signal.blocks import LONGEST_SECONDS, FileEnd, SoundBlocks, breaking_off, check_header
from reedpath.signal.films import open_film
from reedpath.signal.formats import FILM_KINDS, HEAD_BYTES, breaks_off, sound_kind
from reedpath.signal.library_words import without_its_words
from reedpath.signal.resample import resampled
from reedpath.signal.samples import FloatArray, Samples

# container and coding of each format, in soundfile's words
ENCODINGS: Mapping[str, tuple[str, str]] = {
    "wav": ("WAV", ""),
    "flac": ("FLAC", ""),
    "ogg": ("OGG", "VORBIS"),
    "opus": ("OGG", "OPUS"),
    "mp3": ("MP3", "MPEG_LAYER_III"),
}
# hertz; rates that Opus (RFC 6716) and MPEG-1/2 layer III can hold
OPUS_RATES = (8000, 12000, 16000, 24000, 48000)
MP3_RATES = (8000, 11025, 12000, 16000, 22050, 24000, 32000, 44100, 48000)
# tags, and their frames in MP3 (ID3 tag version 2.3.0, id3.org, 1999)
TAGS: Mapping[str, bytes] = {
    "title": b"TIT2",
    "artist": b"TPE1",
    "album": b"TALB",
    "comment": b"COMM",
    "copyright": b"TCOP",
    "date": b"TYER",
    "genre": b"TCON",
    "software": b"TSSE",
    "tracknumber": b"TRCK",
}
# frames written at a time: the Vorbis encoder keeps a whole write on its stack
WRITE_FRAMES = 16_384
# bytes of a finished file that are delivered at a time
PIECE_BYTES = 1 << 20


def rate_in(format: str, rate: int) -> int:
    """The rate that a format holds a sound of this rate at."""
    rates = {"opus": OPUS_RATES, "mp3": MP3_RATES}.get(format)
    if rates is None or rate in rates:
        return rate
    return min((one for one in rates if one >= rate), default=rates[-1])


def _check_wishes(format: str, bits: int, tags: Mapping[str, str]) -> None:
    if format not in ENCODINGS:
        raise SoundError("signal.unknown_format", format=format, known=tuple(ENCODINGS))
    if bits not in (16, 24):
        raise SoundError("signal.bits", bits=bits)
    unknown = sorted(set(tags) - set(TAGS))
    if unknown:
        raise SoundError("signal.unknown_tag", name=unknown[0], known=tuple(TAGS))


# what takes a sound block by block, and what takes a file's bytes piece by piece
SoundPut: TypeAlias = Callable[[Samples], None]
BytesPut: TypeAlias = Callable[[bytes], None]


@contextmanager
def _encoding(rate: int, channels: int, format: str) -> Iterator[None]:
    """What the library says of what it cannot encode, as an error of ours."""
    import soundfile

    try:
        yield
    except (soundfile.SoundFileError, RuntimeError, TypeError) as error:
        raise SoundError(
            "signal.not_encoded", channels=channels, rate=rate, format=format, problem=str(error)
        ) from error


@contextmanager
def sound_file(
    deliver: BytesPut,
    *,
    rate: int,
    channels: int,
    format: str = "wav",
    bits: int = 24,
    tags: Mapping[str, str] | None = None,
) -> Iterator[SoundPut]:
    """A sound file that is written block by block, and delivered when this is left without an error.

    deliver : takes the file's bytes, piece by piece.
    rate, channels : of all blocks; the rate is one that the format can hold.
    format, bits, tags : as for `encode`.

    Raises `SoundError` for a format, a number of bits or a tag that cannot be written, and for what the encoder
    refuses.
    """
    _check_wishes(format, bits, tags or {})
    import soundfile

    container, coding = ENCODINGS[format]
    head = _id3(tags or {}) if format == "mp3" else b""
    with tempfile.TemporaryFile() as sink:
        with _encoding(rate, channels, format):
            file = soundfile.SoundFile(
                _system_file(sink), "w", rate, channels, coding or f"PCM_{bits}", format=container
            )
        with file:
            with _encoding(rate, channels, format):
                for name, value in ({} if head else tags or {}).items():
                    setattr(file, name, value)

            def put(block: Samples) -> None:
                with _encoding(rate, channels, format):
                    for start in range(0, block.frames, WRITE_FRAMES):
                        file.write(block.array[start : start + WRITE_FRAMES])

            yield put
        sink.seek(0)
        deliver(head)
        for piece in iter(partial(sink.read, PIECE_BYTES), b""):
            deliver(piece)


def encode(samples: Samples, *, format: str = "wav", bits: int = 24, tags: Mapping[str, str] | None = None) -> bytes:
    """A sound file.

    format : "wav", "flac", "ogg" (Vorbis), "opus" (in Ogg) or "mp3"; the last two change the rate to the
        next that they can hold.
    bits : 16 or 24; wav and flac only.
    tags : any of title, artist, album, comment, copyright, date, genre, software, tracknumber.

    Raises `SoundError` for a format, a number of bits or a tag that cannot be written.
    """
    _check_wishes(format, bits, tags or {})
    written = resampled(samples, rate_in(format, samples.rate))
    pieces: list[bytes] = []
    with sound_file(
        pieces.append, rate=written.rate, channels=written.channels, format=format, bits=bits, tags=tags
    ) as put:
        put(written)
    return b"".join(pieces)


def _id3(tags: Mapping[str, str]) -> bytes:
    """Tags before an MP3 stream, in UTF-16: the encoder's own hold 30 characters of one alphabet."""
    frames = b""
    for name, value in tags.items():
        text = value.encode("utf-16")
        # a comment has a language (none: "XXX" by ISO 639-2) and a description, which is empty
        body = b"\x01" + (b"XXX" + "".encode("utf-16") + b"\0\0" if name == "comment" else b"") + text
        frames += TAGS[name] + struct.pack(">I", len(body)) + b"\0\0" + body
    if not frames:
        return b""
    size = bytes(len(frames) >> shift & 0x7F for shift in (21, 14, 7, 0))
    return b"ID3\x03\0\0" + size + frames


def _system_file(file: BinaryIO) -> int | BinaryIO:
    """Another number by which the system knows an open file, from its start, for the library to close: some of its
    versions do so even where they cannot open it. The file itself where the system does not know it.
    """
    if os.name == "nt":  # there, numbers of files are not the same in every library
        return file
    try:
        number = os.dup(file.fileno())
    except OSError:
        return file
    os.lseek(number, 0, os.SEEK_SET)
    return number


def _promised_frames(sound: Any) -> int | None:
    frames = int(sound.frames)  # the library says 2**63 - 1 where it does not know
    return frames if 0 < frames < 1 << 62 else None


def _silently(sound_format: str) -> AbstractContextManager[None]:
    """Where the library would write of damaged frames to standard error, it does not."""
    return without_its_words() if sound_format == "MP3" else nullcontext()


def _block(sound: Any, wanted: int) -> tuple[FloatArray, Exception | None]:
    """The next block of a file; where it breaks off within, what was read before that, and the library's error."""
    import soundfile

    kept = np.full((wanted, sound.channels), np.nan, dtype=np.float32)
    try:
        with _silently(sound.format):
            block: FloatArray = sound.read(wanted, dtype="float32", always_2d=True, out=kept)
    except (soundfile.SoundFileError, RuntimeError) as error:
        return kept[: int(np.count_nonzero(~np.isnan(kept[:, -1])))], error
    return block, None


def _plain_blocks(sound: Any, block_seconds: float, end: FileEnd, *, whole: bool) -> Iterator[FloatArray]:
    wanted, read = max(1, round(block_seconds * sound.samplerate)), 0
    while True:
        block, error = _block(sound, wanted)
        if error is not None:
            end.broken = True
            if whole:
                raise breaking_off((read + len(block)) / sound.samplerate) from error
            if len(block):
                yield block
            return
        read += len(block)
        if len(block):
            yield block
        if len(block) < wanted:
            break
    promised = _promised_frames(sound)
    if sound.format != "MP3" and promised is not None and read < promised:
        end.broken = True
        if whole:
            raise breaking_off(read / sound.samplerate, promised / sound.samplerate)


def _open_plain(file: BinaryIO, kind: str, block_seconds: float, *, whole: bool) -> SoundBlocks:
    import soundfile

    broken = breaks_off(file, kind)
    if broken and whole and kind == "mp3":  # the library takes the length that is promised for the one that is there
        raise breaking_off()
    try:
        with _silently(kind.upper()):
            sound = soundfile.SoundFile(_system_file(file))
    except (soundfile.SoundFileError, RuntimeError, TypeError) as error:
        if broken:
            raise breaking_off() from error
        raise SoundError("signal.damaged", kind=kind) from error
    check_header(sound.samplerate, sound.channels)
    frames = _promised_frames(sound)
    promised = None if frames is None else frames / sound.samplerate
    if broken and whole:
        raise breaking_off(promised)
    end = FileEnd(broken)
    return SoundBlocks(
        _plain_blocks(sound, block_seconds, end, whole=whole),
        kind=kind,
        rate=sound.samplerate,
        channels=sound.channels,
        promised_seconds=promised,
        open_things=(sound, file),
        end=end,
    )


def _opened(source: bytes | Path) -> BinaryIO:
    if isinstance(source, bytes):
        return io.BytesIO(source)
    try:
        return source.open("rb")
    except OSError as error:
        raise SoundError("signal.not_opened", problem=system_words(error)) from error


def _close(file: BinaryIO | None) -> None:
    if file is not None:
        file.close()


def open_blocks(
    source: bytes | Path, *, name: str = "", block_seconds: float = 1.0, allow_truncated: bool = False
) -> SoundBlocks:
    """Open a sound file, or the sound of a film, to read it block by block.

    source : the file's bytes, or its path.
    name : what to call it in messages; the path's name when it is empty.
    block_seconds : length of a block (about, for films).
    allow_truncated : whether a file that breaks off gives the part that is there, instead of an error.

    Raises `SoundError` on opening or while reading, with the name and what is wrong: no such file, empty, text or
    another kind of file, damaged, broken off, a film without sound.
    """
    named = name or (source.name if isinstance(source, Path) else "")
    file: BinaryIO | None = None
    try:
        file = _opened(source)
        kind = sound_kind(file.read(HEAD_BYTES))
        file.seek(0)
        opener = open_film if kind in FILM_KINDS else _open_plain
        blocks = opener(file, kind, block_seconds, whole=not allow_truncated)
    except SoundError as error:
        _close(file)
        if named:
            error.inside(Place(file=named))
        raise
    except OSError as error:
        _close(file)
        raise SoundError("signal.not_read", where=Place(file=named), problem=system_words(error)) from error
    blocks.name = named
    return blocks


def decode(
    data: bytes | Path,
    *,
    name: str = "",
    allow_truncated: bool = False,
    mono: bool = False,
    limit_seconds: float = LONGEST_SECONDS,
) -> Samples:
    """The whole sound of a file or film, from its bytes or its path.

    name : what to call it in messages.
    allow_truncated : whether a file that breaks off gives the part that is there, instead of an error.
    mono : whether to mix the channels to one while reading.
    limit_seconds : longest sound taken into memory; `open_blocks` has no such limit.

    Raises `SoundError` as `open_blocks`, and for a sound longer than the limit.
    """
    with open_blocks(data, name=name, allow_truncated=allow_truncated) as blocks:
        kept: list[FloatArray] = []
        left = round(limit_seconds * blocks.rate)
        for block in blocks:
            kept.append(block.mono().array if mono else block.array)
            left -= block.frames
            if left < 0:
                raise SoundError("signal.too_long", where=Place(file=name), minutes=round(limit_seconds / 60))
        channels = 1 if mono else blocks.channels
        array = np.concatenate(kept) if kept else np.zeros((0, channels), dtype=np.float32)
        return Samples(array, blocks.rate)
