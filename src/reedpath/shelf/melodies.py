"""Melodies: what a tune is searched by, of a phrase or of a few notes that were typed."""

from __future__ import annotations

import re
from itertools import pairwise
from typing import Annotated

from msgspec import Meta, Struct

from reedpath.errors import PitchError, SettingsError
from reedpath.phrase import Phrase, lead_line
from reedpath.pitch import parse_midi, parse_pitch_class

# notes of a query from which one mistake leaves it found in 95 of 100 cases (docs/shelf.md), and the fewest that say
# anything
ENOUGH_NOTES, FEWEST_NOTES = 9, 3
# notes of a query that are read; more than anybody sings to find a tune
MOST_NOTES = 64
# octave of a typed melody's first note where it says none: that of middle C
_FIRST_OCTAVE = 4
_WITH_OCTAVE = re.compile(r".*\d")

MidiNumber = Annotated[int, Meta(ge=0, le=127)]


class Melody(Struct, frozen=True):
    """Notes of one line.

    midi : numbers of the notes. lengths : beats or seconds from each note's start to the next one's, as many; none
        where nothing is known of the rhythm.
    """

    midi: tuple[MidiNumber, ...]
    lengths: tuple[float, ...] = ()


class TuneFound(Struct, frozen=True):
    """A melody that holds the query, or nearly so.

    number : which melody of the index. cost : 0 for the very notes and rhythm, more for less alike.
    first, last : its notes that the query begins and ends with, counted from 0.
    semitones : how much higher the query was. tempo : how much longer its notes were, as a ratio.
    """

    number: int
    cost: float
    first: int
    last: int
    semitones: int
    tempo: float


def melody_of(phrase: Phrase) -> Melody:
    """The melody of a phrase: its highest line without grace notes."""
    events = [event for event in lead_line(phrase).events if not event.grace]
    onsets = [float(event.onset) for event in events]
    last = [float(event.duration) for event in events[-1:]]
    lengths = (*(after - before for before, after in pairwise(onsets)), *last)
    return Melody(tuple(event.midi[-1] for event in events), lengths)


def more_notes_wanted(query: Melody) -> int:
    """How many more notes would make it likely that the tune is found, mistakes and all; 0 for enough."""
    return max(0, ENOUGH_NOTES - len(query.midi))


def _nearest(pitch_class: int, before: int | None) -> int:
    """The note of a name that lies nearest to the note before; of two as near the higher."""
    if before is None:
        return 12 * (_FIRST_OCTAVE + 1) + pitch_class
    return before + (pitch_class - before + 5) % 12 - 5


def typed_melody(text: str) -> Melody:
    """A melody typed as names of notes; one without an octave lies as near as can be to the note before.

    >>> typed_melody("E G A Bb, B E5").midi
    (64, 67, 69, 70, 71, 76)

    Raises `SettingsError` for a word that is no note, and for fewer notes than can be looked for.
    """
    words = text.replace(",", " ").replace("-", " ").replace("|", " ").split()[: MOST_NOTES + 1]
    midi: list[int] = []
    for word in words:
        try:
            if _WITH_OCTAVE.fullmatch(word):
                note = parse_midi(word)
            else:
                note = _nearest(parse_pitch_class(word), midi[-1] if midi else None)
        except PitchError:
            raise SettingsError("shelf.no_note", text=word) from None
        if not 0 <= note <= 127:
            raise SettingsError("shelf.no_note", text=word)
        midi.append(note)
    if not FEWEST_NOTES <= len(midi) <= MOST_NOTES:
        raise SettingsError("shelf.note_count", count=len(midi), fewest=FEWEST_NOTES, most=MOST_NOTES)
    return Melody(tuple(midi))
