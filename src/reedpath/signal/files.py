"""Sound files, in and out: the one module that opens or writes them.

Reading tells the format by the bytes, never by the name. WAV, FLAC, Ogg, Opus, MP3, AIFF, AU and CAF go
through soundfile; the sound of MP4, M4A, WebM, Matroska, AAC and ASF through av, which is optional. Both are
read block by block, so that memory does not grow with length unless the whole is asked for.
"""

from __future__ import annotations

import io
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from types import TracebackType
from typing import Any, BinaryIO, Self

import numpy as np

from reedpath.errors import SoundError
from reedpath.signal.formats import FILM_KINDS, HEAD_BYTES, breaks_off, sound_kind
from reedpath.signal.resample import resampled
from reedpath.signal.samples import FloatArray, Samples

__all__ = ["ENCODINGS", "SoundBlocks", "decode", "encode", "encode_wav", "open_blocks"]

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
# tags that soundfile writes
TAGS = ("title", "artist", "album", "comment", "copyright", "date", "genre", "software", "tracknumber")
# frames written at a time: the Vorbis encoder keeps a whole write on its stack
WRITE_FRAMES = 16_384
# largest values believed in a header: channels; hertz
MAX_CHANNELS = 64
MAX_RATE = 768_000
# seconds; the longest sound decoded whole (open_blocks has no limit)
LONGEST_SECONDS = 2 * 3600.0
# seconds by which a film's sound may fall short of what its header says (rounding of the container's clock)
FILM_SLACK_SECONDS = 0.25

# what av calls the container of each kind
_FILM_CONTAINERS = {"mp4": "mov", "matroska": "matroska", "aac": "aac", "asf": "asf"}


def encode_wav(samples: Samples, *, bits: int = 24) -> bytes:
    """A WAV file of 16 or 24 bits; what goes beyond full scale is clipped."""
    return encode(samples, format="wav", bits=bits)


def _writable(samples: Samples, format: str) -> Samples:
    rates = {"opus": OPUS_RATES, "mp3": MP3_RATES}.get(format)
    if rates is None or samples.rate in rates:
        return samples
    return resampled(samples, min((rate for rate in rates if rate >= samples.rate), default=rates[-1]))


def encode(
    samples: Samples, *, format: str = "wav", bits: int = 24, tags: Mapping[str, str] | None = None
) -> bytes:
    """A sound file.

    Parameters
    ----------
    format : "wav", "flac", "ogg" (Vorbis), "opus" (in Ogg) or "mp3"; the last two change the rate to the
        next that they can hold.
    bits : 16 or 24; wav and flac only.
    tags : any of title, artist, album, comment, copyright, date, genre, software, tracknumber.

    Raises
    ------
    SoundError
        For a format, a number of bits or a tag that cannot be written.
    """
    if format not in ENCODINGS:
        raise SoundError(f"no sound is written as {format!r}", hint=f"choose {', '.join(ENCODINGS)}")
    if bits not in (16, 24):
        raise SoundError(f"sound is written with 16 or 24 bits, not {bits}")
    unknown = sorted(set(tags or ()) - set(TAGS))
    if unknown:
        raise SoundError(f"no tag is named {unknown[0]!r}", hint=f"choose {', '.join(TAGS)}")
    import soundfile

    container, coding = ENCODINGS[format]
    written = _writable(samples, format)
    sink = io.BytesIO()
    try:
        with soundfile.SoundFile(
            sink, "w", written.rate, written.channels, coding or f"PCM_{bits}", format=container
        ) as file:
            for name, value in (tags or {}).items():
                setattr(file, name, value)
            for start in range(0, written.frames, WRITE_FRAMES):
                file.write(written.array[start : start + WRITE_FRAMES])
    except (soundfile.SoundFileError, RuntimeError, TypeError) as error:
        raise SoundError(f"{written.channels} channels at {written.rate} Hz as {format}: {error}") from error
    return sink.getvalue()


