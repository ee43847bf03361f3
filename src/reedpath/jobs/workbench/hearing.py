"""A recording on the workbench: its waveform, and the notes heard in a stretch of it."""

from __future__ import annotations

from pathlib import Path

from msgspec.structs import replace

from reedpath.jobs.hearing import HearingChoice, opened_take, write_down_recording
from reedpath.jobs.instruments import HarpChoice
from reedpath.jobs.progress import Progress
from reedpath.phrase import encode_phrase
from reedpath.signal import Waveform, waveform_of_blocks

__all__ = ["Waveform", "hear_span", "waveform_of"]


def waveform_of(progress: Progress, folder: Path, recording: Path) -> Waveform:
    """The waveform of a recording, a job of its own."""
    with opened_take(recording, broken_off=True, progress=progress) as blocks:
        return waveform_of_blocks(blocks)


def hear_span(
    progress: Progress,
    folder: Path,
    recording: Path,
    start_seconds: float,
    end_seconds: float | None,
    harp: str,
    bpm: float | None,
    title: str,
    lead: bool = False,
) -> bytes:
    """The phrase heard in a stretch of a recording, as its file's bytes; a job of its own.

    harp : key of the harp that plays in it, empty for another instrument. title : of the phrase.
    lead : whether it is a finished record whose lead is followed through its band; its harp then tells nothing.
    """
    choice = HearingChoice(
        from_seconds=start_seconds,
        until_seconds=end_seconds,
        bpm=bpm,
        harp=HarpChoice(harp) if harp and not lead else None,
        broken_off=True,
        lead=lead,
    )
    heard = write_down_recording(recording, choice, progress=progress).phrase
    return encode_phrase(replace(heard, title=title))
