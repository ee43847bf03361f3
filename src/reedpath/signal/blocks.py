"""Blocks: a sound file while it is being read, whatever library reads it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from types import TracebackType
from typing import Any, Self

import numpy as np

from reedpath.errors import Place, SoundError
from reedpath.signal.samples import FloatArray, Samples

# largest values believed in a header: channels; hertz
MAX_CHANNELS = 64
MAX_RATE = 768_000
# hertz; under it a damaged header would make days of a song (telephones have 8,000; the rest is ours)
MIN_RATE = 2_000
# times full scale; files of floats go beyond it, no recorder by 60 decibels; common practice, no source
LOUDEST = 1000.0
# seconds; the longest sound decoded whole (open_blocks has no limit)
LONGEST_SECONDS = 2 * 3600.0


def _believed(block: FloatArray) -> FloatArray:
    """A block whose values a sound can have: no number is silence, and what is far too loud is cut off."""
    if np.abs(block).max(initial=0.0) <= LOUDEST:  # false for what is no number, too
        return block
    return np.clip(np.nan_to_num(block, nan=0.0, posinf=LOUDEST, neginf=-LOUDEST), -LOUDEST, LOUDEST)


@dataclass
class FileEnd:
    """How the reading of a file ended.

    broken : whether it broke off.
    """

    broken: bool = False


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
        end: FileEnd,
    ) -> None:
        self.name = ""
        self.kind = kind
        self.rate = rate
        self.channels = channels
        self.promised_seconds = promised_seconds
        self._blocks = blocks
        self._open_things = tuple(open_things)
        self._end = end

    @property
    def breaks_off(self) -> bool:
        """Whether the file breaks off, as far as it is known from what was read of it."""
        return self._end.broken

    def __iter__(self) -> Iterator[Samples]:
        try:
            for block in self._blocks:
                yield Samples(_believed(block), self.rate)
        except SoundError as error:
            if self.name:
                error.inside(Place(file=self.name))
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


def check_header(rate: int, channels: int) -> None:
    """Refuse a header that no sound has, with a SoundError."""
    if not 1 <= channels <= MAX_CHANNELS:
        raise SoundError("signal.channels", count=channels, most=MAX_CHANNELS)
    if not MIN_RATE <= rate <= MAX_RATE:
        raise SoundError("signal.rate", rate=rate, least=MIN_RATE, most=MAX_RATE)


def breaking_off(seconds: float | None = None, promised: float | None = None) -> SoundError:
    """The error for a file that breaks off after so many seconds of those its header promises."""
    if not seconds:
        return SoundError("signal.breaks_off")
    if promised is None:
        return SoundError("signal.breaks_off_after", seconds=round(seconds, 2))
    return SoundError("signal.breaks_off_of", seconds=round(seconds, 2), promised=round(promised, 2))


def span_of(
    sound: Samples | Iterable[Samples], start_seconds: float = 0.0, end_seconds: float | None = None
) -> Iterator[Samples]:
    """The blocks between two times, cut to them; what comes after is not read.

    >>> from reedpath.signal import silence
    >>> blocks = [silence(1.0, rate=100)] * 3
    >>> [part.frames for part in span_of(blocks, 0.5, 2.2)]
    [50, 100, 20]
    """
    at = 0.0
    for block in [sound] if isinstance(sound, Samples) else sound:
        until = at + block.duration_seconds
        if until > start_seconds:
            part = block.span(max(0.0, start_seconds - at), None if end_seconds is None else end_seconds - at)
            if part.frames:
                yield part
        at = until
        if end_seconds is not None and at >= end_seconds:
            return