class SoundBlocks:
    """A sound file being read: an iterator over blocks of `Samples`, and a context manager.

    rate : hertz. channels : count. kind : of the file ("wav", "mp4"...). name : for messages.
    promised_seconds : length by the file's header, None when it says nothing.
    """

    def __init__(
        self,
        blocks: Iterator[FloatArray],
        *,
        kind: str,
        rate: int,
        channels: int,
        promised_seconds: float | None,
        open_things: Iterable[Any],
    ) -> None:
        self.name = ""
        self.kind = kind
        self.rate = rate
        self.channels = channels
        self.promised_seconds = promised_seconds
        self._blocks = blocks
        self._open_things = tuple(open_things)

    def __iter__(self) -> Iterator[Samples]:
        try:
            for block in self._blocks:
                yield Samples(block, self.rate)
        except SoundError as error:
            if self.name:
                error.add_context(self.name)
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the file."""
        for thing in self._open_things:
            thing.close()


def _check_header(rate: int, channels: int) -> None:
    if not 1 <= channels <= MAX_CHANNELS:
        raise SoundError(f"{channels} channels: 1 to {MAX_CHANNELS} are read")
    if not 1 <= rate <= MAX_RATE:
        raise SoundError(f"a rate of {rate} Hz: 1 to {MAX_RATE} are read")


def _breaks_off(seconds: float | None = None, promised: float | None = None) -> SoundError:
    told = f"the file breaks off after {seconds:.2f} s" if seconds else "the file breaks off before its end"
    if promised is not None:
        told += f" of the {promised:.2f} s that its header promises"
    return SoundError(told, hint="copy or export it again, or ask for the part that is there")


def _promised_frames(sound: Any) -> int | None:
    frames = int(sound.frames)  # the library says 2**63 - 1 where it does not know
    return frames if 0 < frames < 1 << 62 else None


def _plain_blocks(sound: Any, block_seconds: float, *, whole: bool) -> Iterator[FloatArray]:
    import soundfile

    wanted, read = max(1, round(block_seconds * sound.samplerate)), 0
    while True:
        try:
            block = sound.read(wanted, dtype="float32", always_2d=True)
        except (soundfile.SoundFileError, RuntimeError) as error:
            if whole:
                raise _breaks_off(read / sound.samplerate) from error
            return
        read += len(block)
        if len(block):
            yield block
        if len(block) < wanted:
            break
    promised = _promised_frames(sound)
    if whole and sound.format != "MP3" and promised is not None and read < promised:
        raise _breaks_off(read / sound.samplerate, promised / sound.samplerate)


def _open_plain(file: BinaryIO, kind: str, block_seconds: float, *, whole: bool) -> SoundBlocks:
    import soundfile

    broken = breaks_off(file, kind)
    if broken and whole and kind == "mp3":  # not opened first: its library prints warnings of its own
        raise _breaks_off()
    try:
        sound = soundfile.SoundFile(file)
    except (soundfile.SoundFileError, RuntimeError, TypeError) as error:
        if broken:
            raise _breaks_off() from error
        raise SoundError(
            f"a damaged {kind} file, or one coded in a way not known here", hint="export it again as WAV"
        ) from error
    _check_header(sound.samplerate, sound.channels)
    frames = _promised_frames(sound)
    promised = None if frames is None else frames / sound.samplerate
    if broken and whole:
        raise _breaks_off(promised)
    return SoundBlocks(
        _plain_blocks(sound, block_seconds, whole=whole),
        kind=kind,
        rate=sound.samplerate,
        channels=sound.channels,
        promised_seconds=promised,
        open_things=(sound, file),
    )


def _film_frames(container: Any, stream: Any, rate: int, channels: int) -> Iterator[FloatArray]:
    """Decoded frames in time with the film's clock: a late start is filled with silence."""
    import av

    even = av.AudioResampler(format="fltp", layout=stream.layout.name, rate=rate)
    started = False
    for frame in container.decode(stream):
        if not started:
            started = True
            late = round(float(frame.pts * frame.time_base) * rate) if frame.pts is not None else 0
            if 0 < late <= LONGEST_SECONDS * rate:
                yield np.zeros((late, channels), dtype=np.float32)
        frame.pts = None
        for part in even.resample(frame):
            yield part.to_ndarray().T.astype(np.float32, copy=False)
    if started:
        for part in even.resample(None):
            yield part.to_ndarray().T.astype(np.float32, copy=False)


def _gathered(frames: Iterator[FloatArray], wanted: int) -> Iterator[FloatArray]:
    kept: list[FloatArray] = []
    held = 0
    for frame in frames:
        kept.append(frame)
        held += len(frame)
        if held >= wanted:
            yield np.concatenate(kept)
            kept, held = [], 0
    if kept:
        yield np.concatenate(kept)


