"""Encoding: frames and sound into a film file, H.264 and AAC in MP4, with chapters.

Frame n is shown from n / rate seconds on. Every block of sound has its time too, or the sound would begin late by
what the codec puts before it. The index stands at the file's start, so that a page can play it while it loads.
"""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from types import TracebackType
from typing import Any, Self

import numpy as np

from reedpath.errors import FilmError, Place, system_words
from reedpath.film.captions import Cue
from reedpath.film.planes import BT601, BT709, Bytes, Coding
from reedpath.signal import Samples

# pictures that may wait to be encoded; more would only take memory
WAITING = 3


class PictureLine:
    """Encodes the pictures of a stream in order, in a thread of its own, and puts them into their container.

    The encoder is the slowest part and lets other threads run, so it works beside the thread that draws.

    To be used in a ``with`` statement once all streams of the container are there; on leaving it without an error
    the last pictures are encoded.
    """

    def __init__(self, container: Any, stream: Any) -> None:
        self._container, self._stream = container, stream
        self._waiting: deque[Future[Any]] = deque()
        self._worker = ThreadPoolExecutor(max_workers=1, thread_name_prefix="picture")
        # the streams are opened here and now, for two threads may not open one container
        container.start_encoding()

    def put(self, frame: Any) -> None:
        """Hand a picture on to be encoded."""
        self._waiting.append(self._worker.submit(self._stream.encode, frame))
        while len(self._waiting) > WAITING:
            self._store()

    def _store(self) -> None:
        for packet in self._waiting.popleft().result():
            self._container.mux(packet)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        try:
            if error is None:
                self._waiting.append(self._worker.submit(self._stream.encode, None))
                while self._waiting:
                    self._store()
        finally:
            self._worker.shutdown(wait=True, cancel_futures=True)


# how good, as a constant quality of 0 to 51, and how fast: of drawings and of pictures from a camera, both past
# telling from what was put in. A camera's grain costs the careful preset twice the time of the quick one, for files
# as large and as good (docs/film.md has the numbers); our choice
_DRAWN, _FILMED = (19, "superfast"), (22, "ultrafast")
# no pictures are coded from later ones, so that they are decoded in the order in which they are shown; a key picture
# every two seconds lets players jump to a chapter at once; our choice
KEY_SECONDS = 2
# bits a second of the sound; common practice, no source
SOUND_BITS = 160_000
# frames of sound handed on at a time
SOUND_BLOCK = 4096
# numbers by which files say how their colours are coded (ITU-T H.273)
_CODED_AS = {BT709: 1, BT601: 6}
# languages by their two letters (ISO 639-1) and by their three (ISO 639-2/T), which files use
_LANGUAGES = {"de": "deu", "en": "eng", "es": "spa", "fr": "fra", "it": "ita", "nl": "nld", "pt": "por"}

# called with the frames done and the frames in all
FilmProgress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class FilmShape:
    """How a film is built.

    width, height : pixels, even.
    frames_per_second : of a film whose frames come when they will, about how many.
    frames : how many, about.
    time_base : seconds to a unit of the frames' times; one frame when left out.
    title, language : written into the file; the language by its two letters.
    chapters : with their titles in the first line of each.
    coding : how colours are coded.
    is_filmed : whether its pictures come from a camera.
    """

    width: int
    height: int
    frames_per_second: int
    frames: int
    title: str = ""
    language: str = ""
    chapters: tuple[Cue, ...] = ()
    coding: Coding = BT709
    time_base: Fraction | None = None
    is_filmed: bool = False


def encoder_threads() -> int:
    """Threads for an encoder that works on several pictures at once.

    Two also where there are two cores and something else to do: they fill what the drawing leaves (measured). More
    than four would only take memory.
    """
    return max(2, min(4, os.cpu_count() or 2))


def chapter_tables(chapters: Sequence[Cue]) -> list[dict[str, Any]]:
    """Chapters as av takes them."""
    return [
        {
            "id": number,
            "start": round(one.start_seconds * 1000),
            "end": max(round(one.end_seconds * 1000), round(one.start_seconds * 1000) + 1),
            "time_base": Fraction(1, 1000),
            "metadata": {"title": one.lines[0]},
        }
        for number, one in enumerate(chapters, start=1)
    ]


