"""Sounding notes: ties joined, bends worked out, notes struck together put into one event."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from reedpath.data import replace
from reedpath.errors import ReadError
from reedpath.phrase import Event, Ornaments
from reedpath.readers.bars import Note
from reedpath.readers.omissions import Omissions

__all__ = ["Placed", "bend_note", "join_ties", "sounding_events"]

# what one event of a phrase cannot say, a kind of `LeftOut`
MORE_BENDS = "further-bends"


@dataclass(frozen=True, slots=True)
class Placed:
    """A note and where it sounds: beats from the beginning of the phrase, and its bar for messages."""

    note: Note
    onset: Fraction
    place: str

    @property
    def end(self) -> Fraction:
        """Beat at which the note stops."""
        return self.onset + self.note.duration


def _joined(first: Placed, second: Placed) -> Placed:
    """Two tied notes as one: the attack of the first, the end of the second."""
    one, two = first.note, second.note
    ornaments = replace(
        one.ornaments,
        slide_to=two.ornaments.slide_to,
        vibrato=one.ornaments.vibrato or two.ornaments.vibrato,
        graces=one.ornaments.graces + two.ornaments.graces,
    )
    note = replace(
        one,
        duration=one.duration + two.duration,
        ornaments=ornaments,
        bends=one.bends + two.bends,
        tied_on=two.tied_on,
    )
    return Placed(note, first.onset, first.place)


def join_ties(notes: Iterable[Placed]) -> list[Placed]:
    """Notes in order of onset, tied ones as one note; a tie that leads to no note is dropped."""
    joined: list[Placed] = []
    open_ties: dict[tuple[str, int, Fraction], int] = {}
    for placed in sorted(notes, key=lambda each: (each.onset, each.note.midi)):
        note = placed.note
        index = open_ties.pop((note.voice, note.midi, placed.onset), None)
        if index is None:
            index = len(joined)
            joined.append(placed)
        else:
            joined[index] = _joined(joined[index], placed)
        if note.tied_on:
            open_ties[(note.voice, note.midi, placed.end)] = index
    return joined


def _arrival(pre_bend: Fraction, bends: tuple[Fraction, ...]) -> tuple[Fraction, int]:
    """Semitones over the fretted note at which the first bend arrives, and how many bends it took."""
    height, taken = pre_bend, 0
    for step in bends:
        if step < 0:
            break
        height, taken = height + step, taken + 1
    return height, taken


def bend_note(placed: Placed, omissions: Omissions) -> Placed:
    """The note at the pitch at which its bend arrives, the bend as bend-in and release.

    A bend from n to n+k is a note of pitch n+k with bend-in k; let go by r it has release r. A quarter tone
    stays in the cents: n and 50 cents.
    """
    note = placed.note
    if not note.bends and not note.pre_bend:
        return placed
    height, taken = _arrival(note.pre_bend, note.bends)
    rest = note.bends[taken:]
    falling = 0
    while falling < len(rest) and rest[falling] < 0:
        falling += 1
    if falling < len(rest):
        omissions.note(MORE_BENDS, placed.place)
    whole = math.ceil(height - Fraction(1, 2))
    ornaments = replace(
        note.ornaments,
        bend_in=height - note.pre_bend,
        release=-sum(rest[:falling], Fraction(0)),
    )
    midi, cents = note.midi + whole, note.cents + float(100 * (height - whole))
    return Placed(replace(note, midi=midi, cents=cents, ornaments=ornaments), placed.onset, placed.place)


def _alike(placed: Placed) -> tuple[object, ...]:
    """Notes that are the same in this are struck and shaped together."""
    note, o = placed.note, placed.note.ornaments
    return (placed.onset, note.duration, o.bend_in, o.release, o.slide_from, o.slide_to)


def _together(each: list[Ornaments]) -> Ornaments:
    """Ornaments of notes struck together; grace notes that hang on several of them count once."""
    graces = dict.fromkeys(ornaments.graces for ornaments in each)
    return replace(
        each[0],
        vibrato=any(ornaments.vibrato for ornaments in each),
        accent=any(ornaments.accent for ornaments in each),
        graces=tuple(grace for run in graces for grace in run),
    )


def _event(group: list[Placed]) -> Event:
    by_midi = {placed.note.midi: placed.note for placed in group}
    midi = tuple(sorted(by_midi))
    first = group[0]
    if not 0 <= midi[0] <= midi[-1] <= 127:
        wrong = midi[0] if midi[0] < 0 else midi[-1]
        raise ReadError(f"a pitch of MIDI number {wrong}, of 0 to 127 allowed", where=first.place or None)
    cents = tuple(by_midi[each].cents for each in midi)
    ornaments = first.note.ornaments
    if len(group) > 1 and any(placed.note.ornaments for placed in group):
        ornaments = _together([placed.note.ornaments for placed in group])
    return Event(
        onset=first.onset,
        duration=first.note.duration,
        midi=midi,
        ornaments=ornaments,
        cents=cents if any(cents) else (),
        place=first.place,
    )


def sounding_events(notes: Iterable[Placed], omissions: Omissions) -> tuple[Event, ...]:
    """Events of notes in any order: ties joined, bends worked out, chords together.

    Notes that begin together but end apart stay apart, and so may overlap.
    """
    groups: dict[tuple[object, ...], list[Placed]] = {}
    for placed in join_ties(notes):
        bent = bend_note(placed, omissions)
        groups.setdefault(_alike(bent), []).append(bent)
    events = [_event(group) for group in groups.values()]
    return tuple(sorted(events, key=lambda event: (event.onset, -event.duration, event.midi)))
