"""Bars, beats and parts of a phrase, as the ribbon's grid needs them."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from reedpath.lesson import Lesson
from reedpath.phrase import Metre, Part, Phrase, beat_of

__all__ = ["Bar", "bars_of", "parts_in_beats"]

# the metre of a phrase that names none (`Phrase`)
COMMON_TIME = Metre(Fraction(0), 4, 4)


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar.

    onset, end : beats (quarter notes).
    number : 0 for a pickup, else from 1.
    metre : the metre it stands in.
    beats : onsets of its counted beats, the first being the bar's own.
    """

    onset: Fraction
    end: Fraction
    number: int
    metre: Metre
    beats: tuple[Fraction, ...]


def _bar(onset: Fraction, end: Fraction, number: int, metre: Metre) -> Bar:
    """A bar; a short one (a pickup, or one cut by a new metre) counts its beats back from its end."""
    beat = beat_of(metre)
    full = number != 0 or (end - onset) % beat == 0
    first = onset if full else end - (end - onset) // beat * beat
    count = -((first - end) // beat)
    beats = [first + index * beat for index in range(count)]
    return Bar(onset, end, number, metre, tuple(beats if first == onset else [onset, *beats]))


def bars_of(phrase: Phrase) -> tuple[Bar, ...]:
    """The bars that a phrase fills, at least one; the last is whole."""
    metres = [metre for metre in phrase.metres if metre.bar > 0]
    if not metres or metres[0].onset > 0:
        metres.insert(0, COMMON_TIME)
    end = max(phrase.end, phrase.pickup)
    bars: list[Bar] = []
    if phrase.pickup:
        bars.append(_bar(Fraction(0), phrase.pickup, 0, metres[0]))
    position, number = phrase.pickup, 1
    while position < end or not bars:
        metre = [one for one in metres if one.onset <= position or one is metres[0]][-1]
        changes = [one.onset for one in metres if position < one.onset < position + metre.bar]
        bar_end = min([position + metre.bar, *changes])
        bars.append(_bar(position, bar_end, number, metre))
        position, number = bar_end, number + 1
    return tuple(bars)


def parts_in_beats(lesson: Lesson) -> tuple[Part, ...]:
    """The parts of a lesson as stretches of beats, each up to the next one's first note."""
    events = lesson.route.events
    onsets = [events[part.first].event.onset for part in lesson.parts]
    ends = [*onsets[1:], events[lesson.parts[-1].last].event.end] if lesson.parts else []
    return tuple(Part(part.label, onset, end) for part, onset, end in zip(lesson.parts, onsets, ends, strict=True))
