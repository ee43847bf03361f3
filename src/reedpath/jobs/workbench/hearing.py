"""A recording on the workbench: its waveform, and the notes heard in a stretch of it."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from msgspec import Struct

from reedpath.jobs.hearing import HearingChoice, opened_take, write_down_recording
from reedpath.jobs.instruments import HarpChoice
from reedpath.jobs.progress import Progress
from reedpath.phrase import encode_phrase

__all__ = ["Waveform", "hear_span", "waveform_of"]

# columns of a second at first, and at most of the whole: a desk's screen shows some 2,000
COLUMNS_PER_SECOND = 50.0
MOST_COLUMNS = 8_000


class Waveform(Struct, frozen=True):
    """How loud a recording is over time.

    seconds : its length. peaks : of columns of equal length, the largest amplitude, 0 to 100.
    """

    seconds: float
    peaks: tuple[int, ...]


def waveform_of(progress: Progress, folder: Path, recording: Path) -> Waveform:
    """The waveform of a recording, a job of its own; it may be long, and is never held whole."""
    peaks: list[float] = []
    seconds, rest, step = 0.0, np.zeros(0, dtype=np.float32), 1
    with opened_take(recording, broken_off=True, progress=progress) as blocks:
        for block in blocks:
            step = max(1, round(block.rate / COLUMNS_PER_SECOND))
            seconds += block.duration_seconds
            loud = np.concatenate((rest, np.abs(block.array).max(axis=1)))
            whole = len(loud) // step
            peaks += loud[: whole * step].reshape(whole, step).max(axis=1).tolist()
            rest = loud[whole * step :]
    if len(rest):
        peaks.append(float(rest.max()))
    together = -(-len(peaks) // MOST_COLUMNS) or 1
    columns = [max(peaks[at : at + together]) for at in range(0, len(peaks), together)]
    loudest = max(columns, default=0.0) or 1.0
    return Waveform(round(seconds, 3), tuple(round(100 * one / loudest) for one in columns))


def hear_span(
    progress: Progress,
    folder: Path,
    recording: Path,
    start_seconds: float,
    end_seconds: float | None,
    harp: str,
    bpm: float | None,
    *,
    chords: bool = False,
) -> bytes:
    """The phrase heard in a stretch of a recording, as its file's bytes; a job of its own.

    harp : key of the harp that plays in it, empty for another instrument.
    """
    choice = HearingChoice(
        from_seconds=start_seconds,
        until_seconds=end_seconds,
        bpm=bpm,
        chords=chords,
        harp=HarpChoice(harp) if harp else None,
        broken_off=True,
    )
    return encode_phrase(write_down_recording(recording, choice, progress=progress).phrase)
