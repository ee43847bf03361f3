"""A phrase that was read, in short words: its notes, their times, and what was left out."""

from __future__ import annotations

from fractions import Fraction

from reedpath.phrase import Phrase, performed
from reedpath.pitch import midi_name


def names(phrase: Phrase) -> str:
    """Names of all notes, those that sound together joined by a plus."""
    return " ".join("+".join(midi_name(midi) for midi in event.midi) for event in phrase.events)


def sung(phrase: Phrase) -> str:
    """Letters of the lowest notes, in the order in which they are played."""
    return "".join(midi_name(event.midi[0])[0] for event in performed(phrase).events)


def pitches(phrase: Phrase) -> list[int]:
    """The highest note of each event."""
    return [event.midi[-1] for event in phrase.events]


def times(phrase: Phrase) -> list[tuple[Fraction, Fraction]]:
    """Where each event begins and how long it is."""
    return [(event.onset, event.duration) for event in phrase.events]


def left_out(phrase: Phrase) -> dict[str, int]:
    """What was left out, and how often."""
    return {each.what: each.count for each in phrase.left_out}
