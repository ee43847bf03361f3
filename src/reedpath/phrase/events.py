"""Phrases: what is to be played, as it was given.

Time is an exact `Fraction` of a quarter note, called beats. Rests are the gaps between events. Events are
as written: repeats folded, grace notes hanging on their main note, swung notes straight;
`performed` (see `performance`) unfolds them into what sounds.
"""

from __future__ import annotations

from fractions import Fraction
from functools import cached_property
from typing import Annotated, TypeAlias

from msgspec import Meta, Struct
from msgspec.structs import force_setattr, replace

from reedpath.data.numbers import Bpm, Cents, Midi
from reedpath.errors import NOWHERE, PhraseError, Place, clean_text
from reedpath.phrase.left_out import LeftOut
from reedpath.pitch import FLATTEST, SHARPEST, Key, key_fifths, nearest_fifths, single_signs

# the highest MIDI number
MOST_MIDI = 127
# names in JSON, where each says its unit
IN_JSON = {
    "onset": "onset_beats",
    "duration": "duration_beats",
    "end": "end_beats",
    "pickup": "pickup_beats",
    "straight": "straight_beats",
    "bend_in": "bend_in_semitones",
    "release": "release_semitones",
    "slide_from": "slide_from_midi",
    "slide_to": "slide_to_midi",
    "graces": "graces_midi",
}
# the largest upper number of a time signature: one byte in a MIDI file (Standard MIDI Files 1.0, meta event 58)
MOST_METRE_COUNT = 255
# what is read from outside: the largest lower number of a time signature, and how often a stretch is played at most,
# which is as far as `performed` unfolds; ours
MOST_UNIT, MOST_TIMES = 1_024, 10_000


Fifths: TypeAlias = Annotated[int, Meta(ge=FLATTEST, le=SHARPEST, description="Place on the line of fifths; C is 0.")]


class Ornaments(Struct, frozen=True, omit_defaults=True, rename=IN_JSON):
    """What is done to a note beside sounding it.

    bend_in : semitones from below: the sound starts so much under the event's pitch and rises to it
        (a string bend from n to n+k is an event of pitch n+k with bend_in k). Quarter tones are halves.
    release : semitones: after its pitch the sound falls by so much before it ends.
    slide_from : MIDI number the sound slides up or down from, into the event; None for no slide.
    slide_to : MIDI number the sound slides to at its end; None for no slide.
    vibrato : whether the note is shaken in pitch.
    accent : whether the note is struck harder.
    graces : MIDI numbers of grace notes played just before, in order.
    """

    bend_in: Fraction = Fraction(0)
    release: Fraction = Fraction(0)
    slide_from: Midi | None = None
    slide_to: Midi | None = None
    vibrato: bool = False
    accent: bool = False
    graces: tuple[Midi, ...] = ()

    def __bool__(self) -> bool:
        return self != PLAIN

    def moved(self, semitones: int) -> Ornaments:
        """The same, so many semitones higher."""
        return replace(
            self,
            slide_from=None if self.slide_from is None else self.slide_from + semitones,
            slide_to=None if self.slide_to is None else self.slide_to + semitones,
            graces=tuple(midi + semitones for midi in self.graces),
        )


PLAIN = Ornaments()


class Event(Struct, frozen=True, omit_defaults=True, rename=IN_JSON):
    """One note, or several struck together.

    onset, duration : beats (quarter notes); the duration is over 0.
    midi : MIDI numbers, ascending, at least one.
    cents : deviation of each pitch from equal temperament, empty when none is known.
    ornaments : what is done to the note.
    fifths : how the source spells notes of it and of its ornaments: places on the line of fifths, where C is 0, G 1
        and F -1; empty where it says pitches only. Notes of two sharps or flats are not kept here.
    place : where the source has it, for messages.
    grace : whether this is a grace note given a time of its own; only in a performed phrase.
    doubtful : whether it may have been misheard, and should be compared with the recording.
    """

    onset: Fraction
    duration: Fraction
    midi: tuple[Midi, ...]
    ornaments: Ornaments = PLAIN
    cents: tuple[Cents, ...] = ()
    fifths: tuple[Fifths, ...] = ()
    place: Place = NOWHERE
    grace: bool = False
    doubtful: bool = False

    def __post_init__(self) -> None:
        if self.ornaments is not PLAIN and not self.ornaments:
            force_setattr(self, "ornaments", PLAIN)  # data leave out a default only where it is this very object
        if self.onset < 0 or self.duration <= 0:
            raise PhraseError("phrase.event_time", where=self.place, onset=self.onset, duration=self.duration)
        if (
            not self.midi
            or tuple(sorted(set(self.midi))) != self.midi
            or not 0 <= self.midi[0] <= self.midi[-1] <= MOST_MIDI
        ):
            raise PhraseError("phrase.event_pitches", where=self.place, pitches=self.midi)

    @property
    def end(self) -> Fraction:
        """Beat at which the event stops."""
        return self.onset + self.duration

    @property
    def named_midi(self) -> tuple[int, ...]:
        """MIDI numbers of its notes, and of those that its ornaments begin with, end with or hold."""
        o = self.ornaments
        slides = tuple(midi for midi in (o.slide_from, o.slide_to) if midi is not None)
        return (*self.midi, *slides, *o.graces)

    def moved(self, semitones: int, fifths: int = 0) -> Event:
        """The event so many semitones higher, ornaments included, and its notes spelt so many fifths further on."""
        midi, ornaments = tuple(midi + semitones for midi in self.midi), self.ornaments.moved(semitones)
        return replace(self, midi=midi, ornaments=ornaments, fifths=single_signs(one + fifths for one in self.fifths))


