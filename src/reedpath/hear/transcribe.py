"""Transcribing: a sound to its notes, and heard notes to a phrase with beats, rhythm, swing and key.

What is measured stays beside what is written: cents and ornaments on each event, and the beats with their
times, so that the phrase can be laid over the recording again.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from statistics import median

import numpy.typing as npt

from reedpath.data import replace
from reedpath.errors import Place
from reedpath.hear.beats import Beats, find_beats, given_beats
from reedpath.hear.double_stops import with_double_stops
from reedpath.hear.notes import HeardNote, notes_of
from reedpath.hear.observing import observe
from reedpath.hear.ornaments import ornaments_of
from reedpath.hear.pitch_curve import curve_of
from reedpath.phrase import (
    Event,
    Gridded,
    KeyGuess,
    LeftOut,
    Metre,
    Ornaments,
    Phrase,
    Tempo,
    beats_of,
    find_key,
    onto_grid,
)
from reedpath.signal.samples import Samples

# seconds within which notes are struck together (a strum; common practice, no source)
TOGETHER_SECONDS = 0.04
# quarter notes a minute where too few notes tell no tempo: a second is then a beat, which misleads nobody
UNTOLD_BPM = 60.0
# confidence under which a note is not written but named in what was left out
LEAST_CONFIDENCE = 0.3
# decibels over the usual level of the notes from which one is accented; from memory
ACCENT_DB = 6.0


@dataclass(frozen=True, slots=True)
class KnownRhythm:
    """What is known of the rhythm before anything is heard; None for what is to be found.

    bpm : tempo in quarter notes a minute; the first note is then on a beat.
    beat_seconds : when each beat fell (a click), at least two; it goes before the tempo.
    swing : ratio of the halves of a beat.
    metre : time signature; without it nothing is said of bars (which is taken for 4/4).
    """

    bpm: float | None = None
    beat_seconds: tuple[float, ...] | None = None
    swing: Fraction | None = None
    metre: Metre | None = None


NOTHING_KNOWN = KnownRhythm()


@dataclass(frozen=True, slots=True)
class Transcription:
    """A recording written down.

    phrase : what was played, in beats.
    notes : the notes as heard, in seconds.
    beats : when the beats fell; None for silence. first_beat : index of the beat that is the phrase's 0.
    key : the guess of its key.
    stray_beats : root mean square of how far the onsets lay from the rhythm as written.
    """

    phrase: Phrase
    notes: tuple[HeardNote, ...]
    beats: Beats | None
    first_beat: int
    key: KeyGuess
    stray_beats: float


def _together(notes: Sequence[HeardNote]) -> list[list[HeardNote]]:
    groups: list[list[HeardNote]] = []
    for note in notes:
        if groups and note.start_seconds - groups[-1][0].start_seconds < TOGETHER_SECONDS:
            groups[-1].append(note)
        else:
            groups.append([note])
    return groups


def _beats_for(notes: Sequence[HeardNote], known: KnownRhythm) -> Beats:
    if known.beat_seconds is not None:
        period = median(after - before for before, after in pairwise(known.beat_seconds))
        return Beats(known.beat_seconds, 60.0 / period, 1.0)
    end = max(note.end_seconds for note in notes)
    if known.bpm is not None:
        return given_beats(known.bpm, first_seconds=notes[0].start_seconds, end_seconds=end)
    found = find_beats(notes)
    if found is not None:
        return found
    untold = given_beats(UNTOLD_BPM, first_seconds=notes[0].start_seconds, end_seconds=end)
    return replace(untold, confidence=0.0)


def _ornaments(group: Sequence[HeardNote], usual_db: float) -> Ornaments:
    accent = max(note.level_db for note in group) > usual_db + ACCENT_DB
    plain = ornaments_of(group[0]) if len(group) == 1 else Ornaments()
    return replace(plain, accent=accent)


def _is_doubtful(group: Sequence[HeardNote], doubtful_under: float) -> bool:
    return any(note.octave_doubtful or note.confidence < doubtful_under for note in group)


def _doubts(groups: Sequence[Sequence[HeardNote]], events: Sequence[Event]) -> tuple[LeftOut, ...]:
    """What is doubtful, place by place: whether an octave sounds, or the note itself."""
    doubts = []
    for group, event in zip(groups, events, strict=True):
        if any(note.octave_doubtful for note in group):
            doubts.append(LeftOut("doubtful-octaves", place=event.place))
        elif event.doubtful:
            doubts.append(LeftOut("doubtful-notes", place=event.place))
    return tuple(doubts)


def _event(
    group: Sequence[HeardNote], onset: Fraction, duration: Fraction, usual_db: float, doubtful_under: float
) -> Event:
    pitches = {note.midi: note.cents for note in sorted(group, key=lambda note: -note.confidence)[::-1]}
    midi = tuple(sorted(pitches))
    return Event(
        onset=onset,
        duration=duration,
        midi=midi,
        cents=tuple(round(pitches[one], 1) for one in midi),
        ornaments=_ornaments(group, usual_db),
        place=Place(seconds=round(group[0].start_seconds, 2)),
        doubtful=_is_doubtful(group, doubtful_under),
    )


def _written_bpm(beats: Beats, known: KnownRhythm) -> float:
    """The tempo as it is written: where it is heard in whole beats a minute, as a metronome is set."""
    return round(beats.bpm, 1) if known.bpm is not None else max(1.0, float(round(beats.bpm)))


def _gridded(groups: Sequence[Sequence[HeardNote]], beats: Beats, swing: Fraction | None) -> tuple[Gridded, int]:
    starts = beats_of([group[0].start_seconds for group in groups], beats.seconds)
    ends = beats_of([max(note.end_seconds for note in group) for group in groups], beats.seconds)
    first = int(starts[0] + 0.25)  # a beat that the player is a little early on is still that beat
    moved = [start - first for start in starts], [end - first for end in ends]
    grid = onto_grid(*moved) if swing is None else onto_grid(*moved, swings=[swing])
    if grid.onsets[0] < 0:  # a note shortly before the first beat
        grid, first = replace(grid, onsets=tuple(onset + 1 for onset in grid.onsets)), first - 1
    return grid, first


def write_down(
    notes: Sequence[HeardNote],
    *,
    known: KnownRhythm = NOTHING_KNOWN,
    title: str = "",
    least_confidence: float = LEAST_CONFIDENCE,
    doubtful_under: float = 0.0,
    key: KeyGuess | None = None,
) -> Transcription:
    """Write heard notes down as a phrase.

    Parameters
    ----------
    notes : in order of start; notes of one start are a double stop.
    least_confidence : confidence under which a note is not written.
    doubtful_under : confidence under which a note is marked as doubtful, and said to be.
    key : a better guess than the notes allow, None for theirs.

    Nothing heard gives an empty phrase, and says so in ``left_out``.
    """
    kept = [note for note in notes if note.confidence >= least_confidence]
    doubtful = len(notes) - len(kept)
    left_out: tuple[LeftOut, ...] = (LeftOut("faint-notes", count=doubtful),) if doubtful else ()
    if not kept:
        empty = Phrase((), title=title, left_out=(*left_out, LeftOut("nothing-heard")))
        return Transcription(empty, tuple(notes), None, 0, KeyGuess(None), 0.0)
    beats = _beats_for(kept, known)
    groups = _together(kept)
    grid, first = _gridded(groups, beats, known.swing)
    usual_db = median(note.level_db for note in kept)
    events = tuple(
        _event(group, onset, duration, usual_db, doubtful_under)
        for group, onset, duration in zip(groups, grid.onsets, grid.durations, strict=True)
    )
    left_out += _doubts(groups, events)
    phrase = Phrase(
        events,
        title=title,
        metres=(known.metre,) if known.metre else (),
        tempos=(Tempo(Fraction(0), _written_bpm(beats, known)),),
        swing=grid.swing,
        left_out=left_out,
    )
    key = find_key(phrase) if key is None or key.key is None else key
    return Transcription(replace(phrase, key=key.key), tuple(notes), beats, first, key, grid.stray_beats)


def hear_notes(
    sound: Samples | Iterable[Samples],
    *,
    prior: npt.ArrayLike | None = None,
    chords: bool = False,
    octaves: bool = False,
) -> tuple[HeardNote, ...]:
    """The notes of a sound, in order; none for silence.

    Parameters
    ----------
    sound : whole, or in blocks, as `reedpath.signal.open_blocks` gives them.
    prior : what pitches may be expected, as for `track_pitch`.
    chords : whether plucked strings may sound two or three notes at once; then notes that sound together are
        notes of the same start.
    octaves : with chords, whether octaves on two strings are known to be played.
    """
    seen = observe(sound, chords=chords)
    notes = notes_of(seen, curve_of(seen, prior=prior))
    return with_double_stops(seen, notes, octaves=octaves) if chords else notes
