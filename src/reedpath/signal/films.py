"""The sound of films: MP4, M4A, WebM, Matroska, AAC, AMR and ASF, read by av block by block, on the film's clock."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import chain
from typing import Any, BinaryIO

import numpy as np

from reedpath.errors import SoundError
from reedpath.signal.blocks import LONGEST_SECONDS, FileEnd, SoundBlocks, breaking_off, check_header
from reedpath.signal.samples import FloatArray

# seconds by which a film's sound may fall short of what its header says (rounding of the container's clock)
FILM_SLACK_SECONDS = 0.25
# kinds that are frames and nothing else: no header of theirs promises a length, and the library's guess from the
# first frames is wrong where frames are of unlike sizes (by a third of a second in ten)
BARE_KINDS = frozenset({"aac", "amr"})
# decoders that read more than the library's own: that of AMR stops at frames that stand for silence (3GPP TS 26.092)
BETTER_DECODERS = {"amrnb": "libopencore_amrnb"}

# what av calls the container of each kind
_FILM_CONTAINERS = {"mp4": "mov", "matroska": "matroska", "aac": "aac", "asf": "asf", "amr": "amr"}


def _evened(frames: Iterable[Any], layout: str, rate: int) -> Iterator[Any]:
    """Frames of one form, layout and rate; a damaged file may change them from frame to frame.

    The values of all channels stand in one row: the library reads no more than eight rows of a frame safely.
    """
    import av

    even: Any = None
    given: tuple[str, str, int] | None = None
    for frame in frames:
        setup = (frame.format.name, frame.layout.name, frame.sample_rate)
        if setup != given:
            if even is not None:
                yield from even.resample(None)
            even, given = av.AudioResampler(format="flt", layout=layout, rate=rate), setup
        frame.pts = None
        yield from even.resample(frame)
    if even is not None:
        yield from even.resample(None)


def _late_frames(frame: Any, rate: int) -> int:
    """How many frames late the sound begins on the film's clock."""
    late = round(float(frame.pts * frame.time_base) * rate) if frame.pts is not None else 0
    return late if 0 < late <= LONGEST_SECONDS * rate else 0


def _film_frames(decoded: Iterator[Any], layout: str, rate: int, channels: int) -> Iterator[FloatArray]:
    """Decoded frames in time with the film's clock: a late start is filled with silence."""
    first = next(decoded, None)
    if first is None:
        return
    late = _late_frames(first, rate)
    for start in range(0, late, rate):  # a second at a time, since a header may promise hours
        yield np.zeros((min(rate, late - start), channels), dtype=np.float32)
    for frame in _evened(chain((first,), decoded), layout, rate):
        yield frame.to_ndarray().reshape(-1, channels)


def _gathered(frames: Iterator[FloatArray], wanted: int) -> Iterator[FloatArray]:
    """Frames put together to blocks; those before an error come first."""
    import av

    kept: list[FloatArray] = []
    held = 0
    failed: Exception | None = None
    try:
        for frame in frames:
            kept.append(frame)
            held += len(frame)
            if held >= wanted:
                yield np.concatenate(kept)
                kept, held = [], 0
    except (av.FFmpegError, OSError, ValueError) as error:
        failed = error
    if kept:
        yield np.concatenate(kept)
    if failed is not None:
        raise failed


def _film_blocks(
    blocks: Iterator[FloatArray], rate: int, promised: float | None, end: FileEnd, *, whole: bool
) -> Iterator[FloatArray]:
    import av

    read = 0
    try:
        for block in blocks:
            read += len(block)
            yield block
    except (av.FFmpegError, OSError, ValueError) as error:  # an index may lead to places that no file has
        end.broken = True
        if whole or read == 0:
            raise breaking_off(read / rate, promised) from error
    if promised is not None and read / rate < promised - FILM_SLACK_SECONDS:
        end.broken = True
        if whole:
            raise breaking_off(read / rate, promised)


def _promised_film_seconds(container: Any, stream: Any, kind: str) -> float | None:
    if kind in BARE_KINDS:
        return None
    if stream.duration:
        return float(stream.duration * stream.time_base)
    alone = len(container.streams) == 1  # otherwise the length may be the picture's
    return container.duration / 1e6 if alone and container.duration else None


def _decoded(container: Any, stream: Any) -> Iterator[Any]:
    """The decoded frames of a stream, by a decoder that knows all of them where there is one."""
    import av

    try:
        decoder = av.CodecContext.create(BETTER_DECODERS.get(stream.codec_context.name, ""), "r")
    except ValueError:  # what the library says of a decoder that it was built without
        return container.decode(stream)  # type: ignore[no-any-return]
    return (frame for packet in container.demux(stream) for frame in decoder.decode(packet))


def open_film(file: BinaryIO, kind: str, block_seconds: float, *, whole: bool) -> SoundBlocks:
    """Open the sound of a film of a known kind; with ``whole``, one that breaks off is an error."""
    try:
        import av
    except ImportError as error:
        raise SoundError("signal.av_for_films", kind=kind) from error
    try:
        # the container is named, so that no play-list can point elsewhere
        container = av.open(file, format=_FILM_CONTAINERS[kind])
    except (av.FFmpegError, ValueError) as error:
        raise SoundError("signal.damaged_film", kind=kind) from error
    if not container.streams.audio:
        container.close()
        raise SoundError("signal.no_sound")
    stream = container.streams.audio[0]
    if stream.codec_context is None:  # the library knows no decoder for what the header names
        container.close()
        raise SoundError("signal.damaged_film", kind=kind)
    rate, channels = int(stream.rate or 0), int(stream.channels or 0)
    check_header(rate, channels)
    promised = _promised_film_seconds(container, stream, kind)
    decoded = _film_frames(_decoded(container, stream), stream.layout.name, rate, channels)
    frames = _gathered(decoded, max(1, round(block_seconds * rate)))
    end = FileEnd()
    return SoundBlocks(
        _film_blocks(frames, rate, promised, end, whole=whole),
        kind=kind,
        rate=rate,
        channels=channels,
        promised_seconds=promised,
        open_things=(container, file),
        end=end,
    )