def _film_blocks(
    blocks: Iterator[FloatArray], rate: int, promised: float | None, *, whole: bool
) -> Iterator[FloatArray]:
    import av

    read = 0
    try:
        for block in blocks:
            read += len(block)
            yield block
    except av.FFmpegError as error:
        if whole or read == 0:
            raise _breaks_off(read / rate, promised) from error
    if whole and promised is not None and read / rate < promised - FILM_SLACK_SECONDS:
        raise _breaks_off(read / rate, promised)


def _promised_film_seconds(container: Any, stream: Any) -> float | None:
    if stream.duration:
        return float(stream.duration * stream.time_base)
    alone = len(container.streams) == 1  # otherwise the length may be the picture's
    return container.duration / 1e6 if alone and container.duration else None


def _open_film(file: BinaryIO, kind: str, block_seconds: float, *, whole: bool) -> SoundBlocks:
    try:
        import av
    except ImportError as error:
        raise SoundError(
            f"the sound of {kind} files is read by the av library, which is not installed",
            hint="install it with: pip install av (or convert the file to WAV)",
        ) from error
    try:
        # the container is named, so that no play-list can point elsewhere
        container = av.open(file, format=_FILM_CONTAINERS[kind])
    except (av.FFmpegError, ValueError) as error:
        raise SoundError(f"a damaged or truncated {kind} file", hint="copy or export it again") from error
    if not container.streams.audio:
        container.close()
        raise SoundError("a film without sound")
    stream = container.streams.audio[0]
    rate, channels = int(stream.rate or 0), int(stream.channels or 0)
    _check_header(rate, channels)
    promised = _promised_film_seconds(container, stream)
    frames = _gathered(_film_frames(container, stream, rate, channels), max(1, round(block_seconds * rate)))
    return SoundBlocks(
        _film_blocks(frames, rate, promised, whole=whole),
        kind=kind,
        rate=rate,
        channels=channels,
        promised_seconds=promised,
        open_things=(container, file),
    )


def _opened(source: bytes | Path) -> BinaryIO:
    if isinstance(source, bytes):
        return io.BytesIO(source)
    try:
        return source.open("rb")
    except OSError as error:
        raise SoundError(f"cannot be opened: {error.strerror or error}") from error


def open_blocks(
    source: bytes | Path, *, name: str = "", block_seconds: float = 1.0, allow_truncated: bool = False
) -> SoundBlocks:
    """Open a sound file, or the sound of a film, to read it block by block.

    Parameters
    ----------
    source : the file's bytes, or its path.
    name : what to call it in messages; the path's name when it is empty.
    block_seconds : length of a block (about, for films).
    allow_truncated : whether a file that breaks off gives the part that is there, instead of an error.

    Raises
    ------
    SoundError
        On opening or while reading, with the name and what is wrong: no such file, empty, text or another
        kind of file, damaged, broken off, a film without sound.
    """
    named = name or (source.name if isinstance(source, Path) else "")
    file: BinaryIO | None = None
    try:
        file = _opened(source)
        kind = sound_kind(file.read(HEAD_BYTES))
        file.seek(0)
        opener = _open_film if kind in FILM_KINDS else _open_plain
        blocks = opener(file, kind, block_seconds, whole=not allow_truncated)
    except SoundError as error:
        if file is not None:
            file.close()
        if named:
            error.add_context(named)
        raise
    except OSError as error:
        raise SoundError(f"cannot be read: {error.strerror or error}", where=named or None) from error
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

    Parameters
    ----------
    name : what to call it in messages.
    allow_truncated : whether a file that breaks off gives the part that is there, instead of an error.
    mono : whether to mix the channels to one while reading.
    limit_seconds : longest sound taken into memory; `open_blocks` has no such limit.

    Raises
    ------
    SoundError
        As `open_blocks`, and for a sound longer than the limit.
    """
    with open_blocks(data, name=name, allow_truncated=allow_truncated) as blocks:
        kept: list[FloatArray] = []
        left = round(limit_seconds * blocks.rate)
        for block in blocks:
            kept.append(block.mono().array if mono else block.array)
            left -= block.frames
            if left < 0:
                raise SoundError(
                    f"longer than {limit_seconds / 60:.0f} minutes",
                    where=name or None,
                    hint="give a span of it, or cut it into pieces",
                )
        channels = 1 if mono else blocks.channels
        array = np.concatenate(kept) if kept else np.zeros((0, channels), dtype=np.float32)
        return Samples(array, blocks.rate)