class Metre(Struct, frozen=True, rename=IN_JSON):
    """A time signature from a beat on: ``count`` notes of 1/``unit`` in a bar."""

    onset: Fraction
    count: Annotated[int, Meta(ge=1, le=MOST_METRE_COUNT)]
    unit: Annotated[int, Meta(ge=1, le=MOST_UNIT)]

    @property
    def signature(self) -> tuple[int, int]:
        """Count and unit."""
        return self.count, self.unit

    @property
    def name(self) -> str:
        """As it is written: "6/8"."""
        return f"{self.count}/{self.unit}"

    @property
    def bar(self) -> Fraction:
        """Length of a bar in beats (quarter notes)."""
        return Fraction(4 * self.count, self.unit)


class Tempo(Struct, frozen=True, rename=IN_JSON):
    """A tempo from a beat on, in quarter notes a minute."""

    onset: Fraction
    bpm: Bpm


class Part(Struct, frozen=True, rename=IN_JSON):
    """A labelled stretch, in beats from ``onset`` to ``end``."""

    label: str
    onset: Fraction
    end: Fraction

    def __post_init__(self) -> None:
        force_setattr(self, "label", clean_text(self.label))


class Repeat(Struct, frozen=True, rename=IN_JSON):
    """A stretch of beats played ``times`` times in all."""

    onset: Fraction
    end: Fraction
    times: Annotated[int, Meta(ge=1, le=MOST_TIMES)] = 2


# "dict": where what was worked out of a phrase once is kept
class Phrase(Struct, frozen=True, dict=True, rename=IN_JSON):
    """A phrase as given.

    events : in order of onset; events may not overlap once reduced to a lead line.
    metres, tempos : changes in order, the first at beat 0; empty means 4/4 and 100 quarter notes a minute.
    key : None when unknown.
    swing : ratio of the first to the second half of a swung beat; 1 is straight, 2 a triplet shuffle.
    pickup : beats before the first full bar.
    parts, repeats : labelled stretches, and stretches to be played again.
    left_out : what a reader or a reduction did not carry over.
    straight : onsets of beats that are played as written though the phrase swings, beside those that hold triplets:
        where a stretch was cut out of a beat, the triplet that said so may be gone.
    """

    events: tuple[Event, ...]
    title: str = ""
    metres: tuple[Metre, ...] = ()
    tempos: tuple[Tempo, ...] = ()
    key: Key | None = None
    swing: Fraction = Fraction(1)
    pickup: Fraction = Fraction(0)
    parts: tuple[Part, ...] = ()
    repeats: tuple[Repeat, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    straight: tuple[Fraction, ...] = ()

    def __post_init__(self) -> None:
        force_setattr(self, "title", clean_text(self.title))
        onsets = [event.onset for event in self.events]
        if onsets != sorted(onsets):
            raise PhraseError("phrase.events_order")

    @cached_property
    def end(self) -> Fraction:
        """Beat at which the last event stops; 0 for an empty phrase."""
        return max((event.end for event in self.events), default=Fraction(0))

    def can_move(self, semitones: int) -> bool:
        """Whether every note, ornaments included, has a MIDI number when it is so many semitones higher."""
        named = [midi for event in self.events for midi in event.named_midi]
        return not named or (min(named) + semitones >= 0 and max(named) + semitones <= MOST_MIDI)

    def moved(self, semitones: int) -> Phrase:
        """The phrase so many semitones higher, its key too; PhraseError where it cannot move so far."""
        if semitones == 0:
            return self
        if not self.can_move(semitones):
            raise PhraseError("phrase.moved_too_far", semitones=semitones)
        key = self.key.moved(semitones) if self.key else None
        fifths = key_fifths(key) - key_fifths(self.key) if key else nearest_fifths(semitones)
        return replace(self, events=tuple(event.moved(semitones, fifths) for event in self.events), key=key)