def add_picture(container: Any, shape: FilmShape) -> Any:
    """An H.264 stream for frames of that shape."""
    stream = container.add_stream("libx264", rate=shape.frames_per_second)
    if shape.time_base is not None:
        stream.time_base = stream.codec_context.time_base = shape.time_base
    stream.width, stream.height, stream.pix_fmt = shape.width, shape.height, "yuv420p"
    quality, preset = _FILMED if shape.is_filmed else _DRAWN
    stream.options = {
        "preset": preset,
        "crf": str(quality),
        "bf": "0",
        "g": str(KEY_SECONDS * shape.frames_per_second),
    }
    context = stream.codec_context
    context.thread_type, context.thread_count = "FRAME", encoder_threads()
    context.colorspace = context.color_primaries = context.color_trc = _CODED_AS[shape.coding]
    context.color_range = 1
    return stream


def video_frame(array: Bytes) -> Any:
    """A frame as av takes it; the bytes are copied."""
    import av

    return av.VideoFrame.from_ndarray(array, format="yuv420p")


def timed_frame(frame: Any, shape: FilmShape, pts: int) -> Any:
    """A frame of av with its time and how its colours are coded, and nothing of how it was coded before."""
    frame.pts, frame.time_base = pts, shape.time_base or Fraction(1, shape.frames_per_second)
    frame.colorspace, frame.color_range, frame.pict_type = _CODED_AS[shape.coding], 1, 0
    return frame


def sound_frames(blocks: Iterable[Samples], rate: int) -> Iterator[tuple[int, Any]]:
    """Frames of sound, each with its time, and how far the sound reaches with it, all in samples."""
    import av

    at = 0
    for block in blocks:
        stereo = np.broadcast_to(block.array, (block.frames, 2)) if block.channels == 1 else block.array
        for first in range(0, block.frames, SOUND_BLOCK):
            part = np.ascontiguousarray(stereo[first : first + SOUND_BLOCK].T, dtype=np.float32)
            frame = av.AudioFrame.from_ndarray(part, format="fltp", layout="stereo")
            frame.sample_rate, frame.pts, frame.time_base = rate, at, Fraction(1, rate)
            at += part.shape[1]
            yield at, frame


@contextmanager
def film_file(path: Path, format: str) -> Iterator[Any]:
    """An av container to be filled; whatever goes wrong, interruption included, leaves no file."""
    import av

    options = {"movflags": "faststart"} if format in ("mp4", "mov") else {}
    try:
        with av.open(str(path), "w", format=format, options=options) as container:
            yield container
    except (av.FFmpegError, OSError) as error:
        _remove(path)
        raise FilmError("film.not_written", where=Place(file=path.name), problem=system_words(error)) from error
    except BaseException:
        _remove(path)
        raise


def _remove(path: Path) -> None:
    with suppress(OSError):
        path.unlink()


def encode_film(
    path: Path,
    shape: FilmShape,
    frames: Iterable[Bytes],
    sound: Iterable[Samples],
    *,
    rate: int,
    progress: FilmProgress | None = None,
) -> None:
    """Write a film; whatever goes wrong, interruption included, leaves no file.

    path : of the file; one that is there is written over.
    frames : as `planes.Frame.array`; each is used before the next is asked for, so that they may share memory.
    sound : blocks of one rate, mono or stereo, one after the other from second 0.
    rate : frames of sound a second, hertz.

    Raises `FilmError` when the file cannot be written.
    """
    with film_file(path, "mp4") as container:
        _write(container, shape, frames, sound_frames(sound, rate), rate, progress)


def _write(
    container: Any,
    shape: FilmShape,
    frames: Iterable[Bytes],
    sound: Iterator[tuple[int, Any]],
    rate: int,
    progress: FilmProgress | None,
) -> None:
    picture = add_picture(container, shape)
    voice = container.add_stream("aac", rate=rate, layout="stereo")
    voice.bit_rate = SOUND_BITS
    if shape.language in _LANGUAGES:
        voice.metadata["language"] = _LANGUAGES[shape.language]
    container.metadata["title"] = shape.title
    container.set_chapters(chapter_tables(shape.chapters))
    heard = 0
    with PictureLine(container, picture) as line:
        for number, array in enumerate(frames):
            line.put(timed_frame(video_frame(array), shape, number))
            heard = _hear_until((number + 1) / shape.frames_per_second * rate, heard, sound, voice, container)
            if progress is not None:
                progress(number + 1, shape.frames)
        _hear_until(float("inf"), heard, sound, voice, container)
    for packet in voice.encode(None):
        container.mux(packet)


def _hear_until(wanted: float, heard: int, sound: Iterator[tuple[int, Any]], stream: Any, container: Any) -> int:
    """Encode sound until it reaches so many samples; how far it reaches."""
    while heard < wanted:
        reached, frame = next(sound, (0, None))
        if frame is None:
            return heard
        heard = reached
        for packet in stream.encode(frame):
            container.mux(packet)
    return heard
