"""Recordings: sound to phrase, through `hear`.

Not one of the registry's readers of text and scores: a recording is far larger than their limits, it is read
block by block, and what is heard has times in seconds that others want (to line a film up, to look again).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator

import numpy.typing as npt

from reedpath.data import replace
from reedpath.errors import ReadError
from reedpath.hear import (
    NOTHING_KNOWN,
    Beats,
    Condition,
    KnownRhythm,
    SourceTally,
    Transcription,
    condition_of,
    curve_of,
    notes_of,
    observe,
    with_double_stops,
    write_down,
)
from reedpath.hear.lead import DOUBTFUL_UNDER, WRITTEN_FROM, RecordHeard, hear_record
from reedpath.phrase import LeftOut
from reedpath.signal import Samples, span_of

# quarter notes a minute that are believed when given; common practice, no source
SLOWEST_BPM, FASTEST_BPM = 20.0, 400.0
# minutes of a record through which a lead is followed at most, since it is kept whole meanwhile; ours
LONGEST_RECORD_MINUTES = 20


def _told(condition: Condition) -> tuple[LeftOut, ...]:
    told = []
    if condition.silent:
        told.append(LeftOut("recording-silent"))
    if condition.clipped:
        told.append(LeftOut("recording-too-loud", values=(("percent", f"{100 * condition.clipped_share:.1f}"),)))
    if condition.without_pitch:
        told.append(LeftOut("recording-unclear"))
    if condition.low_rate:
        told.append(LeftOut("recording-narrow", values=(("hertz", str(condition.rate // 2)),)))
    return tuple(told)


def _check(start_seconds: float, end_seconds: float | None, bpm: float | None) -> None:
    if start_seconds < 0 or (end_seconds is not None and end_seconds <= start_seconds):
        raise ReadError("readers.no_span", start=start_seconds, end=math.inf if end_seconds is None else end_seconds)
    if bpm is not None and not SLOWEST_BPM <= bpm <= FASTEST_BPM:
        raise ReadError("readers.tempo_not_believed", bpm=bpm, low=SLOWEST_BPM, high=FASTEST_BPM)


def transcribe(
    sound: Samples | Iterable[Samples],
    *,
    start_seconds: float = 0.0,
    end_seconds: float | None = None,
    prior: npt.ArrayLike | None = None,
    chords: bool = False,
    octaves: bool = False,
    known: KnownRhythm = NOTHING_KNOWN,
    title: str = "",
) -> Transcription:
    """A recording written down, with the notes as heard and the beats in seconds of the span.

    sound : whole, or in blocks, as `reedpath.signal.open_blocks` gives them.
    start_seconds, end_seconds : the span that is looked at; times of the result count from its start.
    prior : what pitches may be expected: shape (n, 2), MIDI numbers and log weights (see `track_pitch`).
    chords : whether plucked strings may sound two or three notes at once.
    octaves : with chords, whether octaves on two strings are known to be played: see `with_double_stops`.
    known : what is known of tempo and rhythm; the rest is found.

    Raises `ReadError` for a span that is none, or lies past the end, and a tempo that nobody plays.
    """
    _check(start_seconds, end_seconds, known.bpm)
    tally = SourceTally()
    seen = observe(tally.passing(span_of(sound, start_seconds, end_seconds)), chords=chords)
    if seen.duration_seconds == 0 and start_seconds > 0:
        raise ReadError("readers.recording_ends_before", seconds=start_seconds)
    notes = notes_of(seen, curve_of(seen, prior=prior))
    if chords:
        notes = with_double_stops(seen, notes, octaves=octaves)
    written = write_down(notes, known=known, title=title)
    told = _told(condition_of(seen, tally))
    phrase = replace(written.phrase, left_out=(*told, *written.phrase.left_out))
    return replace(written, phrase=phrase)


def _record_passing(
    sound: Iterable[Samples], start_seconds: float, end_seconds: float | None, tally: SourceTally
) -> Iterator[Samples]:
    """The blocks of a record; the tally is told of those in the span.

    Raises ReadError where the span goes on for longer than a lead is followed.
    """
    at = seconds = 0.0
    for block in sound:
        end = None if end_seconds is None else end_seconds - at
        for part in tally.passing(span_of(block, start_seconds - at, end) if end is None or end > 0 else ()):
            seconds += part.duration_seconds
            if seconds > 60 * LONGEST_RECORD_MINUTES:
                raise ReadError("readers.record_too_long", most=LONGEST_RECORD_MINUTES)
        at += block.duration_seconds
        yield block


def _rhythm_under(known: KnownRhythm, beats: Beats | None) -> KnownRhythm:
    """What is known of the rhythm, with the beats of the drums where nobody has said any."""
    told = known.bpm is not None or known.beat_seconds is not None
    return known if told or beats is None else replace(known, beat_seconds=beats.seconds)


def transcribe_lead(
    sound: Samples | Iterable[Samples],
    *,
    start_seconds: float = 0.0,
    end_seconds: float | None = None,
    known: KnownRhythm = NOTHING_KNOWN,
    title: str = "",
    told: Callable[[float], None] = lambda share: None,
) -> tuple[Transcription, RecordHeard]:
    """The lead line of a finished record written down, doubtful notes marked, and what else was heard of the record.

    Tempo and beats are the drums', the key is that of bass and chords, in the span and up to half a minute before and
    after it; what is given is as for `transcribe`.
    ``told`` is told about how much of the time has gone by, 0 to 1.

    Raises `ReadError` as `transcribe`, and for a span of more than twenty minutes.
    """
    _check(start_seconds, end_seconds, known.bpm)
    tally = SourceTally()
    blocks = [sound] if isinstance(sound, Samples) else sound
    record = hear_record(
        _record_passing(blocks, start_seconds, end_seconds, tally),
        start_seconds=start_seconds,
        end_seconds=end_seconds,
        told=told,
    )
    if tally.rate == 0 and start_seconds > 0:
        raise ReadError("readers.recording_ends_before", seconds=start_seconds)
    written = write_down(
        record.notes,
        known=_rhythm_under(known, record.beats),
        title=title,
        least_confidence=WRITTEN_FROM,
        doubtful_under=DOUBTFUL_UNDER,
        key=record.key,
    )
    about = _told(Condition(0.0, tally.rate, tally.channels, tally.peak, tally.clipped_share, salience=1.0))
    phrase = replace(written.phrase, left_out=(*about, *written.phrase.left_out))
    return replace(written, phrase=phrase), record
