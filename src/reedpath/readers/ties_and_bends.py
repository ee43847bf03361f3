"""Sounding notes: ties joined, bends worked out, notes struck together put into one event."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from fractions import Fraction

from reedpath.data import replace
from reedpath.errors import ReadError
from reedpath.phrase import Event, Ornaments
from reedpath.pitch import single_signs
from reedpath.readers.bars import Note
from reedpath.readers.omissions import Omissions


def _joined(one: Note, two: Note) -> Note:
    """Two tied notes as one: the attack of the first, the end of the second."""
    ornaments = replace(
        one.ornaments,
        slide_to=two.ornaments.slide_to,
        vibrato=one.ornaments.vibrato or two.ornaments.vibrato,
        graces=one.ornaments.graces + two.ornaments.graces,
    )
    return replace(
        one,
        duration=one.duration + two.duration,
        ornaments=ornaments,
        fifths=one.fifths + two.fifths,
        bends=one.bends + two.bends,
        tied_on=two.tied_on,
    )


def join_ties(notes: Iterable[Note]) -> list[Note]:
    """Notes in order of onset, tied ones as one note; a tie that leads to no note is dropped."""
    joined: list[Note] = []
    open_ties: dict[tuple[str, int, Fraction], int] = {}
    for note in sorted(notes, key=lambda each: (each.onset, each.midi)):
        index = open_ties.pop((note.voice, note.midi, note.onset), None)
        if index is None:
            index = len(joined)
            joined.append(note)
        else:
            joined[index] = _joined(joined[index], note)
        if note.tied_on:
            open_ties[(note.voice, note.midi, note.onset + note.duration)] = index
    return joined


def _arrival(pre_bend: Fraction, bends: tuple[Fraction, ...]) -> tuple[Fraction, int]:
    """Semitones over the fretted note at which the first bend arrives, and how many bends it took."""
    height, taken = pre_bend, 0
    for step in bends:
        if step < 0:
            break
        height, taken = height + step, taken + 1
    return height, taken


def bend_note(note: Note, omissions: Omissions) -> Note:
    """The note at the pitch at which its bend arrives, the bend as bend-in and release.

    A bend from n to n+k is a note of pitch n+k with bend-in k; let go by r it has release r. A quarter tone
    stays in the cents: n and 50 cents.
    """
    if not note.bends and not note.pre_bend:
        return note
    height, taken = _arrival(note.pre_bend, note.bends)
    rest = note.bends[taken:]
    falling = 0
    while falling < len(rest) and rest[falling] < 0:
        falling += 1
    if falling < len(rest):
        omissions.note("further-bends", note.place)
    whole = math.ceil(height - Fraction(1, 2))
    ornaments = replace(
        note.ornaments,
        bend_in=height - note.pre_bend,
        release=-sum(rest[:falling], Fraction(0)),
    )
    midi, cents = note.midi + whole, note.cents + float(100 * (height - whole))
    return replace(note, midi=midi, cents=cents, ornaments=ornaments)


def _alike(note: Note) -> tuple[object, ...]:
    """Notes that are the same in this are struck and shaped together."""
    o = note.ornaments
    return (note.onset, note.duration, o.bend_in, o.release, o.slide_from, o.slide_to)


def _together(each: list[Ornaments]) -> Ornaments:
    """Ornaments of notes struck together; grace notes that hang on several of them count once."""
    graces = dict.fromkeys(ornaments.graces for ornaments in each)
    return replace(
        each[0],
        vibrato=any(ornaments.vibrato for ornaments in each),
        accent=any(ornaments.accent for ornaments in each),
        graces=tuple(grace for run in graces for grace in run),
    )


def _event(group: Sequence[Note]) -> Event:
    by_midi = {note.midi: note for note in group}
    midi = tuple(sorted(by_midi))
    first = group[0]
    if not 0 <= midi[0] <= midi[-1] <= 127:
        wrong = midi[0] if midi[0] < 0 else midi[-1]
        raise ReadError("readers.pitch_out_of_bounds", where=first.place, midi=wrong)
    cents = tuple(by_midi[each].cents for each in midi)
    ornaments = first.ornaments
    if len(group) > 1 and any(note.ornaments for note in group):
        ornaments = _together([note.ornaments for note in group])
    return Event(
        onset=first.onset,
        duration=first.duration,
        midi=midi,
        ornaments=ornaments,
        cents=cents if any(cents) else (),
        fifths=single_signs(dict.fromkeys(fifths for note in group for fifths in note.fifths)),
        place=first.place,
    )


def sounding_events(notes: Iterable[Note], omissions: Omissions) -> tuple[Event, ...]:
    """Events of notes in any order, their onsets from the beginning of the phrase: ties joined, bends worked out.

    Notes struck together are one event; those that begin together but end apart stay apart, and so may overlap.
    """
    groups: dict[tuple[object, ...], list[Note]] = {}
    for note in join_ties(notes):
        bent = bend_note(note, omissions)
        groups.setdefault(_alike(bent), []).append(bent)
    events = [_event(group) for group in groups.values()]
    return tuple(sorted(events, key=lambda event: (event.onset, -event.duration, event.midi)))
