"""Asks: what each event of a performed phrase wants of an instrument, without its time.

Two events with equal asks have the same choices on the same harp, so choices are made once per ask.
"""

from __future__ import annotations

from typing import NamedTuple

from reedpath.phrase import Event

__all__ = ["Ask", "asks_of"]


class Ask(NamedTuple):
    """What one event wants; a tuple, since surveys look up tens of thousands of them.

    pitches : MIDI numbers, or semitones above a harp's key note once `moved`; ascending.
    approach : where the sound is to start, in semitones relative to the highest pitch; 0 for a plain attack.
    leave : where it is to end, likewise.
    slide : whether the approach is a slide, which may run over the notes between.
    joined : whether the note before already sounds where the slide starts.
    """

    pitches: tuple[int, ...]
    approach: float = 0.0
    leave: float = 0.0
    slide: bool = False
    joined: bool = False

    def moved(self, semitones: int) -> Ask:
        """The same ask so many semitones higher."""
        return self._replace(pitches=tuple(pitch + semitones for pitch in self.pitches))


def _ask(event: Event, before: Event | None, after: Event | None) -> Ask:
    ornaments, top = event.ornaments, event.midi[-1]
    approach, leave, slide, joined = -float(ornaments.bend_in), -float(ornaments.release), False, False
    if not approach and ornaments.slide_from is not None:
        approach, slide = float(ornaments.slide_from - top), True
        joined = before is not None and before.end >= event.onset and ornaments.slide_from in before.midi
    if not leave and ornaments.slide_to is not None:
        follows = after is not None and after.onset <= event.end and ornaments.slide_to in after.midi
        leave = 0.0 if follows else float(ornaments.slide_to - top)
    return Ask(event.midi, approach, leave, slide, joined)


def asks_of(events: tuple[Event, ...]) -> tuple[Ask, ...]:
    """The ask of each event of a performed phrase."""
    before: tuple[Event | None, ...] = (None, *events[:-1])
    after: tuple[Event | None, ...] = (*events[1:], None)
    return tuple(map(_ask, events, before, after)) if events else ()
