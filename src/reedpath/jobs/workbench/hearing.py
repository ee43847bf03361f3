"""A recording on the workbench: its waveform, and the notes heard in a stretch of it."""

from __future__ import annotations

from pathlib import Path

from msgspec.structs import replace

from reedpath.jobs.hearing import HearingChoice, opened_take, write_down_recording
from reedpath.jobs.instruments import HarpChoice
from reedpath.jobs.progress import Progress
from reedpath.jobs.workbench.draft import HeardSpan
from reedpath.phrase import encode_phrase
from reedpath.signal import Waveform, waveform_of_blocks


def waveform_of(recording: Path, *, progress: Progress) -> Waveform:
    """The waveform of a recording, a job of its own."""
    with opened_take(recording, broken_off=True, progress=progress) as blocks:
        return waveform_of_blocks(blocks)


def hear_span(recording: Path, span: HeardSpan, bpm: float | None, title: str, *, progress: Progress) -> bytes:
    """The phrase heard in a stretch of a recording, as its file's bytes; a job of its own.

    span : the stretch, and what plays there, of which only the lead counts where a record's is followed.
    title : of the phrase.
    """
    choice = HearingChoice(
        from_seconds=span.start_seconds,
        until_seconds=span.end_seconds,
        bpm=bpm,
        harp=HarpChoice(span.harp) if span.harp and not span.lead else None,
        broken_off=True,
        lead=span.lead,
        chords=span.chords and not span.lead,
        octaves=span.octaves and not span.lead,
    )
    heard = write_down_recording(recording, choice, progress=progress).phrase
    return encode_phrase(replace(heard, title=title))
